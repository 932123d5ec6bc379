//! `gyle wort …`: everything about wort.

mod boil;
mod correct;
mod lauter;
mod mash;
mod tables;

use clap::Subcommand;

use crate::of_batch::OfBatch;
use crate::problem::Problem;

/// What is asked about wort.
#[derive(Debug, Subcommand)]
pub enum WortCommand {
    /// Follow the mash: heat, starch into sugar, a temperature that was missed.
    #[command(after_help = "\
Examples:
  gyle wort mash lantern-pale.toml
  gyle wort mash store:lantern --units us
  gyle wort mash mine.toml --json")]
    Mash(OfBatch),
    /// Follow the run-off: gravity and pH of the runnings, when to stop, the efficiency.
    #[command(after_help = "\
Examples:
  gyle wort lauter lantern-pale.toml
  gyle wort lauter store:lantern --json
  gyle wort lauter mine.toml --refill '8 L' --refill '4 L'")]
    Lauter(lauter::Asked),
    /// Say what a reading makes of the rest of the brew day, and what would mend it.
    #[command(after_help = "\
Examples:
  gyle wort correct lantern-pale.toml --at 'kettle full' --volume '27.5 L' --volume-at '95 °C' --gravity 1.040
  gyle wort correct mine.toml --at boil --after '40 min' --gravity '1.046 ± 0.001'
  gyle wort correct store:lantern --json")]
    Correct(Box<correct::Asked>),
    /// Follow the boil: bitterness hop by hop, dimethyl sulfide, heat.
    #[command(after_help = "\
Examples:
  gyle wort boil lantern-pale.toml
  gyle wort boil store:lantern --units us
  gyle wort boil mine.toml --json")]
    Boil(OfBatch),
    /// Print the table of malts, adjuncts and sugars: each figure with how it is known.
    #[command(after_help = "\
Examples:
  gyle wort malts munich
  gyle wort malts --json")]
    Malts(tables::Asked),
    /// Print the table of hops: each figure with how it is known.
    #[command(after_help = "\
Examples:
  gyle wort hops challenger
  gyle wort hops --json")]
    Hops(tables::Asked),
}

/// Answers a question about wort.
///
/// # Errors
/// [`Problem`] as the question has it.
pub fn run(command: &WortCommand, place: Option<&str>) -> Result<(), Problem> {
    match command {
        WortCommand::Mash(of) => mash::follow(of, place),
        WortCommand::Lauter(asked) => lauter::follow(asked, place),
        WortCommand::Correct(asked) => correct::say(asked, place),
        WortCommand::Boil(of) => boil::follow(of, place),
        WortCommand::Malts(asked) => tables::malts(asked),
        WortCommand::Hops(asked) => tables::hops(asked),
    }
}

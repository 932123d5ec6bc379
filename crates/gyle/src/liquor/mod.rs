//! `gyle water …`: everything about water.

mod chlorine;
mod choice;
mod dissolved;
mod minerals;
mod reading;
mod report;

use clap::Subcommand;

use crate::problem::Problem;

/// What is asked about water.
#[derive(Debug, Subcommand)]
pub enum WaterCommand {
    /// Find salts and acid for the aim of a batch.
    #[command(after_help = "\
Examples:
  gyle water minerals mine.toml
  gyle water minerals mine.toml --have \"gypsum,Epsom salt\" --step \"0.5 g\" --most 2
  gyle water minerals store:lantern --blend-free --json
  gyle water minerals mine.toml --stores stores.toml --write treated.toml")]
    Minerals(minerals::Asked),
}

/// Answers a question about water.
///
/// # Errors
/// [`Problem`] as the question has it.
pub fn run(command: &WaterCommand, place: Option<&str>) -> Result<(), Problem> {
    match command {
        WaterCommand::Minerals(asked) => minerals::find(asked, place),
    }
}

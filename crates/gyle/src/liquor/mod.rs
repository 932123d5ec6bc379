//! `gyle water …`: everything about water.

mod breakpoint;
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
    /// Read a report of a supplier or a laboratory, line by line.
    #[command(after_help = "\
Examples:
  gyle water read report.txt
  gyle water read report.csv --answer 7=CaCO3
  gyle water read report.txt --as-source >> mine.toml
  gyle water read - --json < report.txt")]
    Read(report::Asked),
    /// Set the ways to take chlorine out of a batch's water side by side.
    #[command(after_help = "\
Examples:
  gyle water chlorine lantern-pale.toml
  gyle water chlorine store:lantern --time '2 h' --json
  gyle water chlorine mine.toml --have 'ascorbic acid' --have 'activated carbon'
  gyle water chlorine mine.toml --tablet 'sodium metabisulfite' --tablet-mass '0.44 g'
  gyle water chlorine mine.toml --have 'potassium metabisulfite' --scale '0.1 g'")]
    Chlorine(Box<chlorine::Asked>),
    /// Tell what chlorine becomes in water that holds ammonia.
    #[command(after_help = "\
Examples:
  gyle water breakpoint --ph 7.5 --temperature '20 °C' --ammonia '0.5 mg/L'
  gyle water breakpoint --contact '2 h' --csv > breakpoint.csv")]
    Breakpoint(breakpoint::Asked),
    /// Find salts and acid for the aim of a batch.
    #[command(after_help = "\
Examples:
  gyle water minerals mine.toml
  gyle water minerals mine.toml --have \"gypsum,Epsom salt\" --step \"0.5 g\" --most 2
  gyle water minerals store:lantern --blend-free --json
  gyle water minerals mine.toml --stores stores.toml --write treated.toml")]
    Minerals(minerals::Asked),
    /// Choose a water for a batch: those at hand and their blends, season by season.
    #[command(after_help = "\
Examples:
  gyle water choose lantern-pale.toml
  gyle water choose store:lantern --library --price 'spring=0.40'
  gyle water choose mine.toml --analysis 'mains@2026-02-10=winter.toml' --analysis 'mains@2026-08-03=summer.toml'
  gyle water choose mine.toml --have 'gypsum,lactic acid 80 %' --have 'distilled water' --json")]
    Choose(Box<choice::Asked>),
    /// Say what is dissolved as what, and what heat, air, a boil, lime and acid do.
    #[command(after_help = "\
Examples:
  gyle water dissolved lantern-pale.toml
  gyle water dissolved lantern-pale.toml --of sparge --acid 'lactic acid 80 %' --to 5.6
  gyle water dissolved lantern-pale.toml --temperature '65 °C' --lime '150 mg/L'
  gyle water dissolved store:lantern --of mash --species --json")]
    Dissolved(dissolved::Asked),
    /// Say what to do with a pH read in the mash.
    #[command(after_help = "\
Examples:
  gyle water mash lantern-pale.toml
  gyle water mash lantern-pale.toml --ph 5.62
  gyle water mash mine.toml --ph 5.49 --after '25 min' --added 'lactic acid 80 % = 2 mL'
  gyle water mash store:lantern --ph '5.50 ± 0.03' --at '64 °C' --after '12 min'")]
    Mash(reading::Asked),
}

/// Answers a question about water.
///
/// # Errors
/// [`Problem`] as the question has it.
pub fn run(command: &WaterCommand, place: Option<&str>) -> Result<(), Problem> {
    match command {
        WaterCommand::Read(asked) => report::read(asked),
        WaterCommand::Chlorine(asked) => chlorine::compare(asked, place),
        WaterCommand::Breakpoint(asked) => breakpoint::curve(asked),
        WaterCommand::Minerals(asked) => minerals::find(asked, place),
        WaterCommand::Choose(asked) => choice::choose(asked, place),
        WaterCommand::Dissolved(asked) => dissolved::say(asked, place),
        WaterCommand::Mash(asked) => reading::advice(asked, place),
    }
}

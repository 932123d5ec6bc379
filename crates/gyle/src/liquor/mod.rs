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
  gyle water chlorine store:lantern --time '2 h' --json")]
    Chlorine(chlorine::Asked),
}

/// Answers a question about water.
///
/// # Errors
/// [`Problem`] as the question has it.
pub fn run(command: &WaterCommand, place: Option<&str>) -> Result<(), Problem> {
    match command {
        WaterCommand::Read(asked) => report::read(asked),
        WaterCommand::Chlorine(asked) => chlorine::compare(asked, place),
    }
}

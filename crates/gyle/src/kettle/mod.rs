//! `gyle wort …`: everything about wort.

mod boil;

use clap::Subcommand;

use crate::problem::Problem;

/// What is asked about wort.
#[derive(Debug, Subcommand)]
pub enum WortCommand {
    /// Follow the boil: bitterness hop by hop, dimethyl sulfide, heat.
    #[command(after_help = "\
Examples:
  gyle wort boil lantern-pale.toml
  gyle wort boil store:lantern --units us
  gyle wort boil mine.toml --json")]
    Boil(boil::Asked),
}

/// Answers a question about wort.
///
/// # Errors
/// [`Problem`] as the question has it.
pub fn run(command: &WortCommand, place: Option<&str>) -> Result<(), Problem> {
    match command {
        WortCommand::Boil(asked) => boil::follow(asked, place),
    }
}

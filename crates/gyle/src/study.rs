//! `gyle study`: whether batches go into the study over the batches of many.

use app::{App, StudyState, WHAT_LEAVES};
use clap::{ArgGroup, Args, Subcommand};
use quantity::Units;
use store::DocumentId;

use crate::kept::{block_on, by_wanted, place};
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// What can be said of the study.
#[derive(Debug, Subcommand)]
pub enum StudyCommand {
    /// Agree that a batch goes into the study, or every batch of this store that belongs
    /// to no group: a group of a shared server agrees on its own page.
    #[command(after_help = "\
Examples:
  gyle study agree --batch lantern
  gyle study agree --every-batch")]
    Agree(Which),
    /// Withdraw a batch from the study, or every batch of this store that belongs to no
    /// group.
    #[command(after_help = "\
Examples:
  gyle study withdraw --batch lantern
  gyle study withdraw --every-batch")]
    Withdraw(Which),
    /// Say which batches go into the study, and what of them leaves.
    #[command(after_help = "Example:\n  gyle study state --json")]
    State {
        /// The answer as JSON (schema: gyle schema study).
        #[arg(long)]
        json: bool,
    },
}

/// One batch or all of them.
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("which").required(true))]
pub struct Which {
    /// The batch, by identifier or a part of its name.
    #[arg(long, group = "which")]
    batch: Option<String>,
    /// Every batch of this store that belongs to no group, those to come among them.
    #[arg(long, group = "which")]
    every_batch: bool,
    /// The state after it as JSON (schema: gyle schema study).
    #[arg(long)]
    json: bool,
}

/// Does what was asked for.
///
/// # Errors
/// [`Problem`].
pub fn run(command: &StudyCommand, store: Option<&str>) -> Result<(), Problem> {
    let place = place(store)?;
    let (state, json) = block_on(async {
        let app = App::open(place).await?;
        Ok(match command {
            StudyCommand::Agree(which) => {
                let batch = wanted(&app, which).await?;
                (app.agree_to_study(batch).await?, which.json)
            }
            StudyCommand::Withdraw(which) => {
                let batch = wanted(&app, which).await?;
                (app.withdraw_from_study(batch).await?, which.json)
            }
            StudyCommand::State { json } => (app.study_state().await?, *json),
        })
    })?;
    if json {
        return print_json(&state.form());
    }
    write_out(sheet(&state).as_bytes())
}

async fn wanted(app: &App, which: &Which) -> Result<Option<DocumentId>, Problem> {
    match &which.batch {
        Some(batch) => Ok(Some(by_wanted(app, batch).await?)),
        None => Ok(None),
    }
}

fn sheet(state: &StudyState) -> String {
    let mut page = Page::new(Units::Metric);
    page.title("The study over the batches of many");
    let form = state.form();
    let all = if form.every_batch {
        "agreed, those to come among them"
    } else {
        "not agreed"
    };
    page.row("every batch (of no group)", all);
    let count = format!("{} of {}", form.agreed.len(), form.batches);
    page.row("batches that go in", &count);
    for batch in &form.agreed {
        let of = batch.group.as_ref();
        let of = of.map_or_else(String::new, |group| format!(", by its group {group}"));
        page.row(&batch.name, &format!("since {}{of}", batch.since));
    }
    page.heading("What leaves");
    page.paragraph(WHAT_LEAVES);
    page.paragraph(
        "Agree with: gyle study agree --batch NAME; withdraw at any time with: gyle study withdraw --batch NAME.",
    );
    page.finish()
}

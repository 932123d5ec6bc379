//! `gyle certainty`: how sure the figures of a batch are.

use batch::certainty::words::{better_words, how, unsure_of};
use batch::certainty::{Certainty, CertaintyError, Question, certainty};
use batch::wire::certainty::Certainty as Form;
use quantity::Units;

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::progress::Counted;
use crate::sheet::Page;
use crate::{print_json, source, write_out};

/// Doubts that are named beside a figure.
const NAMED: usize = 3;

/// Of which batch, and how closely.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store.
    file: std::path::PathBuf,
    /// Draws for the intervals.
    #[arg(long, default_value_t = 2048)]
    draws: usize,
    /// Points for the shares of the doubts, each of as many reckonings as there are
    /// doubts; 0 for none.
    #[arg(long, default_value_t = 128)]
    points: usize,
    /// The same seed gives the same answer.
    #[arg(long, default_value_t = 1)]
    seed: u32,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The answer as JSON (schema: gyle schema certainty).
    #[arg(long)]
    json: bool,
}

/// Says it.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, and for draws that cannot be made.
pub fn say(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let source = source(&asked.file, place)?;
    let question = Question {
        draws: asked.draws,
        points: asked.points,
        seed: asked.seed,
    };
    let bar = Counted::new("reckoned");
    let found = certainty(&source.text, &question, &|done, all| bar.at(done, all));
    bar.clear();
    let found = found.map_err(|error| match error {
        CertaintyError::Document(faults) => Problem::Document {
            faults,
            source,
            json: asked.json,
        },
        other => Problem::no_answer(other),
    })?;
    if asked.json {
        return print_json(&Form::from(&found));
    }
    write_out(sheet(&found, asked.units.into()).as_bytes())
}

fn sheet(found: &Certainty, units: Units) -> String {
    let mut page = Page::new(units);
    page.title("How sure it is");
    page.paragraph("Nine of ten batches of this plan would lie between the two figures.");
    page.heading("From tap to glass");
    for figure in &found.figures {
        let likely = figure.print(figure.likely, units);
        if !figure.is_open(units) {
            page.row(figure.label, &format!("{likely}, all but certain"));
            continue;
        }
        let between = figure.interval(units);
        page.row(figure.label, &format!("{between}, most likely {likely}"));
        if !figure.shares.is_empty() {
            page.row(
                "",
                &format!("unsure of: {}", unsure_of(found, figure, NAMED)),
            );
        }
    }
    let better = found.better();
    if !better.is_empty() {
        page.heading("What to know better");
        for better in &better {
            page.marked("  ·  ", &better_words(better, units));
        }
    }
    page.paragraph(&format!("{}.", how(found)));
    page.paragraph("Shares are of the variance, alone and together with others. What nothing is said of counts as known.");
    page.finish()
}

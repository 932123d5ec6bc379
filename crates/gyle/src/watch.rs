//! `gyle watch`: a fermentation as its readings have it.

mod full;
mod sheet;

use std::path::{Path, PathBuf};

use app::App;
use batch::log::{Guess, LogReading, Role, read_table};
use batch::watch::{Moments, Watched};
use batch::wire::watch::{FermentationCourse, PosteriorForm};
use quantity::Note;

use crate::cli::UnitsChoice;
use crate::kept::{block_on, by_wanted, place};
use crate::problem::Problem;
use crate::{input, log, print_json, reckoned, source, write_out};

/// Rows of a table whose refusal is told one by one.
const TOLD: usize = 5;

/// What is watched.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the store
    /// with the readings that are kept with it.
    file: PathBuf,
    /// A table of readings in their place; its columns are taken as gyle log look shows
    /// them.
    #[arg(long, value_name = "CSV")]
    readings: Option<PathBuf>,
    /// What its columns hold, in order, with commas between.
    #[arg(long, requires = "readings")]
    columns: Option<String>,
    /// The instrument, where no column names it; a word in it says how it errs:
    /// hydrometer, narrow hydrometer, refractometer, float, inline.
    #[arg(long, requires = "readings")]
    instrument: Option<String>,
    /// When the yeast was pitched, as in 2026-03-14T15:00:00Z; left out, as the document
    /// says, where the times of the table count from, or at the first reading.
    #[arg(long, value_name = "TIME")]
    pitched: Option<String>,
    /// Sample the whole posterior beside the quick answer; Ctrl-C stops it.
    #[arg(long)]
    full: bool,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The course as JSON (schema: gyle schema fermentation-course).
    #[arg(long)]
    json: bool,
    /// The forecast as a table of comma-separated values.
    #[arg(long, conflicts_with_all = ["json", "full"])]
    csv: bool,
}

/// Watches.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned and readings that cannot be read.
pub fn say(asked: &Asked, named: Option<&str>) -> Result<(), Problem> {
    let r = reckoned(&source(&asked.file, named)?, asked.json)?;
    let pitched_ms = asked.pitched.as_deref().map(log::time).transpose()?;
    let said = pitched_ms.map(store::Timestamp::ms);
    let documented = said.or(r.document.fermentation.pitched);
    let read = match &asked.readings {
        Some(table) => of_table(asked, table, documented)?,
        None => Read {
            readings: of_store(&asked.file, named)?,
            ..Read::default()
        },
    };
    let moments = Moments {
        pitched_ms: said,
        now_ms: None,
        undated: read.undated,
    };
    let mut watched = Watched::of(&r, &read.readings, moments).map_err(Problem::no_answer)?;
    watched.notes.extend(read.notes);
    let whole = if asked.full {
        Some(full::posterior(&watched)?)
    } else {
        None
    };
    if asked.json {
        let mut form = FermentationCourse::from(&watched);
        form.posterior = whole.as_ref().map(PosteriorForm::from);
        return print_json(&form);
    }
    let text = if asked.csv {
        sheet::csv(&watched)
    } else {
        sheet::sheet(
            &r.document.batch.name,
            &watched,
            whole.as_ref(),
            asked.units.into(),
        )
    };
    write_out(text.as_bytes())
}

/// Readings, and what to know about how they were read.
#[derive(Default)]
struct Read {
    readings: Vec<LogReading>,
    notes: Vec<Note>,
    /// They count from pitching.
    undated: bool,
}

/// The readings of a table; times that count from a start count from pitching.
fn of_table(asked: &Asked, table: &Path, pitched_ms: Option<i64>) -> Result<Read, Problem> {
    let source = input::read_log(table)?;
    let guess = Guess::of(&source.text).map_err(log::refused)?;
    let mut mapping = guess.mapping.clone();
    if let Some(columns) = &asked.columns {
        mapping.columns = log::roles(columns)?;
    }
    if let Some(instrument) = &asked.instrument {
        mapping.instrument.clone_from(instrument);
    }
    let counted = mapping.columns.iter().any(|c| matches!(c, Role::Since(_)));
    mapping.start_ms = counted.then(|| pitched_ms.unwrap_or(0));
    let mut read = Read {
        undated: counted && pitched_ms.is_none(),
        ..Read::default()
    };
    let civil = mapping
        .columns
        .iter()
        .any(|c| matches!(c, Role::Civil(_) | Role::Date(_)));
    if civil {
        read.notes.push(Note::look(
            "the times of the table have no offset: they are taken as UTC",
        ));
    }
    let mut refused = Vec::new();
    for fate in read_table(&source.text, &mapping).map_err(log::refused)? {
        read.readings.extend(fate.readings);
        if !fate.refused.is_empty() {
            refused.push(format!("row {}: {}", fate.row, fate.refused.join("; ")));
        }
    }
    if !refused.is_empty() {
        let more = refused.len().saturating_sub(TOLD);
        let rows = if refused.len() == 1 { "row" } else { "rows" };
        let mut told = format!(
            "{} {rows} of the table could not be read as a whole: ",
            refused.len()
        );
        told.push_str(&refused[..refused.len() - more].join(" · "));
        if more > 0 {
            told.push_str(&format!(" · and {more} more"));
        }
        read.notes.push(Note::look(told));
    }
    Ok(read)
}

/// The readings that are kept with a batch of the store; a file has none.
pub fn of_store(file: &Path, named: Option<&str>) -> Result<Vec<LogReading>, Problem> {
    let Some(wanted) = file.to_str().and_then(|f| f.strip_prefix("store:")) else {
        return Ok(Vec::new());
    };
    let place = place(named)?;
    block_on(async {
        let app = App::open(place).await?;
        let id = by_wanted(&app, wanted).await?;
        Ok(app.readings(id).await?)
    })
}

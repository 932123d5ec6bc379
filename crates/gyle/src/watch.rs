//! `gyle watch`: a fermentation as its readings have it.

use std::path::{Path, PathBuf};

use app::App;
use batch::Reckoning;
use batch::log::{Guess, LogReading, Role, read_table};
use batch::watch::{Moments, Watched};
use batch::wire::watch::FermentationCourse;
use quantity::{Gravity, Units};

use crate::cli::UnitsChoice;
use crate::kept::{block_on, by_wanted, place};
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{input, print_json, reckoned, source, write_out};

/// Lines that the forecast is shown in.
const LINES: usize = 12;

/// What is watched.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the store
    /// with the readings that are kept with it.
    file: PathBuf,
    /// A table of readings in their place, its columns taken as gyle log look shows them.
    #[arg(long, value_name = "CSV")]
    readings: Option<PathBuf>,
    /// When the yeast was pitched, as in 2026-03-14T15:00:00Z; left out, at the first
    /// reading, or where the times of the table count from.
    #[arg(long, value_name = "TIME")]
    pitched: Option<String>,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The course as JSON (schema: gyle schema fermentation-course).
    #[arg(long)]
    json: bool,
}

/// Watches.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned and readings that cannot be read.
pub fn say(asked: &Asked, named: Option<&str>) -> Result<(), Problem> {
    let r = reckoned(&source(&asked.file, named)?, asked.json)?;
    let pitched_ms = asked.pitched.as_deref().map(time).transpose()?;
    let (readings, pitched_ms) = match &asked.readings {
        Some(table) => of_table(table, pitched_ms)?,
        None => (of_store(&asked.file, named)?, pitched_ms),
    };
    let moments = Moments {
        pitched_ms,
        now_ms: None,
    };
    let watched = Watched::of(&r, &readings, moments).map_err(no)?;
    if asked.json {
        return print_json(&FermentationCourse::from(&watched));
    }
    write_out(sheet(&r, &watched, asked.units.into()).as_bytes())
}

fn no(message: impl ToString) -> Problem {
    Problem::NoAnswer {
        message: message.to_string(),
    }
}

fn time(text: &str) -> Result<i64, Problem> {
    let stamp: store::Timestamp = text.parse().map_err(no)?;
    Ok(stamp.ms())
}

/// The readings of a table; times that count from a start count from pitching.
fn of_table(
    table: &Path,
    pitched_ms: Option<i64>,
) -> Result<(Vec<LogReading>, Option<i64>), Problem> {
    let source = input::read_log(table)?;
    let mut mapping = Guess::of(&source.text).map_err(no)?.mapping;
    let counted = mapping.columns.iter().any(|c| matches!(c, Role::Since(_)));
    let pitched_ms = pitched_ms.or(counted.then_some(0));
    mapping.start_ms = mapping.start_ms.or(pitched_ms);
    let rows = read_table(&source.text, &mapping).map_err(no)?;
    Ok((rows.flat_map(|fate| fate.readings).collect(), pitched_ms))
}

/// The readings that are kept with a batch of the store; a file has none.
fn of_store(file: &Path, named: Option<&str>) -> Result<Vec<LogReading>, Problem> {
    let Some(wanted) = file.to_str().and_then(|f| f.strip_prefix("store:")) else {
        return Err(no(
            "a file holds no readings; give a table with --readings, or a batch of the store as store:NAME",
        ));
    };
    let place = place(named)?;
    block_on(async {
        let app = App::open(place).await?;
        let id = by_wanted(&app, wanted).await?;
        Ok(app.readings(id).await?)
    })
}

fn sheet(r: &Reckoning, watched: &Watched, units: Units) -> String {
    let c = &watched.course;
    let mut page = Page::new(units);
    page.title(&format!("{}: the fermentation", r.document.batch.name));
    for sentence in watched.verdict(units) {
        page.paragraph(&sentence);
    }
    let span = |page: &Page, low: Gravity, high: Gravity| {
        format!("{} to {}", page.show(low), page.show(high))
    };
    let likely = |page: &Page, l: &ferment::watch::Likely<Gravity>| {
        format!("{} ({})", page.show(l.middle), span(page, l.low, l.high))
    };
    let (now, end) = (likely(&page, &c.gravity), likely(&page, &c.end));
    page.row("gravity now", &now);
    page.row("gravity at the end", &end);
    page.figure("of the fall is done", c.progress.middle);
    page.figure("a point or less is left: chance", c.finish.little_left);
    for alarm in &c.alarms {
        page.heading(&alarm.what);
        for figure in &alarm.evidence {
            page.marked("  ·     ", figure);
        }
        for way in &alarm.advice {
            page.marked("  do    ", way);
        }
    }
    page.heading("Forecast: nine times in ten, after pitching");
    let ahead: Vec<_> = c
        .forecast
        .iter()
        .filter(|f| f.at.h() >= c.now.h())
        .collect();
    for f in ahead.iter().step_by(ahead.len().div_ceil(LINES).max(1)) {
        let value = format!(
            "{}, {}",
            span(&page, f.gravity.low, f.gravity.high),
            page.show(f.temperature)
        );
        let label = page.show(f.at);
        page.row(&label, &value);
    }
    page.heading("Instruments");
    for i in &c.instruments {
        let value = format!(
            "{}, {} readings, off by {:+.1} ± {:.1} °P",
            i.kind.word(),
            i.readings,
            i.bias_plato.0,
            i.bias_plato.1
        );
        page.row(&i.name, &value);
    }
    page.notes(&c.notes);
    page.finish()
}

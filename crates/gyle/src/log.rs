//! `gyle log`: what instruments said during a fermentation.

use std::path::PathBuf;

use app::{App, Arrivals, KeptLog, LoggedChannel};
use batch::log::{Guess, LogError, Mapping, Role, What, read_senml, read_table_from};
use batch::wire::log::Log;
use clap::{Args, Subcommand};
use quantity::Units;
use store::Timestamp;

use crate::cli::UnitsChoice;
use crate::kept::{block_on, by_wanted, place};
use crate::problem::Problem;
use crate::progress::Watched;
use crate::sheet::Page;
use crate::{input, print_json, write_out};

/// Deliveries and remarks that are asked for.
const TOLD: u32 = 1000;

/// What can be asked.
#[derive(Debug, Subcommand)]
pub enum LogCommand {
    /// Look at a table of readings: what its columns may hold, and what is open.
    #[command(after_help = "\
Examples:
  gyle log look float.csv
  gyle log look - --json < float.csv")]
    Look {
        /// The table; - reads standard input.
        file: PathBuf,
        /// What was understood as JSON (schema: gyle schema log).
        #[arg(long)]
        json: bool,
    },
    /// Keep a table or a SenML pack (RFC 8428) with a batch of the store.
    #[command(after_help = "\
Examples:
  gyle log keep lantern float.csv --as-guessed
  gyle log keep lantern float.csv --columns \"hours from the start,gravity °P,temperature °C\" --start 2026-03-14T09:00:00Z
  gyle log keep lantern pack.json --senml")]
    Keep(Box<Keep>),
    /// Keep a reading that was taken by hand.
    #[command(after_help = "\
Examples:
  gyle log enter lantern gravity 1.020
  gyle log enter lantern gravity \"6.4 °Bx\" --instrument prism
  gyle log enter lantern temperature \"66 °F\" --at 2026-03-16T18:30:00Z")]
    Enter {
        /// The batch, by its identifier or a part of its name.
        batch: String,
        /// gravity, temperature, surroundings, ph or pressure.
        what: String,
        /// The reading, as in 1.020 or \"19.5 °C\".
        reading: String,
        /// When, as in 2026-03-16T18:30:00Z; left out, now.
        #[arg(long, value_name = "TIME")]
        at: Option<String>,
        /// The instrument.
        #[arg(long, default_value = "by hand")]
        instrument: String,
    },
    /// Show what the instruments of a batch said, and what looks odd in it.
    #[command(after_help = "\
Examples:
  gyle log show lantern
  gyle log show lantern --json > readings.json")]
    Show {
        /// The batch, by its identifier or a part of its name.
        batch: String,
        /// Units of the figures.
        #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
        units: UnitsChoice,
        /// All readings as JSON (schema: gyle schema log).
        #[arg(long)]
        json: bool,
    },
}

/// What is to be kept, and how it is to be read.
#[derive(Debug, Args)]
pub struct Keep {
    /// The batch, by its identifier or a part of its name.
    batch: String,
    /// The table or the pack; - reads standard input.
    file: PathBuf,
    /// It is a SenML pack.
    #[arg(long, conflicts_with_all = ["columns", "as_guessed"])]
    senml: bool,
    /// What the columns hold, in order, with commas between: words as gyle log look
    /// shows them.
    #[arg(long)]
    columns: Option<String>,
    /// Take the columns as they seem to be.
    #[arg(long, conflicts_with = "columns")]
    as_guessed: bool,
    /// The start, for times that count from one, as in 2026-03-14T09:00:00Z.
    #[arg(long, value_name = "TIME")]
    start: Option<String>,
    /// How far the clock of times without an offset was from UTC, as in +01:00.
    #[arg(long, value_name = "OFFSET", allow_hyphen_values = true)]
    offset: Option<String>,
    /// The instrument, where no column names it.
    #[arg(long)]
    instrument: Option<String>,
    /// What became of it as JSON (schema: gyle schema log).
    #[arg(long)]
    json: bool,
}

/// Does what was asked for.
///
/// # Errors
/// [`Problem`].
pub fn run(command: &LogCommand, store: Option<&str>) -> Result<(), Problem> {
    match command {
        LogCommand::Look { file, json } => {
            let head = input::open_log(file)?.head;
            let guess = Guess::of(&head).map_err(refused)?;
            if *json {
                print_json(&Log::from(&guess))
            } else {
                write_out(looked(&guess).as_bytes())
            }
        }
        LogCommand::Keep(asked) => keep(asked, store),
        LogCommand::Enter {
            batch,
            what,
            reading,
            at,
            instrument,
        } => enter(store, batch, (what, reading), at.as_deref(), instrument),
        LogCommand::Show { batch, units, json } => {
            let place = place(store)?;
            let (channels, arrivals) = block_on(async {
                let app = App::open(place).await?;
                let id = by_wanted(&app, batch).await?;
                Ok((app.logged(id).await?, app.arrivals(id, TOLD).await?))
            })?;
            if *json {
                print_json(&arrivals.beside(LoggedChannel::wire(&channels)))
            } else {
                let text = shown(&channels, &arrivals, (*units).into());
                write_out(text.as_bytes())
            }
        }
    }
}

pub(crate) fn refused(error: LogError) -> Problem {
    Problem::App(error.into())
}

fn no(message: impl Into<String>) -> Problem {
    Problem::NoAnswer {
        message: message.into(),
    }
}

/// What the columns of a table hold, as a person wrote it.
pub(crate) fn roles(columns: &str) -> Result<Vec<Role>, Problem> {
    let roles = columns.split(',').map(str::parse);
    roles.collect::<Result<_, _>>().map_err(refused)
}

pub(crate) fn time(text: &str) -> Result<Timestamp, Problem> {
    text.parse()
        .map_err(|error: store::StoreError| no(error.to_string()))
}

fn keep(asked: &Keep, store: Option<&str>) -> Result<(), Problem> {
    let place = place(store)?;
    let kept = if asked.senml {
        let source = input::read_log(&asked.file)?;
        block_on(async {
            let app = App::open(place).await?;
            let id = by_wanted(&app, &asked.batch).await?;
            let now = app.this_moment();
            let fates = read_senml(&source.text, now.ms()).map_err(refused)?;
            Ok(app.keep_log(id, fates.into_iter(), "senml", |_| {}).await?)
        })?
    } else {
        let log = input::open_log(&asked.file)?;
        let mapping = mapping(asked, &log.head)?;
        let watched = Watched::new(log.all, log.whole);
        let fates = read_table_from(watched, &mapping).map_err(refused)?;
        block_on(async {
            let app = App::open(place).await?;
            let id = by_wanted(&app, &asked.batch).await?;
            Ok(app.keep_log(id, fates, &log.name, |_| {}).await?)
        })?
    };
    if asked.json {
        print_json(&kept.wire())
    } else {
        write_out(told(&kept).as_bytes())
    }
}

fn mapping(asked: &Keep, text: &str) -> Result<Mapping, Problem> {
    let guess = Guess::of(text).map_err(refused)?;
    let mut mapping = guess.mapping.clone();
    if let Some(columns) = &asked.columns {
        mapping.columns = roles(columns)?;
    } else if !asked.as_guessed {
        return Err(no(format!(
            "{}\nIf the columns are right, say --as-guessed; if not, name them with --columns",
            looked(&guess).trim_end()
        )));
    }
    if let Some(start) = &asked.start {
        mapping.start_ms = Some(time(start)?.ms());
    }
    if let Some(offset) = &asked.offset {
        mapping.offset = batch::log::offset(offset)
            .ok_or_else(|| no(format!("{offset:?} is no offset; write it as in +01:00")))?;
    }
    if let Some(instrument) = &asked.instrument {
        mapping.instrument.clone_from(instrument);
    }
    Ok(mapping)
}

fn enter(
    store: Option<&str>,
    batch: &str,
    (what, reading): (&str, &str),
    at: Option<&str>,
    instrument: &str,
) -> Result<(), Problem> {
    let what = What::of_word(what).ok_or_else(|| {
        let words: Vec<&str> = What::ALL.iter().map(|what| what.word()).collect();
        no(format!(
            "{what:?} is nothing that is logged; known are {}",
            words.join(", ")
        ))
    })?;
    let entered = what
        .entered(reading)
        .map_err(|error| no(format!("{reading}: {error}")))?;
    batch::log::named(instrument).map_err(no)?;
    let at = at.map(time).transpose()?;
    let place = place(store)?;
    let kept = block_on(async {
        let app = App::open(place).await?;
        let id = by_wanted(&app, batch).await?;
        Ok(app
            .keep_entered(id, what, entered, reading, instrument, at)
            .await?)
    })?;
    write_out(told(&kept).as_bytes())
}

fn looked(guess: &Guess) -> String {
    let mut page = Page::new(Units::Metric);
    page.title("The table, column by column");
    for (n, column) in guess.columns.iter().enumerate() {
        let name = if column.header.is_empty() {
            format!("column {}", n + 1)
        } else {
            column.header.clone()
        };
        page.row(&name, &column.role.to_string());
        page.marked("  ·     ", &column.why);
        if !column.sample.is_empty() {
            page.marked("  ·     ", &format!("as in {}", column.sample.join(", ")));
        }
    }
    for question in &guess.questions {
        page.marked("  look  ", question);
    }
    page.finish()
}

fn told(kept: &KeptLog) -> String {
    let mut page = Page::new(Units::Metric);
    page.row("rows", &kept.rows.to_string());
    page.row("readings", &kept.readings.to_string());
    page.row("new", &kept.added.to_string());
    page.row("there before", &kept.already.to_string());
    if kept.clock_went_back > 0 {
        page.row(
            "times that the clock went back",
            &kept.clock_went_back.to_string(),
        );
    }
    if kept.ahead > 0 {
        page.row("times ahead of the clock here", &kept.ahead.to_string());
    }
    if kept.contradictions > 0 {
        page.row(
            "not kept: another value at that time",
            &kept.contradictions.to_string(),
        );
        for said in &kept.contradicted {
            page.marked("  look  ", said);
        }
    }
    if kept.refusals > 0 {
        page.row("rows with what cannot be read", &kept.refusals.to_string());
        for (row, why) in &kept.refused {
            page.marked("  look  ", &format!("row {row}: {why}"));
        }
    }
    page.finish()
}

fn shown(channels: &[LoggedChannel], arrivals: &Arrivals, units: Units) -> String {
    let mut page = Page::new(units);
    if channels.is_empty() {
        page.paragraph("Nothing was logged of this batch yet.");
    }
    for channel in channels {
        page.heading(&format!("{}, {}", channel.what.word(), channel.instrument));
        page.row("readings", &channel.count.to_string());
        for (label, reading) in [
            ("first", channel.readings.first()),
            ("last", channel.readings.last()),
        ] {
            if let Some(reading) = reading {
                let form = batch::wire::log::LoggedReading::of(reading, None);
                let value = reading.show(units);
                page.row(label, &format!("{value}, {}", form.at));
            }
        }
        let last = channel.corrected.last().and_then(Option::as_ref);
        if let Some(right) = last {
            let value = channel.what.show_measured(right.value, right.sd, units);
            page.row("the last set right", &value);
            for done in &right.done {
                page.marked("  ·     ", done);
            }
        }
        for note in &channel.notes {
            page.marked("  look  ", note);
        }
        for flag in channel.flags.iter().take(20) {
            page.marked(
                "  look  ",
                &format!("reading {}: {}", flag.place + 1, flag.kind.words()),
            );
        }
        if channel.flags.len() > 20 {
            page.row(
                "further odd readings",
                &(channel.flags.len() - 20).to_string(),
            );
        }
    }
    if !arrivals.remarks.is_empty() {
        page.heading("rows to look at, kept as they came");
    }
    for remark in arrivals.remarks.iter().take(20) {
        let of = arrivals.deliveries.iter().find(|d| d.id == remark.delivery);
        let source = of.map_or("", |d| d.source.as_str());
        page.marked(
            "  look  ",
            &format!(
                "{source}, row {}, {}: {}",
                remark.line,
                remark.kind.word(),
                remark.why
            ),
        );
    }
    page.finish()
}

//! `gyle instrument`: whether an instrument can be believed.

use app::{App, InstrumentRecord};
use batch::wire::kept::{InstrumentRow, Instruments};
use clap::Subcommand;
use quantity::Units;

use crate::kept::{block_on, place};
use crate::measure::{Face, ask};
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// What can be asked.
#[derive(Debug, Subcommand)]
pub enum InstrumentCommand {
    /// Say what readings of one figure by several instruments come to.
    #[command(after_help = "\
Examples:
  gyle instrument agree \"1.012 ± 0.001\" \"1.015 ± 0.002\"
  gyle instrument agree --of temperature \"19.5 ± 0.3 °C\" \"20.4 ± 0.2 °C\" --json")]
    Agree {
        /// Two to four readings, each with its ±.
        #[arg(num_args = 2..=4, required = true)]
        readings: Vec<String>,
        /// gravity, temperature or ph.
        #[arg(long)]
        of: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// Say what a thermometer should read in ice and in boiling water, and set it right.
    #[command(after_help = "\
Examples:
  gyle instrument thermometer --altitude \"500 m\"
  gyle instrument thermometer --ice \"0.4 °C\" --boil \"99.2 °C\" --at \"66 °C\"")]
    Thermometer {
        /// Height above the sea; left out, 0 m.
        #[arg(long)]
        altitude: Option<String>,
        /// What it reads in melting ice.
        #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
        ice: Option<String>,
        /// What it reads in boiling water.
        #[arg(long, value_name = "TEMPERATURE")]
        boil: Option<String>,
        /// A reading to set right; left out, 66 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        at: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// Say what a hydrometer should show in plain water.
    #[command(after_help = "Example:\n  gyle instrument hydrometer --at \"22 °C\" --reading 1.001")]
    Hydrometer {
        /// Temperature of the water.
        #[arg(long, value_name = "TEMPERATURE")]
        at: String,
        /// Temperature printed on the stem; left out, 20 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        calibrated: Option<String>,
        /// What it shows.
        #[arg(long)]
        reading: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// Say how a pH electrode stands by two buffers.
    #[command(after_help = "\
Example:
  gyle instrument electrode --one 7.00 --shows-one \"4 mV\" --two 4.01 --shows-two \"176 mV\"")]
    Electrode {
        /// The first buffer; left out, 7.00.
        #[arg(long, value_name = "PH")]
        one: Option<String>,
        /// What the meter shows in it.
        #[arg(long, value_name = "POTENTIAL", allow_hyphen_values = true)]
        shows_one: String,
        /// The second buffer; left out, 4.01.
        #[arg(long, value_name = "PH")]
        two: Option<String>,
        /// What the meter shows in it.
        #[arg(long, value_name = "POTENTIAL", allow_hyphen_values = true)]
        shows_two: String,
        /// Temperature of both; left out, 25 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        at: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// List the instruments of the brewhouses, their checks and what is to be added.
    #[command(after_help = "Example:\n  gyle instrument list --json")]
    List {
        /// The list as JSON (schema: gyle schema instruments).
        #[arg(long)]
        json: bool,
    },
    /// Keep an instrument with a brewhouse.
    #[command(after_help = "\
Examples:
  gyle instrument add cellar --kind thermometer --brewhouse quay
  gyle instrument add glass --kind hydrometer --stem \"20 °C\" --brewhouse quay
  gyle instrument add pen --kind ph-meter --set-to \"25 °C\" --valid-until 2027-03-14 --brewhouse quay")]
    Add {
        /// Its name, as readings name it.
        name: String,
        /// thermometer, hydrometer, refractometer or ph-meter.
        #[arg(long)]
        kind: String,
        /// The brewhouse, by a part of its name.
        #[arg(long)]
        brewhouse: String,
        /// Temperature printed on the stem of a hydrometer.
        #[arg(long, value_name = "TEMPERATURE")]
        stem: Option<String>,
        /// How well it is read, as in \"0.2 °C\" or 0.001.
        #[arg(long)]
        spread: Option<String>,
        /// The day until which its checks hold, as in 2027-03-14.
        #[arg(long, value_name = "DAY")]
        valid_until: Option<String>,
        /// For a pH meter without temperature compensation: what it is set to.
        #[arg(long, value_name = "TEMPERATURE")]
        set_to: Option<String>,
    },
    /// Keep a check of an instrument: what it was, and what was read.
    #[command(after_help = "\
Examples:
  gyle instrument check cellar --reference \"0 ± 0.05 °C\" --read \"0.4 °C\" --day 2027-03-14
  gyle instrument check glass --reference 1.000 --read 1.002")]
    Check {
        /// The instrument.
        name: String,
        /// What it was, with how well that is known.
        #[arg(long, allow_hyphen_values = true)]
        reference: String,
        /// What the instrument read.
        #[arg(long, allow_hyphen_values = true)]
        read: String,
        /// The day.
        #[arg(long)]
        day: Option<String>,
    },
}

/// Does what was asked for.
///
/// # Errors
/// [`Problem`].
pub fn run(command: &InstrumentCommand, store: Option<&str>) -> Result<(), Problem> {
    match command {
        InstrumentCommand::Agree { readings, of, face } => {
            let names = ["one", "two", "three", "four"];
            let mut typed = vec![("of", of.as_deref())];
            typed.extend(
                names
                    .into_iter()
                    .zip(readings.iter().map(|r| Some(r.as_str()))),
            );
            ask("agree", *face, typed)
        }
        InstrumentCommand::Thermometer {
            altitude,
            ice,
            boil,
            at,
            face,
        } => ask(
            "thermometer-check",
            *face,
            vec![
                ("altitude", altitude.as_deref()),
                ("ice", ice.as_deref()),
                ("boil", boil.as_deref()),
                ("at", at.as_deref()),
            ],
        ),
        InstrumentCommand::Hydrometer {
            at,
            calibrated,
            reading,
            face,
        } => ask(
            "hydrometer-check",
            *face,
            vec![
                ("at", Some(at)),
                ("calibrated", calibrated.as_deref()),
                ("reading", reading.as_deref()),
            ],
        ),
        InstrumentCommand::Electrode {
            one,
            shows_one,
            two,
            shows_two,
            at,
            face,
        } => ask(
            "electrode",
            *face,
            vec![
                ("one", one.as_deref()),
                ("shows_one", Some(shows_one)),
                ("two", two.as_deref()),
                ("shows_two", Some(shows_two)),
                ("at", at.as_deref()),
            ],
        ),
        InstrumentCommand::List { json } => list(store, *json),
        InstrumentCommand::Add {
            name,
            kind,
            brewhouse,
            stem,
            spread,
            valid_until,
            set_to,
        } => {
            let values = [
                ("name", Some(name)),
                ("kind", Some(kind)),
                ("stem", stem.as_ref()),
                ("spread", spread.as_ref()),
                ("valid_until", valid_until.as_ref()),
                ("set_to", set_to.as_ref()),
            ];
            let place = place(store)?;
            block_on(async {
                let app = App::open(place).await?;
                Ok(app.keep_instrument(brewhouse, &given(&values)).await?)
            })?;
            write_out(format!("{name} is kept with its brewhouse\n").as_bytes())
        }
        InstrumentCommand::Check {
            name,
            reference,
            read,
            day,
        } => {
            let values = [
                ("day", day.as_ref()),
                ("reference", Some(reference)),
                ("read", Some(read)),
            ];
            let place = place(store)?;
            block_on(async {
                let app = App::open(place).await?;
                Ok(app.keep_check(name, &given(&values)).await?)
            })?;
            write_out(format!("the check of {name} is kept\n").as_bytes())
        }
    }
}

fn given(values: &[(&str, Option<&String>)]) -> Vec<(String, String)> {
    let given = values
        .iter()
        .filter_map(|(key, value)| Some((*key, (*value)?)));
    given
        .map(|(key, value)| (key.to_owned(), value.clone()))
        .collect()
}

fn list(store: Option<&str>, json: bool) -> Result<(), Problem> {
    let place = place(store)?;
    let records = block_on(async { Ok(App::open(place).await?.instruments().await?) })?;
    if json {
        let rows = records.iter().map(row).collect();
        return print_json(&Instruments::of(rows));
    }
    let mut page = Page::new(Units::Metric);
    if records.is_empty() {
        page.paragraph("No instrument is kept yet; keep one with: gyle instrument add NAME --kind KIND --brewhouse BREWHOUSE");
    }
    let due = records.iter().filter(|record| record.lapsed());
    let due: Vec<&str> = due.map(|r| r.instrument.name.as_str()).collect();
    if !due.is_empty() {
        page.row("due for a check", &due.join(", "));
    }
    for record in &records {
        let told = record.told(Units::Metric);
        page.heading(&record.instrument.name);
        page.row("kind", record.instrument.kind.word());
        page.row("brewhouse", &record.brewhouse);
        if let Some(until) = &record.instrument.valid_until {
            page.row("checks hold until", until);
        }
        if let Some(due) = &told.due {
            page.marked(
                if record.lapsed() {
                    "  act   "
                } else {
                    "  look  "
                },
                due,
            );
        }
        for check in &told.checks {
            page.row("checked", check);
        }
        page.row("to add", &told.correction);
        for note in &told.notes {
            page.marked("  ·     ", note);
        }
    }
    write_out(page.finish().as_bytes())
}

fn row(record: &InstrumentRecord) -> InstrumentRow {
    let told = record.told(Units::Metric);
    InstrumentRow {
        name: record.instrument.name.clone(),
        kind: record.instrument.kind.word(),
        brewhouse: record.brewhouse.clone(),
        valid_until: record.instrument.valid_until.clone(),
        due: told.due,
        checks: told.checks,
        correction: told.correction,
        notes: told.notes,
    }
}

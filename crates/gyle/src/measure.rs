//! The small tools beside the kettle.

use app::{Measurement, Tool, Typed};
use clap::{Args, Subcommand};
use quantity::Units;

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// The tools.
#[derive(Debug, Subcommand)]
pub enum MeasureCommand {
    /// The gravity behind a hydrometer's reading in a warm or cold sample.
    #[command(after_help = "\
Examples:
  gyle measure hydrometer 1.048 --at \"28 °C\"
  gyle measure hydrometer 1.012 --at \"66 °F\" --calibrated \"60 °F\" --original 1.050")]
    Hydrometer {
        /// The mark at the surface, as in 1.048 or \"12 °P\".
        reading: String,
        /// Temperature of the sample.
        #[arg(long, value_name = "TEMPERATURE")]
        at: String,
        /// Temperature printed on the stem; left out, 20 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        calibrated: Option<String>,
        /// Gravity before fermentation, where the sample holds alcohol.
        #[arg(long, value_name = "GRAVITY")]
        original: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// The gravity of wort, or of beer, by a refractometer.
    #[command(after_help = "\
Examples:
  gyle measure refractometer \"12.4 °Bx\"
  gyle measure refractometer \"12.4 °Bx\" --factor \"1.03 ± 0.01\"
  gyle measure refractometer \"6.3 °Bx\" --before \"12.4 °Bx\"")]
    Refractometer {
        /// The mark, as in \"12.4 °Bx\".
        reading: String,
        /// The reading before fermentation, where the sample is beer.
        #[arg(long, value_name = "READING")]
        before: Option<String>,
        /// How much more strongly wort refracts than sucrose; left out, 1.04 ± 0.02.
        #[arg(long)]
        factor: Option<String>,
        /// Temperature of the sample, for an instrument that does not compensate.
        #[arg(long, value_name = "TEMPERATURE")]
        at: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// Alcohol, attenuation and energy from the gravities before and after.
    #[command(after_help = "\
Examples:
  gyle measure alcohol 1.052 1.011
  gyle measure alcohol \"12.9 ± 0.1 °P\" \"2.8 ± 0.1 °P\" --json")]
    Alcohol {
        /// Gravity before fermentation.
        original: String,
        /// Gravity now.
        now: String,
        #[command(flatten)]
        face: Face,
    },
    /// One wort as °P, specific gravity, density and grams in a litre.
    #[command(after_help = "\
Examples:
  gyle measure extract \"12 °P\" --at \"30 °C\"
  gyle measure extract \"1046.4 kg/m3\"")]
    Extract {
        /// Gravity, or density at the temperature.
        reading: String,
        /// The temperature; left out, 20 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        at: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// The water to add to wort, or to boil off.
    #[command(after_help = "\
Examples:
  gyle measure dilute \"20 L\" 1.060 1.048
  gyle measure dilute \"26 L\" \"11 °P\" \"23 L\" --at \"98 °C\"")]
    Dilute {
        /// Volume now.
        volume: String,
        /// Gravity now.
        gravity: String,
        /// Gravity or volume (at 20 °C) wanted.
        to: String,
        /// Temperature at which the volume was read; left out, 20 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        at: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// The strength of ethanol in water by its density, or the other way.
    #[command(after_help = "\
Examples:
  gyle measure spirit \"991.0 kg/m3\"
  gyle measure spirit \"40 % vol\" --at \"15 °C\"")]
    Spirit {
        /// Density at the temperature, or strength at 20 °C.
        reading: String,
        /// The temperature; left out, 20 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        at: Option<String>,
        #[command(flatten)]
        face: Face,
    },
}

/// How the answer is printed.
#[derive(Debug, Clone, Copy, Args)]
pub struct Face {
    /// Units of the figures.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The figures as JSON (schema: gyle schema measurement).
    #[arg(long)]
    json: bool,
}

/// Does what was asked for.
pub fn run(command: &MeasureCommand) -> Result<(), Problem> {
    let (key, face, readings) = command.asked();
    let typed: Typed = readings
        .into_iter()
        .filter_map(|(name, text)| Some((name.to_owned(), text?.to_owned())))
        .collect();
    let tool = Tool::find(key).ok_or_else(|| Problem::Defect(format!("no tool {key}")))?;
    let found = tool
        .measure(&typed, face.units.into())
        .map_err(|faults| Problem::Readings {
            faults,
            json: face.json,
        })?;
    if face.json {
        print_json(&found.wire(tool))
    } else {
        write_out(sheet(&found, face.units.into()).as_bytes())
    }
}

type Asked<'c> = (&'static str, Face, Vec<(&'static str, Option<&'c str>)>);

impl MeasureCommand {
    fn asked(&self) -> Asked<'_> {
        fn some(text: &str) -> Option<&str> {
            Some(text)
        }
        match self {
            Self::Hydrometer {
                reading,
                at,
                calibrated,
                original,
                face,
            } => (
                "hydrometer",
                *face,
                vec![
                    ("reading", some(reading)),
                    ("at", some(at)),
                    ("calibrated", calibrated.as_deref()),
                    ("original", original.as_deref()),
                ],
            ),
            Self::Refractometer {
                reading,
                before,
                factor,
                at,
                face,
            } => (
                "refractometer",
                *face,
                vec![
                    ("reading", some(reading)),
                    ("before", before.as_deref()),
                    ("factor", factor.as_deref()),
                    ("at", at.as_deref()),
                ],
            ),
            Self::Alcohol {
                original,
                now,
                face,
            } => (
                "alcohol",
                *face,
                vec![("original", some(original)), ("now", some(now))],
            ),
            Self::Extract { reading, at, face } => (
                "extract",
                *face,
                vec![("reading", some(reading)), ("at", at.as_deref())],
            ),
            Self::Dilute {
                volume,
                gravity,
                to,
                at,
                face,
            } => (
                "dilute",
                *face,
                vec![
                    ("volume", some(volume)),
                    ("gravity", some(gravity)),
                    ("to", some(to)),
                    ("at", at.as_deref()),
                ],
            ),
            Self::Spirit { reading, at, face } => (
                "spirit",
                *face,
                vec![("reading", some(reading)), ("at", at.as_deref())],
            ),
        }
    }
}

fn sheet(found: &Measurement, units: Units) -> String {
    let mut page = Page::new(units);
    for line in &found.lines {
        page.row(line.label, &line.text);
    }
    for line in &found.lines {
        if let Some(remark) = line.remark {
            page.marked("  ·     ", &format!("{}: {remark}", line.label));
        }
    }
    page.notes(&found.notes);
    for caution in &found.cautions {
        let text = caution.text();
        page.marked("  ACT   ", &format!("{}: {}", text.title, text.text));
    }
    page.finish()
}

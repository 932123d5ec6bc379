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
        /// The gas of the sample: "shaken out" or "left in".
        #[arg(long)]
        gas: Option<String>,
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
    /// How clear beer of a colour looks in daylight through any depth.
    #[command(after_help = "\
Examples:
  gyle measure glass \"20 EBC\"
  gyle measure glass \"9 ± 1 SRM\" --depth \"2 in\"")]
    Glass {
        /// Colour of the beer.
        colour: String,
        /// Depth of the glass; left out, 7.5 cm.
        #[arg(long, value_name = "LENGTH")]
        depth: Option<String>,
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
    /// The pressure of a keg, and how long its beer takes to gas.
    #[command(after_help = "\
Examples:
  gyle measure keg \"2.4 vol\" --at \"4 °C\"
  gyle measure keg \"2.4 vol\" --at \"38 °F\" --pressure \"30 psi\" --altitude \"800 m\"")]
    Keg {
        /// CO2 aimed at, as in \"2.4 vol\" or \"5 g/L\".
        aim: String,
        /// Temperature of the beer.
        #[arg(long, value_name = "TEMPERATURE")]
        at: String,
        /// CO2 in the beer now; left out, 0.85 vol.
        #[arg(long, value_name = "CO2")]
        held: Option<String>,
        /// Pressure that is set; left out, the one that holds the aim.
        #[arg(long)]
        pressure: Option<String>,
        /// The keg: still-small or still-large; left out, still-small.
        #[arg(long)]
        way: Option<String>,
        /// Height above the sea; left out, 0 m.
        #[arg(long)]
        altitude: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// The length of a line to the tap, or how fast a line pours.
    #[command(after_help = "\
Examples:
  gyle measure line \"0.8 bar\"
  gyle measure line \"12 psi\" --tube vinyl-1/4 --length \"10 ft\"")]
    Line {
        /// Pressure of the keg.
        pressure: String,
        /// The tube; left out, vinyl-3/16. An unknown one names them all.
        #[arg(long)]
        tube: Option<String>,
        /// Rise from the keg to the tap; left out, 60 cm.
        #[arg(long, value_name = "LENGTH")]
        rise: Option<String>,
        /// Pour wanted; left out, 2.0 L/min.
        #[arg(long)]
        flow: Option<String>,
        /// Length of a line that is there.
        #[arg(long)]
        length: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// The wort that primes beer, fresh or fermenting.
    #[command(after_help = "\
Examples:
  gyle measure priming-wort \"19 L\" 1.048 --limit \"80 %\"
  gyle measure priming-wort \"19 L\" 1.048 --now 1.035 --limit \"80 %\" --aim \"2.6 vol\"")]
    PrimingWort {
        /// Beer to be packaged.
        beer: String,
        /// Gravity of the wort before fermentation.
        original: String,
        /// Its limit of attenuation, apparent.
        #[arg(long, value_name = "SHARE")]
        limit: String,
        /// Gravity of the wort now; left out, it has not begun to ferment.
        #[arg(long, value_name = "GRAVITY")]
        now: Option<String>,
        /// CO2 aimed at; left out, 2.4 vol.
        #[arg(long, value_name = "CO2")]
        aim: Option<String>,
        /// CO2 in the beer now; left out, 0.85 vol.
        #[arg(long, value_name = "CO2")]
        held: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// What filling with gas and venting leaves of the oxygen.
    #[command(after_help = "\
Examples:
  gyle measure purge \"1 bar\" --cycles 8
  gyle measure purge \"15 psi\" --share \"0.01 %\"")]
    Purge {
        /// Pressure each time.
        pressure: String,
        /// How often; left out, 5.
        #[arg(long)]
        cycles: Option<String>,
        /// Oxygen to be left in the gas; left out, 0.1 %.
        #[arg(long)]
        share: Option<String>,
        /// Gas above the beer; left out, 0.5 L.
        #[arg(long, value_name = "VOLUME")]
        head_space: Option<String>,
        /// Beer; left out, 19 L.
        #[arg(long, value_name = "VOLUME")]
        beer: Option<String>,
        /// Temperature; left out, 20 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        at: Option<String>,
        /// Height above the sea; left out, 0 m.
        #[arg(long)]
        altitude: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// All the oxygen of a bottle, from a shaken one or from its air.
    #[command(after_help = "\
Examples:
  gyle measure bottle-oxygen \"330 mL\" \"15 mL\" --shown \"0.12 mg/L\"
  gyle measure bottle-oxygen \"12 floz\" \"0.5 floz\"")]
    BottleOxygen {
        /// Beer in the bottle.
        beer: String,
        /// Head space.
        head_space: String,
        /// Oxygen that a meter shows after shaking.
        #[arg(long, value_name = "OXYGEN")]
        shown: Option<String>,
        /// Temperature; left out, 20 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        at: Option<String>,
        /// Height above the sea; left out, 0 m.
        #[arg(long)]
        altitude: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// How much faster beer goes stale in one store than in another.
    #[command(after_help = "\
Examples:
  gyle measure store \"22 °C\"
  gyle measure store \"30 °C\" --against \"12 °C\" --time \"10 d\"")]
    Store {
        /// Temperature of the store.
        at: String,
        /// Temperature to compare with; left out, 4 °C.
        #[arg(long, value_name = "TEMPERATURE")]
        against: Option<String>,
        /// Time in the store; left out, 30 d.
        #[arg(long)]
        time: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// Yeast counted in a chamber: how many cells, how many of them live, how surely.
    #[command(after_help = "\
Examples:
  gyle measure cells 187 --squares 5 --dilution 100
  gyle measure cells 320 --over \"large squares\" --squares 4 --dilution 10 --dead 12 --of 200")]
    Cells {
        /// Cells counted in an improved Neubauer chamber, dead and living.
        cells: String,
        /// What was counted: \"large squares\" of 1 mm², or groups of sixteen small
        /// squares; left out, groups.
        #[arg(long)]
        over: Option<String>,
        /// How many of them.
        #[arg(long)]
        squares: String,
        /// How many times the sample was diluted; left out, 1.
        #[arg(long)]
        dilution: Option<String>,
        /// Cells that took up the dye.
        #[arg(long, requires = "of")]
        dead: Option<String>,
        /// Cells looked at for the dye, dead and living.
        #[arg(long, requires = "dead")]
        of: Option<String>,
        /// The dye: \"methylene blue\" or \"methylene violet\"; left out, methylene blue.
        #[arg(long)]
        dye: Option<String>,
        /// Spread of the dilution; left out, 4 %.
        #[arg(long, value_name = "SHARE")]
        pipetting: Option<String>,
        #[command(flatten)]
        face: Face,
    },
    /// What grows in a starter, or the starter for a number of cells.
    #[command(after_help = "\
Examples:
  gyle measure starter \"80 billion cells\" --wanted \"200 billion cells\" --way stirred
  gyle measure starter \"100 ± 25 billion cells\" --volume \"1 L\"")]
    Starter {
        /// Living cells to begin with.
        cells: String,
        /// Living cells wanted: one to three steps are sought.
        #[arg(long, value_name = "CELLS")]
        wanted: Option<String>,
        /// Starter wort of one step.
        #[arg(long)]
        volume: Option<String>,
        /// Its gravity; left out, 9 °P.
        #[arg(long)]
        gravity: Option<String>,
        /// How it is kept: still or stirred; left out, still.
        #[arg(long)]
        way: Option<String>,
        /// The most that its vessel holds.
        #[arg(long, value_name = "VOLUME")]
        vessel: Option<String>,
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
    ask(key, face, readings)
}

/// Asks a tool, and prints what it found.
///
/// # Errors
/// [`Problem`].
pub fn ask(
    key: &str,
    face: Face,
    readings: Vec<(&'static str, Option<&str>)>,
) -> Result<(), Problem> {
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
                gas,
                face,
            } => (
                "hydrometer",
                *face,
                vec![
                    ("reading", some(reading)),
                    ("at", some(at)),
                    ("calibrated", calibrated.as_deref()),
                    ("original", original.as_deref()),
                    ("gas", gas.as_deref()),
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
            Self::Glass {
                colour,
                depth,
                face,
            } => (
                "glass",
                *face,
                vec![("colour", some(colour)), ("depth", depth.as_deref())],
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
            Self::Keg {
                aim,
                at,
                held,
                pressure,
                way,
                altitude,
                face,
            } => (
                "keg",
                *face,
                vec![
                    ("aim", some(aim)),
                    ("at", some(at)),
                    ("held", held.as_deref()),
                    ("pressure", pressure.as_deref()),
                    ("way", way.as_deref()),
                    ("altitude", altitude.as_deref()),
                ],
            ),
            Self::Line {
                pressure,
                tube,
                rise,
                flow,
                length,
                face,
            } => (
                "line",
                *face,
                vec![
                    ("pressure", some(pressure)),
                    ("tube", tube.as_deref()),
                    ("rise", rise.as_deref()),
                    ("flow", flow.as_deref()),
                    ("length", length.as_deref()),
                ],
            ),
            Self::PrimingWort {
                beer,
                original,
                limit,
                now,
                aim,
                held,
                face,
            } => (
                "priming-wort",
                *face,
                vec![
                    ("beer", some(beer)),
                    ("original", some(original)),
                    ("limit", some(limit)),
                    ("now", now.as_deref()),
                    ("aim", aim.as_deref()),
                    ("held", held.as_deref()),
                ],
            ),
            Self::Purge {
                pressure,
                cycles,
                share,
                head_space,
                beer,
                at,
                altitude,
                face,
            } => (
                "purge",
                *face,
                vec![
                    ("pressure", some(pressure)),
                    ("cycles", cycles.as_deref()),
                    ("share", share.as_deref()),
                    ("head_space", head_space.as_deref()),
                    ("beer", beer.as_deref()),
                    ("at", at.as_deref()),
                    ("altitude", altitude.as_deref()),
                ],
            ),
            Self::BottleOxygen {
                beer,
                head_space,
                shown,
                at,
                altitude,
                face,
            } => (
                "bottle-oxygen",
                *face,
                vec![
                    ("beer", some(beer)),
                    ("head_space", some(head_space)),
                    ("shown", shown.as_deref()),
                    ("at", at.as_deref()),
                    ("altitude", altitude.as_deref()),
                ],
            ),
            Self::Store {
                at,
                against,
                time,
                face,
            } => (
                "store",
                *face,
                vec![
                    ("at", some(at)),
                    ("against", against.as_deref()),
                    ("time", time.as_deref()),
                ],
            ),
            Self::Cells {
                cells,
                over,
                squares,
                dilution,
                dead,
                of,
                dye,
                pipetting,
                face,
            } => (
                "cells",
                *face,
                vec![
                    ("cells", some(cells)),
                    ("over", over.as_deref()),
                    ("squares", some(squares)),
                    ("dilution", dilution.as_deref()),
                    ("dead", dead.as_deref()),
                    ("of", of.as_deref()),
                    ("dye", dye.as_deref()),
                    ("pipetting", pipetting.as_deref()),
                ],
            ),
            Self::Starter {
                cells,
                wanted,
                volume,
                gravity,
                way,
                vessel,
                face,
            } => (
                "starter",
                *face,
                vec![
                    ("cells", some(cells)),
                    ("wanted", wanted.as_deref()),
                    ("volume", volume.as_deref()),
                    ("gravity", gravity.as_deref()),
                    ("way", way.as_deref()),
                    ("vessel", vessel.as_deref()),
                ],
            ),
        }
    }
}

fn sheet(found: &Measurement, units: Units) -> String {
    let mut page = Page::new(units);
    for line in &found.lines {
        page.row(line.label, &line.text);
        if let Some(colour) = &line.colour {
            page.row("drawn as, sRGB", colour);
        }
    }
    for line in &found.lines {
        if let Some(remark) = line.remark {
            page.marked("  ·     ", &format!("{}: {remark}", line.label));
        }
    }
    page.notes(&found.notes);
    page.act_on(&found.cautions);
    page.finish()
}

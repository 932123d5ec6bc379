//! The keys of the pitch: a count, the steps of a starter, what the pitch is for.

use ferment::{
    CellCount, ChamberCount, Dye, PitchAim, Squares, Stain, StarterStep, Stirring, count_cells,
};
use quantity::{Duration, Gravity, Measured, Volume};

use crate::document::{YeastForm, count as number};
use crate::reader::Reader;
use crate::stream::split;

/// A count in a chamber, and what it comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct YeastCount {
    /// As counted.
    pub counted: ChamberCount,
    /// What it says.
    pub found: CellCount,
    /// Time since.
    pub since: Measured<Duration>,
}

/// What of a chamber was counted, as it is written.
pub const SQUARES: [(&str, bool); 2] = [("large squares", true), ("groups", false)];
/// The dyes, as they are written.
pub const DYES: [(&str, Dye); 2] = [
    ("methylene blue", Dye::Blue),
    ("methylene violet", Dye::Violet),
];

/// How a starter is kept, as it is written.
pub const WAYS: [(&str, Stirring); 2] =
    [("still", Stirring::Still), ("stirred", Stirring::Stirred)];

/// The count, if one was kept.
pub(crate) fn count(r: &mut Reader<'_>) -> Option<YeastCount> {
    r.optional_section(
        "count",
        "a count of the slurry in an improved Neubauer chamber",
        |r| {
            let cells = number(r, "cells", "cells counted, dead and living");
            let large = r
                .choice(
                    "over",
                    "what was counted: large squares of 1 mm², or groups of sixteen small ones",
                    &SQUARES,
                )
                .required(true);
            let squares = number(r, "squares", "how many of them");
            let dilution = number(
                r,
                "dilution",
                "how many times the sample was diluted, such as \"100\"",
            );
            let dead = number(r, "dead", "cells that took up the dye");
            let of = number(r, "of", "cells looked at for the dye, dead and living");
            let dye = r.choice("dye", "the dye", &DYES).assumed(Dye::Blue);
            let since = r.quantity("since", "time since it was counted").assumed();
            for (key, given) in [
                ("cells", cells),
                ("squares", squares),
                ("dilution", dilution),
            ] {
                missing(r, key, given);
            }
            let counted = ChamberCount {
                cells: whole_number(r, "cells", cells?)?,
                squares: if large {
                    Squares::Large(squares?)
                } else {
                    Squares::Groups(squares?)
                },
                dilution: dilution?,
                stain: stain(r, dead, of, dye)?,
                pipetting: None,
            };
            match count_cells(&counted) {
                Ok(found) => Some(YeastCount {
                    counted,
                    found,
                    since,
                }),
                Err(error) => {
                    let (message, help) = split(&error.to_string());
                    r.fault(None, message, help);
                    None
                }
            }
        },
    )
    .flatten()
}

fn missing(r: &Reader<'_>, key: &str, given: Option<f64>) {
    if given.is_none() && !r.has(key) {
        let example = match key {
            "cells" => "210",
            "dilution" => "100",
            _ => "5",
        };
        let help = format!("give {key}, as in {key} = \"{example}\"");
        r.fault(Some(key), format!("a count needs {key}"), help);
    }
}

/// The stain; nothing where a fault was found.
fn stain(r: &Reader<'_>, dead: Option<f64>, of: Option<f64>, dye: Dye) -> Option<Option<Stain>> {
    match (dead, of) {
        (None, None) => Some(None),
        (Some(dead), Some(of)) => Some(Some(Stain {
            dead: whole_number(r, "dead", dead)?,
            of: whole_number(r, "of", of)?,
            dye,
        })),
        _ => {
            r.fault(
                None,
                "dead and of belong together",
                "give both, as in dead = \"12\" and of = \"200\"",
            );
            None
        }
    }
}

fn whole_number(r: &Reader<'_>, key: &'static str, given: f64) -> Option<u32> {
    let rounded = given.round();
    if (given - rounded).abs() < 1e-9 && (0.0..=1e6).contains(&rounded) {
        return Some(rounded as u32);
    }
    r.fault(
        Some(key),
        format!("{key} must be a whole number"),
        "cells are counted one by one, up to a million",
    );
    None
}

/// The steps of a starter.
pub(crate) fn steps(r: &mut Reader<'_>) -> Vec<StarterStep> {
    r.sections("step", "a step of a starter, one to three", |r| {
        let volume: Measured<Volume> = r.quantity("volume", "volume of its wort").required();
        let gravity: Measured<Gravity> = r.quantity("gravity", "gravity of its wort").assumed();
        let stirring = r
            .choice("way", "how it is kept", &WAYS)
            .assumed(Stirring::Still);
        StarterStep {
            volume: volume.value,
            gravity: gravity.value,
            stirring,
        }
    })
}

/// Whether a starter goes in with its liquid.
pub(crate) fn whole(r: &mut Reader<'_>) -> bool {
    r.choice(
        "starter_liquid",
        "what becomes of the liquid of a starter; left out: poured off",
        &[("poured off", false), ("pitched", true)],
    )
    .optional()
    .unwrap_or(false)
}

/// What the pitch is to do for the beer.
pub(crate) fn aim(r: &mut Reader<'_>) -> Option<PitchAim> {
    let words = PitchAim::ALL.map(|aim| (aim.word(), aim));
    r.choice(
        "aim",
        "what the pitch is to do for the beer; left out: the usual rate of the class",
        &words,
    )
    .optional()
}

/// Faults where keys contradict each other.
pub(crate) fn refuse_at_odds(r: &Reader<'_>, form: YeastForm) {
    if r.has("starter") && r.has("step") {
        r.fault(
            Some("starter"),
            "a starter is told twice",
            "keep either starter, or the steps in [[yeast.step]]",
        );
    }
    if r.has("count") && form != YeastForm::Slurry {
        r.fault(
            Some("form"),
            "a count belongs to a slurry",
            "write form = \"slurry\" with its volume, or take the count out",
        );
    }
    if r.has("aim") && r.has("pitch_rate") {
        r.fault(
            Some("aim"),
            "both an aim and a pitching rate are given",
            "keep one of them",
        );
    }
}

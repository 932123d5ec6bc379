//! What a boil leaves, in words that page and command line share.

use quantity::{Colour, Length, MassConcentration};
use wort::colour::glass_colour;
use wort::{BoilWay, DMS_FAULT_UG_PER_L, DMS_THRESHOLD_UG_PER_L, HopForm};

use crate::Reckoning;

/// Depths at which the glass is shown.
pub const DEPTHS: [Length; 3] = [
    Length::from_cm(1.0),
    Length::from_cm(5.0),
    Length::from_cm(7.5),
];

/// A way to boil.
#[must_use]
pub const fn boil_way(way: BoilWay) -> &'static str {
    match way {
        BoilWay::AsPlanned => "as planned",
        BoilWay::Shorter => "30 min shorter",
        BoilWay::LidOn => "lid on",
        BoilWay::LeftOvernight => "left to cool overnight",
    }
}

/// A trace \[µg/L\].
#[must_use]
pub fn micrograms(trace: MassConcentration) -> String {
    format!("{:.0} µg/L", trace.mg_per_l() * 1000.0)
}

/// What the figures mean.
#[must_use]
pub fn dms_scale() -> String {
    let (few, many) = DMS_THRESHOLD_UG_PER_L;
    format!(
        "Many smell it from {few:.0} to {many:.0} µg/L; above {DMS_FAULT_UG_PER_L:.0} it is a fault (Anness & Bamforth 1982). The fermentation carries off some more."
    )
}

/// Cones or pellets.
#[must_use]
pub const fn hop_form(form: HopForm) -> &'static str {
    match form {
        HopForm::Cones => "cones",
        HopForm::Pellets => "pellets",
    }
}

/// What a formula makes of the colour of a grist.
#[derive(Debug, Clone, PartialEq)]
pub struct Formula {
    /// Whose it is.
    pub who: &'static str,
    /// What it says; none where it does not hold.
    pub colour: Option<Colour>,
    /// Where it holds and where its numbers come from.
    pub holds: &'static str,
}

/// The colour by the formula that is reckoned with, and by two older ones.
#[must_use]
pub fn formulas(r: &Reckoning) -> [Formula; 3] {
    let colour = &r.boil.report.colour;
    [
        Formula {
            who: "Morey",
            colour: Some(colour.by_grist),
            holds: "holds below 50 SRM (99 EBC); 1995, read",
        },
        Formula {
            who: "Daniels",
            colour: colour.opinions.daniels,
            holds: "holds above 11 malt colour units, some 15 EBC; its numbers from memory",
        },
        Formula {
            who: "Mosher",
            colour: colour.opinions.mosher,
            holds: "holds above 7 malt colour units, some 11 EBC; its slope from memory",
        },
    ]
}

/// Colour of the beer in daylight through a depth, as #rrggbb; none for a colour that
/// cannot be drawn.
#[must_use]
pub fn glass_hex(colour: Colour, depth: Length) -> Option<String> {
    let [red, green, blue] = glass_colour(colour, depth).ok()?;
    Some(format!("#{red:02x}{green:02x}{blue:02x}"))
}

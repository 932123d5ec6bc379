//! What a boil leaves, in words that page and command line share.

use quantity::MassConcentration;
use wort::{BoilWay, DMS_FAULT_UG_PER_L, DMS_THRESHOLD_UG_PER_L};

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

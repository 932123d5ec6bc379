//! Numbers that the reading leans on: the rows of `data/report.toml`.

use std::sync::LazyLock;

use quantity::data::{builtin, mark};
use serde::Deserialize;

const FILE: &str = "report.toml";

#[derive(Deserialize)]
pub(super) struct Constants {
    pub uncertainty: Uncertainty,
    pub balance: Balance,
    pub conductance: Conductance,
    pub conductance_at_20: At20,
    pub solids: Solids,
    pub carbonate: Carbonate,
}

#[derive(Deserialize)]
pub(super) struct Uncertainty {
    pub relative: f64,
    source: String,
    mark: String,
}

#[derive(Deserialize)]
pub(super) struct Balance {
    pub rounding_meq_per_l: f64,
    pub ratio: f64,
    source: String,
    mark: String,
}

/// \[µS/cm per mEq/L\]
#[derive(Deserialize)]
pub(super) struct Conductance {
    pub calcium: f64,
    pub magnesium: f64,
    pub sodium: f64,
    pub potassium: f64,
    pub ammonium: f64,
    pub bicarbonate: f64,
    pub chloride: f64,
    pub sulfate: f64,
    pub nitrate: f64,
    pub agreement: f64,
    source: String,
    mark: String,
}

#[derive(Deserialize)]
pub(super) struct At20 {
    pub to_25: f64,
    source: String,
    mark: String,
}

#[derive(Deserialize)]
pub(super) struct Solids {
    pub bicarbonate_kept: f64,
    pub agreement: f64,
    source: String,
    mark: String,
}

#[derive(Deserialize)]
pub(super) struct Carbonate {
    pub pk2: f64,
    source: String,
    mark: String,
}

pub(super) fn constants() -> &'static Constants {
    static CONSTANTS: LazyLock<Constants> = LazyLock::new(|| {
        let c: Constants = builtin(FILE, include_str!("../../data/report.toml"));
        for (row, source, words) in [
            ("uncertainty", &c.uncertainty.source, &c.uncertainty.mark),
            ("balance", &c.balance.source, &c.balance.mark),
            ("conductance", &c.conductance.source, &c.conductance.mark),
            (
                "conductance_at_20",
                &c.conductance_at_20.source,
                &c.conductance_at_20.mark,
            ),
            ("solids", &c.solids.source, &c.solids.mark),
            ("carbonate", &c.carbonate.source, &c.carbonate.mark),
        ] {
            let _ = mark(FILE, &format!("{row} ({source})"), words);
        }
        c
    });
    &CONSTANTS
}

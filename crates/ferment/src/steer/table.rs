//! The rows of `data/steer.toml`.

use std::sync::LazyLock;

use quantity::{Mark, Source, TemperatureDifference, data};

const FILE: &str = "steer.toml";

/// How far batches are off their reckoning: sd of ln, and of the exponent of the pitch.
#[derive(Debug, Clone, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Spread {
    pub(super) speed: f64,
    pub(super) lag: f64,
    pub(super) butter: f64,
    pub(super) level: f64,
    pub(super) pitch_exponent: f64,
    source: String,
    mark: String,
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct VesselRow {
    steepest_k_per_h: f64,
    source: String,
    mark: String,
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    spread: Spread,
    spread_read: Spread,
    vessel: VesselRow,
}

static TABLE: LazyLock<File> =
    LazyLock::new(|| data::builtin(FILE, include_str!("../../data/steer.toml")));

/// The spread of batches, of one that was not read yet or of one that was.
pub(super) fn spread(read: bool) -> &'static Spread {
    if read {
        &TABLE.spread_read
    } else {
        &TABLE.spread
    }
}

/// The most that beer is usually warmed or cooled in an hour.
#[must_use]
pub fn usual_steepest() -> TemperatureDifference {
    TemperatureDifference::from_k(TABLE.vessel.steepest_k_per_h)
}

/// Where the figures of the table come from.
#[must_use]
pub fn sources() -> Vec<Source> {
    let t = &*TABLE;
    let rows = [
        ("spread", &t.spread.source, &t.spread.mark),
        ("spread_read", &t.spread_read.source, &t.spread_read.mark),
        ("vessel", &t.vessel.source, &t.vessel.mark),
    ];
    rows.map(|(key, text, mark)| {
        let mark: Mark = data::mark(FILE, key, mark);
        Source {
            text: text.clone(),
            mark,
        }
    })
    .to_vec()
}

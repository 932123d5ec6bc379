//! How chlorine goes without a reagent. The table is `data/losses.toml`.

use std::sync::LazyLock;

use quantity::data::{builtin, mark, quantity};
use quantity::{Duration, Measured, Source};

use crate::state::{ResidualChlorine, SourceWater};

const FILE: &str = "losses.toml";

/// Half-lives of chlorine under one treatment.
#[derive(Debug, Clone, PartialEq)]
pub struct Losses {
    /// Of free chlorine.
    pub free: HalfLife,
    /// Of combined chlorine.
    pub combined: HalfLife,
}

/// A half-life that is poorly known.
#[derive(Debug, Clone, PartialEq)]
pub struct HalfLife {
    /// The half-life expected.
    pub expected: Duration,
    /// The slowest that is still plausible.
    pub slowest: Duration,
    /// Where the two come from.
    pub source: Source,
}

/// Half-lives in an open, rolling boil.
#[must_use]
pub fn boiling() -> &'static Losses {
    &TABLE.boil
}

/// Half-lives in a standing vessel.
#[must_use]
pub fn standing() -> &'static Losses {
    &TABLE.stand
}

/// Half-lives in a vessel that air is blown through.
#[must_use]
pub fn aerating() -> &'static Losses {
    &TABLE.aerate
}

impl HalfLife {
    /// What is expected to remain after a time, as a ratio.
    #[must_use]
    pub fn remaining(&self, time: Duration) -> f64 {
        remaining(time, self.expected)
    }

    /// The most that may remain after a time, as a ratio.
    #[must_use]
    pub fn remaining_at_most(&self, time: Duration) -> f64 {
        remaining(time, self.slowest)
    }
}

/// What remains of the chlorine of a water after a time \[mg/L as Cl₂\].
///
/// First order in each kind. The bound takes the slowest half-lives, the highest
/// plausible total, and whichever plausible split leaves more.
pub(super) fn residual(water: &SourceWater, losses: &Losses, time: Duration) -> ResidualChlorine {
    let total = &water.total_chlorine;
    let free = water
        .free_chlorine
        .unwrap_or(Measured::exactly(quantity::Chlorine::default()));
    let expected_free = free.value.mg_per_l();
    let combined = (total.value.mg_per_l() - expected_free).max(0.0);
    let top = total.upper().mg_per_l();
    let bound = |free_mg_per_l: f64| {
        let free_mg_per_l = free_mg_per_l.min(top);
        free_mg_per_l * losses.free.remaining_at_most(time)
            + (top - free_mg_per_l) * losses.combined.remaining_at_most(time)
    };
    let at_most = bound(free.lower().mg_per_l()).max(bound(free.upper().mg_per_l()));
    let mg = quantity::Chlorine::from_mg_per_l;
    ResidualChlorine {
        free: mg(expected_free * losses.free.remaining(time)),
        combined: mg(combined * losses.combined.remaining(time)),
        at_most: mg(at_most),
    }
}

fn remaining(time: Duration, half_life: Duration) -> f64 {
    0.5f64.powf(time.h() / half_life.h())
}

struct Table {
    boil: Losses,
    stand: Losses,
    aerate: Losses,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    boil: Pair,
    stand: Pair,
    aerate: Pair,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Pair {
    free: Row,
    combined: Row,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    expected: String,
    slowest: String,
    source: String,
    mark: String,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../data/losses.toml"));
    Table {
        boil: losses("boil", file.boil),
        stand: losses("stand", file.stand),
        aerate: losses("aerate", file.aerate),
    }
});

fn losses(name: &str, pair: Pair) -> Losses {
    let half_life = |row: Row| HalfLife {
        expected: quantity(FILE, name, &row.expected),
        slowest: quantity(FILE, name, &row.slowest),
        source: Source {
            mark: mark(FILE, name, &row.mark),
            text: row.source,
        },
    };
    Losses {
        free: half_life(pair.free),
        combined: half_life(pair.combined),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Garcia & Anderson 2017 (abstract): monochloramine lost 0.08 per day in an
    /// open vessel and 0.04 in a sealed one.
    #[test]
    fn standing_chloramine_follows_the_measured_rates() {
        let day = Duration::from_h(24.0);
        let combined = &standing().combined;
        assert!((-combined.remaining(day).ln() - 0.08).abs() < 5e-4);
        assert!((-combined.remaining_at_most(day).ln() - 0.04).abs() < 5e-4);
    }

    /// The same work: 0.35 per day with 10 mL of air per second.
    #[test]
    fn aerated_chloramine_follows_the_measured_rate() {
        let day = Duration::from_h(24.0);
        let combined = &aerating().combined;
        assert!((-combined.remaining(day).ln() - 0.35).abs() < 5e-3);
        assert!((-combined.remaining_at_most(day).ln() - 0.08).abs() < 5e-4);
    }

    /// A. J. deLange reports about 2 h of boiling for 3 mg/L of chloramine to
    /// reach hundredths of a mg/L.
    #[test]
    fn two_hours_of_boiling_leave_hundredths() {
        let left = 3.0 * boiling().combined.remaining(Duration::from_h(2.0));
        assert!((0.01..0.1).contains(&left), "{left}");
    }

    #[test]
    fn the_slowest_is_no_faster_than_the_expected() {
        for losses in [boiling(), standing(), aerating()] {
            for half_life in [&losses.free, &losses.combined] {
                assert!(half_life.slowest >= half_life.expected);
                assert!(half_life.expected.h() > 0.0);
                assert!((half_life.remaining(Duration::from_h(0.0)) - 1.0).abs() < 1e-12);
            }
        }
    }
}

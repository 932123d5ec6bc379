//! Carbonating a keg with gas: where it ends, and how long that takes.

use std::sync::LazyLock;

use quantity::{
    Altitude, CarbonDioxide, Duration, GaugePressure, Measured, Note, Source, Spread, Temperature,
};

use crate::carbonation::Fit;
use crate::error::{PackageError, find, sound, within};

/// CO₂ above the aim that is more than a little \[vol\] (judgement).
const TOO_MUCH_VOLUMES: f64 = 0.15;

/// A way of gassing a keg, and how quickly it comes to its balance.
#[derive(Debug, Clone, PartialEq)]
pub struct Gassing {
    /// Key of the row.
    pub key: String,
    /// What it is.
    pub name: String,
    /// Time constant of the quickest keg of its kind.
    pub quickest: Duration,
    /// Time constant of the slowest.
    pub slowest: Duration,
    /// Where the range comes from.
    pub source: Source,
}

/// Beer in a keg under gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnderGas {
    /// CO₂ that it held before.
    pub start: CarbonDioxide,
    /// What the regulator is set to.
    pub pressure: GaugePressure,
    /// Temperature of the beer.
    pub temperature: Temperature,
    /// Height of the place.
    pub altitude: Altitude,
}

/// When beer under gas comes to an aim.
#[derive(Debug, Clone, PartialEq)]
pub struct Wait {
    /// What the beer comes to if the pressure stays.
    pub balance: CarbonDioxide,
    /// The time, from the quickest keg to the slowest; none where the pressure never
    /// brings the beer there.
    pub time: Option<Measured<Duration>>,
    /// Remarks.
    pub notes: Vec<Note>,
}

impl Gassing {
    /// All ways, in the order of the table.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &WAYS
    }

    /// The way with a key.
    ///
    /// # Errors
    /// [`PackageError::UnknownKey`], with the nearest key.
    pub fn find(key: &str) -> Result<&'static Self, PackageError> {
        find("way of gassing", &WAYS, |way| &way.key, key)
    }
}

impl UnderGas {
    /// CO₂ after a time, from the slowest keg to the quickest.
    ///
    /// c = c∞ − (c∞ − c₀) e^(−t/τ), c∞ by [`Fit::Henry`]. The time constant τ is of
    /// experience, not of physics: by diffusion alone a keg would take years, so it is
    /// the moving of the beer that decides. A shaken keg or a stone takes minutes to a
    /// day and cannot be foreseen; there the gauge or a taste tells.
    ///
    /// # Errors
    /// [`PackageError::Impossible`] for a time below nought or above a thousand days;
    /// as [`Fit::dissolved`].
    pub fn after(
        &self,
        time: Duration,
        way: &Gassing,
    ) -> Result<Measured<CarbonDioxide>, PackageError> {
        let hours = within("time under gas", time, 0.0, 24_000.0)?.h();
        let balance = self.balance()?.g_per_l();
        let start = sound("carbon dioxide in the beer", self.start)?.g_per_l();
        let at = |constant: Duration| balance - (balance - start) * (-hours / constant.h()).exp();
        let (quick, slow) = (at(way.quickest), at(way.slowest));
        Ok(Measured {
            value: CarbonDioxide::from_g_per_l(f64::midpoint(quick, slow)),
            spread: Spread::Range {
                low: quick.min(slow),
                high: quick.max(slow),
            },
        })
    }

    /// The wait until an aim.
    ///
    /// # Errors
    /// As [`after`](Self::after).
    pub fn wait_for(&self, aim: CarbonDioxide, way: &Gassing) -> Result<Wait, PackageError> {
        let balance = self.balance()?;
        let aim = sound("carbon dioxide aimed at", aim)?;
        let start = sound("carbon dioxide in the beer", self.start)?;
        let (whole, part) = (
            balance.g_per_l() - start.g_per_l(),
            balance.g_per_l() - aim.g_per_l(),
        );
        // Both on one side: the beer passes the aim on its way to the balance.
        let share_left = part / whole;
        let time = (share_left > 0.0 && share_left <= 1.0).then(|| {
            let at = |constant: Duration| constant.h() * -share_left.ln();
            let (low, high) = (at(way.quickest), at(way.slowest));
            Measured {
                value: Duration::from_h(f64::midpoint(low, high)),
                spread: Spread::Range { low, high },
            }
        });
        Ok(Wait {
            notes: wait_notes(start, aim, balance, time.is_some()),
            balance,
            time,
        })
    }

    fn balance(&self) -> Result<CarbonDioxide, PackageError> {
        Fit::Henry.dissolved(self.temperature, self.pressure, self.altitude)
    }
}

fn wait_notes(
    start: CarbonDioxide,
    aim: CarbonDioxide,
    balance: CarbonDioxide,
    comes: bool,
) -> Vec<Note> {
    let mut notes = Vec::new();
    if !comes {
        let which = if balance < aim { "more" } else { "less" };
        notes.push(Note::act(format!(
            "at this pressure the beer comes to {balance} and not to {aim}; set {which} pressure"
        )));
    } else if balance.volumes() > aim.volumes() + TOO_MUCH_VOLUMES && start < aim {
        notes.push(Note::look(format!(
            "left at this pressure the beer goes on to {balance}: turn the regulator down when it is near {aim}"
        )));
    }
    if comes {
        notes.push(Note::fine(
            "the time is one of experience and no promise: it depends on the keg and on how still it stands",
        ));
    }
    notes
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    way: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    name: String,
    low: String,
    high: String,
    source: String,
    mark: String,
}

const FILE: &str = "gassing.toml";

static WAYS: LazyLock<Vec<Gassing>> = LazyLock::new(|| {
    let file: File = quantity::data::builtin(FILE, include_str!("../data/gassing.toml"));
    file.way
        .into_iter()
        .map(|row| Gassing {
            quickest: quantity::data::quantity(FILE, &row.key, &row.low),
            slowest: quantity::data::quantity(FILE, &row.key, &row.high),
            source: Source {
                mark: quantity::data::mark(FILE, &row.key, &row.mark),
                text: row.source,
            },
            key: row.key,
            name: row.name,
        })
        .collect()
});

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn keg(pressure_bar: f64) -> UnderGas {
        UnderGas {
            start: CarbonDioxide::from_volumes(0.85),
            pressure: GaugePressure::from_bar(pressure_bar),
            temperature: Temperature::from_c(3.333),
            altitude: Altitude::from_m(0.0),
        }
    }

    fn one(days: f64) -> Gassing {
        Gassing {
            quickest: Duration::from_h(24.0 * days),
            slowest: Duration::from_h(24.0 * days),
            ..Gassing::find("still-small").unwrap().clone()
        }
    }

    /// Computed with NumPy from the first-order law with τ = 4.7 d, at 38 °F: 30 psi
    /// take 0.85 to 2.4 volumes in 2.8 days (with a balance of 4.31 volumes by
    /// [`Fit::Asbc`]; ours is 4.37); at the pressure that balances 2.4 volumes
    /// 1.4, 1.9, 2.2 and 2.3 volumes are there after 2, 5, 10 and 14 days.
    #[test]
    fn the_worked_kegs_are_met() {
        let wait = keg(30.0 * quantity::PSI_BAR)
            .wait_for(CarbonDioxide::from_volumes(2.4), &one(4.7))
            .unwrap();
        assert!((wait.time.unwrap().value.h() / 24.0 - 2.8).abs() < 0.12);
        let aim = CarbonDioxide::from_volumes(2.4);
        let temperature = Temperature::from_c(3.333);
        let set = Fit::Henry
            .pressure(aim, temperature, Altitude::from_m(0.0))
            .unwrap();
        for (days, volumes) in [(2.0, 1.4), (5.0, 1.9), (10.0, 2.2), (14.0, 2.3)] {
            let held = keg(set.bar())
                .after(Duration::from_h(24.0 * days), &one(4.7))
                .unwrap();
            assert!((held.value.volumes() - volumes).abs() < 0.06, "{days}");
        }
    }

    #[test]
    fn a_pressure_that_never_brings_it_there_says_so() {
        let aim = CarbonDioxide::from_volumes(3.5);
        let wait = keg(0.7)
            .wait_for(aim, Gassing::find("still-small").unwrap())
            .unwrap();
        assert!(wait.time.is_none());
        assert!(wait.notes[0].text.contains("set more pressure"), "{wait:?}");
        let flat = UnderGas {
            start: CarbonDioxide::from_volumes(3.0),
            ..keg(1.5)
        };
        let wait = flat
            .wait_for(
                CarbonDioxide::from_volumes(2.0),
                Gassing::find("still-small").unwrap(),
            )
            .unwrap();
        assert!(wait.notes[0].text.contains("set less pressure"), "{wait:?}");
    }

    #[test]
    fn a_high_pressure_warns_of_too_much() {
        let wait = keg(2.0)
            .wait_for(
                CarbonDioxide::from_volumes(2.4),
                Gassing::find("still-large").unwrap(),
            )
            .unwrap();
        assert!(wait.notes[0].text.contains("turn the regulator down"));
        assert!(keg(2.0).after(Duration::from_h(-1.0), &one(5.0)).is_err());
        assert!(Gassing::find("still").is_err());
    }

    proptest! {
        #[test]
        fn a_wait_and_what_is_there_after_it_agree(
            start in 0.5..2.0f64, more in 0.05..1.0f64, bar in 1.0..3.0f64, temp_c in 0.0..12.0f64,
        ) {
            let keg = UnderGas {
                start: CarbonDioxide::from_volumes(start),
                temperature: Temperature::from_c(temp_c),
                ..keg(bar)
            };
            let aim = CarbonDioxide::from_volumes(start + more);
            let way = one(4.0);
            let wait = keg.wait_for(aim, &way).unwrap();
            if let Some(time) = wait.time {
                let held = keg.after(time.value, &way).unwrap().value;
                prop_assert!((held.volumes() - aim.volumes()).abs() < 1e-9);
            } else {
                prop_assert!(wait.balance < aim);
            }
        }
    }
}

//! Ways to get oxygen into wort, and how long each takes.

use std::sync::LazyLock;

use quantity::{
    Altitude, Caution, Duration, GasTransfer, Gravity, MassConcentration, Source, Temperature, data,
};

use super::{BY_FILLING, OXYGEN_IN_AIR, air_saturation};
use crate::error::{FermentError, within};

const FILE: &str = "oxygen.toml";
/// Longer than anyone aerates \[min\].
const LONGEST_MIN: f64 = 120.0;

/// A way to get oxygen in.
#[derive(Debug, Clone, PartialEq)]
pub struct OxygenWay {
    /// Its word.
    pub key: &'static str,
    /// What is done.
    pub name: &'static str,
    /// How fast oxygen goes in.
    pub transfer: GasTransfer,
    /// What the wort can hold at most this way.
    pub saturation: MassConcentration,
    /// How long it usually takes, and what is there then.
    pub usual: (Duration, MassConcentration),
    /// Time to the aim with one standard deviation to each side; none where the aim
    /// is out of reach.
    pub time: Option<[Duration; 3]>,
    /// Where the speed comes from.
    pub source: Source,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// What kinds of yeast ask for.
#[derive(Debug, Clone, PartialEq)]
pub struct OxygenClass {
    /// What the kind needs, in words.
    pub name: &'static str,
    /// As a concentration.
    pub need: MassConcentration,
    /// Whether it is more than that.
    pub more: bool,
    /// Where it comes from.
    pub source: Source,
}

/// The ways to bring wort to an aim, each with its time.
///
/// C(t) = C_s − (C_s − C₀) e^(−k_La t), so t = ln((C_s − C₀)/(C_s − C))/k_La; C₀ is
/// what running into the vessel brings, C_s air saturation or that over the share of
/// oxygen in air. k_La by the rows of `data/oxygen.toml`, known to a factor of about
/// 1.5: a meter decides.
///
/// ```
/// use ferment::oxygen_ways;
/// use quantity::{Altitude, Gravity, MassConcentration, Temperature};
/// let ways = oxygen_ways(
///     MassConcentration::from_mg_per_l(10.0),
///     Temperature::from_c(18.0), Gravity::from_plato(12.0), Altitude::from_m(0.0),
/// )?;
/// // Air alone cannot bring it to 10 mg/L.
/// assert!(ways.iter().any(|w| w.key == "air" && w.time.is_none()));
/// # Ok::<(), ferment::FermentError>(())
/// ```
///
/// # Errors
/// As [`air_saturation`]; also for an aim outside 0.1 to 40 mg/L.
pub fn oxygen_ways(
    aim: MassConcentration,
    temperature: Temperature,
    gravity: Gravity,
    altitude: Altitude,
) -> Result<Vec<OxygenWay>, FermentError> {
    let aim = within("oxygen aimed at", aim, 0.1, 40.0)?.mg_per_l();
    let air = air_saturation(temperature, gravity, altitude)?.mg_per_l();
    Ok(table().method.iter().map(|row| row.way(aim, air)).collect())
}

/// What kinds of yeast ask for, the least first.
#[must_use]
pub fn oxygen_classes() -> Vec<OxygenClass> {
    let rows = table().need.iter();
    rows.map(|row| OxygenClass {
        name: &row.name,
        need: MassConcentration::from_mg_per_l(row.mg_per_l),
        more: row.more,
        source: source(&row.name, &row.source, &row.mark),
    })
    .collect()
}

/// The transfer of oxygen through a fine stone.
pub(super) fn through_a_stone() -> GasTransfer {
    let stone = table().method.iter().find(|row| row.gas == Gas::Oxygen);
    GasTransfer::from_per_min(stone.map_or(0.0, |row| row.per_min))
}

impl Method {
    fn way(&'static self, aim: f64, air: f64) -> OxygenWay {
        let pure = self.gas == Gas::Oxygen;
        let saturation = if pure { air / OXYGEN_IN_AIR } else { air };
        let start = BY_FILLING * air;
        let after =
            |minutes: f64| saturation - (saturation - start) * (-self.per_min * minutes).exp();
        let minutes = minutes_to(aim, start, saturation, self.per_min);
        let time = minutes.filter(|m| *m <= LONGEST_MIN).map(|m| {
            [-1.0, 0.0, 1.0].map(|sd: f64| Duration::from_min(m * (sd * self.spread).exp()))
        });
        let mg = MassConcentration::from_mg_per_l;
        OxygenWay {
            key: &self.key,
            name: &self.name,
            transfer: GasTransfer::from_per_min(self.per_min),
            saturation: mg(saturation),
            usual: (Duration::from_min(self.minutes), mg(after(self.minutes))),
            time,
            source: source(&self.key, &self.source, &self.mark),
            cautions: if pure {
                vec![Caution::Oxygen]
            } else {
                Vec::new()
            },
        }
    }
}

/// Minutes from a start to an aim; none where the gas cannot bring it there.
fn minutes_to(aim: f64, start: f64, saturation: f64, per_min: f64) -> Option<f64> {
    if aim <= start {
        return Some(0.0);
    }
    (aim < saturation).then(|| ((saturation - start) / (saturation - aim)).ln() / per_min)
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    method: Vec<Method>,
    need: Vec<Need>,
}

#[derive(PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum Gas {
    Air,
    Oxygen,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Method {
    key: String,
    name: String,
    gas: Gas,
    per_min: f64,
    spread: f64,
    minutes: f64,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Need {
    name: String,
    mg_per_l: f64,
    #[serde(default)]
    more: bool,
    source: String,
    mark: String,
}

fn table() -> &'static Table {
    static TABLE: LazyLock<Table> =
        LazyLock::new(|| data::builtin(FILE, include_str!("../../data/oxygen.toml")));
    &TABLE
}

fn source(row: &str, text: &str, mark: &str) -> Source {
    Source {
        text: text.to_owned(),
        mark: data::mark(FILE, row, mark),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ways(aim: f64, temp_c: f64, plato: f64) -> Vec<OxygenWay> {
        oxygen_ways(
            MassConcentration::from_mg_per_l(aim),
            Temperature::from_c(temp_c),
            Gravity::from_plato(plato),
            Altitude::from_m(0.0),
        )
        .unwrap()
    }

    /// Computed with NumPy from the equations above: 12 °P at 18 °C to 10 mg/L from
    /// nothing takes 0.85 min at 0.39/min.
    #[test]
    fn minutes_follow_the_law() {
        let pure = 9.4670 * f64::exp(-0.02028 * 12.0) / 0.20946;
        let minutes = minutes_to(10.0, 0.0, pure, 0.39).unwrap();
        assert!((minutes - 0.85).abs() < 5e-3, "{minutes}");
        assert_eq!(minutes_to(10.0, 0.0, 8.0, 0.2), None);
        assert_eq!(minutes_to(0.5, 0.7, 8.0, 0.2), Some(0.0));
    }

    /// White & Zainasheff 2010, trial (from memory): shaken for five minutes 2.71 mg/L,
    /// a minute of oxygen 9.20 in wort of 1.077 at 24 °C.
    #[test]
    fn usual_times_give_what_the_trial_gave() {
        let all = ways(8.0, 24.0, Gravity::from_sg(1.077).plato());
        let reached = |key: &str| {
            let way = all.iter().find(|w| w.key == key).unwrap();
            way.usual.1.mg_per_l()
        };
        assert!(
            (reached("shaking") - 2.71).abs() < 0.05,
            "{}",
            reached("shaking")
        );
        assert!(
            (reached("oxygen") - 9.20).abs() < 0.6,
            "{}",
            reached("oxygen")
        );
    }

    #[test]
    fn air_stops_at_its_saturation_and_oxygen_burns() {
        let all = ways(10.0, 18.0, 12.0);
        let of = |key: &str| all.iter().find(|w| w.key == key).unwrap();
        assert!(of("air").time.is_none() && of("shaking").time.is_none());
        let [low, middle, high] = of("oxygen").time.unwrap();
        assert!(low < middle && middle < high && middle.min() < 2.0);
        assert_eq!(of("oxygen").cautions, vec![Caution::Oxygen]);
        assert!(oxygen_classes().windows(2).all(|w| w[0].need <= w[1].need));
        let aim = MassConcentration::from_mg_per_l(400.0);
        let at = (Temperature::from_c(18.0), Gravity::from_plato(12.0));
        assert!(oxygen_ways(aim, at.0, at.1, Altitude::from_m(0.0)).is_err());
    }

    proptest! {
        #[test]
        fn the_time_leads_to_the_aim(aim in 0.5..30.0f64, temp_c in 2.0..35.0f64, plato in 0.0..25.0f64) {
            for (way, row) in ways(aim, temp_c, plato).iter().zip(&table().method) {
                let Some([_, minutes, _]) = way.time else { continue };
                let most = way.saturation.mg_per_l();
                let air = if row.gas == Gas::Oxygen { most * OXYGEN_IN_AIR } else { most };
                let start = BY_FILLING * air;
                let reached = most - (most - start) * (-row.per_min * minutes.min()).exp();
                prop_assert!((reached - aim.max(start)).abs() < 1e-6);
            }
        }
    }
}

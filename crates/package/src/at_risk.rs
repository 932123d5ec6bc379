//! What to do with full bottles that may hold more gas than they bear: the rows of
//! `data/at_risk.toml`.

use std::sync::LazyLock;

use quantity::Source;

/// A step, in the order in which they are done.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What to do.
    pub text: String,
    /// Where it comes from.
    pub source: Source,
}

/// What to do, step by step.
#[must_use]
pub fn at_risk() -> &'static [Step] {
    &STEPS
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    step: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    text: String,
    source: String,
    mark: String,
}

const FILE: &str = "at_risk.toml";

static STEPS: LazyLock<Vec<Step>> = LazyLock::new(|| {
    let file: File = quantity::data::builtin(FILE, include_str!("../data/at_risk.toml"));
    file.step
        .into_iter()
        .map(|row| Step {
            source: Source {
                mark: quantity::data::mark(FILE, &row.text, &row.mark),
                text: row.source,
            },
            text: row.text,
        })
        .collect()
});

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pressure::{Fill, final_pressure};
    use quantity::{Altitude, CarbonDioxide, Temperature, Volume};

    #[test]
    fn eyes_and_hands_come_before_the_first_bottle_is_touched() {
        let place = |words: &str| {
            at_risk()
                .iter()
                .position(|s| s.text.contains(words))
                .unwrap()
        };
        assert!(place("goggles") < place("Cool first"));
        assert!(place("Cool first") < place("Vent cold"));
        assert!(at_risk().iter().all(|s| !s.source.text.is_empty()));
        assert!(at_risk().last().unwrap().text.contains("licensed practice"));
    }

    /// The step that says how much cold helps: CoolProp 8.0 gives 3.34 and 1.68 bar at
    /// 2.5 volumes, 5.33 and 2.73 at 4.
    #[test]
    fn cold_halves_the_pressure() {
        let fill = Fill::with_air(Volume::from_l(0.33), Volume::from_l(0.015));
        let bar = |volumes: f64, temp_c: f64| {
            let held = CarbonDioxide::from_volumes(volumes);
            let (filled, at) = (Temperature::from_c(20.0), Temperature::from_c(temp_c));
            final_pressure(held, &fill, filled, at, Altitude::from_m(0.0))
                .unwrap()
                .bar()
        };
        for volumes in [2.5, 4.0] {
            let share = bar(volumes, 4.0) / bar(volumes, 25.0);
            assert!((share - 0.5).abs() < 0.02, "{share}");
        }
    }
}

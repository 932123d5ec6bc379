//! The rows of `data/pitch.toml`.

use std::sync::LazyLock;

use quantity::{Source, data};

const FILE: &str = "pitch.toml";

/// Everything in the file.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Table {
    pub(crate) strong: Strong,
    pub(crate) rate: Vec<Rate>,
    pub(crate) aim: Vec<AimRow>,
    pub(crate) starter: StarterNumbers,
    pub(crate) rehydration: RehydrationRow,
    pub(crate) spread: Spreads,
    pub(crate) effect: Vec<EffectRow>,
}

/// The factor on strong wort.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Strong {
    pub(crate) factor: f64,
    pub(crate) from_plato: f64,
    pub(crate) full_plato: f64,
    pub(crate) source: String,
    pub(crate) mark: String,
}

/// Pitching rates of a class.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Rate {
    pub(crate) class: String,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) source: String,
    pub(crate) mark: String,
}

/// What an aim takes of the range of a class.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AimRow {
    pub(crate) key: String,
    pub(crate) about: String,
    pub(crate) takes: Takes,
    pub(crate) factor: f64,
    pub(crate) source: String,
    pub(crate) mark: String,
}

/// Where in the range of a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Takes {
    Low,
    Usual,
    High,
}

/// Numbers of starters; each is explained in the file.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct StarterNumbers {
    pub(crate) stirred_per_g: f64,
    pub(crate) stirred_full_to_per_g: f64,
    pub(crate) stirred_none_at_per_g: f64,
    pub(crate) growth_spread: f64,
    pub(crate) window: [f64; 2],
    pub(crate) step_h: [f64; 2],
    pub(crate) settle_h: [f64; 2],
    pub(crate) attenuation: f64,
}

/// How dry yeast is wetted.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RehydrationRow {
    pub(crate) water_per_mass: f64,
    pub(crate) warm_c: [f64; 2],
    pub(crate) lager_c: [f64; 2],
    pub(crate) minutes: [f64; 2],
    pub(crate) source: String,
    pub(crate) mark: String,
}

/// How well effects are known.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Spreads {
    pub(crate) pitch_exponent_sd: f64,
    pub(crate) ester_warmth: f64,
    pub(crate) fusel_warmth: f64,
}

/// What a cause does.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct EffectRow {
    pub(crate) cause: String,
    pub(crate) on: String,
    pub(crate) text: String,
    pub(crate) source: String,
    pub(crate) mark: String,
}

/// The file.
pub(crate) fn table() -> &'static Table {
    static TABLE: LazyLock<Table> =
        LazyLock::new(|| data::builtin(FILE, include_str!("../data/pitch.toml")));
    &TABLE
}

/// Where a row comes from.
pub(crate) fn source(row: &str, text: &str, mark: &str) -> Source {
    Source {
        text: text.to_owned(),
        mark: data::mark(FILE, row, mark),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strains::strains;

    #[test]
    fn every_class_has_a_rate_around_its_usual_one() {
        let all = table();
        assert_eq!(all.rate.len(), strains().len());
        for strain in strains() {
            let rate = all.rate.iter().find(|r| r.class == strain.name).unwrap();
            let usual = strain.usual_pitch.millions_per_ml_plato();
            assert!(rate.low <= usual && usual <= rate.high, "{}", strain.name);
        }
    }

    #[test]
    fn every_row_says_where_it_comes_from() {
        let all = table();
        let rows = all.rate.iter().map(|r| (&r.class, &r.source, &r.mark));
        let aims = all.aim.iter().map(|a| (&a.key, &a.source, &a.mark));
        let effects = all.effect.iter().map(|e| (&e.on, &e.source, &e.mark));
        let others = [
            (&all.strong.mark, &all.strong.source, &all.strong.mark),
            (
                &all.rehydration.mark,
                &all.rehydration.source,
                &all.rehydration.mark,
            ),
        ];
        for (row, text, mark) in rows.chain(aims).chain(effects).chain(others) {
            assert!(!source(row, text, mark).text.is_empty());
        }
    }
}

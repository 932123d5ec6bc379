//! Rate constants and equilibria: the rows of `data/chloramine.toml`.

use std::sync::LazyLock;

use quantity::data::{builtin, mark, quantity};
use quantity::{Ph, Source, Temperature};

use crate::lookup::known;

const FILE: &str = "chloramine.toml";

/// Where the model may be trusted, and what it is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Constants {
    /// The coldest water.
    pub coldest: Temperature,
    /// The warmest water.
    pub warmest: Temperature,
    /// The lowest pH.
    pub lowest_ph: Ph,
    /// The highest pH.
    pub highest_ph: Ph,
    /// Why these limits.
    pub validity: Source,
    /// The reactions.
    pub rates: Vec<Rate>,
    /// The equilibria.
    pub equilibria: Vec<Equilibrium>,
}

/// A rate constant k = a·exp(−b/T) in mol/L and seconds.
#[derive(Debug, Clone, PartialEq)]
pub struct Rate {
    /// The number of the reaction, and what helps it.
    pub key: String,
    /// The reaction.
    pub reaction: String,
    /// Its value at infinite temperature.
    pub a: f64,
    /// Its temperature factor \[K\].
    pub b_k: f64,
    /// Where it comes from.
    pub source: Source,
}

/// pK = c₂T² + c₁T + c₀, T \[K\].
#[derive(Debug, Clone, PartialEq)]
pub struct Equilibrium {
    /// The acid that gives the proton.
    pub key: String,
    /// The three coefficients, c₂ first.
    pub coefficients: [f64; 3],
    /// Where it comes from.
    pub source: Source,
}

/// What the model is made of.
#[must_use]
pub fn constants() -> &'static Constants {
    &TABLE
}

impl Constants {
    /// A rate constant at a temperature.
    pub(super) fn rate(&self, key: &str, temp_k: f64) -> f64 {
        let row = self.rates.iter().find(|row| row.key == key);
        let row = known(FILE, key, "rate", row);
        row.a * (-row.b_k / temp_k).exp()
    }

    /// An equilibrium constant at a temperature.
    pub(super) fn equilibrium(&self, key: &str, temp_k: f64) -> f64 {
        let row = self.equilibria.iter().find(|row| row.key == key);
        let [c2, c1, c0] = known(FILE, key, "equilibrium", row).coefficients;
        10f64.powf(-((c2 * temp_k + c1) * temp_k + c0))
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    validity: ValidityRow,
    rate: Vec<RateRow>,
    equilibrium: Vec<EquilibriumRow>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ValidityRow {
    coldest: String,
    warmest: String,
    lowest_ph: String,
    highest_ph: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct RateRow {
    key: String,
    reaction: String,
    a: f64,
    b: f64,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct EquilibriumRow {
    key: String,
    c2: f64,
    c1: f64,
    c0: f64,
    source: String,
    mark: String,
}

static TABLE: LazyLock<Constants> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../data/chloramine.toml"));
    let v = file.validity;
    Constants {
        coldest: quantity(FILE, "validity", &v.coldest),
        warmest: quantity(FILE, "validity", &v.warmest),
        lowest_ph: quantity(FILE, "validity", &v.lowest_ph),
        highest_ph: quantity(FILE, "validity", &v.highest_ph),
        validity: source("validity", v.source, &v.mark),
        rates: file.rate.into_iter().map(rate).collect(),
        equilibria: file.equilibrium.into_iter().map(equilibrium).collect(),
    }
});

fn rate(row: RateRow) -> Rate {
    Rate {
        source: source(&row.key, row.source, &row.mark),
        key: row.key,
        reaction: row.reaction,
        a: row.a,
        b_k: row.b,
    }
}

fn equilibrium(row: EquilibriumRow) -> Equilibrium {
    Equilibrium {
        source: source(&row.key, row.source, &row.mark),
        key: row.key,
        coefficients: [row.c2, row.c1, row.c0],
    }
}

fn source(row: &str, text: String, words: &str) -> Source {
    Source {
        mark: mark(FILE, row, words),
        text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The values at 25 °C that stand beside the same reactions in a public
    /// network-quality example of the Vikesland 2001 model, per hour, divided by
    /// 3600 (read). They are rounded, and k3 there is the 2.8e2 of the paper.
    #[test]
    fn constants_at_25_degrees_agree_with_a_second_text() {
        for (key, second, within) in [
            ("1", 4.17e6, 0.01),
            ("2", 2.11e-5, 0.02),
            ("3", 278.0, 0.3),
            ("4", 6.4e-7, 0.02),
            ("5 H+", 6.9e3, 0.06),
            ("5 HCO3-", 0.22, 0.06),
            ("5 H2CO3", 11.1, 0.02),
            ("6", 6.1e4, 0.02),
            ("7", 111.0, 0.01),
            ("8", 2.8e4, 0.01),
            ("9", 8.3e3, 0.01),
            ("10", 1.53e-2, 0.02),
        ] {
            let ours = constants().rate(key, 298.15);
            assert!((ours / second - 1.0).abs() < within, "{key}: {ours}");
        }
    }

    /// pKa of HOCl by Morris 1966, J. Phys. Chem. 70, 3798, and of NH4+ by Emerson
    /// et al. 1975, J. Fish. Res. Board Can. 32, 2379: within 0.06 of each other.
    #[test]
    fn equilibria_agree_with_other_formulas() {
        for temp_k in [278.15, 288.15, 298.15] {
            let pk = |key: &str| -constants().equilibrium(key, temp_k).log10();
            let morris = 3000.0 / temp_k - 10.0686 + 0.0253 * temp_k;
            let emerson = 0.09018 + 2729.92 / temp_k;
            assert!((pk("HOCl") - morris).abs() < 0.06);
            assert!((pk("NH4+") - emerson).abs() < 0.06);
        }
    }

    #[test]
    fn every_row_has_its_source() {
        assert_eq!(constants().rates.len(), 18);
        assert!(constants().rates.iter().all(|r| !r.source.text.is_empty()));
        assert_eq!(constants().equilibria.len(), 5);
    }
}

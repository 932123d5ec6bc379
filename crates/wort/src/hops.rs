//! Hop cultivars and how their alpha-acids fade.

use std::sync::LazyLock;

use quantity::{Duration, Fraction, Measured, Source, Temperature, nearest};

use crate::error::{WortError, check};
use crate::malts::range;

const FILE: &str = "hops.toml";

/// A hop cultivar with the usual figures of its harvest.
#[derive(Debug, Clone, PartialEq)]
pub struct Hop {
    /// Public name of the cultivar.
    pub name: String,
    /// Alpha-acids, of the mass.
    pub alpha: Measured<Fraction>,
    /// Beta-acids, of the mass.
    pub beta: Measured<Fraction>,
    /// Alpha-acids left after six months at 20 °C, of those at harvest.
    pub kept: Option<Measured<Fraction>>,
    /// Where the figures come from.
    pub source: Source,
}

/// How a hop is kept: what the air can do to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Storage {
    /// Loose or in an open bag.
    Open,
    /// Closed but not gas-tight.
    Closed,
    /// Barrier bag under vacuum or inert gas.
    Barrier,
}

impl Storage {
    /// Factor on the rate of loss: 1, 0.75, 0.5 (Garetz 1994; from memory).
    #[must_use]
    pub const fn factor(self) -> f64 {
        match self {
            Self::Open => 1.0,
            Self::Closed => 0.75,
            Self::Barrier => 0.5,
        }
    }
}

/// All cultivars.
#[must_use]
pub fn all() -> &'static [Hop] {
    &TABLE.rows
}

/// The cultivar of a name; case does not matter.
///
/// # Errors
/// [`WortError::UnknownHop`], with the nearest name.
pub fn find(name: &str) -> Result<Hop, WortError> {
    let wanted = name.trim().to_lowercase();
    let row = TABLE.names.iter().find(|(n, _)| n.to_lowercase() == wanted);
    row.and_then(|(_, i)| TABLE.rows.get(*i))
        .cloned()
        .ok_or_else(|| WortError::UnknownHop {
            name: name.to_owned(),
            nearest: nearest(&wanted, TABLE.names.iter().map(|(n, _)| n.as_str())),
        })
}

/// Alpha-acids left after storage \[–\].
///
/// A = A₀ exp(−k·TF·SF·d), k = −ln(kept)/180 per day at 20 °C, TF = 0.5 ^
/// ((20 − T)/15 °C), SF by [`Storage`]. Source: Garetz, *Brewing Techniques*
/// 2(1), 1994, table notes (read). Hops in nitrogen-flushed foil fade more slowly
/// still (common practice).
///
/// # Errors
/// [`WortError::Impossible`] where `kept` is not between 1 and 100 %, or the
/// temperature is outside −40 to 60 °C.
pub fn aged_alpha(
    fresh: Fraction,
    kept_six_months: Fraction,
    storage: Storage,
    temperature: Temperature,
    time: Duration,
) -> Result<Fraction, WortError> {
    let kept = check(
        "share of alpha kept",
        kept_six_months.ratio() * 100.0,
        "%",
        1.0,
        100.0,
    )?;
    let temp_c = check("storage temperature", temperature.c(), "°C", -40.0, 60.0)?;
    let days = check("storage time", time.h() / 24.0, "d", 0.0, 4000.0)?;
    let per_day = -(kept / 100.0).ln() / 180.0;
    let warmth = 0.5f64.powf((20.0 - temp_c) / 15.0);
    Ok(Fraction::from_ratio(
        fresh.ratio() * (-per_day * warmth * storage.factor() * days).exp(),
    ))
}

/// Share of the alpha-acids lost \[–\] from the hop storage index: 1.10 ·
/// lg(HSI/0.25). Source: Nickerson & Likens as given by Garetz 1994 (read).
///
/// # Errors
/// [`WortError::Impossible`] outside an index of 0.25 (fresh) to 2.
pub fn loss_from_storage_index(index: f64) -> Result<Fraction, WortError> {
    let index = check("hop storage index", index, "", 0.25, 2.0)?;
    Ok(Fraction::from_ratio(1.10 * (index / 0.25).log10()))
}

struct Table {
    rows: Vec<Hop>,
    names: Vec<(String, usize)>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = quantity::data::builtin(FILE, include_str!("../data/hops.toml"));
    let mut table = Table {
        rows: Vec::new(),
        names: Vec::new(),
    };
    for row in file.hop {
        let index = table.rows.len();
        let names = std::iter::once(&row.name).chain(&row.also);
        table.names.extend(names.map(|n| (n.clone(), index)));
        table.rows.push(row.read());
    }
    table
});

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    hop: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    #[serde(default)]
    also: Vec<String>,
    alpha: [f64; 2],
    beta: [f64; 2],
    kept: Option<[f64; 2]>,
    source: String,
    mark: String,
}

impl Row {
    fn read(self) -> Hop {
        Hop {
            alpha: range(self.alpha, 0.01),
            beta: range(self.beta, 0.01),
            kept: self.kept.map(|r| range(r, 0.01)),
            source: Source {
                mark: quantity::data::mark(FILE, &self.name, &self.mark),
                text: self.source,
            },
            name: self.name,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Spread;

    fn ratio(percent: f64) -> Fraction {
        Fraction::from_ratio(percent / 100.0)
    }

    #[test]
    fn every_row_is_sound() {
        assert!(all().len() >= 33);
        for hop in all() {
            for figure in [Some(hop.alpha), Some(hop.beta), hop.kept]
                .into_iter()
                .flatten()
            {
                assert!(
                    matches!(figure.spread, Spread::Range { low, high } if low <= high && high <= 0.9),
                    "{}",
                    hop.name
                );
            }
            assert!(find(&hop.name).is_ok());
        }
        assert_eq!(find("lubelski").unwrap().name, "Lublin");
        assert!(find("Cascad").unwrap_err().to_string().contains("Cascade"));
    }

    /// Garetz 1994: rate constants by the share lost in six months, temperature
    /// factors, and two cases worked from the formula.
    #[test]
    fn ageing_follows_garetz() {
        for (temp_c, factor) in [(-18.0, 0.1727), (-10.0, 0.25), (4.0, 0.4774), (10.0, 0.63)] {
            let year = |c: f64| {
                let left = aged_alpha(
                    ratio(10.0),
                    ratio(70.0),
                    Storage::Open,
                    Temperature::from_c(c),
                    Duration::from_h(24.0 * 180.0),
                );
                -(left.unwrap().ratio() / 0.10).ln()
            };
            assert!((year(temp_c) / year(20.0) - factor).abs() < 6e-5);
        }
        for (alpha, lost, temp_c, storage, days, left) in [
            (8.0, 35.0, -18.0, Storage::Barrier, 365.0, 7.42),
            (6.5, 50.0, 4.0, Storage::Closed, 180.0, 5.07),
        ] {
            let aged = aged_alpha(
                ratio(alpha),
                ratio(100.0 - lost),
                storage,
                Temperature::from_c(temp_c),
                Duration::from_h(24.0 * days),
            );
            assert!((aged.unwrap().ratio() * 100.0 - left).abs() < 0.006);
        }
    }

    /// Garetz 1994; 10.3 % at 0.31 agrees with the 10 % of a hop-trade note.
    #[test]
    fn storage_index_gives_the_loss() {
        for (index, percent) in [
            (0.25, 0.0),
            (0.31, 10.3),
            (0.35, 16.1),
            (0.45, 28.1),
            (0.60, 41.8),
        ] {
            let lost = loss_from_storage_index(index).unwrap().ratio() * 100.0;
            assert!((lost - percent).abs() < 0.06, "{index}: {lost}");
        }
        assert!(loss_from_storage_index(0.2).is_err());
    }
}

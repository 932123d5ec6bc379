//! Hop cultivars and how their alpha-acids fade.

use std::sync::LazyLock;

use quantity::{Duration, Fraction, Measured, Source, Spread, StorageIndex, Temperature, nearest};

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

    /// The factor may be as far off as halfway to the next; foil under nitrogen does
    /// better than its factor (judgement).
    const fn factors(self) -> (f64, f64) {
        match self {
            Self::Open => (0.875, 1.0),
            Self::Closed => (0.625, 0.875),
            Self::Barrier => (0.25, 0.625),
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
    let names = || TABLE.names.iter();
    let wanted = name.trim().to_lowercase();
    // Mostly it is written as the table has it.
    let row = names()
        .find(|(n, _)| n == name)
        .or_else(|| names().find(|(n, _)| n.to_lowercase() == wanted));
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

/// How a hop was kept since its alpha-acids were measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Alpha-acids that the cultivar keeps over six months at 20 °C.
    pub six_months: Measured<Fraction>,
    /// How it was packed.
    pub storage: Storage,
    /// Temperature.
    pub temperature: Temperature,
    /// How long.
    pub time: Duration,
}

/// Alpha-acids left after storage \[–\] as [`aged_alpha`], with the interval that the
/// range of the cultivar and of the packing leave.
///
/// # Errors
/// As [`aged_alpha`].
pub fn alpha_after(fresh: Fraction, kept: &Kept) -> Result<Measured<Fraction>, WortError> {
    let Kept {
        storage,
        temperature,
        time,
        ..
    } = *kept;
    let left = |share| aged_alpha(fresh, share, storage, temperature, time);
    let value = left(kept.six_months.value)?;
    // The rate is in proportion to the factor, so an end's logarithm is scaled by it.
    let at_end = |share: Fraction, factor: f64| -> Result<f64, WortError> {
        let scaled = factor / storage.factor();
        let full = left(share)?.ratio() / fresh.ratio().max(f64::MIN_POSITIVE);
        Ok(fresh.ratio() * full.powf(scaled))
    };
    let (slow, fast) = storage.factors();
    let most = Fraction::from_ratio(kept.six_months.upper().ratio().min(1.0));
    Ok(Measured {
        value,
        spread: Spread::Range {
            low: at_end(kept.six_months.lower(), fast)?,
            high: at_end(most, slow)?,
        },
    })
}

/// Slope of the loss against lg(HSI/0.25) \[%\]; of the crop years 1969, 1975, 1976 and
/// 1977: 101.8 to 114.6 (Nickerson & Likens 1979, abstract read).
const INDEX_SLOPE: f64 = 110.0;
const INDEX_SLOPE_SD: f64 = (114.6 - 101.8) / 3.464;
/// Relative standard deviation of an index between laboratories (the same abstract).
const INDEX_READING: f64 = 0.028;
/// Index of the freshest hops; cultivars and years lie up to 0.1 above it when fresh
/// (notes of hop merchants, read).
const FRESH_INDEX: f64 = 0.25;
const FRESH_INDEX_SPAN: f64 = 0.10;
/// Indices that are taken: hops fresh from the kiln may lie below 0.25 (the same notes),
/// and at 2 nothing is left.
const INDICES: (f64, f64) = (0.15, 2.0);

/// Share of the alpha- and beta-acids lost \[–\] from the hop storage index: 1.10 ·
/// lg(HSI/0.25), none below 0.25. Source: Nickerson & Likens, *J. Am. Soc. Brew. Chem.*
/// 37, 184, 1979 (abstract read), as given by Garetz 1994 (read).
///
/// # Errors
/// [`WortError::Impossible`] outside an index of 0.15 to 2.
pub fn loss_from_storage_index(index: StorageIndex) -> Result<Fraction, WortError> {
    let (least, most) = INDICES;
    let index = check("hop storage index", index.ratio(), "", least, most)?;
    let lost = INDEX_SLOPE / 100.0 * (index / FRESH_INDEX).log10();
    Ok(Fraction::from_ratio(lost.max(0.0)))
}

/// Alpha-acids left \[–\] by the hop storage index now and when they were measured:
/// α·(1 − loss now)/(1 − loss then), the losses by [`loss_from_storage_index`]. Without
/// an index of then the hop is taken to have been as fresh as hops can be, and the
/// spread holds that it may not have been.
///
/// The relation is of alpha- and beta-acids together; alpha-acids fall somewhat faster.
///
/// # Errors
/// [`WortError::Impossible`] outside an index of 0.15 to 2, or where it was higher when
/// the alpha-acids were measured than it is now.
pub fn alpha_by_index(
    measured: Fraction,
    now: StorageIndex,
    then: Option<StorageIndex>,
) -> Result<Measured<Fraction>, WortError> {
    let (least, most) = INDICES;
    check("hop storage index", now.ratio(), "", least, most)?;
    let before = then.unwrap_or(StorageIndex::from_ratio(FRESH_INDEX.min(now.ratio())));
    check(
        "hop storage index when alpha was measured",
        before.ratio(),
        "",
        least,
        now.ratio(),
    )?;
    let left = |index| loss_from_storage_index(index).map(|lost| 1.0 - lost.ratio());
    let (left_now, left_then) = (left(now)?, left(before)?);
    let share = (left_now / left_then).clamp(0.0, 1.0);
    let per_log = INDEX_SLOPE / 100.0;
    // One decade of index is one slope; an error of the index is one of its logarithm.
    let reading = per_log * INDEX_READING / std::f64::consts::LN_10;
    let fresh = match then {
        Some(_) => reading,
        None => per_log * ((FRESH_INDEX + FRESH_INDEX_SPAN) / FRESH_INDEX).log10() / 3.464,
    };
    let slope = (left_then - left_now) * INDEX_SLOPE_SD / INDEX_SLOPE;
    let sd = reading.hypot(fresh).hypot(slope) / left_then;
    let alpha = measured.ratio();
    Ok(Measured::with_sd(
        Fraction::from_ratio(alpha * share),
        alpha * sd,
    ))
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

    fn percent(share: Fraction) -> f64 {
        100.0 * share.ratio()
    }

    fn hsi(ratio: f64) -> StorageIndex {
        StorageIndex::from_ratio(ratio)
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
        for (temp_c, factor) in [
            (-18.0, 0.1727),
            (-10.0, 0.25),
            (0.0, 0.3969),
            (4.0, 0.4774),
            (5.0, 0.50),
            (10.0, 0.63),
            (15.0, 0.7937),
        ] {
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

    /// Rate constants by the share lost in six months (Garetz 1994, formula read; table
    /// computed), in six printed decimals.
    #[test]
    fn rates_by_the_class_of_a_cultivar() {
        for (lost, per_day) in [
            (15.0, 0.000_903),
            (20.0, 0.001_240),
            (25.0, 0.001_598),
            (30.0, 0.001_982),
            (35.0, 0.002_393),
            (40.0, 0.002_838),
            (50.0, 0.003_851),
            (60.0, 0.005_091),
        ] {
            let left = aged_alpha(
                ratio(10.0),
                ratio(100.0 - lost),
                Storage::Open,
                Temperature::from_c(20.0),
                Duration::from_h(2400.0),
            );
            let ours = -(left.unwrap().ratio() / 0.10).ln() / 100.0;
            assert!((ours - per_day).abs() < 6e-7, "{lost}: {ours}");
        }
    }

    /// Garetz 1994; 10.3 % at 0.31 agrees with the 10 % of a hop-trade note.
    #[test]
    fn storage_index_gives_the_loss() {
        for (index, percent) in [
            (0.25, 0.0),
            (0.28, 5.4),
            (0.30, 8.7),
            (0.31, 10.3),
            (0.35, 16.1),
            (0.40, 22.5),
            (0.45, 28.1),
            (0.50, 33.1),
            (0.60, 41.8),
        ] {
            let lost = loss_from_storage_index(hsi(index)).unwrap().ratio() * 100.0;
            assert!((lost - percent).abs() < 0.06, "{index}: {lost}");
        }
        assert!(loss_from_storage_index(hsi(0.2)).unwrap().ratio().abs() < 1e-12);
        assert!(loss_from_storage_index(hsi(0.1)).is_err());
    }

    /// By the losses of the table above: 10 % α with 0.28 then and 0.35 now keep
    /// (1 − 0.161)/(1 − 0.054) of it.
    #[test]
    fn alpha_follows_the_index() {
        let left = alpha_by_index(ratio(10.0), hsi(0.35), Some(hsi(0.28))).unwrap();
        assert!((percent(left.value) - 10.0 * 0.839 / 0.946).abs() < 0.01);
        let fresh = alpha_by_index(ratio(10.0), hsi(0.35), None).unwrap();
        assert!((percent(fresh.value) - 8.39).abs() < 0.01);
        assert!(fresh.sd() > left.sd() && left.sd() > 0.0);
        let same = alpha_by_index(ratio(10.0), hsi(0.35), Some(hsi(0.35))).unwrap();
        assert!((percent(same.value) - 10.0).abs() < 1e-9);
        let wrong = alpha_by_index(ratio(10.0), hsi(0.30), Some(hsi(0.40))).unwrap_err();
        assert_eq!(
            wrong.to_string(),
            "hop storage index when alpha was measured cannot be 0.4; between 0.15 and 0.3 would work"
        );
        let below = alpha_by_index(ratio(10.0), hsi(0.1), None).unwrap_err();
        assert_eq!(
            below.to_string(),
            "hop storage index cannot be 0.1; between 0.15 and 2 would work"
        );
        assert!(alpha_by_index(ratio(10.0), hsi(f64::NAN), None).is_err());
    }

    fn kept(six_months: [f64; 2], storage: Storage) -> Kept {
        Kept {
            six_months: range(six_months, 0.01),
            storage,
            temperature: Temperature::from_c(4.0),
            time: Duration::from_h(24.0 * 180.0),
        }
    }

    /// The case of [`ageing_follows_garetz`]: 6.5 %, half kept, 4 °C, closed, 180 days.
    #[test]
    fn the_interval_holds_the_range_of_cultivar_and_packing() {
        let left = alpha_after(ratio(6.5), &kept([45.0, 55.0], Storage::Closed)).unwrap();
        assert!((percent(left.value) - 5.07).abs() < 0.006);
        let (low, high) = (percent(left.lower()), percent(left.upper()));
        assert!(low < 5.07 && 5.07 < high && high < 6.5, "{low} {high}");
        let by_hand = 6.5 * (0.45f64.ln() * 0.4774 * 0.875).exp();
        assert!((low - by_hand).abs() < 0.001, "{low} {by_hand}");
        let none = alpha_after(ratio(0.0), &kept([45.0, 55.0], Storage::Open)).unwrap();
        assert!(none.value.ratio().abs() < 1e-12 && none.sd().is_finite());
    }

    proptest::proptest! {
        /// The older, the warmer and the looser, the less is left, and never more than
        /// there was.
        #[test]
        fn hops_only_fade(
            alpha in 0.0..20.0f64, low in 20.0..60.0f64, span in 0.0..30.0f64,
            temp_c in -20.0..30.0f64, days in 0.0..1000.0f64, more in 0.0..200.0f64,
        ) {
            let at = |storage, temp_c, days| {
                let kept = Kept {
                    temperature: Temperature::from_c(temp_c),
                    time: Duration::from_h(24.0 * days),
                    ..kept([low, low + span], storage)
                };
                alpha_after(ratio(alpha), &kept).unwrap()
            };
            let base = at(Storage::Closed, temp_c, days);
            proptest::prop_assert!(base.lower().ratio() <= base.value.ratio() + 1e-12);
            proptest::prop_assert!(base.value.ratio() <= base.upper().ratio() + 1e-12);
            proptest::prop_assert!(percent(base.upper()) <= alpha + 1e-9);
            for later in [
                at(Storage::Closed, temp_c, days + more),
                at(Storage::Closed, temp_c + more / 20.0, days),
                at(Storage::Open, temp_c, days),
            ] {
                proptest::prop_assert!(later.value.ratio() <= base.value.ratio() + 1e-12);
            }
        }
    }
}

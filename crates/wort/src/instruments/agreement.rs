//! Two or more instruments that say different things of one figure.

use quantity::{Measured, Note, Quantity};

use crate::error::{WortError, check};

/// What several readings of one figure come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Agreement<Q: Quantity> {
    /// The weighted mean; its standard deviation is widened by the Birge ratio where
    /// that is above one.
    pub mean: Measured<Q>,
    /// χ² = Σ ((xᵢ − x̄)/uᵢ)².
    pub chi_squared: f64,
    /// Degrees of freedom: one less than readings.
    pub free: usize,
    /// Chance of so large a χ² where all ± are honest.
    pub chance: f64,
    /// √(χ²/ν) (Birge 1932).
    pub birge: f64,
    /// How far each reading stands from the mean of the *others*, in standard
    /// deviations of that difference.
    pub apart: Vec<f64>,
    /// The weight of each in the mean, summing to one.
    pub weights: Vec<f64>,
    /// What to make of it.
    pub notes: Vec<Note>,
}

/// Chance below which readings do not agree (common practice).
const DISAGREE_BELOW: f64 = 0.05;

/// What readings of one figure by several instruments come to: their weighted mean,
/// weights 1/uᵢ², and whether they agree (Birge 1932, *Physical Review* 40:207; the
/// test as in Cox 2002, *Metrologia* 39:589, procedure A).
///
/// # Errors
/// [`WortError::Impossible`] for fewer than two readings, or one without a ±.
pub fn agreement<Q: Quantity>(readings: &[Measured<Q>]) -> Result<Agreement<Q>, WortError> {
    check("number of readings", readings.len() as f64, "", 2.0, 100.0)?;
    for reading in readings {
        check(
            "± of a reading",
            reading.sd(),
            "",
            f64::MIN_POSITIVE,
            f64::MAX,
        )?;
    }
    let raw: Vec<f64> = readings.iter().map(|r| r.sd().powi(-2)).collect();
    let whole: f64 = raw.iter().sum();
    let weights: Vec<f64> = raw.iter().map(|w| w / whole).collect();
    let pairs = || readings.iter().zip(&weights);
    let mean: f64 = pairs().map(|(r, w)| w * r.canonical()).sum();
    let pull = |r: &Measured<Q>| (r.canonical() - mean) / r.sd();
    let chi_squared: f64 = readings.iter().map(|r| pull(r).powi(2)).sum();
    let free = readings.len() - 1;
    let birge = (chi_squared / free as f64).sqrt();
    let chance = chi_squared_tail(chi_squared, free);
    let apart: Vec<f64> = pairs()
        .map(|(r, w)| {
            let others = (mean - w * r.canonical()) / (1.0 - w);
            let others_var = 1.0 / (whole * (1.0 - w));
            (r.canonical() - others) / r.sd().hypot(others_var.sqrt())
        })
        .collect();
    let sd = whole.powf(-0.5) * birge.max(1.0);
    let notes = vec![judged(chance, &apart)];
    Ok(Agreement {
        mean: Measured::with_sd(Q::from_canonical(mean), sd),
        chi_squared,
        free,
        chance,
        birge,
        apart,
        weights,
        notes,
    })
}

/// What to make of it, in words.
fn judged(chance: f64, apart: &[f64]) -> Note {
    if chance >= DISAGREE_BELOW {
        return Note::fine("they agree within their ±: take the mean of all");
    }
    if apart.len() == 2 {
        return Note::look(
            "they disagree, and two cannot say which is wrong: believe the one that was checked last against something known (ice, boiling water, plain water, a buffer), and check the other",
        );
    }
    let worst = apart
        .iter()
        .enumerate()
        .max_by(|(_, a), (_, b)| a.abs().total_cmp(&b.abs()))
        .map_or(0, |(n, _)| n + 1);
    Note::look(format!(
        "they disagree; reading {worst} stands farthest from the others: check that instrument first, and leave its reading out only when the check says so"
    ))
}

/// Chance that χ² with so many degrees of freedom is at least so large:
/// Q(ν/2, χ²/2), by the finite sums for whole and half numbers (Abramowitz and Stegun
/// 1964, 26.4.4 and 26.4.5).
pub(crate) fn chi_squared_tail(chi2: f64, free: usize) -> f64 {
    if free == 0 || chi2 <= 0.0 {
        return 1.0;
    }
    let half = 0.5 * chi2;
    let tail = if free.is_multiple_of(2) {
        let mut term = (-half).exp();
        let mut sum = term;
        for k in 1..free / 2 {
            term *= half / k as f64;
            sum += term;
        }
        sum
    } else {
        let mut sum = libm::erfc(half.sqrt());
        let mut term = (-half).exp() * (half / std::f64::consts::PI).sqrt() * 2.0;
        for k in 0..free / 2 {
            sum += term;
            term *= half / (k as f64 + 1.5);
        }
        sum
    };
    tail.clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use quantity::{Gravity, Temperature};

    /// Printed points of the χ² distribution: the value that 5 % and 1 % exceed
    /// (Pearson and Hartley 1966, table 8; from memory, all digits as printed).
    #[test]
    fn the_tail_is_that_of_the_printed_table() {
        for (free, five, one) in [
            (1, 3.841, 6.635),
            (2, 5.991, 9.210),
            (3, 7.815, 11.345),
            (4, 9.488, 13.277),
            (5, 11.070, 15.086),
            (10, 18.307, 23.209),
        ] {
            assert!((chi_squared_tail(five, free) - 0.05).abs() < 2e-5, "{free}");
            assert!((chi_squared_tail(one, free) - 0.01).abs() < 1e-5, "{free}");
        }
        assert!((chi_squared_tail(0.0, 3) - 1.0).abs() < 1e-15);
    }

    /// 12.0 ± 0.2 and 12.6 ± 0.3 °P by hand: mean 12.1846, u 0.16641, χ² = 0.36/0.13
    /// = 2.769, Birge ratio 1.664.
    #[test]
    fn two_readings_come_to_what_the_hand_finds() {
        let of = |x, sd| Measured::with_sd(Gravity::from_plato(x), sd);
        let found = agreement(&[of(12.0, 0.2), of(12.6, 0.3)]).unwrap();
        assert!((found.mean.canonical() - 12.184_615).abs() < 1e-6);
        assert!((found.chi_squared - 2.769_231).abs() < 1e-6);
        assert!((found.birge - 1.664_101).abs() < 1e-6);
        assert!((found.mean.sd() - 0.166_410 * 1.664_101).abs() < 1e-5);
        assert!(
            (found.apart[1] - 1.664_101).abs() < 1e-6,
            "{:?}",
            found.apart
        );
        assert!(found.notes[0].text.contains("agree within"));
        let far = agreement(&[of(12.0, 0.1), of(13.0, 0.1)]).unwrap();
        assert!(
            far.notes[0].text.contains("two cannot say"),
            "{:?}",
            far.notes
        );
        let three = agreement(&[of(12.0, 0.1), of(12.1, 0.1), of(13.0, 0.1)]).unwrap();
        assert!(
            three.notes[0].text.contains("reading 3"),
            "{:?}",
            three.notes
        );
        assert!(agreement(&[of(12.0, 0.1)]).is_err());
        assert!(agreement(&[of(12.0, 0.0), of(12.0, 0.1)]).is_err());
    }

    proptest! {
        /// The mean lies among the readings, is no less sure than the surest unless
        /// they disagree, and the order does not matter.
        #[test]
        fn the_mean_lies_between(rows in proptest::collection::vec((0.0..30.0f64, 0.05..2.0f64), 2..6)) {
            let readings: Vec<_> = rows.iter().map(|(x, sd)| Measured::with_sd(Temperature::from_c(*x), *sd)).collect();
            let found = agreement(&readings).unwrap();
            let low = rows.iter().map(|r| r.0).fold(f64::INFINITY, f64::min);
            let high = rows.iter().map(|r| r.0).fold(f64::NEG_INFINITY, f64::max);
            prop_assert!((low - 1e-9..=high + 1e-9).contains(&found.mean.canonical()));
            prop_assert!((found.weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            prop_assert!((0.0..=1.0).contains(&found.chance));
            let mut turned = readings.clone();
            turned.reverse();
            let other = agreement(&turned).unwrap();
            prop_assert!((other.mean.canonical() - found.mean.canonical()).abs() < 1e-9);
        }
    }
}

//! The binomial distribution, summed and not approximated.

use super::numeric::root;

/// The chance of `least` or more successes in `trials` independent trials of a chance.
#[must_use]
pub fn binomial_at_least(least: u32, trials: u32, chance: f64) -> f64 {
    Binomial::new(trials, chance).at_least(least)
}

/// Counts of successes in `trials` independent trials of chance `chance`.
#[derive(Debug, Clone)]
pub(super) struct Binomial {
    /// P(X = k), k from 0.
    masses: Vec<f64>,
}

impl Binomial {
    /// Each mass is reckoned from its neighbour, outwards from the highest; the
    /// sum of all is one, so no factorial is needed and nothing overflows.
    pub fn new(trials: u32, chance: f64) -> Self {
        let n = trials as usize;
        let mut masses = vec![0.0; n + 1];
        let chance = chance.clamp(0.0, 1.0);
        let mode = (((f64::from(trials) + 1.0) * chance).floor() as usize).min(n);
        masses[mode] = 1.0;
        let odds = chance / (1.0 - chance);
        for k in mode..n {
            masses[k + 1] = masses[k] * (n - k) as f64 / (k + 1) as f64 * odds;
        }
        for k in (0..mode).rev() {
            masses[k] = masses[k + 1] * (k + 1) as f64 / (n - k) as f64 / odds;
        }
        let total: f64 = masses.iter().sum();
        for mass in &mut masses {
            *mass /= total;
        }
        Self { masses }
    }

    /// P(X ≥ k).
    pub fn at_least(&self, k: u32) -> f64 {
        share(self.masses.iter().skip(k as usize).rev().sum())
    }

    /// P(X ≤ k).
    pub fn at_most(&self, k: u32) -> f64 {
        share(self.masses.iter().take(k as usize + 1).sum())
    }

    /// The smallest k with P(X ≥ k) ≤ `risk`; none if even all is too likely.
    pub fn upper_critical(&self, risk: f64) -> Option<u32> {
        let mut tail = 0.0;
        let mut critical = None;
        for (k, mass) in self.masses.iter().enumerate().rev() {
            tail += mass;
            if !within(tail, risk) {
                break;
            }
            critical = u32::try_from(k).ok();
        }
        critical
    }

    /// The largest k with P(X ≤ k) ≤ `risk`; none if even zero is too likely.
    pub fn lower_critical(&self, risk: f64) -> Option<u32> {
        let mut tail = 0.0;
        let mut critical = None;
        for (k, mass) in self.masses.iter().enumerate() {
            tail += mass;
            if !within(tail, risk) {
                break;
            }
            critical = u32::try_from(k).ok();
        }
        critical
    }
}

/// Whether a tail is within a risk; the slack is that of rounding, for a risk
/// that is a tail itself.
pub(super) fn within(tail: f64, risk: f64) -> bool {
    tail <= risk * (1.0 + 1e-12)
}

/// A sum of masses, which rounding may lift above one.
fn share(sum: f64) -> f64 {
    sum.min(1.0)
}

/// The exact interval of a chance \[–\]: Clopper & Pearson 1934, Biometrika 26,
/// 404. `doubt` is what both tails together may miss, such as 0.05.
pub(super) fn clopper_pearson(successes: u32, trials: u32, doubt: f64) -> (f64, f64) {
    let tail = doubt / 2.0;
    let low = if successes == 0 {
        0.0
    } else {
        root(0.0, 1.0, |p| {
            Binomial::new(trials, p).at_least(successes) - tail
        })
    };
    let high = if successes >= trials {
        1.0
    } else {
        root(0.0, 1.0, |p| {
            tail - Binomial::new(trials, p).at_most(successes)
        })
    };
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Exact fractions: of 6 triangles, 5 or 6 right in 13 of 729 ways of chance.
    #[test]
    fn tails_are_fractions() {
        let six = Binomial::new(6, 1.0 / 3.0);
        assert!((six.at_least(5) - 13.0 / 729.0).abs() < 1e-15);
        assert!((six.at_most(0) - 64.0 / 729.0).abs() < 1e-15);
        assert_eq!(six.upper_critical(13.0 / 729.0), Some(5));
        assert!((Binomial::new(20, 0.5).at_least(15) - 21_700.0 / 1_048_576.0).abs() < 1e-15);
    }

    /// SciPy 1.17, `scipy.stats.binom.sf(k - 1, n, p)`.
    #[test]
    fn the_binomial_is_that_of_scipy() {
        for (k, n, p, chance) in [
            (18, 20, 0.9, 0.676_926_805_189_466_1),
            (35, 60, 0.5, 0.122_530_416_511_472_83),
            (3, 40, 0.1, 0.777_191_875_660_596_9),
            (60, 60, 0.8, 1.532_495_540_865_893e-6),
        ] {
            let found = binomial_at_least(k, n, p);
            assert!((found / chance - 1.0).abs() < 1e-9, "{k} of {n}: {found}");
        }
    }

    #[test]
    fn the_ends_are_the_ends() {
        for chance in [0.0, 1.0] {
            let all = Binomial::new(9, chance);
            assert!((all.at_least(0) - 1.0).abs() < 1e-15 && (all.at_most(9) - 1.0).abs() < 1e-15);
        }
        assert!(Binomial::new(0, 0.4).upper_critical(0.05).is_none());
        assert_eq!(clopper_pearson(0, 8, 0.05).0.to_bits(), 0.0_f64.to_bits());
        assert_eq!(clopper_pearson(8, 8, 0.05).1.to_bits(), 1.0_f64.to_bits());
    }

    proptest! {
        #[test]
        fn both_tails_make_one(n in 1u32..400, chance in 0.0..=1.0f64, part in 0.0..1.0f64) {
            let k = (f64::from(n) * part) as u32;
            let all = Binomial::new(n, chance);
            prop_assert!((all.at_most(k) + all.at_least(k + 1) - 1.0).abs() < 1e-12);
        }

        #[test]
        fn the_interval_holds_the_share(n in 1u32..200, part in 0.0..=1.0f64) {
            let k = (f64::from(n) * part) as u32;
            let (low, high) = clopper_pearson(k, n, 0.05);
            let share = f64::from(k) / f64::from(n);
            prop_assert!(low <= share && share <= high && (0.0..=1.0).contains(&low) && high <= 1.0);
        }
    }
}

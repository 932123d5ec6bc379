//! How much faster beer ages in the warm.

use quantity::{Duration, Measured, Spread, Temperature};

use crate::error::{PackageError, within};

/// How much faster groups of stale compounds form at 37 than at 4 °C: esters 20,
/// aldehydes 90, furans 140 times; Ferreira et al., *LWT* 154, 112688, 2022 (abstract
/// read).
const FASTER: [f64; 3] = [20.0, 90.0, 140.0];
const FROM_C: f64 = 4.0;
const TO_C: f64 = 37.0;

/// How much faster beer ages at one temperature than at another \[–\].
///
/// A factor each 10 K, (k₃₇/k₄)^(10/33): 2.5 for esters, 3.9 for aldehydes, 4.5 for
/// furans, each by Ferreira et al. 2022; the value is that of the aldehydes, which
/// taste of cardboard, the range that of all three. A relative figure only: how long a
/// beer keeps in itself depends on its oxygen and is not said here. Between 0 and 40 °C.
///
/// # Errors
/// [`PackageError::Impossible`] outside −5 to 45 °C.
///
/// ```
/// use quantity::Temperature;
/// let (cellar, fridge) = (Temperature::from_c(20.0), Temperature::from_c(4.0));
/// let faster = package::ageing_ratio(cellar, fridge)?;
/// assert!((8.0..9.5).contains(&faster.value));
/// # Ok::<(), package::PackageError>(())
/// ```
pub fn ageing_ratio(at: Temperature, against: Temperature) -> Result<Faster, PackageError> {
    let check = |t| within("temperature of the store", t, -5.0, 45.0);
    let apart = check(at)?.c() - check(against)?.c();
    let ratio = |faster: f64| faster.powf(apart / (TO_C - FROM_C));
    let [esters, aldehydes, furans] = FASTER.map(ratio);
    Ok(Faster {
        value: aldehydes,
        low: esters.min(furans),
        high: esters.max(furans),
    })
}

/// How many times as fast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Faster {
    /// By the aldehydes.
    pub value: f64,
    /// The slowest group.
    pub low: f64,
    /// The quickest group.
    pub high: f64,
}

impl Faster {
    /// The time in the cold that ages beer as much as a time at the temperature asked.
    #[must_use]
    pub fn as_long_as(self, time: Duration) -> Measured<Duration> {
        let h = |ratio: f64| time.h() * ratio;
        Measured {
            value: Duration::from_h(h(self.value)),
            spread: Spread::Range {
                low: h(self.low),
                high: h(self.high),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn c(x: f64) -> Temperature {
        Temperature::from_c(x)
    }

    #[test]
    fn the_published_ratios_come_back() {
        let faster = ageing_ratio(c(37.0), c(4.0)).unwrap();
        assert!((faster.low - 20.0).abs() < 1e-9);
        assert!((faster.value - 90.0).abs() < 1e-9);
        assert!((faster.high - 140.0).abs() < 1e-9);
        let ten = ageing_ratio(c(24.0), c(14.0)).unwrap();
        assert!((ten.low - 2.48).abs() < 0.01 && (ten.high - 4.47).abs() < 0.01);
        assert!(ageing_ratio(c(90.0), c(4.0)).is_err());
    }

    proptest! {
        #[test]
        fn warmth_ages_and_two_steps_are_one(a in 0.0..40.0f64, b in 0.0..40.0f64, m in 0.0..40.0f64) {
            let of = |x: f64, y: f64| ageing_ratio(c(x), c(y)).unwrap().value;
            prop_assert!((of(a, m) * of(m, b) / of(a, b) - 1.0).abs() < 1e-9);
            prop_assert!((of(a, b) > 1.0) == (a > b));
            let faster = ageing_ratio(c(a), c(b)).unwrap();
            let week = faster.as_long_as(Duration::from_h(168.0));
            prop_assert!(faster.low <= faster.value && faster.value <= faster.high);
            prop_assert!((week.value.h() / 168.0 - faster.value).abs() < 1e-9);
        }
    }
}

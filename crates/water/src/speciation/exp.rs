//! The exponential of many numbers at once.

use std::f64::consts::LOG2_E;

/// Numbers beyond these are taken as these, so that every result is a normal number.
const LEAST: f64 = -700.0;
const MOST: f64 = 100.0;

/// Replaces every number by its exponential, within 4e-15 of it.
///
/// exp x = 2ᵏ exp r with k whole and |r| ≤ ln 2/2, exp r by its series. There is no
/// branch and no call in it, so that the compiler works on several numbers together,
/// and the digits are the same on every machine.
pub(super) fn exp_all(numbers: &mut [f64]) {
    for x in numbers {
        *x = exp(*x);
    }
}

#[inline(always)]
fn exp(x: f64) -> f64 {
    /// Adding it rounds to a whole number, which then stands in the lowest bits.
    const ROUND: f64 = 6_755_399_441_055_744.0;
    const LN_2_HIGH: f64 = 0.693_147_180_369_123_8;
    const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
    const BIAS: u64 = 1023;
    let x = x.clamp(LEAST, MOST);
    let shifted = x * LOG2_E + ROUND;
    let k = shifted - ROUND;
    let r = (x - k * LN_2_HIGH) - k * LN_2_LOW;
    let (r2, r4) = (r * r, r * r * r * r);
    let low = (1.0 + r) + r2 * (1.0 / 2.0 + r * (1.0 / 6.0));
    let middle = (1.0 / 24.0 + r * (1.0 / 120.0)) + r2 * (1.0 / 720.0 + r * (1.0 / 5_040.0));
    let high = (1.0 / 40_320.0 + r * (1.0 / 362_880.0))
        + r2 * (1.0 / 3_628_800.0 + r * (1.0 / 39_916_800.0) + r2 * (1.0 / 479_001_600.0));
    let series = low + r4 * (middle + r4 * high);
    series * f64::from_bits((shifted.to_bits().wrapping_add(BIAS)) << 52)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn beyond_its_range_it_stays() {
        let mut numbers = [-1e300, f64::NEG_INFINITY, 1e300];
        exp_all(&mut numbers);
        assert!(numbers[0] > 0.0 && numbers[0] < 1e-300);
        assert_eq!(numbers[0].to_bits(), numbers[1].to_bits());
        assert!((numbers[2] / MOST.exp() - 1.0).abs() < 4e-15);
    }

    proptest! {
        /// Against the exponential of the standard library.
        #[test]
        fn it_is_the_exponential(x in LEAST..MOST) {
            let mut numbers = [x];
            exp_all(&mut numbers);
            prop_assert!((numbers[0] / x.exp() - 1.0).abs() < 4e-15, "{x}");
        }
    }
}

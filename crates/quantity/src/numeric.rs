//! What more than one stage reckons with: roots, the normal distribution, random numbers.

/// A root of a function that grows from negative at `low` to positive at
/// `high`, by the Illinois form of regula falsi with bisection as a safeguard; to a
/// trillionth of the function's span. Where it does not change its sign, the nearer end.
#[must_use]
pub fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut at_low, mut at_high) = (f(low), f(high));
    let small = 1e-12 * (at_low.abs() + at_high.abs());
    let mut kept = 0i32;
    for round in 0..200 {
        let width = high - low;
        let false_position = low - at_low * width / (at_high - at_low);
        // Every third round halves, so that a flat stretch cannot stall it.
        let x = if round % 3 == 2 || !(low..=high).contains(&false_position) {
            low + width / 2.0
        } else {
            false_position
        };
        let y = f(x);
        if y.abs() <= small || width.abs() < 1e-13 * (1.0 + x.abs()) {
            return x;
        }
        if y < 0.0 {
            (low, at_low) = (x, y);
            at_high = if kept < 0 { at_high / 2.0 } else { at_high };
            kept = -1;
        } else {
            (high, at_high) = (x, y);
            at_low = if kept > 0 { at_low / 2.0 } else { at_low };
            kept = 1;
        }
    }
    f64::midpoint(low, high)
}

/// The share of the standard normal distribution below `z`, accurate in both tails.
#[must_use]
pub fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// The next number of SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014): the same
/// on every machine. Secrecy is not its job: whoever has the seed has them all.
pub const fn split_mix(counter: &mut u64) -> u64 {
    *counter = counter.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *counter;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roots_are_found_where_the_function_is_steep_and_where_it_is_flat() {
        assert!((root(0.0, 9.0, |x| x.powi(3) - 8.0) - 2.0).abs() < 1e-10);
        assert!((root(-1.0, 50.0, |x| (x - 3.0).tanh()) - 3.0).abs() < 1e-10);
        // Below or above all along: the end that is nearer to nought.
        assert!((root(2.0, 9.0, |x| x) - 2.0).abs() < 1e-10);
        assert!((root(-9.0, -2.0, |x| x) + 2.0).abs() < 1e-10);
        assert!(root(0.0, 1.0, |_| f64::NAN).is_finite());
    }

    /// Abramowitz & Stegun 1964, table 26.1.
    #[test]
    fn the_normal_distribution_is_that_of_the_table() {
        assert!((normal_below(1.0) - 0.841_344_746_068_543).abs() < 1e-15);
        assert!((normal_below(-2.0) - 0.022_750_131_948_179).abs() < 1e-15);
    }
}

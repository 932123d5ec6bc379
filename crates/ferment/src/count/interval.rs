//! Intervals for counts and shares that hold at any number, however small.

/// Chance left outside on each side of a 95 % interval.
const TAIL: f64 = 0.025;
/// Normal deviate that leaves it.
pub(crate) const Z_95: f64 = 1.959_963_984_540_054;
/// Halvings that close an interval to the last bit.
const HALVINGS: usize = 100;

/// The 95 % interval of the mean behind a Poisson count: the mean at which so many
/// or more come one time in forty, and that at which so many or fewer do (Garwood
/// 1936, Biometrika 28, 437).
pub(crate) fn poisson(count: u32) -> (f64, f64) {
    let n = f64::from(count);
    let low = if count == 0 {
        0.0
    } else {
        root(0.0, n, |mean| so_many_or_more(n, mean) - TAIL)
    };
    let beyond = n + 10.0 * n.sqrt() + 10.0;
    let high = root(n, beyond, |mean| TAIL - so_many_or_fewer(n, mean));
    (low, high)
}

/// P(X ≥ n) of a Poisson mean below n, from its largest term on.
fn so_many_or_more(n: f64, mean: f64) -> f64 {
    let mut term = (n * mean.ln() - mean - libm::lgamma(n + 1.0)).exp();
    let (mut sum, mut k) = (0.0, n);
    while term > sum * f64::EPSILON {
        sum += term;
        k += 1.0;
        term *= mean / k;
    }
    sum
}

/// P(X ≤ n) of a Poisson mean above n, from its largest term down.
fn so_many_or_fewer(n: f64, mean: f64) -> f64 {
    let mut term = (n * mean.ln() - mean - libm::lgamma(n + 1.0)).exp();
    let (mut sum, mut k) = (0.0, n);
    while term > sum * f64::EPSILON {
        sum += term;
        term *= k / mean;
        k -= 1.0;
    }
    sum
}

/// The 95 % score interval of a share (Wilson 1927, J. Am. Stat. Assoc. 22, 209).
pub(crate) fn wilson(some: u32, of: u32) -> (f64, f64) {
    let (k, n) = (f64::from(some), f64::from(of));
    let (p, z2) = (k / n, Z_95 * Z_95);
    let middle = p + z2 / (2.0 * n);
    let half = Z_95 * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    let width = 1.0 + z2 / n;
    (
        ((middle - half) / width).max(0.0),
        ((middle + half) / width).min(1.0),
    )
}

/// The exact 95 % interval of a share, which covers at least as often as it says
/// (Clopper & Pearson 1934, Biometrika 26, 404).
pub(crate) fn clopper_pearson(some: u32, of: u32) -> (f64, f64) {
    let (k, n) = (f64::from(some), f64::from(of));
    let low = if some == 0 {
        0.0
    } else {
        root(0.0, k / n, |p| share_or_more(k, n, p) - TAIL)
    };
    let high = if some == of {
        1.0
    } else {
        // So few of one kind are so many of the other.
        1.0 - root(0.0, (n - k) / n, |q| share_or_more(n - k, n, q) - TAIL)
    };
    (low, high)
}

/// P(X ≥ k) of n draws at a share below k/n, from its largest term on.
fn share_or_more(k: f64, n: f64, p: f64) -> f64 {
    let ways = libm::lgamma(n + 1.0) - libm::lgamma(k + 1.0) - libm::lgamma(n - k + 1.0);
    let rest = if n > k { (n - k) * (-p).ln_1p() } else { 0.0 };
    let mut term = (ways + k * p.ln() + rest).exp();
    let (mut sum, mut i) = (0.0, k);
    while i <= n && term > sum * f64::EPSILON {
        sum += term;
        term *= (n - i) / (i + 1.0) * p / (1.0 - p);
        i += 1.0;
    }
    sum
}

/// Where a function that rises from below zero to above it crosses.
fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// χ² quantiles over two, SciPy 1.17.1 (`chi2.ppf`, tests/reference/pitch.py); the row of nought is −ln
    /// 0.025.
    #[test]
    fn poisson_follows_chi_squared() {
        for (count, low, high) in [
            (0, 0.0, 3.6889),
            (5, 1.6235, 11.6683),
            (50, 37.1110, 65.9188),
            (100, 81.3640, 121.6268),
            (200, 173.2409, 229.7220),
            (400, 361.7563, 441.1866),
        ] {
            let ours = poisson(count);
            assert!((ours.0 - low).abs() < 5.1e-5, "{count}: {ours:?}");
            assert!((ours.1 - high).abs() < 5.1e-5, "{count}: {ours:?}");
        }
    }

    /// SciPy 1.17.1 (`binomtest(...).proportion_ci`, exact and wilson).
    #[test]
    fn shares_follow_the_two_intervals() {
        for (some, of, exact, score) in [
            (180, 200, (0.84979, 0.93784), (0.85059, 0.93433)),
            (188, 200, (0.89754, 0.96862), (0.89807, 0.96535)),
            (95, 100, (0.88717, 0.98357), (0.88825, 0.97846)),
            (50, 50, (0.92888, 1.0), (0.92865, 1.0)),
        ] {
            let near = |ours: (f64, f64), theirs: (f64, f64)| {
                (ours.0 - theirs.0).abs() < 5.1e-6 && (ours.1 - theirs.1).abs() < 5.1e-6
            };
            assert!(near(clopper_pearson(some, of), exact), "{some}/{of}");
            assert!(near(wilson(some, of), score), "{some}/{of}");
        }
    }

    #[test]
    fn nothing_and_everything_have_their_closed_forms() {
        // (1 − p)ⁿ = 0.025 where none of n is seen.
        let high = 1.0 - f64::powf(TAIL, 1.0 / 40.0);
        let (low, ours) = clopper_pearson(0, 40);
        assert!(low.abs() < 1e-15 && (ours - high).abs() < 1e-12);
        assert!((poisson(0).1 + TAIL.ln()).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn intervals_hold_their_count_and_narrow_with_more(n in 1u32..20_000, k in 0.0..1.0f64) {
            let (low, high) = poisson(n);
            prop_assert!(low < f64::from(n) && f64::from(n) < high);
            let (low2, high2) = poisson(n * 2);
            prop_assert!((high2 - low2) / f64::from(2 * n) < (high - low) / f64::from(n));

            let some = (f64::from(n) * k) as u32;
            let p = f64::from(some) / f64::from(n);
            for (a, b) in [wilson(some, n), clopper_pearson(some, n)] {
                prop_assert!(0.0 <= a && a <= p + 1e-12 && p <= b + 1e-12 && b <= 1.0);
            }
            let (exact, other) = (clopper_pearson(some, n), clopper_pearson(n - some, n));
            prop_assert!((exact.0 + other.1 - 1.0).abs() < 1e-9);
        }
    }
}

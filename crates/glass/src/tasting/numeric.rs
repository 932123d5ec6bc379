//! Normal distribution, quadrature, roots and the incomplete beta function, as
//! far as the tests of this folder need them.

use std::f64::consts::PI;
use std::sync::OnceLock;

pub(super) use quantity::numeric::normal_below as normal;

/// Density of the standard normal distribution at `z` \[–\].
pub(super) fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// The `z` below which a share `p` of the standard normal distribution lies.
pub(super) fn normal_quantile(p: f64) -> f64 {
    if p > 0.5 {
        return -normal_quantile(1.0 - p);
    }
    root(-40.0, 0.0, |z| normal(z) - p)
}

/// Where an increasing function crosses zero between `low` and `high`; the
/// nearer end if it does not.
pub(super) fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if f(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Where the maximum of a function of one peak lies between `low` and `high`
/// (golden section).
pub(super) fn peak(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let mut left = high - golden * (high - low);
    let mut right = low + golden * (high - low);
    let (mut at_left, mut at_right) = (f(left), f(right));
    for _ in 0..60 {
        if at_left < at_right {
            (low, left, at_left) = (left, right, at_right);
            right = low + golden * (high - low);
            at_right = f(right);
        } else {
            (high, right, at_right) = (right, left, at_left);
            left = high - golden * (high - low);
            at_left = f(left);
        }
    }
    f64::midpoint(low, high)
}

/// Points of a Gauss-Legendre panel. A panel is at most one wide, and what is
/// integrated here is smooth on that scale, so the error is that of rounding.
const POINTS: usize = 20;

/// The integral of a smooth function from `low` to `high`.
pub(super) fn integral(low: f64, high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let panels = (high - low).ceil().max(1.0);
    let half = (high - low) / panels / 2.0;
    let mut sum = 0.0;
    let mut middle = low + half;
    while middle < high {
        for (node, weight) in legendre() {
            sum += weight * f(middle + half * node);
        }
        middle += 2.0 * half;
    }
    sum * half
}

/// Nodes and weights on -1 to 1: the roots of the Legendre polynomial, by Newton
/// from the estimate of Abramowitz & Stegun 22.16.6.
fn legendre() -> &'static [(f64, f64); POINTS] {
    static RULE: OnceLock<[(f64, f64); POINTS]> = OnceLock::new();
    RULE.get_or_init(|| {
        std::array::from_fn(|i| {
            let mut x = (PI * (i as f64 + 0.75) / (POINTS as f64 + 0.5)).cos();
            for _ in 0..20 {
                let (value, slope) = polynomial(x);
                x -= value / slope;
            }
            let (_, slope) = polynomial(x);
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
    })
}

/// The Legendre polynomial of degree [`POINTS`] and its slope.
fn polynomial(x: f64) -> (f64, f64) {
    let (mut before, mut now) = (1.0, x);
    for k in 2..=POINTS {
        let k = k as f64;
        (before, now) = (now, ((2.0 * k - 1.0) * x * now - (k - 1.0) * before) / k);
    }
    (now, POINTS as f64 * (x * now - before) / (x * x - 1.0))
}

/// ln B(a, b).
pub(super) fn ln_beta(a: f64, b: f64) -> f64 {
    libm::lgamma(a) + libm::lgamma(b) - libm::lgamma(a + b)
}

/// Regularised incomplete beta function I_x(a, b) by its continued fraction
/// (DLMF 8.17.22), evaluated with the modified method of Lentz.
pub(super) fn beta_share(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_share(b, a, 1.0 - x);
    }
    let front = (a * x.ln() + b * (-x).ln_1p() - ln_beta(a, b)).exp() / a;
    front / beta_fraction(a, b, x)
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let kept = |value: f64| if value.abs() < TINY { TINY } else { value };
    let (mut value, mut c, mut d) = (1.0, 1.0, 0.0);
    for step in 1..2000_u32 {
        let m = f64::from(step / 2);
        let numerator = if step % 2 == 0 {
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m))
        } else {
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))
        };
        d = 1.0 / kept(1.0 + numerator * d);
        c = kept(1.0 + numerator / c);
        let change = c * d;
        value *= change;
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
    }
    value
}

/// The share of Student's t distribution beyond ±|t|, both tails together.
pub(super) fn student_both_tails(t: f64, freedom: f64) -> f64 {
    beta_share(freedom / 2.0, 0.5, freedom / (freedom + t * t))
}

/// The |t| beyond which both tails of Student's distribution hold `share`.
pub(super) fn student_quantile(share: f64, freedom: f64) -> f64 {
    root(0.0, 1e9, |t| share - student_both_tails(t, freedom))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun 1964: table 26.1 (normal), table 26.10 (Student).
    #[test]
    fn tables_of_abramowitz_and_stegun() {
        assert!((normal(1.0) - 0.841_344_746_068_543).abs() < 1e-15);
        assert!((normal(-2.0) - 0.022_750_131_948_179).abs() < 1e-15);
        assert!((normal_quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-13);
        assert!((student_quantile(0.05, 10.0) - 2.228).abs() < 5e-4);
        assert!((student_quantile(0.01, 3.0) - 5.841).abs() < 5e-4);
    }

    #[test]
    fn an_integral_is_that_of_mathematics() {
        assert!((integral(-9.0, 9.0, density) - 1.0).abs() < 1e-14);
        assert!((integral(0.0, PI, f64::sin) - 2.0).abs() < 1e-14);
        assert!((integral(0.0, 0.3, |x| x) - 0.045).abs() < 1e-16);
    }

    /// I_x(1, b) = 1 - (1-x)^b and I_x(a, 1) = x^a.
    #[test]
    fn incomplete_beta_has_its_closed_forms() {
        for x in [0.001_f64, 0.2, 0.5, 0.9, 0.999] {
            for k in [0.5, 1.0, 3.0, 40.0] {
                assert!((beta_share(k, 1.0, x) - x.powf(k)).abs() < 1e-13);
                assert!((beta_share(1.0, k, x) - (1.0 - (1.0 - x).powf(k))).abs() < 1e-13);
            }
        }
    }

    #[test]
    fn a_peak_is_found() {
        assert!((peak(0.0, 3.0, |x| -(x - 1.25) * (x - 1.25)) - 1.25).abs() < 1e-7);
    }
}

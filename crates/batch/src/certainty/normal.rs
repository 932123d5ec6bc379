//! The quantile of the normal distribution.

use std::f64::consts::PI;

use quantity::numeric::normal_below;

/// The z below which a share `p` of the standard normal distribution lies.
///
/// Abramowitz & Stegun 1964, 26.2.23 (error below 4.5e-4), and two steps of Halley on the
/// complementary error function.
pub(super) fn quantile(p: f64) -> f64 {
    let tail = p.min(1.0 - p).max(f64::MIN_POSITIVE);
    let t = (-2.0 * tail.ln()).sqrt();
    let above = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let below = 1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308));
    let mut z = above / below - t;
    for _ in 0..2 {
        let density = (-0.5 * z * z).exp() / (2.0 * PI).sqrt();
        if density <= 0.0 {
            break;
        }
        let step = (normal_below(z) - tail) / density;
        z -= step / (1.0 + 0.5 * z * step);
    }
    if p > 0.5 { -z } else { z }
}

#[cfg(test)]
mod tests {
    use super::quantile;

    /// SciPy 1.17, `scipy.stats.norm.ppf`.
    #[test]
    fn quantiles_are_those_of_scipy() {
        for (p, z) in [
            (0.5, 0.0),
            (0.6, 0.253_347_103_135_799_8),
            (0.9, 1.281_551_565_544_600_4),
            (0.975, 1.959_963_984_540_054),
            (0.999, 3.090_232_306_167_813),
            (1e-9, -5.997_807_015_007_687),
        ] {
            assert!((quantile(p) - z).abs() < 1e-9, "{p}: {}", quantile(p));
            assert!((quantile(1.0 - p) + z).abs() < 1e-6, "{p}");
        }
    }
}

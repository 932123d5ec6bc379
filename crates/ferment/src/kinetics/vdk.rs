//! Diacetyl: how fast its precursor decays.

use quantity::ZERO_CELSIUS_K;

use super::class::Common;
use crate::solver::Real;
use crate::storage::GAS_CONSTANT;

/// pH at which the decay of acetolactate is given.
const REFERENCE_PH: f64 = 4.3;
/// Temperature at which it is given \[°C\].
const REFERENCE_C: f64 = 20.0;

/// Rate at which acetolactate becomes diacetyl at pH 4.3 \[1/h\].
///
/// Without yeast's help and the slowest step of the chain (Krogerus & Gibson
/// 2013, abstract read). k = 0.05/h at 20 °C with 80 kJ/mol: a working
/// assumption, as the measured tables could not be had; ln k is known to ±0.5.
pub(crate) fn acetolactate_decay_per_h<T: Real>(common: &Common, temp_c: T) -> T {
    let energy_k = common.acetolactate_energy_kj_per_mol / GAS_CONSTANT;
    let inverse = (temp_c + ZERO_CELSIUS_K).recip();
    let warmth = ((-inverse + 1.0 / (REFERENCE_C + ZERO_CELSIUS_K)) * energy_k).exp();
    warmth * common.acetolactate_decay_per_h
}

/// Slope of the logarithm of that rate by the pH.
pub(crate) fn slope_by_ph(common: &Common) -> f64 {
    common.acetolactate_ph_factor.ln() / 0.3
}

/// What a pH makes of that rate, by its [`slope_by_ph`].
pub(crate) fn acidity<T: Real>(slope: f64, ph: T) -> T {
    ((ph - REFERENCE_PH) * slope).exp()
}

#[cfg(test)]
mod tests {
    use super::super::class::common;
    use super::*;
    use crate::solver::{Over, System, Tolerances, solve};
    use crate::temperature::TemperatureCourse;
    use quantity::Temperature;

    /// Table computed from the working assumption (`tests/reference/figures.py`).
    #[test]
    fn decay_follows_the_table() {
        for (temp_c, printed) in [
            (2.0, 0.005_84),
            (8.0, 0.012_32),
            (12.0, 0.019_91),
            (16.0, 0.031_75),
            (18.0, 0.039_91),
            (20.0, 0.050_00),
            (22.0, 0.062_45),
            (60.0, 2.573),
            (65.0, 3.944),
        ] {
            let ours = acetolactate_decay_per_h(common(), temp_c);
            assert!(
                (ours / printed - 1.0).abs() < 1e-3,
                "{temp_c}: {ours} {printed}"
            );
        }
    }

    /// The forced test: 60 °C for 90 min leaves less than a tenth.
    #[test]
    fn the_forced_test_converts_nearly_all() {
        assert!((-1.5 * acetolactate_decay_per_h(common(), 60.0)).exp() < 0.1);
        let slope = slope_by_ph(common());
        assert!(0.05 * acidity(slope, 4.6) < 0.035 + 1e-9);
        assert!((acidity(slope, 4.3_f64) - 1.0).abs() < 1e-12);
    }

    struct Rest {
        ka: f64,
        kr: f64,
    }

    impl System<2> for Rest {
        type Warmth = ();
        fn warmth(&self, _: f64) {}
        fn rates<D: Over<f64>>(&self, _: f64, (): &(), x: &[D; 2]) -> [D; 2] {
            let [ala, da] = *x;
            [-ala * self.ka, ala * self.ka - da * self.kr]
        }
        fn tolerances(&self) -> Tolerances<2> {
            Tolerances {
                absolute: [1e-10; 2],
                relative: 1e-9,
            }
        }
    }

    /// Closed form of the chain after growth: values of
    /// `tests/reference/figures.py` for A₀ = 0.30, D₀ = 0.10 mg/L, 18 °C with 0.15/h, and
    /// 20 °C with 0.20/h.
    #[test]
    fn the_chain_follows_its_closed_form() {
        let course = TemperatureCourse::level(Temperature::from_c(18.0)).unwrap();
        let times = [12.0, 24.0, 48.0, 72.0];
        let cool = Rest {
            ka: acetolactate_decay_per_h(common(), 18.0),
            kr: 0.15,
        };
        let xs = solve(&cool, [0.30, 0.10], &course, &times).unwrap();
        let printed = [
            [0.185_84, 0.065_92],
            [0.115_12, 0.041_49],
            [0.044_18, 0.016_01],
            [0.016_95, 0.006_15],
        ];
        for (x, p) in xs.iter().zip(printed) {
            assert!(
                (x[0] - p[0]).abs() < 1.1e-5 && (x[1] - p[1]).abs() < 1.1e-5,
                "{x:?} {p:?}"
            );
        }
        let warm = Rest {
            ka: acetolactate_decay_per_h(common(), 20.0),
            kr: 0.20,
        };
        let xs = solve(&warm, [0.30, 0.10], &course, &times).unwrap();
        for (x, p) in xs.iter().zip([0.054_88, 0.030_12, 0.009_07, 0.002_73]) {
            assert!((x[1] - p).abs() < 1.1e-5, "{x:?} {p}");
        }
    }
}

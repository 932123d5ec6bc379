//! Industrial lager fermentation after de Andrés-Toro et al.

use quantity::{Duration, ZERO_CELSIUS_K};

use crate::error::{FermentError, within_numbers};
use crate::kinetics::{Real, System};
use crate::solver::solve;
use crate::temperature::TemperatureCourse;

const N: usize = 7;
/// Temperatures that the model may be used at \[°C\]: fitted from 8 to 16; at 18
/// its yeast dies within hours.
const RANGE_C: (f64, f64) = (0.0, 16.5);

/// The model of B. de Andrés-Toro, J.M. Girón-Sierra, J.A. López-Orozco et al.,
/// Math. Comput. Simul. 48 (1998) 65–74: lager, 8 to 16 °C, 110 to 150 g/L of
/// sugar.
///
/// Equations and constants as four public implementations carry them (read,
/// second hand), without the separate lag stage. Ethyl acetate forms with
/// growth, which keeps to the 1 to 2 mg/L of the published work; it and diacetyl
/// are relative scores. Ethanol in mid-course breaks the mass balance, so
/// gravity must come from sugar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AndresToro1998;

impl AndresToro1998 {
    /// The states in order: suspended yeast and dissolved matter \[g/L\], ethyl
    /// acetate and diacetyl \[mg/L\].
    pub const STATES: [&'static str; N] = [
        "latent yeast",
        "active yeast",
        "dead yeast",
        "sugar",
        "ethanol",
        "ethyl acetate",
        "diacetyl",
    ];

    /// The states at times in rising order.
    ///
    /// # Errors
    /// [`FermentError::OutsideModel`] above 16.5 °C or below freezing,
    /// [`FermentError::Impossible`] for a negative start or time,
    /// [`FermentError::Solver`] if the solver gives up.
    pub fn solve(
        &self,
        start: [f64; N],
        course: &TemperatureCourse,
        times: &[Duration],
    ) -> Result<Vec<[f64; N]>, FermentError> {
        let times_h = super::super::checked_times(times)?;
        for x in start {
            within_numbers("start of a state", x, 0.0, 1e3)?;
        }
        within_numbers("sugar at start", start[3], 1.0, 1e3)?;
        let until_h = times_h.last().copied().unwrap_or(0.0);
        let (low_c, high_c) = RANGE_C;
        let ends = [
            course.coldest_c(0.0, until_h),
            course.warmest_c(0.0, until_h),
        ];
        if let Some(given_c) = ends.into_iter().find(|c| !(low_c..=high_c).contains(c)) {
            return Err(FermentError::OutsideModel {
                model: "the model of de Andrés-Toro et al. 1998",
                given_c,
                low_c,
                high_c,
            });
        }
        solve(
            &Lager {
                sugar_at_start: start[3],
            },
            start,
            course,
            &times_h,
        )
    }
}

struct Lager {
    sugar_at_start: f64,
}

/// exp(a − b/T), T in kelvin.
fn arrhenius(a: f64, b_k: f64, temp_c: f64) -> f64 {
    (a - b_k / (temp_c + ZERO_CELSIUS_K)).exp()
}

impl System<N> for Lager {
    fn rates<D: Real>(&self, _t_h: f64, temp_c: f64, x: &[D; N]) -> [D; N] {
        let [latent, active, dead, sugar, ethanol, _, diacetyl] = *x;
        let at = |a, b| arrhenius(a, b, temp_c);
        let half = 0.5 * self.sugar_at_start;
        let k_s = at(-119.63, -34_203.95);
        let crowding = (ethanol + half).recip();
        let growth = sugar * crowding * at(108.31, 31_934.09);
        let settling = crowding * (half * at(33.82, 10_033.28));
        let saturation = sugar / (sugar + k_s);
        let activated = latent * at(30.72, 9_501.54);
        let dying = active * at(130.16, 38_313.0);
        let inhibition = -ethanol / half + 1.0;
        [
            -activated,
            growth * active - dying + activated,
            dying - settling * dead,
            -saturation * active * at(-41.92, -11_654.64),
            inhibition * saturation * active * at(3.27, 1_267.24),
            growth * active * at(89.92, 26_589.0),
            sugar * active * 1.276_72e-4 - diacetyl * ethanol * 1.138_64e-3,
        ]
    }

    fn tolerances(&self) -> [f64; N] {
        [1e-10; N]
    }

    fn relative_tolerance(&self) -> f64 {
        1e-9
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use quantity::Temperature;

    const START: [f64; N] = [1.92, 0.08, 2.0, 130.0, 0.0, 0.0, 0.0];

    fn level(temp_c: f64, start: [f64; N], hours: &[f64]) -> Vec<[f64; N]> {
        let times: Vec<Duration> = hours.iter().map(|h| Duration::from_h(*h)).collect();
        let course = TemperatureCourse::level(Temperature::from_c(temp_c)).unwrap();
        AndresToro1998.solve(start, &course, &times).unwrap()
    }

    /// Computed with NumPy from the published constants at 13 °C.
    #[test]
    fn right_hand_side_is_as_printed() {
        let x = [1.0, 3.0, 1.0, 100.0, 12.0, 0.1, 0.3];
        let ours = Lager {
            sugar_at_start: 130.0,
        }
        .rates(0.0, 13.0, &x);
        let printed: [f64; N] = [
            -0.083_346_159_1,
            0.156_734_026_2,
            -0.171_667_585_9,
            -0.903_678_946_5,
            0.761_023_553_4,
            0.007_234_119_77,
            0.034_202_496,
        ];
        for (o, p) in ours.iter().zip(printed) {
            assert!((o - p).abs() < 6e-11 + 6e-10 * p.abs(), "{o} {p}");
        }
    }

    /// Computed with SciPy 1.17 (LSODA, rtol 1e-10), isothermal 13 °C; printed to
    /// six digits.
    #[test]
    fn course_at_13_c_is_as_printed() {
        let rows: [(f64, [f64; N]); 7] = [
            (
                6.0,
                [
                    1.16445,
                    0.999_307,
                    0.403_946,
                    129.006,
                    1.01809,
                    0.012_082_1,
                    0.054_340_1,
                ],
            ),
            (
                12.0,
                [
                    0.706_220,
                    1.85931,
                    0.184_042,
                    126.415,
                    3.59932,
                    0.042_335_1,
                    0.192_396,
                ],
            ),
            (
                24.0,
                [
                    0.259_764, 3.54384, 0.288_973, 116.613, 12.4543, 0.142_751, 0.649_088,
                ],
            ),
            (
                36.0,
                [
                    0.095_547_0,
                    4.98982,
                    0.486_529,
                    101.048,
                    23.9676,
                    0.268_191,
                    1.13641,
                ],
            ),
            (
                48.0,
                [
                    0.035_144_4,
                    5.83950,
                    0.674_614,
                    81.2761,
                    35.0301,
                    0.385_887,
                    1.37744,
                ],
            ),
            (
                72.0,
                [
                    0.004_754_81,
                    5.44902,
                    0.812_340,
                    39.2732,
                    49.6243,
                    0.532_402,
                    0.989_990,
                ],
            ),
            (
                96.0,
                [
                    6.432_96e-4,
                    3.63092,
                    0.629_439,
                    7.41479,
                    55.7319,
                    0.572_654,
                    0.366_026,
                ],
            ),
        ];
        let hours: Vec<f64> = rows.iter().map(|(t, _)| *t).collect();
        for ((t, printed), ours) in rows.iter().zip(level(13.0, START, &hours)) {
            for (o, p) in ours.iter().zip(printed) {
                assert!((o - p).abs() < 6e-6 * p.abs(), "{t} h: {o} against {p}");
            }
        }
        let late = level(13.0, START, &[120.0, 168.0]);
        for (o, p) in late[0].iter().zip([
            8.703_38e-5,
            2.06442,
            0.378_924,
            4.857_56e-6,
            56.7620,
            0.574_379,
            0.081_783_2,
        ]) {
            assert!((o - p).abs() < 6e-6 * p.abs() + 1e-8, "{o} {p}");
        }
        assert!((late[1][6] - 0.003_675_77).abs() < 3e-8);
    }

    /// Computed with SciPy 1.17 (LSODA, rtol 1e-10), isothermal 10 and 15 °C.
    #[test]
    fn courses_at_10_and_15_c_are_as_printed() {
        for (temp_c, t, printed) in [
            (
                10.0,
                48.0,
                [2.82975, 91.1848, 20.6479, 0.026_793_3, 0.908_854],
            ),
            (
                10.0,
                96.0,
                [3.11144, 25.4977, 41.7730, 0.046_112_8, 0.555_262],
            ),
            (15.0, 24.0, [7.32454, 111.808, 21.2314, 0.978_868, 1.09684]),
            (15.0, 96.0, [1.23362, 10.9513, 60.1136, 2.94476, 0.194_804]),
        ] {
            let x = level(temp_c, START, &[t])[0];
            for (o, p) in [x[1], x[3], x[4], x[5], x[6]].into_iter().zip(printed) {
                assert!((o - p).abs() < 6e-6 * p, "{temp_c} °C, {t} h: {o} {p}");
            }
        }
    }

    /// Industrial profile: 11 to 14 °C in 24 h, hold to 120 h, 16 °C at 145 h,
    /// hold to 170 h, 0 °C at 200 h. Computed with SciPy 1.17.
    #[test]
    fn the_industrial_profile_is_as_printed() {
        let points = [
            (0.0, 11.0),
            (24.0, 14.0),
            (120.0, 14.0),
            (145.0, 16.0),
            (170.0, 16.0),
            (200.0, 0.0),
        ];
        let points = points.map(|(h, c)| crate::CoursePoint {
            at: Duration::from_h(h),
            temperature: Temperature::from_c(c),
        });
        let course = TemperatureCourse::new(&points).unwrap();
        let start = [2.0, 0.0, 2.0, 130.0, 0.0, 0.0, 0.0];
        let times = [24.0, 48.0, 96.0, 160.0, 200.0].map(Duration::from_h);
        let ours = AndresToro1998.solve(start, &course, &times).unwrap();
        for (x, printed) in ours.iter().zip([
            [3.23345, 119.026, 10.3752, 0.131_206, 0.543_507],
            [6.76922, 85.9417, 35.4739, 0.687_748, 1.47373],
            [3.25326, 15.4975, 57.0328, 1.15588, 0.425_670],
            [0.070_173_0, 9.95e-4, 59.0484, 1.17114, 0.007_615_14],
            [0.018_218_8, 6.35e-4, 59.0484, 1.17114, 5.17e-4],
        ]) {
            for (o, p) in [x[1], x[3], x[4], x[5], x[6]].into_iter().zip(printed) {
                let digits = if p < 1e-3 { 1e-3 } else { 6e-6 };
                assert!((o - p).abs() < digits * p, "{o} against {p}");
            }
        }
    }

    /// At constant temperature dE/dS integrates to
    /// E = ½S₀(1 − exp(−2r(1 − S/S₀))), r = μ_e0/μ_s0.
    #[test]
    fn ethanol_keeps_its_identity() {
        for (temp_c, printed) in [(10.0, 46.930_410), (12.0, 53.851_585), (14.0, 59.205_074)] {
            let x = level(temp_c, START, &[200.0])[0];
            let r = arrhenius(3.27, 1_267.24, temp_c) / arrhenius(-41.92, -11_654.64, temp_c);
            let by_identity = 65.0 * (1.0 - (-2.0 * r * (1.0 - x[3] / 130.0)).exp());
            assert!((x[4] - by_identity).abs() < 1e-5, "{} {by_identity}", x[4]);
            assert!((by_identity - printed).abs() < 5e-5);
        }
    }

    /// The peer is BDF of the library diffsol 0.18, to the same tolerances.
    #[test]
    fn two_solvers_agree_over_ramps_and_a_jump() {
        let points = [
            (0.0, 11.0),
            (24.0, 14.0),
            (60.0, 14.0),
            (60.0, 15.5),
            (120.0, 9.0),
        ];
        let points = points.map(|(h, c)| crate::CoursePoint {
            at: Duration::from_h(h),
            temperature: Temperature::from_c(c),
        });
        let course = TemperatureCourse::new(&points).unwrap();
        let times: Vec<f64> = (1..=80).map(|i| f64::from(i) * 1.9).collect();
        let system = Lager {
            sugar_at_start: 130.0,
        };
        let ours = solve(&system, START, &course, &times).unwrap();
        let peer = crate::kinetics::solve(&system, START, &course, &times).unwrap();
        assert_eq!(ours.len(), times.len());
        for ((t, x), y) in times.iter().zip(&ours).zip(&peer) {
            for (o, p) in x.iter().zip(y) {
                assert!(
                    (o - p).abs() < 1e-6 * p.abs() + 1e-8,
                    "{t} h: {o} against {p}"
                );
            }
        }
    }

    #[test]
    fn ale_temperatures_are_refused() {
        let course = TemperatureCourse::level(Temperature::from_c(20.0)).unwrap();
        let error = AndresToro1998
            .solve(START, &course, &[Duration::from_h(10.0)])
            .unwrap_err();
        assert!(
            matches!(error, FermentError::OutsideModel { .. }),
            "{error}"
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12))]
        #[test]
        fn latent_yeast_decays_and_diacetyl_stays_positive(temp_c in 8.0..16.0f64, t in 1.0..200.0f64) {
            let x = level(temp_c, START, &[t])[0];
            let decayed = 1.92 * (-arrhenius(30.72, 9_501.54, temp_c) * t).exp();
            prop_assert!((x[0] - decayed).abs() < 1e-6);
            prop_assert!(x[6] >= 0.0 && x[3] >= -1e-7);
        }
    }
}

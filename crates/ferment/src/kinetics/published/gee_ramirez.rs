//! Sugars, growth, amino acids and flavour after Gee and Ramirez.

use quantity::Duration;

use crate::error::FermentError;
use crate::kinetics::{Real, System};
use crate::solver::solve;
use crate::temperature::TemperatureCourse;

const N: usize = 17;

/// The flavour model of D.A. Gee and W.F. Ramirez, J. Inst. Brew. 100 (1994)
/// 321–329, on the growth part of Engasser et al. 1981, with the constants
/// fitted at 10.5 °C.
///
/// Equations and constants as public implementations carry them (read, second
/// hand). Time in hours, concentrations in mol/m³, yeast in mol/m³ of a
/// formula weight that was not printed, so that its start is a fitted number.
/// The constants hold at 10.5 °C only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct GeeRamirez1994;

impl GeeRamirez1994 {
    /// The states in order \[mol/m³\].
    pub const STATES: [&'static str; N] = [
        "glucose",
        "maltose",
        "maltotriose",
        "biomass",
        "ethanol",
        "leucine",
        "isoleucine",
        "valine",
        "isobutanol",
        "isoamyl alcohol",
        "2-methyl-1-butanol",
        "n-propanol",
        "ethyl acetate",
        "ethyl caproate",
        "isoamyl acetate",
        "vicinal diketones",
        "acetaldehyde",
    ];

    /// The states \[mol/m³\] at times in rising order.
    ///
    /// # Errors
    /// [`FermentError::Impossible`] for a negative start or time,
    /// [`FermentError::Solver`] if the solver gives up.
    pub fn solve(
        &self,
        start: [f64; N],
        times: &[Duration],
    ) -> Result<Vec<[f64; N]>, FermentError> {
        let times_h = super::super::checked_times(times)?;
        for x in start {
            crate::error::within_numbers("start of a state", x, 0.0, 1e5)?;
        }
        let system = Set94 {
            yeast_at_start: start[3],
        };
        solve(
            &system,
            start,
            &TemperatureCourse::level(FITTED_AT)?,
            &times_h,
        )
    }
}

const FITTED_AT: quantity::Temperature = quantity::Temperature::from_c(10.5);

struct Set94 {
    yeast_at_start: f64,
}

// Names as in the paper: V greatest uptake [1/h], K half-saturation, K' half
// repression [mol/m³], Y yields [mol/mol].
const V_G: f64 = 0.01348;
const V_M: f64 = 0.02581;
const V_N: f64 = 0.09881;
const K_G: f64 = 0.7464;
const K_M: f64 = 40.97;
const K_N: f64 = 250.0;
const K_G_REPRESS: f64 = 5.356;
const K_M_REPRESS: f64 = 13.17;
const K_X: f64 = 3.65e5;
const Y_X: [f64; 3] = [0.134, 0.268, 0.402];
const Y_E: [f64; 3] = [1.92, 3.84, 5.76];
const Y_LEUCINE: f64 = 0.07734;
const Y_ISOLEUCINE: f64 = 0.02172;
const Y_VALINE: f64 = 0.02045;
const K_LEUCINE: f64 = 0.5905;
const K_ISOLEUCINE: f64 = 0.07191;
const K_VALINE: f64 = 0.02769;
/// Delay of amino acid uptake \[h\].
const DELAY_H: f64 = 23.54;
const Y_ISOBUTANOL: f64 = 0.1607;
const Y_ISOAMYL: f64 = 0.5128;
const Y_METHYLBUTANOL: f64 = 0.3840;
const Y_PROPANOL: f64 = 0.2216;
const Y_ETHYL_ACETATE: f64 = 7.520e-4;
const Y_ETHYL_CAPROATE: f64 = 1.260e-4;
const Y_ISOAMYL_ACETATE: f64 = 2.918e-2;
const Y_VDK: f64 = 6.730e-5;
const K_VDK: f64 = 1.818e-5;
const Y_ACETALDEHYDE: f64 = 3.889e-3;
const K_ACETALDEHYDE: f64 = 3.914e-5;

impl System<N> for Set94 {
    fn rates<D: Real>(&self, t_h: f64, _temp_c: f64, x: &[D; N]) -> [D; N] {
        let [
            g,
            m,
            n,
            yeast,
            _,
            leu,
            ile,
            val,
            _,
            _,
            _,
            _,
            _,
            _,
            _,
            vdk,
            aldehyde,
        ] = *x;
        let free_of = |sugar: D, k: f64| (sugar + k).recip() * k;
        let mu_g = monod(g, K_G) * V_G;
        let mu_m = monod(m, K_M) * V_M * free_of(g, K_G_REPRESS);
        let mu_n = monod(n, K_N) * V_N * free_of(g, K_G_REPRESS) * free_of(m, K_M_REPRESS);
        let weighted = |y: [f64; 3]| mu_g * y[0] + mu_m * y[1] + mu_n * y[2];
        let gained = yeast - self.yeast_at_start;
        let growth = weighted(Y_X) * (gained * gained + K_X).recip() * K_X * yeast;
        let uptake = (mu_g + mu_m + mu_n) * yeast;
        let amino = growth * (1.0 - (-t_h / DELAY_H).exp());
        let r_leu = amino * monod(leu, K_LEUCINE) * Y_LEUCINE;
        let r_ile = amino * monod(ile, K_ISOLEUCINE) * Y_ISOLEUCINE;
        let r_val = amino * monod(val, K_VALINE) * Y_VALINE;
        [
            -mu_g * yeast,
            -mu_m * yeast,
            -mu_n * yeast,
            growth,
            weighted(Y_E) * yeast,
            -r_leu,
            -r_ile,
            -r_val,
            r_val * Y_ISOBUTANOL,
            r_leu * Y_ISOAMYL,
            r_ile * Y_METHYLBUTANOL,
            (r_val + r_ile) * Y_PROPANOL,
            uptake * Y_ETHYL_ACETATE,
            growth * Y_ETHYL_CAPROATE,
            r_leu * (Y_ISOAMYL * Y_ISOAMYL_ACETATE),
            growth * Y_VDK - vdk * yeast * K_VDK,
            uptake * Y_ACETALDEHYDE - aldehyde * yeast * K_ACETALDEHYDE,
        ]
    }

    fn tolerances(&self) -> [f64; N] {
        let mut atol = [1e-9; N];
        // The sugars run out and end far below what matters.
        atol[0] = 1e-8;
        atol
    }

    fn relative_tolerance(&self) -> f64 {
        1e-9
    }
}

fn monod<D: Real>(x: D, half: f64) -> D {
    x / (x + half)
}

#[cfg(test)]
mod tests {
    use super::*;

    const START: [f64; N] = [
        70.0, 220.0, 40.0, 125.0, 0.0, 1.25, 0.6, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
    ];

    fn hours(list: &[f64]) -> Vec<Duration> {
        list.iter().map(|h| Duration::from_h(*h)).collect()
    }

    /// Computed with SciPy 1.17 (LSODA, rtol 1e-10) from the same equations: five
    /// digits printed. The rows where sugar has run out are bounds.
    #[test]
    fn set_94_follows_the_printed_course() {
        let rows: [(f64, [f64; N]); 4] = [
            (
                12.0,
                [
                    49.757,
                    217.26,
                    39.903,
                    128.48,
                    49.934,
                    1.2100,
                    0.58517,
                    0.98477,
                    0.002_447_2,
                    0.020_510,
                    0.005_693_3,
                    0.006_660_1,
                    0.017_353,
                    4.391e-4,
                    5.9849e-4,
                    2.3136e-4,
                    0.087_140,
                ],
            ),
            (
                24.0,
                [
                    29.065,
                    213.13,
                    39.753,
                    132.43,
                    106.40,
                    1.1026,
                    0.54473,
                    0.94304,
                    0.009_152_7,
                    0.075_603,
                    0.021_223,
                    0.024_869,
                    0.036_136,
                    9.3565e-4,
                    0.002_206_1,
                    4.8643e-4,
                    0.17622,
                ],
            ),
            (
                48.0,
                [
                    2e-8,
                    174.73,
                    38.220,
                    147.22,
                    318.50,
                    0.57654,
                    0.32633,
                    0.71056,
                    0.046_513,
                    0.34535,
                    0.10509,
                    0.12479,
                    0.088_024,
                    0.002_799_6,
                    0.010_077,
                    0.001_428_8,
                    0.40735,
                ],
            ),
            (
                96.0,
                [
                    0.0,
                    33.379,
                    25.757,
                    189.87,
                    933.06,
                    0.007_744_2,
                    1.59e-4,
                    0.008_796_3,
                    0.15929,
                    0.63703,
                    0.23034,
                    0.35258,
                    0.20369,
                    0.008_173_7,
                    0.018_588,
                    0.003_890_9,
                    0.80394,
                ],
            ),
        ];
        let times: Vec<f64> = rows.iter().map(|(t, _)| *t).collect();
        let course = GeeRamirez1994.solve(START, &hours(&times)).unwrap();
        for ((t, printed), ours) in rows.iter().zip(&course) {
            for ((name, p), x) in GeeRamirez1994::STATES.iter().zip(printed).zip(ours) {
                let digits = if *p < 5e-4 && *p > 1e-6 { 4e-3 } else { 6e-5 };
                assert!(
                    (x - p).abs() <= digits * p + 1e-7,
                    "{name} at {t} h: {x} against {p}"
                );
            }
        }
    }

    /// As above, 144 and 240 h; and all sugar gone gives 1.92 G + 3.84 M + 5.76 N
    /// of ethanol.
    #[test]
    fn set_94_ends_as_printed() {
        let course = GeeRamirez1994
            .solve(START, &hours(&[144.0, 240.0]))
            .unwrap();
        let printed = [
            [
                0.1661,
                1.7330,
                208.15,
                1199.0,
                0.24673,
                0.018_693,
                0.004_353_7,
                0.72124,
            ],
            [
                5.5e-7,
                6.4e-4,
                208.88,
                1209.6,
                0.24816,
                0.018_694,
                0.003_059_7,
                0.33286,
            ],
        ];
        for (x, p) in course.iter().zip(printed) {
            let ours = [x[1], x[2], x[3], x[4], x[12], x[14], x[15], x[16]];
            for (o, p) in ours.iter().zip(p) {
                let digits = if p < 1e-3 { 0.02 } else { 4e-4 };
                assert!((o - p).abs() <= digits * p + 2e-8, "{o} against {p}");
            }
        }
        let all = 1.92 * 70.0 + 3.84 * 220.0 + 5.76 * 40.0;
        assert!((course[1][4] - all).abs() < 0.01);
    }
}

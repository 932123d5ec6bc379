//! The Rosenbrock method RODAS of order 4(3), stiffly accurate, with its dense
//! output of order 3: E. Hairer, G. Wanner, Solving Ordinary Differential
//! Equations II, 2nd ed. 1996, section IV.7 and VI.4.
//!
//! The coefficients were entered from memory; `tests` hold the method to its
//! order, on a system that depends on time, and to BDF on the published models.

use num_dual::Dual64;

use super::linear::{Matrix, Triangles};
use crate::kinetics::System;
use crate::temperature::Stretch;

const GAMMA: f64 = 0.25;
/// Times of the stages, in steps.
const ALPHA: [f64; 6] = [0.0, 0.386, 0.21, 0.63, 1.0, 1.0];
/// Weights of the derivative by time.
const D: [f64; 4] = [0.25, -0.1043, 0.1035, -0.036_2];
/// Weights of earlier stages in the state of a stage, in transformed variables.
const A: [&[f64]; 6] = [
    &[],
    &[1.544],
    &[0.946_678_528_081_582_6, 0.255_701_169_898_328_4],
    &[
        3.314_825_187_068_521,
        2.896_124_015_972_201,
        0.998_641_913_997_781_7,
    ],
    &[
        1.221_224_509_226_641,
        6.019_134_481_288_629,
        12.537_083_329_320_87,
        -0.687_886_036_105_895,
    ],
    &[
        1.221_224_509_226_641,
        6.019_134_481_288_629,
        12.537_083_329_320_87,
        -0.687_886_036_105_895,
        1.0,
    ],
];
/// Weights of earlier stages on the right-hand side of a stage.
const C: [&[f64]; 6] = [
    &[],
    &[-5.668_8],
    &[-2.430_093_356_833_875, -0.206_359_915_709_191_5],
    &[
        -0.107_352_905_815_137_5,
        -9.594_562_251_023_355,
        -20.470_286_148_096_16,
    ],
    &[
        7.496_443_313_967_647,
        -10.246_804_314_643_52,
        -33.999_903_528_199_05,
        11.708_908_932_061_6,
    ],
    &[
        8.083_246_795_921_522,
        -7.981_132_988_064_893,
        -31.521_594_328_743_71,
        16.319_305_431_231_36,
        -6.058_818_238_834_054,
    ],
];
/// Weights of the stages in the dense output.
const BEND: [[f64; 5]; 2] = [
    [
        10.126_235_083_445_86,
        -7.487_995_877_610_167,
        -34.800_918_615_557_47,
        -7.992_771_707_568_823,
        1.025_137_723_295_662,
    ],
    [
        -0.676_280_339_280_125_3,
        6.087_714_651_680_015,
        16.430_843_208_924_78,
        24.767_225_114_183_86,
        -6.594_389_125_716_872,
    ],
];

/// A step taken, with the curve along it.
pub(super) struct Step<const N: usize> {
    pub(super) from_h: f64,
    pub(super) to_h: f64,
    from: [f64; N],
    to: [f64; N],
    bend: [[f64; N]; 2],
}

impl<const N: usize> Step<N> {
    /// The state at a time within the step.
    pub(super) fn at(&self, t_h: f64) -> [f64; N] {
        let s = ((t_h - self.from_h) / (self.to_h - self.from_h)).clamp(0.0, 1.0);
        let r = 1.0 - s;
        std::array::from_fn(|i| {
            self.from[i] * r + s * (self.to[i] + r * (self.bend[0][i] + s * self.bend[1][i]))
        })
    }
}

/// Carries the state over a stretch, showing each step; else the time \[h\] it
/// came to, and why no further.
pub(super) fn integrate<const N: usize, S: System<N>>(
    system: &S,
    start: [f64; N],
    stretch: Stretch,
    steps_left: &mut usize,
    mut on_step: impl FnMut(&Step<N>),
) -> Result<[f64; N], (f64, &'static str)> {
    let (mut t_h, mut x) = (stretch.from_h, start);
    let mut slopes = Slopes::at(system, stretch, t_h, &x);
    let mut step_h = first_step_h(system, &slopes.rates, &x).min(stretch.to_h - t_h);
    while t_h < stretch.to_h {
        *steps_left = steps_left.checked_sub(1).ok_or((t_h, "too many steps"))?;
        // A last step that would leave a crumb is stretched to the end.
        if t_h + 1.01 * step_h >= stretch.to_h {
            step_h = stretch.to_h - t_h;
        }
        let tried = attempt(system, stretch, t_h, &x, step_h, &slopes);
        let error = tried.as_ref().map_or(f64::INFINITY, |(_, error)| *error);
        match tried {
            Some((mut step, error)) if error <= 1.0 => {
                if t_h + step_h >= stretch.to_h {
                    step.to_h = stretch.to_h;
                }
                on_step(&step);
                (t_h, x) = (step.to_h, step.to);
                slopes = Slopes::at(system, stretch, t_h, &x);
            }
            _ if step_h < 1e-12 * t_h.max(1e-3) => {
                return Err((t_h, "the error could not be held at any step"));
            }
            _ => {}
        }
        step_h *= (0.9 * error.powf(-0.25)).clamp(0.2, 5.0);
    }
    Ok(x)
}

/// Rates and their derivatives at the start of a step.
struct Slopes<const N: usize> {
    rates: [f64; N],
    by_state: Matrix<N>,
    by_time: [f64; N],
}

impl<const N: usize> Slopes<N> {
    fn at<S: System<N>>(system: &S, stretch: Stretch, t_h: f64, x: &[f64; N]) -> Self {
        let temp_c = stretch.temp_c(t_h);
        let mut by_state = [[0.0; N]; N];
        for j in 0..N {
            let dual = std::array::from_fn(|i| Dual64::new(x[i], f64::from(u8::from(i == j))));
            let column = system.rates(t_h, temp_c, &dual);
            for (row, d) in by_state.iter_mut().zip(column) {
                row[j] = d.eps;
            }
        }
        // Systems take time and temperature as plain numbers. The difference
        // follows the line of the stretch, so it may reach past its ends.
        let apart_h = 1e-4_f64;
        let slope_c = (stretch.to_c - stretch.from_c) / (stretch.to_h - stretch.from_h);
        let near = |d_h: f64| system.rates(t_h + d_h, temp_c + slope_c * d_h, x);
        let (before, after) = (near(-apart_h), near(apart_h));
        Self {
            rates: system.rates(t_h, temp_c, x),
            by_state,
            by_time: std::array::from_fn(|i| (after[i] - before[i]) / (2.0 * apart_h)),
        }
    }
}

/// One step and its error in units of the tolerance; nothing if it left the
/// finite numbers.
fn attempt<const N: usize, S: System<N>>(
    system: &S,
    stretch: Stretch,
    t_h: f64,
    x: &[f64; N],
    step_h: f64,
    slopes: &Slopes<N>,
) -> Option<(Step<N>, f64)> {
    let mut matrix = slopes.by_state.map(|row| row.map(|d| -d));
    for (i, row) in matrix.iter_mut().enumerate() {
        row[i] += 1.0 / (GAMMA * step_h);
    }
    let triangles = Triangles::of(matrix)?;
    let mut stages = [[0.0; N]; 6];
    let mut state = *x;
    for s in 0..6 {
        state = weighted(x, A[s], &stages);
        let at_h = t_h + ALPHA[s] * step_h;
        let rates = match s {
            0 => slopes.rates,
            _ => system.rates(at_h, stretch.temp_c(at_h), &state),
        };
        let mut right = weighted(&rates, &[], &stages);
        for (weight, stage) in C[s].iter().zip(&stages) {
            for (r, u) in right.iter_mut().zip(stage) {
                *r += weight / step_h * u;
            }
        }
        if let Some(d) = D.get(s) {
            for (r, by_time) in right.iter_mut().zip(slopes.by_time) {
                *r += step_h * d * by_time;
            }
        }
        stages[s] = triangles.solve(&right);
    }
    let to: [f64; N] = std::array::from_fn(|i| state[i] + stages[5][i]);
    if !to.iter().all(|v| v.is_finite()) {
        return None;
    }
    let error = in_tolerances(system, x, &to, &stages[5]);
    let step = Step {
        from_h: t_h,
        to_h: t_h + step_h,
        from: *x,
        to,
        bend: BEND.map(|weights| weighted(&[0.0; N], &weights, &stages)),
    };
    error.is_finite().then_some((step, error))
}

/// base + Σ weight · stage.
fn weighted<const N: usize>(base: &[f64; N], weights: &[f64], stages: &[[f64; N]; 6]) -> [f64; N] {
    let mut sum = *base;
    for (weight, stage) in weights.iter().zip(stages) {
        for (s, u) in sum.iter_mut().zip(stage) {
            *s += weight * u;
        }
    }
    sum
}

/// The root mean square of a difference, each state in its tolerance.
fn in_tolerances<const N: usize, S: System<N>>(
    system: &S,
    before: &[f64; N],
    after: &[f64; N],
    difference: &[f64; N],
) -> f64 {
    let absolute = system.tolerances();
    let relative = system.relative_tolerance();
    let squares = (0..N).map(|i| {
        let scale = absolute[i] + relative * before[i].abs().max(after[i].abs());
        (difference[i] / scale).powi(2)
    });
    (squares.sum::<f64>() / N as f64).sqrt()
}

/// A careful first step \[h\]: it moves the state by a hundredth of its size.
fn first_step_h<const N: usize, S: System<N>>(system: &S, rates: &[f64; N], x: &[f64; N]) -> f64 {
    let (size, speed) = (
        in_tolerances(system, x, x, x),
        in_tolerances(system, x, x, rates),
    );
    let step_h = 0.01 * size / speed;
    if step_h.is_finite() {
        step_h.clamp(1e-6, 1.0)
    } else {
        1e-6
    }
}

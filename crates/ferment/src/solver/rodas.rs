//! The Rosenbrock method RODAS of order 4(3), stiffly accurate, with its dense
//! output of order 3: E. Hairer, G. Wanner, Solving Ordinary Differential
//! Equations II, 2nd ed. 1996, section IV.7 and VI.4.
//!
//! The coefficients were entered from memory. `order` holds them to the algebraic
//! conditions of order 4 and measures the order on a stiff and a mild problem.

use super::dual::Dual;
use super::linear::{Matrix, Triangles};
use super::real::{Over, Real};
use super::step::Step;
use super::{Segment, System};

pub(super) const GAMMA: f64 = 0.25;
/// Times of the stages, in steps.
pub(super) const ALPHA: [f64; 6] = [0.0, 0.386, 0.21, 0.63, 1.0, 1.0];
/// Weights of the derivative by time.
pub(super) const D: [f64; 4] = [0.25, -0.1043, 0.1035, -0.036_2];
/// Weights of earlier stages in the state of a stage, in transformed variables.
pub(super) const A: [&[f64]; 6] = [
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
pub(super) const C: [&[f64]; 6] = [
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

/// Rates and their derivatives at the start of a step.
pub(super) struct Slopes<T, const N: usize> {
    pub(super) rates: [T; N],
    by_state: Matrix<T, N>,
    by_time: [T; N],
}

impl<T, const N: usize> Slopes<T, N>
where
    T: Over<T>,
    Dual<T, N>: Over<T>,
{
    pub(super) fn at<S: System<N, T>>(
        system: &S,
        segment: &Segment<T>,
        warmth: &S::Warmth,
        t_h: f64,
        x: &[T; N],
    ) -> Self {
        let dual: [Dual<T, N>; N] = std::array::from_fn(|i| Dual::variable(x[i], i));
        let rates = system.rates(t_h, warmth, &dual);
        Self {
            rates: rates.map(|r| r.value),
            by_state: rates.map(|r| r.slopes),
            by_time: by_time(system, segment, warmth, t_h, x),
        }
    }

    pub(super) fn are_finite(&self) -> bool {
        let all = |row: &[T; N]| row.iter().all(|v| v.is_finite());
        all(&self.rates) && self.by_state.iter().all(all) && all(&self.by_time)
    }
}

/// Systems take time as a plain number, so this is a difference. It follows the
/// line of the segment and may reach past its ends.
fn by_time<T: Over<T>, S: System<N, T>, const N: usize>(
    system: &S,
    segment: &Segment<T>,
    warmth: &S::Warmth,
    t_h: f64,
    x: &[T; N],
) -> [T; N] {
    const APART_H: f64 = 1e-4;
    if segment.is_level() && !S::TIMED {
        return [T::of(0.0); N];
    }
    let near = |at_h: f64| match segment.is_level() {
        true => system.rates(at_h, warmth, x),
        false => system.rates(at_h, &system.warmth(segment.temp_c(at_h)), x),
    };
    let (before, after) = (near(t_h - APART_H), near(t_h + APART_H));
    std::array::from_fn(|i| (after[i] - before[i]) / (2.0 * APART_H))
}

/// One step and its error as the difference to the method of order 3; nothing if
/// it left the finite numbers.
pub(super) fn attempt<T, S: System<N, T>, const N: usize>(
    system: &S,
    segment: &Segment<T>,
    held: &S::Warmth,
    (t_h, x): (f64, &[T; N]),
    step_h: f64,
    slopes: &Slopes<T, N>,
) -> Option<(Step<T, N>, [T; N])>
where
    T: Over<T>,
{
    let mut matrix = slopes.by_state.map(|row| row.map(|d| -d));
    for (i, row) in matrix.iter_mut().enumerate() {
        row[i] = row[i] + 1.0 / (GAMMA * step_h);
    }
    let triangles = Triangles::of(matrix)?;
    let rates_at = |at_h: f64, state: &[T; N]| match segment.is_level() {
        true => system.rates(at_h, held, state),
        false => system.rates(at_h, &system.warmth(segment.temp_c(at_h)), state),
    };
    let mut stages = [[T::of(0.0); N]; 6];
    let mut state = *x;
    for s in 0..6 {
        let mut right = slopes.rates;
        if s > 0 {
            state = weighted(*x, A[s], 1.0, &stages);
            right = rates_at(t_h + ALPHA[s] * step_h, &state);
        }
        right = weighted(right, C[s], 1.0 / step_h, &stages);
        if let Some(d) = D.get(s) {
            for (r, by_time) in right.iter_mut().zip(slopes.by_time) {
                *r = *r + by_time * (step_h * d);
            }
        }
        stages[s] = triangles.solve(&right);
    }
    let to: [T; N] = std::array::from_fn(|i| state[i] + stages[5][i]);
    if !to.iter().all(|v| v.is_finite()) {
        return None;
    }
    let nothing = [T::of(0.0); N];
    let bend = |weights: &[f64; 5]| weighted(nothing, weights, 1.0, &stages);
    let step = Step {
        from_h: t_h,
        to_h: t_h + step_h,
        from: *x,
        to,
        bend: [bend(&BEND[0]), bend(&BEND[1]), nothing],
    };
    Some((step, stages[5]))
}

/// base + factor Σ weight · stage.
fn weighted<T: Real, const N: usize>(
    base: [T; N],
    weights: &[f64],
    factor: f64,
    stages: &[[T; N]; 6],
) -> [T; N] {
    let mut sum = base;
    for (weight, stage) in weights.iter().zip(stages) {
        let weight = weight * factor;
        for (s, u) in sum.iter_mut().zip(stage) {
            *s = *s + *u * weight;
        }
    }
    sum
}

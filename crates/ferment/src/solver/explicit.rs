//! The explicit Runge–Kutta method of order 5(4) of J. R. Dormand, P. J. Prince,
//! J. Comput. Appl. Math. 6 (1980) 19–26, with its dense output of order 4 and its sign
//! of stiffness: E. Hairer, S. P. Nørsett, G. Wanner, Solving Ordinary Differential
//! Equations I, 2nd ed. 1993, sections II.4 to II.6, and II, 2nd ed. 1996, section IV.2.
//!
//! The coefficients were entered from memory. `order` holds them to the algebraic
//! conditions of orders 5 and 4 and measures the order.

use super::real::{Over, Real};
use super::step::Step;
use super::{Segment, System};

/// Times of the stages, in steps.
pub(super) const C: [f64; 7] = [0.0, 0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0];
/// Weights of earlier stages in the state of a stage. The state of the last is the end of
/// the step, and its rates are the first of the next step.
pub(super) const A: [&[f64]; 7] = [
    &[],
    &[0.2],
    &[3.0 / 40.0, 9.0 / 40.0],
    &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
    &[
        19_372.0 / 6561.0,
        -25_360.0 / 2187.0,
        64_448.0 / 6561.0,
        -212.0 / 729.0,
    ],
    &[
        9017.0 / 3168.0,
        -355.0 / 33.0,
        46_732.0 / 5247.0,
        49.0 / 176.0,
        -5103.0 / 18_656.0,
    ],
    &[
        35.0 / 384.0,
        0.0,
        500.0 / 1113.0,
        125.0 / 192.0,
        -2187.0 / 6784.0,
        11.0 / 84.0,
    ],
];
/// Weights of the stages in the difference to the method of order 4.
pub(super) const OFF: [f64; 7] = [
    71.0 / 57_600.0,
    0.0,
    -71.0 / 16_695.0,
    71.0 / 1920.0,
    -17_253.0 / 339_200.0,
    22.0 / 525.0,
    -1.0 / 40.0,
];
/// Weights of the stages in the dense output.
const BEND: [f64; 7] = [
    -12_715_105_075.0 / 11_282_082_432.0,
    0.0,
    87_487_479_700.0 / 32_700_410_799.0,
    -10_690_763_975.0 / 1_880_347_072.0,
    701_980_252_875.0 / 199_316_789_632.0,
    -1_453_857_185.0 / 822_651_844.0,
    69_997_945.0 / 29_380_423.0,
];

/// A step with what it tells beside the state.
pub(super) struct Tried<T, const N: usize> {
    pub(super) step: Step<T, N>,
    /// The difference to the method of order 4.
    pub(super) error: [T; N],
    /// The rates at its end.
    pub(super) rates: [T; N],
    /// Two states near the end of the step: how far they are apart, and what the system
    /// makes of it in a step. Where that is more, the system answers faster than the step.
    pub(super) apart: [T; N],
    pub(super) answer: [T; N],
}

/// One step from a state and its rates; nothing if it left the finite numbers.
pub(super) fn attempt<T: Over<T>, S: System<N, T>, const N: usize>(
    system: &S,
    segment: &Segment<T>,
    held: &S::Warmth,
    (t_h, x): (f64, &[T; N]),
    step_h: f64,
    rates: &[T; N],
) -> Option<Tried<T, N>> {
    let mut k = [*rates; 7];
    let mut stage = |s: usize, warmth: &Option<S::Warmth>| {
        let state = weighted(x, A[s], step_h, &k);
        let warmth = warmth.as_ref().unwrap_or(held);
        k[s] = system.rates(t_h + C[s] * step_h, warmth, &state);
        state
    };
    let warmth = |c: f64| {
        let now_c = || segment.temp_c(t_h + c * step_h);
        (!segment.is_level()).then(|| system.warmth(now_c()))
    };
    stage(1, &warmth(C[1]));
    stage(2, &warmth(C[2]));
    stage(3, &warmth(C[3]));
    stage(4, &warmth(C[4]));
    let at_end = warmth(1.0);
    let near = stage(5, &at_end);
    let to = stage(6, &at_end);
    if !to.iter().all(|v| v.is_finite()) {
        return None;
    }
    let nothing = [T::of(0.0); N];
    let moved: [T; N] = std::array::from_fn(|i| to[i] - x[i]);
    let b0: [T; N] = std::array::from_fn(|i| k[0][i] * step_h - moved[i]);
    let b1 = std::array::from_fn(|i| moved[i] - k[6][i] * step_h - b0[i]);
    let step = Step {
        from_h: t_h,
        to_h: t_h + step_h,
        from: *x,
        to,
        bend: [b0, b1, weighted(&nothing, &BEND, step_h, &k)],
    };
    Some(Tried {
        step,
        error: weighted(&nothing, &OFF, step_h, &k),
        rates: k[6],
        apart: std::array::from_fn(|i| to[i] - near[i]),
        answer: std::array::from_fn(|i| (k[6][i] - k[5][i]) * step_h),
    })
}

/// base + step Σ weight · stage.
#[inline(always)]
fn weighted<T: Real, const N: usize>(
    base: &[T; N],
    weights: &[f64],
    step_h: f64,
    stages: &[[T; N]; 7],
) -> [T; N] {
    let mut sum = *base;
    for (weight, stage) in weights.iter().zip(stages) {
        let weight = weight * step_h;
        for (s, k) in sum.iter_mut().zip(stage) {
            *s = *s + *k * weight;
        }
    }
    sum
}

//! From the rate equations to values at wanted times.

use diffsol::{NalgebraLU, NalgebraMat, OdeBuilder, OdeSolverMethod, Vector};
use num_dual::Dual64;
use quantity::Duration;

use super::ChloramineError;
use super::model::{Model, STATES};

/// Relative tolerance: two digits beyond the four of the published vectors.
const RELATIVE: f64 = 1e-7;
/// Absolute tolerance \[mol/L\]: far below what any test of water can show.
const ABSOLUTE: f64 = 1e-15;
/// A course takes some hundreds of steps; more than this is no answer.
const STEPS_AT_MOST: usize = 20_000;

/// The states \[mol/L\] at rising times \[s\].
///
/// BDF of variable order, as the rates span nine powers of ten; the Jacobian
/// comes from dual numbers.
pub(super) fn solve(
    model: &Model,
    start: [f64; STATES],
    times_s: &[f64],
) -> Result<Vec<[f64; STATES]>, ChloramineError> {
    let mut out = Vec::with_capacity(times_s.len());
    out.extend(times_s.iter().take_while(|t| **t <= 0.0).map(|_| start));
    let Some(end_s) = times_s
        .last()
        .copied()
        .filter(|_| out.len() < times_s.len())
    else {
        return Ok(out);
    };
    let mut reached_s = 0.0;
    let failed = |t: f64, reason: String| ChloramineError::Solver {
        after: Duration::from_h(t / 3600.0),
        reason,
    };
    let value = |x: &[f64], _: &[f64], _: f64, y: &mut [f64]| {
        if let Some(x) = x.first_chunk::<STATES>() {
            y.copy_from_slice(&model.rates(x));
        }
    };
    let product = |x: &[f64], _: &[f64], _: f64, v: &[f64], y: &mut [f64]| {
        if let (Some(x), Some(v)) = (x.first_chunk::<STATES>(), v.first_chunk::<STATES>()) {
            let dual: [Dual64; STATES] = std::array::from_fn(|i| Dual64::new(x[i], v[i]));
            y.copy_from_slice(&model.rates(&dual).map(|r| r.eps));
        }
    };
    let problem = OdeBuilder::<NalgebraMat<f64>>::new()
        .t0(0.0)
        .h0(1e-6)
        .rtol(RELATIVE)
        .atol([ABSOLUTE; STATES])
        .rhs_implicit(value, product)
        .init(
            |_: &[f64], _, y: &mut [f64]| y.copy_from_slice(&start),
            STATES,
        )
        .build()
        .map_err(|e| failed(0.0, e.to_string()))?;
    let mut solver = problem
        .bdf::<NalgebraLU<f64>>()
        .map_err(|e| failed(0.0, e.to_string()))?;
    for _ in 0..STEPS_AT_MOST {
        solver
            .step()
            .map_err(|e| failed(reached_s, e.to_string()))?;
        reached_s = solver.state().t;
        while let Some(t) = times_s.get(out.len()).filter(|t| **t <= reached_s) {
            let y = solver
                .interpolate(*t)
                .map_err(|e| failed(*t, e.to_string()))?;
            let x: [f64; STATES] = std::array::from_fn(|i| y.get_index(i));
            if !x.iter().all(|v| v.is_finite()) {
                return Err(failed(*t, "the values ceased to be finite".to_owned()));
            }
            out.push(x);
        }
        if reached_s >= end_s {
            return Ok(out);
        }
    }
    Err(failed(
        reached_s,
        format!("more than {STEPS_AT_MOST} steps"),
    ))
}

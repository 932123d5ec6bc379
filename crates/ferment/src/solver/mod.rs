//! A solver of our own for small systems: states of fixed number on the stack,
//! one-step, safe on stiff stretches.
//!
//! It gives what [`kinetics::solve`](crate::kinetics) gives by BDF, without an
//! allocation in a step. A one-step method starts at full order after each turn
//! of the temperature, where BDF must build its order up again.

mod linear;
mod rodas;

use quantity::Duration;

use crate::error::FermentError;
use crate::kinetics::System;
use crate::temperature::TemperatureCourse;

/// Steps that a course may take, refused ones included.
const MOST_STEPS: usize = 200_000;

/// The states at times \[h\] in rising order, from the Rosenbrock method of
/// [`rodas`], its steps ending wherever the temperature turns or jumps.
///
/// # Errors
/// [`FermentError::Solver`] if the values cease to be finite, or the error
/// cannot be held within the system's tolerances.
pub(crate) fn solve<const N: usize, S: System<N>>(
    system: &S,
    start: [f64; N],
    course: &TemperatureCourse,
    times_h: &[f64],
) -> Result<Vec<[f64; N]>, FermentError> {
    let mut out = Vec::with_capacity(times_h.len());
    out.extend(times_h.iter().take_while(|t| **t <= 0.0).map(|_| start));
    let until_h = times_h.last().copied().unwrap_or(0.0);
    let mut x = start;
    let mut steps_left = MOST_STEPS;
    for stretch in course.stretches(until_h) {
        x = rodas::integrate(system, x, stretch, &mut steps_left, |step| {
            while let Some(t_h) = times_h.get(out.len()).filter(|t| **t <= step.to_h) {
                out.push(step.at(*t_h));
            }
        })
        .map_err(|(after_h, reason)| FermentError::Solver {
            after: Duration::from_h(after_h),
            reason: reason.to_owned(),
        })?;
    }
    // The last time may lie a rounding error beyond the last stretch.
    out.resize(times_h.len(), x);
    Ok(out)
}

#[cfg(test)]
mod tests;

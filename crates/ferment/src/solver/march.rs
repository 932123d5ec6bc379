//! Steps of the right length, one after the other.

use std::ops::ControlFlow;

use super::dual::Dual;
use super::real::{Over, Real};
use super::rodas::{Slopes, Step, attempt};
use super::{Segment, System, Tolerances};

/// What a whole course may still take, and the step to go on with.
pub(super) struct Budget {
    steps_left: usize,
    next_h: Option<f64>,
}

impl Budget {
    pub(super) fn new(steps: usize) -> Self {
        Self {
            steps_left: steps,
            next_h: None,
        }
    }
}

/// Where a march came to a halt without wishing to \[h\], and why.
pub(super) type Halt = (f64, &'static str);

/// Carries the state over a segment, showing each step, which may end the march.
pub(super) fn march<T, S: System<N, T>, const N: usize>(
    system: &S,
    start: [T; N],
    segment: &Segment<T>,
    budget: &mut Budget,
    mut on_step: impl FnMut(&Step<T, N>) -> ControlFlow<()>,
) -> Result<[T; N], Halt>
where
    T: Over<T>,
    Dual<T, N>: Over<T>,
{
    let tolerances = system.tolerances();
    let (mut t_h, mut x) = (segment.from_h, start);
    let held = system.warmth(segment.from_c);
    let slopes_at = |t_h: f64, x: &[T; N]| {
        let now = (!segment.is_level()).then(|| system.warmth(segment.temp_c(t_h)));
        let slopes = Slopes::at(system, segment, now.as_ref().unwrap_or(&held), t_h, x);
        if slopes.are_finite() {
            return Ok(slopes);
        }
        Err((t_h, "the rates ceased to be finite"))
    };
    let mut slopes = slopes_at(t_h, &x)?;
    let mut step_h = budget
        .next_h
        .unwrap_or_else(|| first_step_h(&tolerances, &slopes.rates, &x));
    while t_h < segment.to_h {
        budget.steps_left = budget
            .steps_left
            .checked_sub(1)
            .ok_or((t_h, "too many steps"))?;
        let free_h = step_h;
        // A last step that would leave a crumb is stretched to the end.
        let last = t_h + 1.01 * step_h >= segment.to_h;
        if last {
            step_h = segment.to_h - t_h;
        }
        let tried = attempt(system, segment, &held, (t_h, &x), step_h, &slopes);
        let error = tried.as_ref().map_or(f64::INFINITY, |(step, error)| {
            tolerances.measure(&x, &step.to, error)
        });
        let taken = tried.filter(|_| error <= 1.0);
        let wanted_h = step_h * (0.9 * error.powf(-0.25)).clamp(0.2, 5.0);
        if let Some((mut step, _)) = taken {
            if last {
                step.to_h = segment.to_h;
            }
            budget.next_h = Some(if last { free_h.max(wanted_h) } else { wanted_h });
            if on_step(&step).is_break() {
                return Ok(step.to);
            }
            (t_h, x) = (step.to_h, step.to);
            if !last {
                slopes = slopes_at(t_h, &x)?;
            }
        } else if step_h < 1e-12 * t_h.max(1e-3) {
            return Err((t_h, "the error could not be held at any step"));
        }
        step_h = wanted_h;
    }
    Ok(x)
}

impl<const N: usize> Tolerances<N> {
    /// The root mean square of a difference, each state in its tolerance.
    fn measure<T: Real>(&self, before: &[T; N], after: &[T; N], difference: &[T; N]) -> f64 {
        let squares = (0..N).map(|i| {
            let size = before[i].size().max(after[i].size());
            let scale = self.absolute[i] + self.relative * size;
            (difference[i].size() / scale).powi(2)
        });
        let error = (squares.sum::<f64>() / N as f64).sqrt();
        if error.is_nan() { f64::INFINITY } else { error }
    }
}

/// A careful first step \[h\]: it moves the state by a hundredth of its size.
fn first_step_h<T: Real, const N: usize>(
    tolerances: &Tolerances<N>,
    rates: &[T; N],
    x: &[T; N],
) -> f64 {
    let step_h = 0.01 * tolerances.measure(x, x, x) / tolerances.measure(x, x, rates);
    if step_h.is_finite() {
        step_h.clamp(1e-6, 1.0)
    } else {
        1e-6
    }
}

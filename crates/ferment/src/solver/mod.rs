//! A solver of our own for small systems: states of fixed number on the stack,
//! one-step, safe on stiff stretches.
//!
//! The methods are the ones of [`explicit`] and, on stretches that are stiff, of
//! [`rodas`]; [`march`] chooses. A one-step method starts at full order after each turn
//! of the temperature. The numbers may be plain, several members
//! side by side ([`Lanes`]), or carry their slopes by parameters ([`Dual`]): the
//! right-hand side is written once.

mod dual;
mod explicit;
mod lanes;
mod linear;
mod march;
mod real;
mod rodas;
mod step;

use std::ops::ControlFlow;

use quantity::Duration;

use crate::error::FermentError;
use crate::temperature::TemperatureCourse;

pub(crate) use dual::Dual;
pub(crate) use lanes::Lanes;
#[cfg(test)]
pub(crate) use peer::bdf;
pub(crate) use real::{Over, Real};

use march::{Budget, Halt, march};
use step::Step;

/// Steps that a course may take, refused ones included.
const MOST_STEPS: usize = 200_000;

/// A system of ordinary differential equations in time \[h\], its parameters of
/// the kind T.
pub(crate) trait System<const N: usize, T: Real = f64> {
    /// Whether the rates depend on time other than through the temperature.
    const TIMED: bool = false;

    /// What a temperature makes of the rates; kept where it does not change.
    type Warmth;

    fn warmth(&self, temp_c: T) -> Self::Warmth;

    /// The rates of change \[per h\].
    fn rates<D: Over<T>>(&self, t_h: f64, warmth: &Self::Warmth, x: &[D; N]) -> [D; N];

    fn tolerances(&self) -> Tolerances<N>;
}

/// What the error of a step is held to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tolerances<const N: usize> {
    /// Of each state, in its unit.
    pub(crate) absolute: [f64; N],
    pub(crate) relative: f64,
}

/// A time on which the temperature is one straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Segment<T = f64> {
    pub(crate) from_h: f64,
    pub(crate) to_h: f64,
    pub(crate) from_c: T,
    /// Slope \[°C/h\].
    pub(crate) slope: T,
}

impl<T: Real> Segment<T> {
    pub(crate) fn between((from_h, from_c): (f64, T), (to_h, to_c): (f64, T)) -> Self {
        Self {
            from_h,
            to_h,
            from_c,
            slope: (to_c - from_c) / (to_h - from_h),
        }
    }

    pub(crate) fn temp_c(&self, t_h: f64) -> T {
        self.from_c + self.slope * (t_h - self.from_h)
    }

    fn is_level(&self) -> bool {
        self.slope.is_zero()
    }
}

/// The segments of a course up to a time \[h\].
pub(crate) fn segments<T: Real>(course: &TemperatureCourse, until_h: f64) -> Vec<Segment<T>> {
    let stretches = course.stretches(until_h);
    let segment = |s: &crate::temperature::Stretch| {
        Segment::between((s.from_h, T::of(s.from_c)), (s.to_h, T::of(s.to_c)))
    };
    stretches.iter().map(segment).collect()
}

/// The states at times \[h\] in rising order over a temperature course; steps end
/// wherever the temperature turns or jumps.
///
/// # Errors
/// [`FermentError::Solver`] if the values cease to be finite, or the error
/// cannot be held within the system's tolerances.
pub(crate) fn solve<const N: usize, T, S: System<N, T>>(
    system: &S,
    start: [T; N],
    course: &TemperatureCourse,
    times_h: &[f64],
) -> Result<Vec<[T; N]>, FermentError>
where
    T: Over<T>,
    Dual<T, N>: Over<T>,
{
    let until_h = times_h.last().copied().unwrap_or(0.0);
    solve_along(system, start, &segments(course, until_h), times_h)
}

/// As [`solve`], over segments that follow each other.
pub(crate) fn solve_along<const N: usize, T, S: System<N, T>>(
    system: &S,
    start: [T; N],
    segments: &[Segment<T>],
    times_h: &[f64],
) -> Result<Vec<[T; N]>, FermentError>
where
    T: Over<T>,
    Dual<T, N>: Over<T>,
{
    let nothing = |_: f64, _: &[T; N]| [];
    follow(system, start, segments, times_h, nothing, []).map(|f| f.states)
}

/// A course with what was met on the way.
pub(crate) struct Followed<T, const N: usize> {
    /// The states at the times wanted. After an event that ends the course, the
    /// one at its end stands for the rest.
    pub(crate) states: Vec<[T; N]>,
    /// The events in order of time.
    pub(crate) met: Vec<Met<T, N>>,
    pub(crate) end_h: f64,
    pub(crate) end: [T; N],
    /// The event that ended the course before its time.
    pub(crate) ended_by: Option<usize>,
}

/// An event: a function of the state went through zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Met<T, const N: usize> {
    pub(crate) which: usize,
    pub(crate) at_h: f64,
    pub(crate) state: [T; N],
}

/// As [`solve_along`], recording where each of K functions of time and state goes
/// through zero, and stopping at the first that `ends` the course.
///
/// Changes of sign are looked for on the dense output at quarters of each step;
/// two that lie closer together go unseen.
pub(crate) fn follow<const N: usize, const K: usize, T, S: System<N, T>>(
    system: &S,
    start: [T; N],
    segments: &[Segment<T>],
    times_h: &[f64],
    watched: impl Fn(f64, &[T; N]) -> [f64; K],
    ends: [bool; K],
) -> Result<Followed<T, N>, FermentError>
where
    T: Over<T>,
    Dual<T, N>: Over<T>,
{
    let from_h = segments.first().map_or(0.0, |s| s.from_h);
    let mut out = Followed {
        states: Vec::with_capacity(times_h.len()),
        met: Vec::new(),
        end_h: from_h,
        end: start,
        ended_by: None,
    };
    let early = times_h.iter().take_while(|t| **t <= from_h);
    out.states.extend(early.map(|_| start));
    let mut budget = Budget::new(MOST_STEPS);
    for segment in segments {
        let reached = march(system, out.end, segment, &mut budget, |step| {
            let stop = events(step, &watched, &ends, &mut out.met);
            let (to_h, to) = stop.map_or((step.to_h, step.to), |(_, t_h, x)| (t_h, x));
            while let Some(t_h) = times_h.get(out.states.len()).filter(|t| **t <= to_h) {
                out.states.push(step.at(*t_h));
            }
            (out.end_h, out.end) = (to_h, to);
            out.ended_by = stop.map(|(which, _, _)| which);
            match stop {
                Some(_) => ControlFlow::Break(()),
                None => ControlFlow::Continue(()),
            }
        });
        reached.map_err(failed)?;
        if out.ended_by.is_some() {
            break;
        }
    }
    // The last time may lie a rounding error beyond the last segment.
    out.states.resize(times_h.len(), out.end);
    Ok(out)
}

fn failed((after_h, reason): Halt) -> FermentError {
    FermentError::Solver {
        after: Duration::from_h(after_h),
        reason: reason.to_owned(),
    }
}

/// Records what happens within a step; gives the event that ends the course.
fn events<T: Real, const N: usize, const K: usize>(
    step: &Step<T, N>,
    watched: &impl Fn(f64, &[T; N]) -> [f64; K],
    ends: &[bool; K],
    met: &mut Vec<Met<T, N>>,
) -> Option<(usize, f64, [T; N])> {
    if K == 0 {
        return None;
    }
    let value = |t_h: f64| watched(t_h, &step.at(t_h));
    let first = met.len();
    let mut before_h = step.from_h;
    let mut before = value(before_h);
    for quarter in 1..=4 {
        let after_h = step.from_h + 0.25 * f64::from(quarter) * (step.to_h - step.from_h);
        let after = value(after_h);
        for which in 0..K {
            // A value that starts at zero has been met before.
            let (a, b) = (before[which], after[which]);
            if (a > 0.0 && b <= 0.0) || (a < 0.0 && b >= 0.0) {
                let side = a.signum();
                let at_h = root(|t| value(t)[which] * side, before_h, after_h);
                let state = step.at(at_h);
                met.push(Met { which, at_h, state });
            }
        }
        (before_h, before) = (after_h, after);
    }
    met[first..].sort_by(|a, b| a.at_h.total_cmp(&b.at_h));
    let last = first + met[first..].iter().position(|m| ends[m.which])?;
    met.truncate(last + 1);
    met.last().map(|m| (m.which, m.at_h, m.state))
}

/// Where a function that is above zero at the first end and not at the other
/// leaves it, by halving.
fn root(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

#[cfg(test)]
mod order;
#[cfg(test)]
mod peer;
#[cfg(test)]
mod tests;

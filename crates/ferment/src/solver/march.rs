//! Steps of the right length, one after the other.
//!
//! The explicit method goes first, being far cheaper a step. Where the system answers so
//! fast that the explicit steps are held short by stability, not by their error, the
//! implicit one takes over to the end of the segment.

use std::ops::ControlFlow;

use super::dual::Dual;
use super::explicit;
use super::real::{Over, Real};
use super::rodas::{self, Slopes};
use super::step::Step;
use super::{Segment, System, Tolerances};

/// The explicit method is at the edge of its stability where the answer to a difference is
/// this many times as large in a step (Hairer & Wanner 1996, section IV.2).
const EDGE: f64 = 3.25;
/// Steps at the edge before the implicit method takes over, and others in a row after which
/// they are forgotten (as there).
const AT_EDGE: u32 = 15;
const WITHIN: u32 = 6;
/// Error of a step that counts as none for the length of the next.
const LEAST_ERROR: f64 = 1e-6;

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
    let mut walker = Walker::at_start(system, segment, start)?;
    let mut step_h = budget
        .next_h
        .unwrap_or_else(|| first_step_h(&walker.tolerances, &walker.rates, &start));
    while walker.t_h < segment.to_h {
        let t_h = walker.t_h;
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
        let (taken, wanted_h) = walker.step(step_h)?;
        if let Some(mut step) = taken {
            if last {
                step.to_h = segment.to_h;
                walker.t_h = segment.to_h;
            }
            budget.next_h = Some(if last { free_h.max(wanted_h) } else { wanted_h });
            if on_step(&step).is_break() {
                break;
            }
        } else if step_h < 1e-12 * t_h.max(1e-3) {
            return Err((t_h, "the error could not be held at any step"));
        }
        step_h = wanted_h;
    }
    Ok(walker.x)
}

/// Where a march is, and how it goes on.
struct Walker<'a, T, S: System<N, T>, const N: usize>
where
    T: Real,
{
    system: &'a S,
    segment: &'a Segment<T>,
    held: S::Warmth,
    tolerances: Tolerances<N>,
    t_h: f64,
    x: [T; N],
    /// The rates here; not kept by the implicit method.
    rates: [T; N],
    /// What the implicit method needs here, once it was asked for.
    slopes: Option<Slopes<T, N>>,
    edge: Edge,
    /// ln of the error of the last step taken, and whether one was refused since.
    ln_before: f64,
    refused: bool,
}

impl<'a, T, S: System<N, T>, const N: usize> Walker<'a, T, S, N>
where
    T: Over<T>,
    Dual<T, N>: Over<T>,
{
    fn at_start(system: &'a S, segment: &'a Segment<T>, x: [T; N]) -> Result<Self, Halt> {
        let t_h = segment.from_h;
        let held = system.warmth(segment.from_c);
        let rates = system.rates(t_h, &held, &x);
        if !rates.iter().all(|r| r.is_finite()) {
            return Err((t_h, NOT_FINITE));
        }
        Ok(Self {
            system,
            segment,
            held,
            tolerances: system.tolerances(),
            t_h,
            x,
            rates,
            slopes: None,
            edge: Edge::default(),
            ln_before: LEAST_ERROR.ln(),
            refused: false,
        })
    }

    /// Tries a step: what it took, if its error is within the tolerances, and the length
    /// to go on with.
    fn step(&mut self, step_h: f64) -> Result<(Option<Step<T, N>>, f64), Halt> {
        if self.edge.is_stiff() {
            self.implicit(step_h)
        } else {
            Ok(self.explicit(step_h))
        }
    }

    fn explicit(&mut self, step_h: f64) -> (Option<Step<T, N>>, f64) {
        let here = (self.t_h, &self.x);
        let tried = explicit::attempt(
            self.system,
            self.segment,
            &self.held,
            here,
            step_h,
            &self.rates,
        );
        let Some(tried) = tried else {
            self.refused = true;
            return (None, 0.1 * step_h);
        };
        let weights = self.tolerances.weights(&self.x, &tried.step.to);
        let error = measure(&weights, &tried.error);
        if error > 1.0 {
            self.refused = true;
            return (None, step_h * (0.9 * error.powf(-0.2)).clamp(0.1, 1.0));
        }
        self.edge.seen(
            measure(&weights, &tried.answer),
            measure(&weights, &tried.apart),
        );
        // The error of the step before damps the length (K. Gustafsson 1991; Hairer,
        // Nørsett & Wanner 1993, section II.4).
        let most = if self.refused { 1.0 } else { 10.0 };
        let ln_error = error.max(LEAST_ERROR).ln();
        let longer = 0.9 * (0.04 * self.ln_before - 0.17 * ln_error).exp();
        self.ln_before = ln_error;
        self.refused = false;
        (self.t_h, self.x) = (tried.step.to_h, tried.step.to);
        self.rates = tried.rates;
        (Some(tried.step), step_h * longer.clamp(0.2, most))
    }

    fn implicit(&mut self, step_h: f64) -> Result<(Option<Step<T, N>>, f64), Halt> {
        let slopes = match self.slopes.take() {
            Some(slopes) => slopes,
            None => self.slopes_here()?,
        };
        let here = (self.t_h, &self.x);
        let tried = rodas::attempt(self.system, self.segment, &self.held, here, step_h, &slopes);
        let error = tried.as_ref().map_or(f64::INFINITY, |(step, error)| {
            measure(&self.tolerances.weights(&self.x, &step.to), error)
        });
        let wanted_h = step_h * (0.9 * error.powf(-0.25)).clamp(0.2, 5.0);
        let taken = tried.filter(|_| error <= 1.0).map(|(step, _)| step);
        match &taken {
            Some(step) => (self.t_h, self.x) = (step.to_h, step.to),
            None => self.slopes = Some(slopes),
        }
        Ok((taken, wanted_h))
    }

    fn slopes_here(&self) -> Result<Slopes<T, N>, Halt> {
        let (t_h, segment) = (self.t_h, self.segment);
        let now = (!segment.is_level()).then(|| self.system.warmth(segment.temp_c(t_h)));
        let warmth = now.as_ref().unwrap_or(&self.held);
        let slopes = Slopes::at(self.system, segment, warmth, t_h, &self.x);
        match slopes.are_finite() {
            true => Ok(slopes),
            false => Err((t_h, NOT_FINITE)),
        }
    }
}

const NOT_FINITE: &str = "the rates ceased to be finite";

/// How often steps of the explicit method came to the edge of its stability.
#[derive(Debug, Default)]
struct Edge {
    at: u32,
    within: u32,
}

impl Edge {
    fn seen(&mut self, answer: f64, apart: f64) {
        if answer > EDGE * apart {
            self.at += 1;
            self.within = 0;
        } else {
            self.within += 1;
            if self.within >= WITHIN && !self.is_stiff() {
                self.at = 0;
            }
        }
    }

    fn is_stiff(&self) -> bool {
        self.at >= AT_EDGE
    }
}

impl<const N: usize> Tolerances<N> {
    /// What a difference between two states is weighed by: one over the tolerance of each.
    fn weights<T: Real>(&self, before: &[T; N], after: &[T; N]) -> [f64; N] {
        std::array::from_fn(|i| {
            let size = before[i].size().max(after[i].size());
            1.0 / (self.absolute[i] + self.relative * size)
        })
    }
}

/// The root mean square of a difference, each state in its tolerance.
fn measure<T: Real, const N: usize>(weights: &[f64; N], difference: &[T; N]) -> f64 {
    let each = weights.iter().zip(difference);
    let squares = each.map(|(w, d)| (d.size() * w).powi(2));
    let error = (squares.sum::<f64>() / N as f64).sqrt();
    if error.is_nan() { f64::INFINITY } else { error }
}

/// A careful first step \[h\]: it moves the state by a hundredth of its size.
fn first_step_h<T: Real, const N: usize>(
    tolerances: &Tolerances<N>,
    rates: &[T; N],
    x: &[T; N],
) -> f64 {
    let weights = tolerances.weights(x, x);
    let step_h = 0.01 * measure(&weights, x) / measure(&weights, rates);
    if step_h.is_finite() {
        step_h.clamp(1e-6, 1.0)
    } else {
        1e-6
    }
}

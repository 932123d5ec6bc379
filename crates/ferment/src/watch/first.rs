//! The first answer: the most likely course and how sure it is.

use quantity::Gravity;

use super::course::{Fitted, Likely, Watching};
use super::fit::Mode;
use crate::error::FermentError;

/// The deviate that a normal goes beyond one time in twenty.
const ONE_IN_TWENTY: f64 = 1.6449;
/// Apart of two places for a slope, in prior standard deviations.
const APART: f64 = 1e-3;

/// Where a fermentation stands and where it will end, by its most likely curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstAnswer {
    /// Where the beer will end.
    pub end: Likely<Gravity>,
    /// The gravity at the moment that was asked for, by the curve.
    pub now: Likely<Gravity>,
}

/// The most likely course, and intervals as if all were normal and straight around it
/// (Laplace's approximation): what [`watch`](super::watch) starts its draws from, in a part
/// of the time. Where the readings leave two courses open, it knows the likelier alone.
///
/// # Errors
/// As [`watch`](super::watch).
pub fn first_answer(watching: Watching<'_>) -> Result<FirstAnswer, FermentError> {
    let fitted = Fitted::without_draws(watching)?;
    let mode = fitted.fit.modes.first();
    let mode = mode.ok_or_else(|| FermentError::Impossible {
        what: "log of this fermentation",
        given: "no likeliest course".to_owned(),
        accepted: "readings of this batch alone".to_owned(),
    })?;
    let problem = &fitted.problem;
    let now = |z: &[f64]| {
        let (curve, energy) = problem.curve(z);
        let ticks = problem.clock.at_until(energy, fitted.now_h);
        curve.draw().at(ticks.read(fitted.now_h).0).plato
    };
    Ok(FirstAnswer {
        end: around(mode, |z| problem.curve(z).0.end()),
        now: around(mode, now),
    })
}

/// A figure of the most likely place, and its interval: variance gᵀ H⁻¹ g with the slopes g
/// of the figure and the curvature H of the place.
fn around(mode: &Mode, figure: impl Fn(&[f64]) -> f64) -> Likely<Gravity> {
    let moved = |k: usize, by: f64| {
        let mut z = mode.z.clone();
        z[k] += by;
        figure(&z)
    };
    let slope = |k: usize| (moved(k, APART) - moved(k, -APART)) / (2.0 * APART);
    let slopes: Vec<f64> = (0..mode.z.len()).map(slope).collect();
    let across = mode.lower.solve_lower(&slopes);
    let sd = across.iter().map(|x| x * x).sum::<f64>().sqrt();
    let middle = figure(&mode.z);
    let at = |deviate: f64| Gravity::from_plato(middle + deviate * sd);
    Likely {
        low: at(-ONE_IN_TWENTY),
        middle: at(0.0),
        high: at(ONE_IN_TWENTY),
    }
}

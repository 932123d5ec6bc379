//! Sequential convex programming: steps on straightened figures, trusted as far as they
//! proved true.
//!
//! Trust-region rule by J. Nocedal and S.J. Wright, Numerical Optimization, 2nd ed. 2006,
//! algorithm 4.1 (from memory), on a merit that is the weighed sum of the convex step with
//! the figures as the stream reckons them.

use super::convex::{Bound, Here, Style, Weighing, straight};
use super::problem::Problem;

/// Rounds after which it is as good as it gets.
const ROUNDS: usize = 16;
/// The first step goes this many scales at most.
const FIRST_TRUST: f64 = 1.0;
const LARGEST_TRUST: f64 = 4.0;
const SMALLEST_TRUST: f64 = 1e-3;
/// A promise below this, of the weighed sum, is none.
const NO_PROMISE: f64 = 1e-5;

/// Where a search ended.
#[derive(Debug, Clone)]
pub(super) struct Ended {
    pub(super) values: Vec<f64>,
    pub(super) figures: Vec<f64>,
    pub(super) slopes: Vec<Vec<f64>>,
    pub(super) bounds: Vec<Bound>,
    pub(super) rounds: usize,
    /// Somebody stopped it on the way.
    pub(super) stopped: bool,
}

impl Ended {
    pub(super) fn here(&self) -> Here<'_> {
        Here {
            values: &self.values,
            figures: &self.figures,
            slopes: &self.slopes,
        }
    }
}

/// Goes from values to the best that is found from there; none where they cannot be
/// brewed.
pub(super) fn search(
    problem: &Problem<'_>,
    style: &Style,
    start: &[f64],
    held: &[bool],
) -> Option<Ended> {
    let weighing = Weighing {
        levers: problem.levers,
        together: problem.together,
        goals: problem.goals,
        style,
    };
    let figures = problem.figures(start)?;
    let slopes = problem.slopes(start, &figures);
    let mut at = Ended {
        values: start.to_vec(),
        stopped: slopes.is_none(),
        slopes: slopes.unwrap_or_else(|| vec![vec![0.0; problem.levers.len()]; figures.len()]),
        figures,
        bounds: vec![],
        rounds: 0,
    };
    let mut trust = FIRST_TRUST;
    while at.rounds < ROUNDS && !at.stopped {
        at.rounds += 1;
        let Some(step) = weighing.step(&at.here(), trust, held) else {
            trust *= 0.25;
            if trust < SMALLEST_TRUST {
                break;
            }
            continue;
        };
        at.bounds = step.bounds;
        let now = weighing.worth(&at.values, &at.figures);
        let promised = straight(&at.here(), problem.levers, &step.values);
        let promise = now - weighing.worth(&step.values, &promised);
        if promise <= NO_PROMISE * (1.0 + now.abs()) {
            break;
        }
        let Some(there) = problem.figures(&step.values) else {
            trust *= 0.25;
            if trust < SMALLEST_TRUST {
                break;
            }
            continue;
        };
        let kept = (now - weighing.worth(&step.values, &there)) / promise;
        if kept < 0.25 {
            trust *= 0.25;
        } else if kept > 0.75 {
            trust = (2.0 * trust).min(LARGEST_TRUST);
        }
        if kept > 1e-3 {
            at.values = step.values;
            at.figures = there;
            match problem.slopes(&at.values, &at.figures) {
                Some(slopes) => at.slopes = slopes,
                None => at.stopped = true,
            }
        } else if trust < SMALLEST_TRUST {
            break;
        }
    }
    Some(at)
}

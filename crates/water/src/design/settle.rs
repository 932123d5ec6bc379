//! The least misfit while any amount can be weighed.

use super::error::DesignError;
use super::model::{MashLine, Model};
use super::qp::{Quadratic, Unsolved, minimise};

/// Where the search settled.
#[derive(Debug, Clone)]
pub(super) struct Settled {
    /// Every column; nought where it is not used.
    pub x: Vec<f64>,
    /// The mash pH about it.
    pub line: Option<MashLine>,
    /// By how much what is minimised rises per unit of each limit.
    pub multipliers: Vec<f64>,
    /// What is minimised: misfit, cost and ridge.
    pub value: f64,
    /// The misfit alone.
    pub misfit: f64,
}

/// Why it did not settle.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Stuck {
    /// The limits contradict each other.
    Contradiction,
    /// Something else.
    Failed(DesignError),
}

/// An unknown below this, in its unit, is nought.
pub(super) const NOUGHT: f64 = 1e-7;

/// Minimises the misfit with the kinds of addition that are allowed.
///
/// But for the mash pH the misfit is quadratic. The pH is all but linear in the
/// doses: it is replaced by its tangent where the last step ended, until nothing
/// is won by it (Gauss-Newton). At the end the tangent touches, so that the first-order
/// conditions are those of the true misfit.
pub(super) fn settle(
    model: &Model,
    allowed: &[bool],
    near: Option<&MashLine>,
) -> Result<Settled, Stuck> {
    const MOST_STEPS: usize = 20;
    const STEADY: f64 = 1e-8;
    let used = used(model, allowed);
    let mut line = near.cloned();
    let mut step = solve(model, &used, line.as_ref())?;
    if model.task.grist.is_some() {
        let mut value = f64::INFINITY;
        for _ in 0..MOST_STEPS {
            line = model.mash_line(&step.x).map_err(failed)?;
            step = solve(model, &used, line.as_ref())?;
            // Doses that do the same work may go on trading places: what counts
            // is that nothing is won by it.
            if (step.value - value).abs() < STEADY * (1.0 + step.value.abs()) {
                break;
            }
            value = step.value;
        }
    }
    Ok(Settled {
        misfit: model.misfit(&step.x, line.as_ref()),
        value: step.value,
        x: step.x,
        multipliers: step.multipliers,
        line,
    })
}

/// The columns of waters and of what is allowed.
pub(super) fn used(model: &Model, allowed: &[bool]) -> Vec<usize> {
    let is_used = |k: &usize| model.columns[*k].kind.is_none_or(|kind| allowed[kind]);
    (0..model.len()).filter(is_used).collect()
}

/// The least value with the mash pH as its line says.
struct Step {
    x: Vec<f64>,
    multipliers: Vec<f64>,
    value: f64,
}

fn solve(model: &Model, used: &[usize], line: Option<&MashLine>) -> Result<Step, Stuck> {
    let problem = Quadratic {
        rows: model.rows(used, line),
        ..model.quadratic(used, line)
    };
    match minimise(&problem) {
        Ok(least) => {
            let mut x = vec![0.0; model.len()];
            for (k, value) in used.iter().zip(least.x) {
                x[*k] = if value.abs() < NOUGHT { 0.0 } else { value };
            }
            Ok(Step {
                x,
                multipliers: least.multipliers,
                value: least.value + model.misfit_of_nothing(line),
            })
        }
        Err(Unsolved::Infeasible { .. }) => Err(Stuck::Contradiction),
        Err(Unsolved::NotConvex | Unsolved::Stalled) => Err(Stuck::Failed(DesignError::NotSolved)),
    }
}

pub(super) fn failed(error: crate::WaterError) -> Stuck {
    Stuck::Failed(error.into())
}

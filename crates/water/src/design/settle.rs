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
/// moves (Gauss-Newton). At the end the tangent touches, so that the first-order
/// conditions are those of the true misfit.
pub(super) fn settle(
    model: &Model,
    allowed: &[bool],
    near: Option<&MashLine>,
) -> Result<Settled, Stuck> {
    const MOST_STEPS: usize = 20;
    let used = used(model, allowed);
    let mut line = near.cloned();
    let (mut x, mut multipliers) = solve(model, &used, line.as_ref())?;
    if model.task.grist.is_some() {
        for _ in 0..MOST_STEPS {
            line = model.mash_line(&x).map_err(failed)?;
            let next = solve(model, &used, line.as_ref())?;
            let moved = x
                .iter()
                .zip(&next.0)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0, f64::max);
            (x, multipliers) = next;
            if moved < 1e-9 {
                break;
            }
        }
    }
    let objective = model.quadratic(&used, line.as_ref());
    let rest: f64 = model
        .aims
        .iter()
        .filter_map(|aim| {
            let (_, constant) = model.aim_row(aim, line.as_ref())?;
            Some(aim.weight * ((constant - aim.target) / aim.tolerance).powi(2))
        })
        .sum();
    let on_used: Vec<f64> = used.iter().map(|k| x[*k]).collect();
    Ok(Settled {
        value: objective.value(&on_used) + rest,
        misfit: model.misfit(&x, line.as_ref()),
        x,
        line,
        multipliers,
    })
}

/// The columns of waters and of what is allowed.
pub(super) fn used(model: &Model, allowed: &[bool]) -> Vec<usize> {
    let is_used = |k: &usize| model.columns[*k].kind.is_none_or(|kind| allowed[kind]);
    (0..model.len()).filter(is_used).collect()
}

fn solve(
    model: &Model,
    used: &[usize],
    line: Option<&MashLine>,
) -> Result<(Vec<f64>, Vec<f64>), Stuck> {
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
            Ok((x, least.multipliers))
        }
        Err(Unsolved::Infeasible { .. }) => Err(Stuck::Contradiction),
        Err(Unsolved::NotConvex | Unsolved::Stalled) => Err(Stuck::Failed(DesignError::NotSolved)),
    }
}

pub(super) fn failed(error: crate::WaterError) -> Stuck {
    Stuck::Failed(error.into())
}

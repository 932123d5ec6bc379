//! What to let go where limits contradict each other.

use super::error::DesignError;
use super::model::{Holds, MashLine, Model, ModelLimit};
use super::qp::{Quadratic, Row, minimise};
use super::result::Relaxation;

/// What unknowns and relaxations count by themselves: small enough that the
/// smallest sum of relaxations is found, large enough to make it unique.
const RIDGE: f64 = 1e-5;
/// A health limit is let go only after everything else.
const HEALTH: f64 = 1e4;

/// The smallest relaxation of limits and firm aims after which all can be kept.
pub(super) struct Relaxed {
    /// Sum over limits of relaxation in units of relaxation.
    pub total: f64,
    pub error: DesignError,
}

/// Finds it: minimises Σ t/u with a·x + t ≥ b for each limit that may be relaxed,
/// u being what counts as one unit of it.
pub(super) fn relax(model: &Model) -> Result<Relaxed, DesignError> {
    let mut elastic = Elastic::solve(model, None)?;
    if model.task.grist.is_some() {
        for _ in 0..4 {
            let line = model.mash_line(&elastic.x)?;
            elastic = Elastic::solve(model, line.as_ref())?;
        }
    }
    if let Some((limit, t)) = elastic.let_go(model).find(|(limit, _)| limit.health) {
        return Ok(Relaxed {
            total: elastic.total,
            error: DesignError::Unfit {
                what: limit.what.clone(),
                least_mg_per_l: limit.bound + t,
                limit_mg_per_l: limit.bound,
            },
        });
    }
    let relax: Vec<Relaxation> = elastic.let_go(model).map(relaxation).collect();
    // A contradiction of a tangent far from the answer only: nothing to name.
    if relax.is_empty() {
        return Err(DesignError::NotSolved);
    }
    Ok(Relaxed {
        total: elastic.total,
        error: DesignError::Contradiction { relax },
    })
}

struct Elastic {
    x: Vec<f64>,
    /// For each limit, by how much it is let go, in its unit.
    by: Vec<f64>,
    total: f64,
}

impl Elastic {
    fn solve(model: &Model, line: Option<&MashLine>) -> Result<Self, DesignError> {
        let n = model.len();
        let all: Vec<usize> = (0..n).collect();
        let soft: Vec<usize> = (0..model.limits.len())
            .filter(|i| unit(&model.limits[*i]).is_some())
            .collect();
        let size = n + soft.len();
        let mut hessian = vec![0.0; size * size];
        for i in 0..size {
            hessian[i * size + i] = RIDGE;
        }
        let mut gradient = vec![0.0; n];
        gradient.extend(
            soft.iter()
                .map(|i| if model.limits[*i].health { HEALTH } else { 1.0 }),
        );
        let mut rows: Vec<Row> = model.rows(&all, line);
        for row in &mut rows {
            row.coefficients.resize(size, 0.0);
        }
        for (at, i) in soft.iter().enumerate() {
            rows[*i].coefficients[n + at] = unit(&model.limits[*i]).unwrap_or(1.0);
            let mut coefficients = vec![0.0; size];
            coefficients[n + at] = 1.0;
            rows.push(Row {
                coefficients,
                at_least: 0.0,
                equal: false,
            });
        }
        let least = minimise(&Quadratic {
            hessian,
            gradient,
            rows,
        })
        .map_err(|_| DesignError::NotSolved)?;
        let mut by = vec![0.0; model.limits.len()];
        for (at, i) in soft.iter().enumerate() {
            let t = least.x[n + at];
            if t > 1e-6 {
                by[*i] = t * unit(&model.limits[*i]).unwrap_or(1.0);
            }
        }
        Ok(Self {
            total: least.x[n..].iter().sum(),
            x: least.x[..n].to_vec(),
            by,
        })
    }

    fn let_go<'a>(&'a self, model: &'a Model) -> impl Iterator<Item = (&'a ModelLimit, f64)> {
        let by = self.by.iter().copied();
        model.limits.iter().zip(by).filter(|(_, by)| *by > 0.0)
    }
}

fn unit(limit: &ModelLimit) -> Option<f64> {
    if limit.health {
        Some(limit.bound)
    } else {
        limit.relax
    }
}

fn relaxation((limit, by): (&ModelLimit, f64)) -> Relaxation {
    // A hair more, so that there is room for amounts that can be weighed.
    let by = by + 1e-4 * limit.relax.unwrap_or(1.0);
    let to = match limit.holds {
        Holds::AtMost => limit.bound + by,
        _ => limit.bound - by,
    };
    Relaxation {
        what: limit.what.clone(),
        side: limit.side(),
        from: limit.unit.level(limit.bound),
        to: limit.unit.level(to),
    }
}

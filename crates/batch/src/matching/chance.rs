//! How likely an answer meets the aim, and the answer that does so most likely.
//!
//! What is not known is drawn (common random numbers), and each draw reckoned from tap to
//! glass. For the likeliest answer the draws are moved along the slopes of the figures, and
//! the levers searched for the greatest share of draws within the aim; what is found is
//! drawn anew, and kept only if it holds.

use super::goal::Goal;
use super::lever::{Lever, Together};
use crate::certainty::{Between, CertaintyError, drawn_figures};
use crate::matching::problem::GoOn;

const SEED: u32 = 7;
/// How soft the edge of a tolerance is for the search, in tolerances.
const EDGE: f64 = 0.15;
const HALVINGS: usize = 6;
const SWEEPS: usize = 40;

/// What came of the draws.
#[derive(Debug, Clone)]
pub(super) struct Drawn {
    /// A row a draw; none where it cannot be brewed.
    rows: Vec<Option<Vec<f64>>>,
}

impl Drawn {
    /// Draws the figures of the goals for a document.
    pub(super) fn of(
        text: &str,
        goals: &[Goal],
        draws: usize,
        go_on: GoOn<'_>,
    ) -> Result<Self, CertaintyError> {
        let read = |r: &crate::Reckoning| goals.iter().map(|g| (g.figure.read)(r)).collect();
        let rows = drawn_figures(text, draws, SEED, &read, &|| go_on(0))?;
        Ok(Self { rows })
    }

    /// The draws of some of the goals.
    pub(super) fn only(&self, which: &[usize]) -> Self {
        let of = |row: &Vec<f64>| which.iter().map(|k| row[*k]).collect();
        Self {
            rows: self.rows.iter().map(|row| row.as_ref().map(of)).collect(),
        }
    }

    /// The share of draws that meet all goals; one that cannot be brewed meets none.
    pub(super) fn all_met(&self, goals: &[Goal]) -> f64 {
        self.share(|row| goals.iter().zip(row).all(|(g, f)| g.met(*f)))
    }

    /// The share that meets one goal.
    pub(super) fn met(&self, k: usize, goal: &Goal) -> f64 {
        self.share(|row| goal.met(row[k]))
    }

    fn share(&self, met: impl Fn(&[f64]) -> bool) -> f64 {
        let met = self.rows.iter().flatten().filter(|row| met(row)).count();
        met as f64 / self.rows.len().max(1) as f64
    }

    /// Between which two figures nine of ten draws lie.
    pub(super) fn between(&self, k: usize) -> Option<(f64, f64)> {
        let drawn = self.rows.iter().flatten().map(|row| row[k]).collect();
        Between::of(drawn).map(|between| (between.low, between.high))
    }

    /// A soft count of the draws that meet all goals, each moved by the same amounts.
    fn soft(&self, goals: &[Goal], moved: &[f64]) -> f64 {
        let soft = |room: f64| 1.0 / (1.0 + (-room / EDGE).exp());
        let of = |row: &Vec<f64>| -> f64 {
            let each = goals.iter().zip(row.iter().zip(moved));
            each.map(|(g, (f, by))| {
                let f = f + by;
                let below = g.low.map_or(1.0, |l| soft((f - l) / g.tolerance));
                let above = g.high.map_or(1.0, |h| soft((h - f) / g.tolerance));
                below * above
            })
            .product()
        };
        self.rows.iter().flatten().map(of).sum()
    }
}

/// Values of the levers for which the greatest share of draws meets the goals, by their
/// slopes: compass search with halving steps, along levers and along goals.
pub(super) fn likeliest(
    drawn: &Drawn,
    goals: &[Goal],
    levers: &[Lever],
    together: &[Together],
    values: &[f64],
    slopes: &[Vec<f64>],
    held: &[bool],
) -> Vec<f64> {
    let moved = |at: &[f64]| -> Vec<f64> {
        let by: Vec<f64> = (0..levers.len())
            .map(|i| (at[i] - values[i]) / levers[i].scale)
            .collect();
        let along = |slope: &Vec<f64>| slope.iter().zip(&by).map(|(s, d)| s * d).sum();
        slopes.iter().map(along).collect()
    };
    let free: Vec<usize> = (0..levers.len()).filter(|i| !held[*i]).collect();
    let ways = directions(goals, slopes, &free, levers.len());
    let mut at = values.to_vec();
    let mut best = drawn.soft(goals, &moved(&at));
    let mut size = 0.5;
    for _ in 0..HALVINGS {
        for _ in 0..SWEEPS {
            let mut better = false;
            for way in &ways {
                for sign in [1.0, -1.0] {
                    let there: Vec<f64> = (0..levers.len())
                        .map(|i| {
                            let by = sign * size * way[i] * levers[i].scale;
                            (at[i] + by).clamp(levers[i].least, levers[i].most)
                        })
                        .collect();
                    let kept = together.iter().all(|t| t.room(&there) >= -1e-9);
                    let soft = if kept {
                        drawn.soft(goals, &moved(&there))
                    } else {
                        0.0
                    };
                    if soft > best + 1e-6 {
                        (at, best, better) = (there, soft, true);
                    }
                }
            }
            if !better {
                break;
            }
        }
        size *= 0.5;
    }
    at
}

/// Each lever alone, and for each goal the way along which it changes most.
fn directions(goals: &[Goal], slopes: &[Vec<f64>], free: &[usize], n: usize) -> Vec<Vec<f64>> {
    let alone = free.iter().map(|i| {
        let mut way = vec![0.0; n];
        way[*i] = 1.0;
        way
    });
    let along = goals.iter().zip(slopes).filter_map(|(_, slope)| {
        let length = free.iter().map(|i| slope[*i].powi(2)).sum::<f64>().sqrt();
        (length > 0.0).then(|| {
            let mut way = vec![0.0; n];
            for i in free {
                way[*i] = slope[*i] / length;
            }
            way
        })
    });
    alone.chain(along).collect()
}

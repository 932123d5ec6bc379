//! One convex step: figures taken as straight, misses weighed against change and cost.

use water::design::qp::{Quadratic, Row, minimise};

use super::goal::Goal;
use super::lever::{Lever, Together};

/// What counts beside the misses.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Style {
    /// Nearness to the middle of each aim, squared and in tolerances.
    pub(super) centre: f64,
    /// Nearness to the recipe as it is, squared and in scales of the levers.
    pub(super) change: f64,
    /// What a scale of each lever costs.
    pub(super) cost: Vec<f64>,
}

/// The weight of a squared miss beyond the tolerance. Far above the others, so that they
/// decide only among what would do.
const MISS: f64 = 1e4;
/// Steps of an interior are kept this far inside the tolerance, for what is not straight.
const INSIDE: f64 = 0.92;
/// Keeps the answer unique where nothing else does.
const RIDGE: f64 = 1e-6;

/// Where it starts from: values, figures, slopes by the scale of each lever.
pub(super) struct Here<'h> {
    pub(super) values: &'h [f64],
    pub(super) figures: &'h [f64],
    pub(super) slopes: &'h [Vec<f64>],
}

/// The levers and goals, as a step weighs them.
pub(super) struct Weighing<'w> {
    pub(super) levers: &'w [Lever],
    pub(super) together: &'w [Together],
    pub(super) goals: &'w [Goal],
    pub(super) style: &'w Style,
}

/// A limit that stood in the way of the aim, and how strongly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bound {
    pub(super) limit: Limit,
    pub(super) push: f64,
}

/// Which limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Limit {
    /// The least of a lever.
    Least(usize),
    /// The most of a lever.
    Most(usize),
    /// A limit on several together.
    Together(usize),
}

/// Where a step goes.
pub(super) struct Step {
    pub(super) values: Vec<f64>,
    pub(super) bounds: Vec<Bound>,
}

impl Weighing<'_> {
    /// What is made least: misses, distance from the middle, change and cost.
    pub(super) fn worth(&self, values: &[f64], figures: &[f64]) -> f64 {
        let mut sum = 0.0;
        for (goal, figure) in self.goals.iter().zip(figures) {
            sum += 0.5 * MISS * self.missed(goal, *figure).powi(2);
            if let Some(centre) = goal.centre() {
                sum += 0.5 * self.style.centre * ((figure - centre) / goal.tolerance).powi(2);
            }
        }
        for ((lever, value), cost) in self.levers.iter().zip(values).zip(&self.style.cost) {
            let off = (value - lever.now) / lever.scale;
            sum += 0.5 * (self.style.change + RIDGE) * off * off + cost * value / lever.scale;
        }
        sum
    }

    /// How far beyond what a step keeps to, in tolerances.
    fn missed(&self, goal: &Goal, figure: f64) -> f64 {
        let (low, high) = kept(goal);
        let below = low.map_or(0.0, |low| low - figure);
        let above = high.map_or(0.0, |high| figure - high);
        below.max(above).max(0.0) / goal.tolerance
    }

    /// The best step within `trust` scales of every lever; `held` levers stay.
    pub(super) fn step(&self, here: &Here<'_>, trust: f64, held: &[bool]) -> Option<Step> {
        let (n, m) = (self.levers.len(), self.goals.len());
        let all = n + m;
        let mut hessian = vec![0.0; all * all];
        let mut gradient = vec![0.0; all];
        for (i, lever) in self.levers.iter().enumerate() {
            let weight = self.style.change + RIDGE;
            hessian[i * all + i] = weight;
            let off = (here.values[i] - lever.now) / lever.scale;
            gradient[i] = weight * off + self.style.cost[i];
        }
        let mut rows = Vec::new();
        for (k, goal) in self.goals.iter().enumerate() {
            let slope: Vec<f64> = here.slopes[k].iter().map(|s| s / goal.tolerance).collect();
            if let Some(centre) = goal.centre() {
                let off = (here.figures[k] - centre) / goal.tolerance;
                for i in 0..n {
                    gradient[i] += self.style.centre * off * slope[i];
                    for j in 0..n {
                        hessian[i * all + j] += self.style.centre * slope[i] * slope[j];
                    }
                }
            }
            hessian[(n + k) * all + n + k] = MISS;
            let (low, high) = kept(goal);
            let mut side = |sign: f64, end: f64| {
                let mut coefficients: Vec<f64> = slope.iter().map(|s| sign * s).collect();
                coefficients.resize(all, 0.0);
                coefficients[n + k] = 1.0;
                let at_least = sign * (end - here.figures[k]) / goal.tolerance;
                rows.push(Row {
                    coefficients,
                    at_least,
                    equal: false,
                });
            };
            if let Some(low) = low {
                side(1.0, low);
            }
            if let Some(high) = high {
                side(-1.0, high);
            }
        }
        let mut limits = vec![None; rows.len()];
        for (i, lever) in self.levers.iter().enumerate() {
            let scaled = |x: f64| (x - here.values[i]) / lever.scale;
            let reach = if held[i] { 0.0 } else { trust };
            let (least, most) = (scaled(lever.least), scaled(lever.most));
            for (sign, end, limit) in [(1.0, least, Limit::Least(i)), (-1.0, most, Limit::Most(i))]
            {
                let mut coefficients = vec![0.0; all];
                coefficients[i] = sign;
                let nearest = (sign * end).max(-reach);
                let by_limit = sign * end >= -reach && !held[i];
                rows.push(Row {
                    coefficients,
                    // What stands beyond a limit may stay there and come back.
                    at_least: nearest.min(0.0),
                    equal: false,
                });
                limits.push(by_limit.then_some(limit));
            }
        }
        for (at, together) in self.together.iter().enumerate() {
            let mut coefficients: Vec<f64> = together
                .factors
                .iter()
                .zip(self.levers)
                .map(|(factor, lever)| factor * lever.scale)
                .collect();
            coefficients.resize(all, 0.0);
            rows.push(Row {
                coefficients,
                at_least: (-together.room(here.values)).min(0.0),
                equal: false,
            });
            limits.push(Some(Limit::Together(at)));
        }
        let least = minimise(&Quadratic {
            hessian,
            gradient,
            rows,
        })
        .ok()?;
        let values = (0..n)
            .map(|i| {
                let lever = &self.levers[i];
                let value = here.values[i] + least.x[i] * lever.scale;
                if held[i] {
                    here.values[i]
                } else {
                    value.clamp(
                        lever.least.min(here.values[i]),
                        lever.most.max(here.values[i]),
                    )
                }
            })
            .collect();
        let bounds = limits
            .iter()
            .zip(&least.multipliers)
            .filter(|(_, push)| **push > 1e-9)
            .filter_map(|(limit, push)| {
                Some(Bound {
                    limit: (*limit)?,
                    push: *push,
                })
            })
            .collect();
        Some(Step { values, bounds })
    }
}

/// What a step keeps to: a little inside of what would do.
fn kept(goal: &Goal) -> (Option<f64>, Option<f64>) {
    let slack = (1.0 - INSIDE) * goal.tolerance;
    (goal.low.map(|l| l + slack), goal.high.map(|h| h - slack))
}

/// The figures at other values, taken as straight.
pub(super) fn straight(here: &Here<'_>, levers: &[Lever], values: &[f64]) -> Vec<f64> {
    let moved: Vec<f64> = levers
        .iter()
        .zip(here.values.iter().zip(values))
        .map(|(lever, (a, b))| (b - a) / lever.scale)
        .collect();
    let each = here.figures.iter().zip(here.slopes);
    each.map(|(f, slope)| f + slope.iter().zip(&moved).map(|(s, d)| s * d).sum::<f64>())
        .collect()
}

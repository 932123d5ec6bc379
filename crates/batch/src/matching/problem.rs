//! Figures as functions of levers: the stream run forward, and its slopes by differences.

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use super::goal::Goal;
use super::lever::{Lever, Together, with};
use crate::document::Document;
use crate::stream::Reckoning;

/// Part of a lever's scale by which it is moved for a slope. Courses of a fermentation are
/// solved to a millionth, so that a slope is good to a thousandth or so.
const NUDGE: f64 = 0.02;

/// Told how many reckonings were made; says whether to go on.
pub(super) type GoOn<'g> = &'g (dyn Fn(usize) -> bool + Sync);

/// A document, what of it may move, and what is aimed at.
pub(super) struct Problem<'p> {
    pub(super) document: &'p Document,
    pub(super) levers: &'p [Lever],
    pub(super) together: &'p [Together],
    pub(super) goals: &'p [Goal],
    pub(super) reckoned: &'p AtomicUsize,
    pub(super) go_on: GoOn<'p>,
}

impl Problem<'_> {
    /// The reckoning at values of the levers; none where it cannot be brewed.
    pub(super) fn reckoning(&self, values: &[f64]) -> Option<Reckoning> {
        self.reckoned.fetch_add(1, Ordering::Relaxed);
        Reckoning::figures_of(with(self.document, self.levers, values))
    }

    /// The figure of each goal; none where it cannot be brewed or has no such figure.
    pub(super) fn figures(&self, values: &[f64]) -> Option<Vec<f64>> {
        let r = self.reckoning(values)?;
        self.goals.iter().map(|g| (g.figure.read)(&r)).collect()
    }

    /// The slope of every figure along every lever, by its scale: a row a goal. None where
    /// it was stopped.
    pub(super) fn slopes(&self, values: &[f64], figures: &[f64]) -> Option<Vec<Vec<f64>>> {
        let along = |i: usize| -> Vec<f64> {
            let lever = &self.levers[i];
            let room = lever.most - values[i];
            let nudge = NUDGE * lever.scale;
            let ways = if room >= nudge {
                [nudge, -nudge]
            } else {
                [-nudge, nudge]
            };
            for by in ways {
                let mut moved = values.to_vec();
                moved[i] = (values[i] + by).clamp(lever.least, lever.most);
                let by = moved[i] - values[i];
                if by.abs() < 1e-3 * nudge {
                    continue;
                }
                if let Some(there) = self.figures(&moved) {
                    let each = there.iter().zip(figures);
                    return each.map(|(b, a)| (b - a) / by * lever.scale).collect();
                }
            }
            vec![0.0; figures.len()]
        };
        if !(self.go_on)(self.reckoned.load(Ordering::Relaxed)) {
            return None;
        }
        let columns: Vec<Vec<f64>> = (0..self.levers.len()).into_par_iter().map(along).collect();
        let row = |k: usize| columns.iter().map(|c| c[k]).collect();
        Some((0..figures.len()).map(row).collect())
    }

    /// The greatest miss, in tolerances.
    pub(super) fn worst(&self, figures: &[f64]) -> f64 {
        let each = self.goals.iter().zip(figures);
        each.map(|(g, f)| g.beyond(*f)).fold(0.0, f64::max)
    }
}

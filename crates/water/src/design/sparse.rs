//! The best with no more than so many kinds of addition.

use super::model::Model;
use super::settle::{NOUGHT, Settled, Stuck, settle};

/// The best with at most so many kinds; none where that many cannot keep the
/// limits.
///
/// Exact, by branch and bound: with some kinds taken and some left out, allowing
/// all others bounds what any choice among them can reach.
pub(super) fn with_at_most(
    model: &Model,
    kinds: usize,
    all: &Settled,
) -> Result<Option<Settled>, Stuck> {
    let mut search = Search {
        model,
        kinds,
        best: None,
    };
    let count = model.kinds.len();
    search.visit(all.clone(), vec![true; count], vec![false; count])?;
    Ok(search.best)
}

/// The kinds that are used.
pub(super) fn kinds_used(model: &Model, x: &[f64]) -> Vec<bool> {
    let mut used = vec![false; model.kinds.len()];
    for (column, x) in model.columns.iter().zip(x) {
        if let Some(kind) = column.kind {
            used[kind] |= *x > NOUGHT;
        }
    }
    used
}

pub(super) fn count(flags: &[bool]) -> usize {
    flags.iter().filter(|flag| **flag).count()
}

struct Search<'a, 'b> {
    model: &'a Model<'b>,
    kinds: usize,
    best: Option<Settled>,
}

impl Search<'_, '_> {
    /// Looks below a node, whose bound is known: `allowed` may be used, `taken`
    /// are decided for.
    fn visit(&mut self, bound: Settled, allowed: Vec<bool>, taken: Vec<bool>) -> Result<(), Stuck> {
        // A hair, so that what is no better is not looked at again.
        let worth_it = |best: &Settled| bound.value < best.value - 1e-9 * (1.0 + best.value);
        if !self.best.as_ref().is_none_or(worth_it) {
            return Ok(());
        }
        let used = kinds_used(self.model, &bound.x);
        if count(&used) <= self.kinds {
            self.best = Some(bound);
            return Ok(());
        }
        let Some(kind) = self.largest(&bound, &used, &taken) else {
            return Ok(());
        };
        if count(&taken) < self.kinds {
            let mut with = taken.clone();
            with[kind] = true;
            if count(&with) == self.kinds {
                self.look(&bound, with.clone(), with)?;
            } else {
                self.visit(bound.clone(), allowed.clone(), with)?;
            }
        }
        let mut without = allowed;
        without[kind] = false;
        self.look(&bound, without, taken)
    }

    /// Settles a node and looks below it.
    fn look(&mut self, near: &Settled, allowed: Vec<bool>, taken: Vec<bool>) -> Result<(), Stuck> {
        match settle(self.model, &allowed, near.line.as_ref()) {
            Ok(bound) => self.visit(bound, allowed, taken),
            Err(Stuck::Contradiction) => Ok(()),
            Err(failed) => Err(failed),
        }
    }

    /// The kind still to be decided of which there is most, in its units.
    fn largest(&self, bound: &Settled, used: &[bool], taken: &[bool]) -> Option<usize> {
        let mut most = vec![0.0; used.len()];
        for (column, x) in self.model.columns.iter().zip(&bound.x) {
            if let Some(kind) = column.kind {
                most[kind] += x;
            }
        }
        (0..used.len())
            .filter(|kind| used[*kind] && !taken[*kind])
            .max_by(|a, b| most[*a].total_cmp(&most[*b]).then(b.cmp(a)))
    }
}

//! The answer: figures with their intervals, and what they are unsure of.

use std::collections::BTreeMap;

use quantity::Units;

use super::doubt::{Doubt, Origin};
use crate::aim::AimLine;
use crate::sign::Stage;

/// What is left of an interval where it is worth knowing better.
const ENOUGH: f64 = 0.9;

/// What a doubt does to a figure, or several that move together.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Their places among the doubts; never empty.
    pub doubts: Vec<usize>,
    /// Share of the variance that it makes alone.
    pub first: f64,
    /// Share that it makes alone and together with others.
    pub total: f64,
}

/// A figure, and how sure it is.
#[derive(Debug, Clone)]
pub struct Sure {
    /// The stage that it belongs to.
    pub stage: Stage,
    /// A key, stable between reckonings.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// The figure as it is reckoned, in its canonical unit.
    pub reckoned: f64,
    /// The middle of the draws.
    pub likely: f64,
    /// Five of a hundred draws lie below.
    pub low: f64,
    /// Five of a hundred lie above.
    pub high: f64,
    /// Standard deviation of the draws.
    pub sd: f64,
    /// From the least to the greatest of the draws, by half per cents.
    pub(crate) quantiles: Vec<f64>,
    /// The doubts that matter, the heaviest first; empty where no shares were asked for.
    pub shares: Vec<Share>,
    pub(crate) show: fn(f64, Units) -> String,
    pub(crate) between: fn(f64, f64, Units) -> String,
}

impl Sure {
    /// Its interval, printed.
    #[must_use]
    pub fn interval(&self, units: Units) -> String {
        (self.between)(self.low, self.high, units)
    }

    /// Whether any digit that is shown is open.
    #[must_use]
    pub fn is_open(&self, units: Units) -> bool {
        self.interval(units) != self.print(self.likely, units)
    }

    /// One of its numbers, printed.
    #[must_use]
    pub fn print(&self, number: f64, units: Units) -> String {
        (self.show)(number, units)
    }

    /// Share of the draws up to a number.
    #[must_use]
    pub fn share_up_to(&self, number: f64) -> f64 {
        let steps = self.quantiles.len().saturating_sub(1).max(1) as f64;
        let above = self.quantiles.partition_point(|q| *q <= number);
        let (Some(low), Some(high)) = (
            above.checked_sub(1).and_then(|i| self.quantiles.get(i)),
            self.quantiles.get(above),
        ) else {
            return if above == 0 { 0.0 } else { 1.0 };
        };
        let part = (number - low) / (high - low);
        ((above - 1) as f64 + part) / steps
    }

    /// Half of the interval as it would be if a doubt were settled, over what it is now.
    #[must_use]
    pub fn left_without(&self, share: &Share) -> f64 {
        (1.0 - share.first).clamp(0.0, 1.0).sqrt()
    }
}

/// How sure a batch is.
#[derive(Debug, Clone)]
pub struct Certainty {
    /// From tap to glass; those that nothing moves are left out.
    pub figures: Vec<Sure>,
    /// All that is not known.
    pub doubts: Vec<Doubt>,
    /// Draws that were reckoned.
    pub drawn: usize,
    /// Draws that cannot be brewed, left out.
    pub refused: usize,
    /// Why the first of them cannot.
    pub refusal: Option<String>,
}

impl Certainty {
    /// The doubts of a share.
    pub fn doubts_of<'c>(&'c self, share: &'c Share) -> impl Iterator<Item = &'c Doubt> {
        share.doubts.iter().filter_map(|i| self.doubts.get(*i))
    }

    /// Share of the draws that meet a line of the aim; none for an aim without a spread, and
    /// for a figure that nothing moves.
    #[must_use]
    pub fn chance_of(&self, line: &AimLine) -> Option<f64> {
        line.met?;
        let figure = self.figure(line.key)?;
        let (aim, spread) = (line.aim.value, line.aim.sd);
        let up_to = |x: f64| figure.share_up_to(x);
        Some(match line.spreads_off {
            Some(_) => up_to(aim + spread) - up_to(aim - spread),
            None => up_to(aim),
        })
    }

    /// A figure by its key.
    #[must_use]
    pub fn figure(&self, key: &str) -> Option<&Sure> {
        self.figures.iter().find(|f| f.key == key)
    }
}

/// What to know better, and what that would buy.
#[derive(Debug, Clone)]
pub struct Better<'c> {
    /// What is not known: one doubt, or several that move together.
    pub doubts: Vec<&'c Doubt>,
    /// The figure that it moves most.
    pub figure: &'c Sure,
    /// What is left of the figure's interval once it is settled.
    pub left: f64,
}

impl Certainty {
    /// Shares of a figure's variance, in per cent: of what stands in the document, of the
    /// classes, of the models, and of several together.
    #[must_use]
    pub fn by_origin(&self, figure: &Sure) -> [f64; 4] {
        let alone = |origin| {
            let shares = figure.shares.iter();
            let of =
                shares.filter(|s| self.doubts_of(s).next().is_some_and(|d| d.origin == origin));
            of.map(|s| s.first).sum::<f64>()
        };
        let [a, b, c] = [Origin::Document, Origin::Class, Origin::Model].map(alone);
        // Estimates of the shares may add up to a little more than all.
        let all = (a + b + c).max(1.0);
        [a, b, c, all - a - b - c].map(|share| 100.0 * share / all)
    }

    /// What would narrow some figure by a tenth or more, the most first.
    #[must_use]
    pub fn better(&self) -> Vec<Better<'_>> {
        let mut best: BTreeMap<&[usize], (&Sure, f64)> = BTreeMap::new();
        // Nobody measures anything for a digit that is not shown.
        for figure in self.figures.iter().filter(|f| f.is_open(Units::Metric)) {
            for share in &figure.shares {
                let left = figure.left_without(share);
                let best = best.entry(&share.doubts).or_insert((figure, left));
                if left < best.1 {
                    *best = (figure, left);
                }
            }
        }
        let worth = best.into_iter().filter(|(_, (_, left))| *left <= ENOUGH);
        let mut all: Vec<Better<'_>> = worth
            .map(|(doubts, (figure, left))| Better {
                doubts: doubts.iter().filter_map(|i| self.doubts.get(*i)).collect(),
                figure,
                left,
            })
            .collect();
        all.sort_by(|a, b| a.left.total_cmp(&b.left));
        all
    }
}

//! The way from one figure to the other, step by step, in the reader's units.

use quantity::Units;

use super::{Against, Difference};

/// Steps that are told one by one; the others go together.
const TOLD: usize = 8;

/// A share of the difference that is not seen in a drawing.
const LITTLE: f64 = 0.005;

/// The way from one figure to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Steps {
    /// Symbol of the unit; empty for a bare number.
    pub unit: &'static str,
    /// Decimals that the figure is shown with.
    pub decimals: usize,
    /// Where it begins.
    pub from: f64,
    /// What each part adds, the largest first, and what is left of them together.
    pub steps: Vec<(String, f64)>,
    /// Where it ends.
    pub to: f64,
}

impl Difference {
    /// The way from the one figure to the other; none where it cannot be split.
    #[must_use]
    pub fn steps(&self, against: &Against, units: Units) -> Option<Steps> {
        if self.shares.is_empty() {
            return None;
        }
        let number = |x: f64| (self.watched.number)(x, self.larger(), units);
        let (from, unit, decimals) = number(self.from);
        let told = |by: f64| !self.print_share(by, units).starts_with('0');
        let mut at = self.from;
        let mut steps = Vec::new();
        let mut rest = 0.0;
        for share in &self.shares {
            if !told(share.by) || steps.len() == TOLD {
                rest += share.by;
                continue;
            }
            let what = against.parts.get(share.part).map(super::Part::short);
            steps.push((
                what.unwrap_or_default(),
                number(at + share.by).0 - number(at).0,
            ));
            at += share.by;
        }
        // Left out, the last step would end beside the end.
        if rest.abs() > LITTLE * (self.to - self.from).abs() {
            let by = number(at + rest).0 - number(at).0;
            steps.push(("the rest together".to_owned(), by));
        }
        Some(Steps {
            unit,
            decimals,
            from,
            steps,
            to: number(self.to).0,
        })
    }
}

impl Against {
    /// The figure to look at first: the first of some that brewers ask for that differs, or
    /// the one that differs by the largest share of itself.
    #[must_use]
    pub fn foremost(&self) -> Option<&Difference> {
        const FOREMOST: [&str; 4] = ["alcohol", "original_gravity", "bitterness", "final_gravity"];
        let asked = FOREMOST.iter().find_map(|key| self.figure(key));
        let share = |d: &&Difference| ((d.to - d.from) / d.larger()).abs();
        let most = self.figures.iter();
        asked.or_else(|| most.max_by(|a, b| share(a).total_cmp(&share(b))))
    }
}

//! How sure a design is: the batch with its additions, drawn with all that is not known.

use quantity::Units;
use water::Liquor;
use water::design::{Level, Line};

use super::Found;
use super::changes::{apply, changes};
use crate::certainty::{Between, Columns};
use crate::stream::Reckoning;

/// How sure a line of a design is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineSure {
    /// Where the figure lies in nine of ten draws; none where nothing moves it.
    pub between: Option<Between<Level>>,
    /// The share of the draws that are within the tolerance \[–\].
    pub chance: f64,
}

impl LineSure {
    /// The interval, printed; none where nothing moves the figure.
    #[must_use]
    pub fn show(&self, units: Units) -> Option<String> {
        let between = self.between?;
        Some(between.low.show_up_to(&between.high, units))
    }
}

/// How sure each line of a design is, in their order, what it says being weighed into the
/// batch. None for a batch that cannot be drawn.
#[must_use]
pub fn sure(text: &str, r: &Reckoning, found: &Found) -> Option<Vec<LineSure>> {
    let with_it = apply(text, &changes(r, found)).ok()?;
    let lines = &found.design.lines;
    let read = |drawn: &Reckoning| {
        let each = lines.iter().map(|line| came_to(line, drawn));
        let each: Option<Vec<(Level, bool)>> = each.collect();
        let numbers = each?.into_iter();
        let numbers = numbers.flat_map(|(level, met)| [level.canonical(), f64::from(met)]);
        Some(numbers.collect())
    };
    let mut columns = Columns::glanced(&with_it, &read)?;
    let mut of = |line: &Line| {
        let between = columns.next();
        let met: Vec<f64> = columns.numbers().collect();
        LineSure {
            between: between.map(|ends| ends.map(|end| line.figure.level(end))),
            chance: met.iter().sum::<f64>() / met.len().max(1) as f64,
        }
    };
    Some(lines.iter().map(&mut of).collect())
}

fn came_to(line: &Line, drawn: &Reckoning) -> Option<(Level, bool)> {
    match line.liquor {
        Some(Liquor::Mash) => line.with_water(&drawn.water.mash),
        Some(Liquor::Sparge) => line.with_water(&drawn.water.sparge),
        None => line.with_mash_ph(drawn.mash.wort.ph),
    }
}

//! Where draws of a figure lie.

use quantity::{Quantity, Units, show_interval};

use super::nature::TAIL;
use super::summary::quantile;
use super::{Question, drawn_documents, drawn_figures};
use crate::document::Document;
use crate::stream::Reckoning;

/// Fewer draws than this have no ends to speak of (judgement).
const FEW: usize = 10;

/// Less than this of a figure is what solvers leave, not what the draws make \[–\].
const ROUNDING: f64 = 1e-6;

/// Nine of ten draws of a figure lie between these two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between<T> {
    /// Five of a hundred lie below.
    pub low: T,
    /// Five of a hundred lie above.
    pub high: T,
}

impl<T> Between<T> {
    /// Both ends made into something else, in their order.
    pub(crate) fn map<U>(self, f: impl Fn(T) -> U) -> Between<U> {
        Between {
            low: f(self.low),
            high: f(self.high),
        }
    }
}

impl Between<f64> {
    /// Of numbers in any order; none of a few.
    pub(crate) fn of(mut drawn: Vec<f64>) -> Option<Self> {
        if drawn.len() < FEW {
            return None;
        }
        drawn.sort_unstable_by(f64::total_cmp);
        let [low, high] = [TAIL, 1.0 - TAIL].map(|p| quantile(&drawn, p));
        Some(Self { low, high })
    }
}

impl<Q: Quantity> Between<Q> {
    /// Printed in the units of the reader: "5.2–5.6 % vol".
    #[must_use]
    pub fn show(self, units: Units) -> String {
        show_interval(self.low, self.high, units)
    }
}

/// Numbers of many draws, figure by figure.
#[derive(Debug)]
pub(crate) struct Columns {
    rows: Vec<Vec<f64>>,
    next: usize,
}

impl Columns {
    /// What `read` takes from draws of a document, as many as a glance makes; none where
    /// it cannot be drawn.
    pub(crate) fn glanced(
        text: &str,
        read: &(dyn Fn(&Reckoning) -> Option<Vec<f64>> + Sync),
    ) -> Option<Self> {
        let Question { draws, seed, .. } = Question::GLANCE;
        Self::of(drawn_figures(text, draws, seed, read, &|| true).ok()?)
    }

    /// The same from the documents alone.
    pub(crate) fn glanced_at_documents(
        text: &str,
        read: &(dyn Fn(&Document) -> Option<Vec<f64>> + Sync),
    ) -> Option<Self> {
        let Question { draws, seed, .. } = Question::GLANCE;
        Self::of(drawn_documents(text, draws, seed, read).ok()?)
    }

    /// As for the figures of the stream: most draws can be brewed, or nothing is said.
    fn of(drawn: Vec<Option<Vec<f64>>>) -> Option<Self> {
        let draws = drawn.len();
        let rows: Vec<Vec<f64>> = drawn.into_iter().flatten().collect();
        (3 * rows.len() >= 2 * draws).then_some(Self { rows, next: 0 })
    }

    /// All numbers of the next figure.
    pub(crate) fn numbers(&mut self) -> impl Iterator<Item = f64> + '_ {
        let at = self.next;
        self.next += 1;
        self.rows.iter().filter_map(move |row| row.get(at).copied())
    }

    /// The next figure; none where nothing moves it.
    pub(crate) fn next(&mut self) -> Option<Between<f64>> {
        let between = Between::of(self.numbers().collect())?;
        let width = between.high - between.low;
        let size = between.high.abs().max(between.low.abs());
        (width > ROUNDING * size).then_some(between)
    }

    /// The next figure with its type.
    pub(crate) fn quantity<Q: Quantity>(&mut self) -> Option<Between<Q>> {
        Some(self.next()?.map(Q::from_canonical))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nine_of_ten_lie_between() {
        let hundred: Vec<f64> = (0..=100).rev().map(f64::from).collect();
        let between = Between::of(hundred).unwrap();
        assert!((between.low - 5.0).abs() < 1e-9 && (between.high - 95.0).abs() < 1e-9);
        assert_eq!(Between::of(vec![1.0; 9]), None);
    }

    #[test]
    fn figures_come_in_the_order_in_which_they_were_read() {
        let rows = (0..20).map(|i| vec![f64::from(i), 7.0, 100.0 + f64::from(i)]);
        let mut columns = Columns {
            rows: rows.collect(),
            next: 0,
        };
        assert!(
            columns
                .next()
                .is_some_and(|b| b.low < b.high && b.high < 20.0)
        );
        assert_eq!(columns.next(), None, "nothing moves it");
        assert!(columns.next().is_some_and(|b| b.low > 99.0));
        assert_eq!(columns.next(), None, "there is no fourth");
    }
}

//! What is aimed at: a figure, and between which ends it would do.

use quantity::Units;

use super::figure::{AIMED, Aimed};
use super::settings::tolerance;
use crate::document::AimSection;
use crate::reader::{Assumption, Fault};
use crate::steer::fault;

/// What is wished of a figure, in its canonical unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wish {
    /// As near as can be; within so much would do. Nought takes the usual.
    Near {
        /// The middle.
        centre: f64,
        /// Half of the width.
        within: f64,
    },
    /// No more than this.
    AtMost(f64),
    /// No less than this.
    AtLeast(f64),
}

/// Where an aim comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum From {
    /// The aim of the document.
    Document,
    /// It was asked for.
    Asked,
    /// The label of the beer that is admired.
    Label,
    /// Readings of a sample of it.
    Sample,
    /// What a tasting of it said.
    Tasting,
    /// What the document comes to as it stands.
    Reached,
}

impl From {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Document => "the aim of the batch",
            Self::Asked => "asked for",
            Self::Label => "the label",
            Self::Sample => "readings of a sample",
            Self::Tasting => "what a tasting of it said (judgement)",
            Self::Reached => "what the batch comes to as it stands",
        }
    }
}

/// A figure and its aim.
#[derive(Debug, Clone, Copy)]
pub struct Goal {
    /// The figure.
    pub figure: &'static Aimed,
    /// The least that would do; none for "at most".
    pub low: Option<f64>,
    /// The most that would do; none for "at least".
    pub high: Option<f64>,
    /// What a miss is measured in: half of the width, or the usual tolerance.
    pub tolerance: f64,
    /// Where it comes from.
    pub from: From,
}

impl Goal {
    /// A goal of a wish; a tolerance that is not said is the usual one of the figure.
    pub(super) fn of(
        figure: &'static Aimed,
        wish: Wish,
        from: From,
        assumptions: &mut Vec<Assumption>,
    ) -> Self {
        let usual = |centre: f64| tolerance(figure.key).of(centre);
        let (low, high, tolerance) = match wish {
            Wish::Near { centre, within } => {
                let within = if within > 0.0 {
                    within
                } else {
                    assumptions.push(tolerance(figure.key).assumed(figure.key));
                    usual(centre)
                };
                (Some(centre - within), Some(centre + within), within)
            }
            Wish::AtMost(most) => (None, Some(most), usual(most)),
            Wish::AtLeast(least) => (Some(least), None, usual(least)),
        };
        Self {
            figure,
            low,
            high,
            tolerance,
            from,
        }
    }

    /// The middle; none where one side is open.
    #[must_use]
    pub fn centre(&self) -> Option<f64> {
        Some(0.5 * (self.low? + self.high?))
    }

    /// How far a value is beyond what would do, in tolerances; nought within.
    #[must_use]
    pub fn beyond(&self, value: f64) -> f64 {
        let below = self.low.map_or(0.0, |low| low - value);
        let above = self.high.map_or(0.0, |high| value - high);
        below.max(above).max(0.0) / self.tolerance
    }

    /// Whether a value would do.
    #[must_use]
    pub fn met(&self, value: f64) -> bool {
        self.beyond(value) <= 1e-9
    }

    /// The aim in words: "28.0 IBU ± 4.0 IBU", "at most 30 IBU".
    #[must_use]
    pub fn words(&self, units: Units) -> String {
        match (self.low, self.high) {
            (Some(low), Some(high)) => {
                let between = self.figure.print_between(low, high, units);
                if high - low < 1e-9 * high.abs() {
                    self.figure.print(high, units)
                } else {
                    between
                }
            }
            (None, Some(most)) => format!("at most {}", self.figure.print(most, units)),
            (Some(least), None) => format!("at least {}", self.figure.print(least, units)),
            (None, None) => "anything".to_owned(),
        }
    }

    /// As an aim of a document, for the search over salts: a side that is open is as wide
    /// as the tolerance.
    pub(super) fn put(&self, section: &mut AimSection) {
        let low = self.low.or(self.high.map(|h| h - 2.0 * self.tolerance));
        let high = self.high.or(self.low.map(|l| l + 2.0 * self.tolerance));
        if let (Some(low), Some(high)) = (low, high) {
            let low = low.max(self.figure.bounds.0);
            // The limit of the sparge liquor is one-sided by itself.
            let centre = if self.figure.key == "sparge_alkalinity" {
                high
            } else {
                0.5 * (low + high)
            };
            (self.figure.put)(section, centre, 0.5 * (high - low));
        }
    }
}

/// The goals of a document's aim.
pub(super) fn of_document(
    aim: Option<&AimSection>,
    assumptions: &mut Vec<Assumption>,
) -> Vec<Goal> {
    let Some(aim) = aim else { return Vec::new() };
    let one = |figure: &'static Aimed| {
        let (centre, within) = (figure.aim)(aim)?;
        let wish = if figure.key == "sparge_alkalinity" {
            Wish::AtMost(centre)
        } else {
            Wish::Near { centre, within }
        };
        Some(Goal::of(figure, wish, From::Document, assumptions))
    };
    AIMED.iter().filter_map(one).collect()
}

/// Reads what is wished of a figure; "free" for no aim.
pub(super) fn asked(
    figure: &'static Aimed,
    text: &str,
    assumptions: &mut Vec<Assumption>,
) -> Result<Option<Goal>, Fault> {
    if text == "free" {
        return Ok(None);
    }
    let wish = figure
        .wish(text)
        .map_err(|error| fault(figure.key, error.fault(), error.help()))?;
    Ok(Some(Goal::of(figure, wish, From::Asked, assumptions)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::figure::aimed;

    fn goal(key: &str, text: &str) -> Goal {
        asked(aimed(key).unwrap(), text, &mut vec![])
            .unwrap()
            .unwrap()
    }

    #[test]
    fn wishes_have_two_sides_or_one() {
        let near = goal("bitterness", "28 ± 4 IBU");
        assert_eq!((near.low, near.high), (Some(24.0), Some(32.0)));
        assert!(near.met(31.0) && (near.beyond(36.0) - 1.0).abs() < 1e-12);
        let most = goal("bitterness", "at most 30 IBU");
        assert!(most.low.is_none() && most.met(0.0) && !most.met(31.0));
        let least = goal("alcohol", "at least 5 %");
        assert!(least.met(0.06) && !least.met(0.049));
        let range = goal("colour", "10-14 EBC");
        assert_eq!((range.low, range.high), (Some(10.0), Some(14.0)));
        let free = asked(aimed("colour").unwrap(), "free", &mut vec![]).unwrap();
        assert!(free.is_none());
    }

    #[test]
    fn a_wish_without_a_spread_says_what_it_takes() {
        let mut taken = vec![];
        let wish = asked(aimed("original_gravity").unwrap(), "1.050", &mut taken);
        assert!(wish.unwrap().unwrap().tolerance > 0.0);
        assert_eq!(taken.len(), 1);
        let wrong = asked(aimed("colour").unwrap(), "dark", &mut taken).unwrap_err();
        assert!(wrong.path == "colour" && !wrong.help.is_empty());
    }
}

//! Whether what was said beforehand came: each batch against what the ones before it made
//! one expect, and against its own plan.
//!
//! A forecast that is as wide as it should be puts what came anywhere in it with the same
//! chance (probability integral transform; A. P. Dawid, J. R. Stat. Soc. A 147 (1984) 278).

use glass::tasting::binomial_at_least;

use super::forget::Forget;
use super::house::{Line, Spoken, lines};
use super::taught::Taught;
use crate::document::Document;

/// Fewer than this are too few to tell (judgement: with twenty, a forecast that is half as
/// wide as it should be is seen four times in five).
const ENOUGH: usize = 20;
/// Shares of the forecast that are looked at.
const SHARES: [f64; 3] = [0.5, 0.8, 0.9];

/// Where what came lay in what was said.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Place of the batch.
    pub batch: usize,
    /// Which constant or figure.
    pub what: String,
    /// Share of the forecast below it.
    pub place: f64,
}

/// How many fell into a share of their forecasts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inside {
    /// The share of the forecast, its middle.
    pub share: f64,
    /// How many fell in.
    pub inside: usize,
    /// Of how many.
    pub of: usize,
}

/// What a check comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Width {
    /// Nothing to go by.
    TooFew,
    /// The forecasts hold what they say.
    AsSaid,
    /// They hold less.
    TooNarrow,
    /// They hold more.
    TooWide,
}

impl Width {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::TooFew => "too few to tell",
            Self::AsSaid => "as wide as they should be, as far as these tell",
            Self::TooNarrow => "too narrow: more came outside than was said",
            Self::TooWide => "wider than they need be",
        }
    }
}

/// Forecasts and what came of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// One by one.
    pub placed: Vec<Placed>,
    /// By shares.
    pub inside: Vec<Inside>,
    /// What it comes to.
    pub width: Width,
}

impl Check {
    fn of(placed: Vec<Placed>) -> Self {
        let of = placed.len();
        let inside: Vec<Inside> = SHARES
            .into_iter()
            .map(|share| Inside {
                share,
                inside: placed
                    .iter()
                    .filter(|p| (p.place - 0.5).abs() <= 0.5 * share)
                    .count(),
                of,
            })
            .collect();
        let width = if of < ENOUGH {
            Width::TooFew
        } else {
            width(&inside)
        };
        Self {
            placed,
            inside,
            width,
        }
    }

    /// How many lie in each tenth of their forecasts.
    #[must_use]
    pub fn tenths(&self) -> [usize; 10] {
        let mut tenths = [0; 10];
        for one in &self.placed {
            let at = (10.0 * one.place.clamp(0.0, 1.0)).floor() as usize;
            if let Some(count) = tenths.get_mut(at.min(9)) {
                *count += 1;
            }
        }
        tenths
    }
}

/// Too few or too many in any share, one time in a hundred by chance.
fn width(inside: &[Inside]) -> Width {
    const BY_CHANCE: f64 = 0.01;
    let fewer = inside.iter().any(|i| at_most(i) < BY_CHANCE);
    let more = inside.iter().any(|i| at_least(i) < BY_CHANCE);
    match (fewer, more) {
        (true, _) => Width::TooNarrow,
        (false, true) => Width::TooWide,
        (false, false) => Width::AsSaid,
    }
}

fn at_least(i: &Inside) -> f64 {
    binomial_at_least(i.inside as u32, i.of as u32, i.share)
}

fn at_most(i: &Inside) -> f64 {
    binomial_at_least((i.of - i.inside) as u32, i.of as u32, 1.0 - i.share)
}

/// Batch after batch, each constant against what the batches before it made one expect.
#[must_use]
pub fn constants(of: &Document, batches: &[Taught], forget: Forget) -> Check {
    let lines = lines(of, batches);
    Check::of(lines.iter().flat_map(|line| line.placed(forget)).collect())
}

/// Each figure of a plan against what came of it; batches that are left out do not count.
#[must_use]
pub fn plans(batches: &[Taught]) -> Check {
    let all = batches.iter().enumerate();
    let counted = all.filter(|(_, batch)| batch.document.learning.left_out.is_none());
    let placed = counted.flat_map(|(place, batch)| {
        batch.came.iter().map(move |came| Placed {
            batch: place,
            what: came.what.to_owned(),
            place: came.place(),
        })
    });
    Check::of(placed.collect())
}

impl Line {
    fn placed(&self, forget: Forget) -> Vec<Placed> {
        let counted: Vec<&Spoken> = self.seen.iter().filter(|s| s.counts).collect();
        let what = match &self.of {
            Some(of) => format!("{}, {of}", self.constant.name()),
            None => self.constant.name().to_owned(),
        };
        let each = counted.iter().enumerate();
        each.map(|(n, spoken)| {
            let before = &counted[..n];
            let days: Vec<Option<f64>> = before.iter().map(|s| s.day).collect();
            let weights = forget.weights_from(&days, spoken.day);
            let before: Vec<_> = before
                .iter()
                .zip(weights)
                .map(|(s, weight)| super::hierarchy::Seen { weight, ..s.seen })
                .collect();
            let seen = spoken.seen;
            let forecast = self.prior.after(&before).next_reading(seen.sd);
            Placed {
                batch: spoken.batch,
                what: what.clone(),
                place: forecast.below(seen.value),
            }
        })
        .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spread(places: impl Iterator<Item = f64>) -> Check {
        let placed = places.map(|place| Placed {
            batch: 0,
            what: "x".to_owned(),
            place,
        });
        Check::of(placed.collect())
    }

    #[test]
    fn forecasts_that_are_too_narrow_or_too_wide_are_told() {
        let even = |n: u32| (0..n).map(move |i| (f64::from(i) + 0.5) / f64::from(n));
        assert_eq!(spread(even(10)).width, Width::TooFew);
        assert_eq!(spread(even(60)).width, Width::AsSaid);
        assert_eq!(spread(even(60)).tenths(), [6; 10]);
        let ends = even(60).map(|x| {
            if x < 0.5 {
                x * 0.1
            } else {
                1.0 - (1.0 - x) * 0.1
            }
        });
        assert_eq!(spread(ends).width, Width::TooNarrow);
        assert_eq!(
            spread(even(60).map(|x| 0.5 + 0.4 * (x - 0.5))).width,
            Width::TooWide
        );
    }
}

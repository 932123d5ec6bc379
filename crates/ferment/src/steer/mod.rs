//! Steering: the temperatures, and the pitch, that serve a wish best.
//!
//! A course is a few knots at even times, straight lines between them. What is
//! asked of the end of it is made least or most under limits, by a search with
//! the exact slopes of the equations (`search`) from several seeded starts: such
//! problems have more than one summit, so a better course may exist.

//!
//! [`Steering`] is a batch on the course model: its end and its pitch are free too, its
//! aims are weighed, and how it does in the batches that may come is told ([`Chances`]).

mod chance;
mod figures;
mod lager;
mod quadratic;
mod search;
mod standing;
mod steering;
mod table;
mod wish;

use quantity::{Duration, Temperature, TemperatureDifference};

use crate::error::{FermentError, within};
use crate::plan::FermentPlan;
use crate::solver::{Real, Segment};
use crate::temperature::CoursePoint;

pub use chance::Chances;
pub use figures::Figures;
pub use lager::{LagerLimits, SteeredLager, most_ethanol};
pub use standing::{Standing, standing};
pub use steering::{Best, Block, Change, Steered, Steering};
pub use table::{sources, usual_steepest};
pub use wish::{Aim, Figure, Goal, Limit, Wish};

use search::{Room, Slope};

/// What temperatures may be asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The coldest.
    pub coldest: Temperature,
    /// The warmest.
    pub warmest: Temperature,
    /// The most that it may change in an hour, if the vessel sets a limit.
    pub steepest: Option<TemperatureDifference>,
}

/// How hard to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Starts of the search.
    pub starts: usize,
    /// Seed of the starts.
    pub seed: u64,
}

impl Default for Effort {
    fn default() -> Self {
        Self { starts: 8, seed: 1 }
    }
}

impl Range {
    fn check(&self) -> Result<(), FermentError> {
        within("coldest temperature", self.coldest, -1.0, 45.0)?;
        within("warmest temperature", self.warmest, self.coldest.c(), 45.0)?;
        if let Some(steepest) = self.steepest {
            within("change of temperature in an hour", steepest, 0.001, 100.0)?;
        }
        Ok(())
    }

    /// Room for K temperatures at even times up to an end, the first of P numbers.
    fn room<const P: usize>(&self, knots: usize, end: Duration) -> Room<P> {
        let mut room = Room {
            low: [self.coldest.c(); P],
            high: [self.warmest.c(); P],
            rows: Vec::new(),
        };
        let between_h = end.h() / (knots.max(2) - 1) as f64;
        for knot in 1..knots {
            for sign in [1.0, -1.0] {
                let mut row = [0.0; P];
                (row[knot - 1], row[knot]) = (-sign, sign);
                room.rows.extend(
                    self.steepest
                        .map(|steepest| (row, steepest.k() * between_h)),
                );
            }
        }
        room
    }
}

/// Straight lines through temperatures at even times up to an end.
fn lines<T: Real>(temps_c: &[T], end: Duration) -> Vec<Segment<T>> {
    let between_h = end.h() / (temps_c.len() - 1) as f64;
    let ends = temps_c.iter().zip(temps_c.iter().skip(1)).enumerate();
    ends.map(|(i, (a, b))| {
        let at = |i: usize| i as f64 * between_h;
        Segment::between((at(i), *a), (at(i + 1), *b))
    })
    .collect()
}

fn points(temps_c: &[f64], end: Duration) -> Vec<CoursePoint> {
    let last = (temps_c.len() - 1) as f64;
    let point = |(i, c): (usize, &f64)| CoursePoint {
        at: Duration::from_h(end.h() * i as f64 / last),
        temperature: Temperature::from_c(*c),
    };
    temps_c.iter().enumerate().map(point).collect()
}

/// The starts of a search: level courses through the range first, then random
/// ones.
fn starts<const P: usize>(room: &Room<P>, effort: Effort) -> Vec<[f64; P]> {
    let mut seed = effort.seed;
    let level =
        |share: f64| std::array::from_fn(|i| room.low[i] + share * (room.high[i] - room.low[i]));
    let levels = [0.5, 0.75, 0.25].map(level);
    let random = std::iter::repeat_with(|| room.random(&mut seed));
    levels
        .into_iter()
        .chain(random)
        .take(effort.starts.max(1))
        .collect()
}

#[cfg(test)]
mod tests;

//! Chlorine over time by method, for a chart.

use quantity::{Chlorine, Duration};

use super::DisinfectantError;
use super::table::table;
use super::ways::{Task, Way, checked, way_out};
use crate::dechlorination::stood;
use crate::dechlorination::{Dechlorination, dechlorinate};
use crate::state::ResidualChlorine;

/// What one way leaves over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The way.
    pub way: Way,
    /// From the beginning to the end.
    pub points: Vec<LinePoint>,
}

/// What is left at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinePoint {
    /// Since the way began; for boiling since the boil, for carbon of the water that
    /// has run through.
    pub time: Duration,
    /// Total chlorine expected.
    pub expected: Chlorine,
    /// The most that it can plausibly be.
    pub at_most: Chlorine,
}

/// Chlorine over time for some ways, at the times given.
///
/// A reagent is stirred in within a minute and is relied on after ten, so its
/// expected value falls sooner than its bound.
///
/// # Errors
/// Those of [`ways_out`](super::ways_out), and
/// [`ChloramineError::TimesNotRising`](crate::chloramine::ChloramineError::TimesNotRising).
pub fn courses(
    task: &Task,
    ways: &[Way],
    times: &[Duration],
) -> Result<Vec<Line>, DisinfectantError> {
    checked(task)?;
    ways.iter()
        .map(|way| {
            Ok(Line {
                way: *way,
                points: points(task, *way, times)?,
            })
        })
        .collect()
}

fn points(task: &Task, way: Way, times: &[Duration]) -> Result<Vec<LinePoint>, DisinfectantError> {
    if way == Way::Stand {
        let left = stood(&task.water, task.temperature, times)?.residuals;
        return Ok(times
            .iter()
            .zip(&left)
            .map(|(t, left)| point(*t, left))
            .collect());
    }
    let timed = |time: Duration| match way {
        Way::Boil => Some(Dechlorination::BoilLiquor { time }),
        Way::Aerate => Some(Dechlorination::Aerate { time }),
        _ => None,
    };
    let before = dechlorinate(&task.water, task.volumes, &Dechlorination::None)?.residual;
    let after = way_out(task, way)?.residual;
    times
        .iter()
        .map(|time| match timed(*time) {
            Some(how) => {
                let left = dechlorinate(&task.water, task.volumes, &how)?.residual;
                Ok(point(*time, &left))
            }
            None => Ok(stepped(way, *time, &before, &after)),
        })
        .collect()
}

fn point(time: Duration, left: &ResidualChlorine) -> LinePoint {
    LinePoint {
        time,
        expected: left.total(),
        at_most: left.at_most,
    }
}

/// A way that acts at once, or as soon as it is stirred in.
fn stepped(
    way: Way,
    time: Duration,
    before: &ResidualChlorine,
    after: &ResidualChlorine,
) -> LinePoint {
    let (expected_from, sure_from) = match way {
        Way::Reagent(_) | Way::Peroxide => (table().stirred, table().settled),
        _ => (Duration::default(), Duration::default()),
    };
    LinePoint {
        time,
        expected: if time >= expected_from {
            after.total()
        } else {
            before.total()
        },
        at_most: if time >= sure_from {
            after.at_most
        } else {
            before.at_most
        },
    }
}

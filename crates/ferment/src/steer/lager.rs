//! The steering problem of the literature, on the model of de Andrés-Toro et al.

use quantity::Duration;

use super::search::{NO_EXCESS, Slope, Valued, best_of};
use super::{CoursePoint, Effort, Range, lines, points, starts};
use crate::error::{FermentError, within, within_numbers};
use crate::kinetics::published::{AndresToro1998, Lager};
use crate::solver::{Real, solve_along};

/// Limits at the end of the course \[mg/L\], on the scale of that model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LagerLimits {
    /// Ethyl acetate at most.
    pub ethyl_acetate: f64,
    /// Diacetyl at most.
    pub diacetyl: f64,
}

/// The best course found, and where the searches ended.
#[derive(Debug, Clone, PartialEq)]
pub struct SteeredLager {
    /// The course.
    pub course: Vec<CoursePoint>,
    /// Ethanol at its end \[g/L\].
    pub ethanol: f64,
    /// Ethanol at the end of each search that kept the limits \[g/L\].
    pub summits: Vec<f64>,
}

/// The course of K temperatures at even times that ends with the most ethanol
/// under limits, after D. Rodman, D.I. Gerogiorgis, Comput. Chem. Eng. 2017
/// (abstract read). Nothing if no search met the limits.
///
/// # Errors
/// [`FermentError::OutsideModel`] and [`FermentError::Impossible`] for what the
/// model cannot be asked.
pub fn most_ethanol<const K: usize>(
    start: [f64; 7],
    end: Duration,
    range: Range,
    limits: LagerLimits,
    effort: Effort,
) -> Result<Option<SteeredLager>, FermentError> {
    range.check()?;
    within("end of the course", end, 1.0, 2000.0)?;
    within_numbers("knots of the course", K as f64, 2.0, 50.0)?;
    within_numbers("limit of ethyl acetate", limits.ethyl_acetate, 1e-6, 1e3)?;
    within_numbers("limit of diacetyl", limits.diacetyl, 1e-6, 1e3)?;
    let model = AndresToro1998 {
        tolerance: 1e-7,
        ..AndresToro1998::default()
    };
    for temperature in [range.coldest, range.warmest] {
        let course = crate::TemperatureCourse::level(temperature)?;
        model.solve(start, &course, &[Duration::from_h(1.0)])?;
    }
    let value = |temps_c: &[Slope<K>; K]| {
        let system = Lager {
            model,
            sugar_at_start: Slope::of(start[3]),
        };
        let segments = lines(temps_c, end);
        let ends = solve_along(&system, start.map(Slope::of), &segments, &[end.h()]).ok()?;
        let [.., ethanol, ethyl_acetate, diacetyl] = *ends.first()?;
        Some(Valued {
            aim: -ethanol,
            limits: vec![
                ethyl_acetate / limits.ethyl_acetate - 1.0,
                diacetyl / limits.diacetyl - 1.0,
            ],
        })
    };
    let room = range.room(K, end);
    let (best, ends) = best_of(value, &room, &starts(&room, effort), NO_EXCESS);
    Ok(best.map(|best| SteeredLager {
        course: points(&best.at, end),
        ethanol: -best.aim,
        summits: ends
            .iter()
            .filter(|e| e.excess <= NO_EXCESS)
            .map(|e| -e.aim)
            .collect(),
    }))
}

//! The temperature of a fermentation over time, and what temperature does to a
//! rate.

use quantity::{Duration, Temperature};

use crate::error::{FermentError, within};
use crate::solver::Real;

/// Knots closer together than this are one jump \[h\].
const JUMP_H: f64 = 1e-6;

/// A point of a temperature course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoursePoint {
    /// Time since pitching.
    pub at: Duration,
    /// Temperature of the beer at that time.
    pub temperature: Temperature,
}

/// A temperature over time: straight lines between points, level before the
/// first and after the last. Two points at one time are a jump.
#[derive(Debug, Clone, PartialEq)]
pub struct TemperatureCourse {
    /// (h, °C), in order of time.
    knots: Vec<(f64, f64)>,
}

/// A stretch of a course on which temperature is one straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) from_h: f64,
    pub(crate) to_h: f64,
    pub(crate) from_c: f64,
    pub(crate) to_c: f64,
}

impl Stretch {
    /// The temperature \[°C\], held beyond both ends: a solver that looks for its
    /// first step may probe far past the stretch.
    pub(crate) fn temp_c(&self, t_h: f64) -> f64 {
        let share = ((t_h - self.from_h) / (self.to_h - self.from_h)).clamp(0.0, 1.0);
        self.from_c + (self.to_c - self.from_c) * share
    }
}

impl TemperatureCourse {
    /// A course through points in order of time.
    ///
    /// # Errors
    /// [`FermentError::EmptyCourse`] without a point,
    /// [`FermentError::CourseBackwards`] where time runs back,
    /// [`FermentError::Impossible`] outside −2 to 50 °C or 0 to 10 000 h.
    pub fn new(points: &[CoursePoint]) -> Result<Self, FermentError> {
        let mut knots: Vec<(f64, f64)> = Vec::with_capacity(points.len());
        for point in points {
            let at_h = within("time of a course point", point.at, 0.0, 1e4)?.h();
            let temp_c = within(
                "temperature of a course point",
                point.temperature,
                -2.0,
                50.0,
            )?
            .c();
            if let Some((before_h, _)) = knots.last().filter(|(before_h, _)| at_h < *before_h) {
                return Err(FermentError::CourseBackwards {
                    at: point.at,
                    before: Duration::from_h(*before_h),
                });
            }
            knots.push((at_h, temp_c));
        }
        if knots.is_empty() {
            return Err(FermentError::EmptyCourse);
        }
        Ok(Self { knots })
    }

    /// A course that keeps one temperature.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn level(temperature: Temperature) -> Result<Self, FermentError> {
        Self::new(&[CoursePoint {
            at: Duration::from_h(0.0),
            temperature,
        }])
    }

    /// The temperature at a time; at a jump, the one after it.
    #[must_use]
    pub fn at(&self, time: Duration) -> Temperature {
        Temperature::from_c(self.temp_c(time.h()))
    }

    pub(crate) fn temp_c(&self, t_h: f64) -> f64 {
        let after = self.knots.iter().position(|(h, _)| *h > t_h);
        let before = match after {
            Some(0) | None => None,
            Some(i) => self.knots.get(i - 1).zip(self.knots.get(i)),
        };
        match (before, after) {
            (Some((a, b)), _) => Stretch {
                from_h: a.0,
                to_h: b.0,
                from_c: a.1,
                to_c: b.1,
            }
            .temp_c(t_h),
            (None, Some(_)) => self.knots.first().map_or(0.0, |k| k.1),
            (None, None) => self.knots.last().map_or(0.0, |k| k.1),
        }
    }

    /// The straight stretches that make up the course from pitching to an end;
    /// neighbours on one line are one stretch.
    pub(crate) fn stretches(&self, until_h: f64) -> Vec<Stretch> {
        let (first, last) = match (self.knots.first(), self.knots.last()) {
            (Some(first), Some(last)) => (*first, *last),
            _ => return Vec::new(),
        };
        let mut corners = vec![(0.0, first.1)];
        corners.extend(self.knots.iter().copied().filter(|(h, _)| *h < until_h));
        let end = if last.0 < until_h {
            last.1
        } else {
            self.temp_c_from_below(until_h)
        };
        if last.0 < until_h {
            corners.push((last.0, last.1));
        }
        corners.push((until_h, end));
        let mut out: Vec<Stretch> = Vec::new();
        for (a, b) in corners.iter().zip(corners.iter().skip(1)) {
            if b.0 - a.0 < JUMP_H {
                continue;
            }
            let next = Stretch {
                from_h: a.0,
                to_h: b.0,
                from_c: a.1,
                to_c: b.1,
            };
            match out.last_mut() {
                Some(previous) if continues(previous, &next) => {
                    previous.to_h = next.to_h;
                    previous.to_c = next.to_c;
                }
                _ => out.push(next),
            }
        }
        out
    }

    /// The temperature just before a time, which at a jump is the one before it.
    pub(crate) fn temp_c_from_below(&self, t_h: f64) -> f64 {
        let after = self.knots.iter().position(|(h, _)| *h >= t_h);
        let ends = after
            .filter(|i| *i > 0)
            .and_then(|i| self.knots.get(i - 1).zip(self.knots.get(i)));
        match ends {
            Some((a, b)) if b.0 - a.0 >= JUMP_H => Stretch {
                from_h: a.0,
                to_h: b.0,
                from_c: a.1,
                to_c: b.1,
            }
            .temp_c(t_h),
            _ => self.temp_c(t_h),
        }
    }

    /// The warmest from one time to another \[°C\].
    pub(crate) fn warmest_c(&self, from_h: f64, to_h: f64) -> f64 {
        self.extreme(from_h, to_h, f64::max)
    }

    /// The coldest from one time to another \[°C\].
    pub(crate) fn coldest_c(&self, from_h: f64, to_h: f64) -> f64 {
        self.extreme(from_h, to_h, f64::min)
    }

    fn extreme(&self, from_h: f64, to_h: f64, pick: fn(f64, f64) -> f64) -> f64 {
        let ends = pick(self.temp_c(from_h), self.temp_c_from_below(to_h));
        self.knots
            .iter()
            .filter(|(h, _)| from_h < *h && *h < to_h)
            .fold(ends, |acc, (_, c)| pick(acc, *c))
    }

    /// The last time that the course names \[h\].
    pub(crate) fn last_h(&self) -> f64 {
        self.knots.last().map_or(0.0, |k| k.0)
    }
}

fn continues(a: &Stretch, b: &Stretch) -> bool {
    let slope = |s: &Stretch| (s.to_c - s.from_c) / (s.to_h - s.from_h);
    (a.to_c - b.from_c).abs() < 1e-9 && (slope(a) - slope(b)).abs() < 1e-9
}

/// Least, best and greatest temperature of a process \[°C\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Cardinal {
    pub(crate) min_c: f64,
    pub(crate) best_c: f64,
    pub(crate) max_c: f64,
}

impl Cardinal {
    /// Rate relative to the one at the best temperature \[–\], zero outside the
    /// ends.
    ///
    /// Rosso, Lobry, Flandrois 1993 (J. Theor. Biol. 162, 447; from memory):
    /// γ = (T − T_max)(T − T_min)² / {(T_o − T_min)[(T_o − T_min)(T − T_o) −
    /// (T_o − T_max)(T_o + T_min − 2T)]}.
    pub(crate) fn factor<T: Real>(&self, temp_c: T) -> T {
        let (low, best, high) = (self.min_c, self.best_c, self.max_c);
        let (above, below) = (temp_c - low, -temp_c + high);
        let inner = (temp_c - best) * (best - low) + (temp_c * 2.0 - (best + low)) * (best - high);
        let factor = -(below * above * above) / (inner * (best - low));
        factor.gated(above).gated(below)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn course(points: &[(f64, f64)]) -> TemperatureCourse {
        let points: Vec<CoursePoint> = points
            .iter()
            .map(|(h, c)| CoursePoint {
                at: Duration::from_h(*h),
                temperature: Temperature::from_c(*c),
            })
            .collect();
        TemperatureCourse::new(&points).unwrap()
    }

    #[test]
    fn lines_between_points_level_outside() {
        let c = course(&[(10.0, 10.0), (20.0, 20.0), (20.0, 5.0), (30.0, 5.0)]);
        for (h, temp_c) in [
            (0.0, 10.0),
            (15.0, 15.0),
            (20.0, 5.0),
            (25.0, 5.0),
            (99.0, 5.0),
        ] {
            assert!((c.temp_c(h) - temp_c).abs() < 1e-12, "{h}");
        }
        let stretches = c.stretches(40.0);
        assert_eq!(stretches.len(), 3, "{stretches:?}");
        assert!((c.warmest_c(0.0, 40.0) - 20.0).abs() < 1e-12);
        assert!((c.warmest_c(20.0, 40.0) - 5.0).abs() < 1e-12);
        assert!((c.coldest_c(0.0, 19.0) - 10.0).abs() < 1e-12);
        assert!(
            (c.warmest_c(12.0, 20.0) - 20.0).abs() < 1e-12,
            "the end before the jump"
        );
    }

    #[test]
    fn a_course_must_run_forward() {
        assert_eq!(TemperatureCourse::new(&[]), Err(FermentError::EmptyCourse));
        let point = |h| CoursePoint {
            at: Duration::from_h(h),
            temperature: Temperature::from_c(20.0),
        };
        let error = TemperatureCourse::new(&[point(5.0), point(1.0)]).unwrap_err();
        assert!(matches!(error, FermentError::CourseBackwards { .. }));
        assert!(TemperatureCourse::level(Temperature::from_c(f64::NAN)).is_err());
    }

    proptest! {
        #[test]
        fn stretches_cover_the_time_and_agree_with_the_course(
            steps in prop::collection::vec((0.0..40.0f64, 0.0..35.0f64), 1..8),
            until in 1.0..300.0f64,
        ) {
            let mut at = 0.0;
            let points: Vec<(f64, f64)> = steps
                .iter()
                .map(|(dt, c)| { at += if *dt < 5.0 { 0.0 } else { *dt }; (at, *c) })
                .collect();
            let c = course(&points);
            let stretches = c.stretches(until);
            let mut reached = 0.0;
            for s in &stretches {
                prop_assert!((s.from_h - reached).abs() < 1e-9);
                reached = s.to_h;
                let middle = 0.5 * (s.from_h + s.to_h);
                prop_assert!((s.temp_c(middle) - c.temp_c(middle)).abs() < 1e-6);
            }
            prop_assert!((reached - until).abs() < 1e-9);
        }

        #[test]
        fn the_cardinal_factor_peaks_at_the_best(
            low in 0.0..8.0f64, best in 24.0..34.0f64, above in 5.0..10.0f64, t in -5.0..50.0f64,
        ) {
            let c = Cardinal { min_c: low, best_c: best, max_c: best + above };
            prop_assert!((0.0..=1.0 + 1e-9).contains(&c.factor(t)));
            prop_assert!((c.factor(best) - 1.0).abs() < 1e-12);
            prop_assert!(c.factor(low - 1.0) == 0.0 && c.factor(best + above + 1.0) == 0.0);
        }
    }
}

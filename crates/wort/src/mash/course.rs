//! The temperature of the mash over time: as planned, and as it was read.

use quantity::{Duration, Temperature};

use crate::heat::{Schedule, Tun};

/// A temperature that was read in the mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureReading {
    /// How long after mashing in.
    pub after: Duration,
    /// What was read.
    pub temperature: Temperature,
}

/// Temperatures of a mash over time, straight between points.
#[derive(Debug, Clone, PartialEq)]
pub struct MashCourse {
    /// Minutes and °C, by time.
    points: Vec<(f64, f64)>,
    /// When its temperature is changed: from and to \[min\].
    moves: Vec<(f64, f64)>,
    /// What comes back boiled: when \[min\], and the shares of liquor and grain.
    boiled: Vec<(f64, f64, f64)>,
    /// Share of its distance to the room that it loses in a minute.
    cools_per_min: f64,
}

impl MashCourse {
    /// The course as planned.
    #[must_use]
    pub(crate) fn planned(schedule: Schedule, tun: &Tun) -> Self {
        Self {
            points: schedule.points,
            moves: schedule.moves,
            boiled: schedule.boiled,
            cools_per_min: tun.cools_per_min(),
        }
    }

    /// The course with what was read: as far off the plan as each reading is, straight in
    /// between. Before the first reading that holds for the rest in which it was taken;
    /// after the last one the mash comes back to the plan as it cools, and with the next
    /// step.
    #[must_use]
    pub(crate) fn with_readings(self, readings: &[TemperatureReading]) -> Self {
        let mut off: Vec<(f64, f64)> = readings
            .iter()
            .map(|r| (r.after.min().max(0.0), r.temperature.c()))
            .map(|(min, c)| (min, c - self.at(Duration::from_min(min)).c()))
            .collect();
        off.sort_by(|a, b| a.0.total_cmp(&b.0));
        off.dedup_by(|later, first| (later.0 - first.0).abs() < 1e-9);
        let (Some(first), Some(last)) = (off.first().copied(), off.last().copied()) else {
            return self;
        };
        let rest_begins = self.rest_around(first.0).0;
        let rest_ends = self.rest_around(last.0).1;
        let off_at = |min: f64| {
            if min < rest_begins - 1e-9 || min > rest_ends + 1e-9 {
                0.0
            } else if min <= last.0 {
                crate::numeric::interpolate(&off, min)
            } else {
                last.1 * (-self.cools_per_min * (min - last.0)).exp()
            }
        };
        let planned = self.points.iter().map(|p| p.0);
        let mut times: Vec<f64> = planned.chain(off.iter().map(|r| r.0)).collect();
        times.sort_by(f64::total_cmp);
        times.dedup_by(|later, first| (*later - *first).abs() < 1e-9);
        let at = |min: f64| (min, self.at(Duration::from_min(min)).c() + off_at(min));
        Self {
            points: times.into_iter().map(at).collect(),
            ..self
        }
    }

    /// When the rest around a time begins and ends \[min\]; of a step, the step itself and
    /// the rest after it.
    pub(super) fn rest_around(&self, min: f64) -> (f64, f64) {
        let mut begun = self.moves.iter().filter(|(from, _)| *from < min - 1e-9);
        let begins = begun
            .next_back()
            .map_or(0.0, |(from, to)| if *to > min { *from } else { *to });
        let mut to_come = self.moves.iter().filter(|(from, _)| *from >= min - 1e-9);
        (
            begins,
            to_come.next().map_or(f64::INFINITY, |(from, _)| *from),
        )
    }

    /// What comes back boiled: when \[min\], and the shares of liquor and grain.
    pub(crate) fn boiled(&self) -> &[(f64, f64, f64)] {
        &self.boiled
    }

    /// Temperature at a time; before and after the course that of its ends.
    #[must_use]
    pub fn at(&self, after: Duration) -> Temperature {
        Temperature::from_c(crate::numeric::interpolate(&self.points, after.min()))
    }

    /// Temperature at its end.
    #[must_use]
    pub(crate) fn ends(&self) -> Temperature {
        self.at(self.lasts())
    }

    /// How long it lasts.
    #[must_use]
    pub fn lasts(&self) -> Duration {
        Duration::from_min(self.points.last().map_or(0.0, |p| p.0))
    }

    /// Its points by time: straight between them.
    pub fn points(&self) -> impl Iterator<Item = (Duration, Temperature)> + '_ {
        let points = self.points.iter();
        points.map(|(min, c)| (Duration::from_min(*min), Temperature::from_c(*c)))
    }

    /// The same, its last temperature held for longer or for less long.
    #[must_use]
    pub(crate) fn lasting(mut self, min: f64) -> Self {
        let end_c = self.at(Duration::from_min(min)).c();
        self.points.retain(|p| p.0 < min);
        self.points.push((min, end_c));
        self
    }

    /// Stretches of the course, each from and to minutes and °C.
    pub(crate) fn stretches(&self) -> impl Iterator<Item = ((f64, f64), (f64, f64))> + '_ {
        self.points.windows(2).filter_map(|pair| match pair {
            [a, b] if b.0 > a.0 => Some((*a, *b)),
            _ => None,
        })
    }
}

#[cfg(test)]
impl MashCourse {
    /// Level rests, two minutes apart.
    pub(crate) fn level(rests: &[(f64, f64)]) -> Self {
        let (mut points, mut moves, mut now_min) = (Vec::new(), Vec::new(), 0.0);
        for (n, (temp_c, min)) in rests.iter().enumerate() {
            if n > 0 {
                moves.push((now_min, now_min + 2.0));
                now_min += 2.0;
            }
            points.extend([(now_min, *temp_c), (now_min + min, *temp_c)]);
            now_min += min;
        }
        Self {
            points,
            moves,
            boiled: Vec::new(),
            cools_per_min: 0.0,
        }
    }

    /// The same with a part of it boiled: when, and the shares of liquor and grain.
    pub(crate) fn with_boiled(self, boiled: (f64, f64, f64)) -> Self {
        Self {
            boiled: vec![boiled],
            ..self
        }
    }

    /// The same in a tun that cools.
    pub(crate) fn cooling(self, cools_per_min: f64) -> Self {
        Self {
            cools_per_min,
            ..self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(min: f64, c: f64) -> TemperatureReading {
        TemperatureReading {
            after: Duration::from_min(min),
            temperature: Temperature::from_c(c),
        }
    }

    #[test]
    fn readings_pull_the_course_until_the_plan_moves_on() {
        let planned = MashCourse::level(&[(52.0, 15.0), (64.0, 30.0), (72.0, 20.0)]);
        let course = planned
            .clone()
            .with_readings(&[reading(30.0, 61.0), reading(20.0, 61.5)]);
        let at = |min| course.at(Duration::from_min(min)).c();
        assert!((at(5.0) - 52.0).abs() < 1e-9, "that rest was not read");
        assert!((at(18.0) - 61.5).abs() < 1e-9, "so it was from its begin");
        assert!((at(25.0) - 61.25).abs() < 1e-9);
        assert!((at(46.0) - 61.0).abs() < 1e-9, "until the plan moves on");
        assert!((at(49.0) - 72.0).abs() < 1e-9);
        assert!((course.lasts().min() - 69.0).abs() < 1e-9);
        assert_eq!(planned.clone().with_readings(&[]), planned);
        assert!((planned.lasting(80.0).lasts().min() - 80.0).abs() < 1e-9);
    }

    /// Two mashes that cool by the same law come nearer to each other by it.
    #[test]
    fn what_is_off_decays_as_the_tun_cools() {
        let course = MashCourse::level(&[(64.0, 60.0)]).cooling(0.01);
        let read = course.with_readings(&[reading(10.0, 66.0)]);
        let end_c = read.at(Duration::from_min(60.0)).c();
        assert!(
            (end_c - 64.0 - 2.0 * (-0.5f64).exp()).abs() < 1e-9,
            "{end_c}"
        );
    }
}

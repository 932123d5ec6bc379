//! The temperature of the mash over time: as planned, and as it was read.

use quantity::{Duration, Power, Temperature};

use crate::plan::{MashPlan, Stepping};

/// Time that boiling water or a decoction takes to go in \[min\] (judgement).
const POURING_MIN: f64 = 2.0;
/// How fast a mash is heated where the power is not known \[°C/min\] (common practice).
const USUAL_HEATING_C_PER_MIN: f64 = 1.0;
/// Heat of a kilogram of water \[kJ/K\].
pub(crate) const WATER_KJ_PER_KG_K: f64 = 4.187;

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
}

impl MashCourse {
    /// The course as planned. Heating takes its time by the heat to be brought and the
    /// power, or 1 °C a minute where the power is not known; `heat_kg` is the heat
    /// capacity of mash and tun as kilograms of water.
    #[must_use]
    pub(crate) fn planned(plan: &MashPlan, heat_kg: f64) -> Self {
        let mut points: Vec<(f64, f64)> = Vec::new();
        let mut now_min = 0.0;
        for rest in &plan.rests {
            let temp_c = rest.temperature.c();
            if let Some((_, before_c)) = points.last() {
                now_min += step_min(plan, heat_kg, temp_c - before_c);
            }
            points.push((now_min, temp_c));
            now_min += rest.duration.min();
            points.push((now_min, temp_c));
        }
        Self { points }
    }

    /// The course with what was read: straight through the readings, and after the last
    /// one held there until the plan next changes the temperature.
    #[must_use]
    pub(crate) fn with_readings(self, readings: &[TemperatureReading]) -> Self {
        let mut read: Vec<(f64, f64)> = readings
            .iter()
            .map(|r| (r.after.min().max(0.0), r.temperature.c()))
            .collect();
        read.sort_by(|a, b| a.0.total_cmp(&b.0));
        read.dedup_by(|later, first| (later.0 - first.0).abs() < 1e-9);
        let (Some(first), Some(last)) = (read.first().copied(), read.last().copied()) else {
            return self;
        };
        let mut points = Vec::new();
        if first.0 > 0.0 {
            // Nothing was read before: it was then as it was read first.
            points.push((0.0, first.1));
        }
        points.extend(read.iter().copied());
        // Until the plan moves on, the mash stays as it was read last.
        let mut moved = false;
        for pair in self.points.windows(2) {
            let [(_, from_c), (to_min, to_c)] = pair else {
                continue;
            };
            if *to_min <= last.0 {
                continue;
            }
            let step = (to_c - from_c).abs() > 1e-9;
            if step && !moved {
                let starts = pair.first().map_or(last.0, |p| p.0.max(last.0));
                if starts > last.0 {
                    points.push((starts, last.1));
                }
            }
            moved |= step;
            points.push((*to_min, if moved { *to_c } else { last.1 }));
        }
        Self { points }
    }

    /// Temperature at a time; before and after the course that of its ends.
    #[must_use]
    pub fn at(&self, after: Duration) -> Temperature {
        Temperature::from_c(crate::numeric::interpolate(&self.points, after.min()))
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

fn step_min(plan: &MashPlan, heat_kg: f64, rise_c: f64) -> f64 {
    match plan.stepping {
        Stepping::Infusion | Stepping::Decoction => POURING_MIN,
        Stepping::Heat => heating_min(plan.power, heat_kg, rise_c),
    }
}

/// Time that a change of temperature takes \[min\].
pub(super) fn heating_min(power: Option<Power>, heat_kg: f64, rise_c: f64) -> f64 {
    match power {
        Some(power) if power.kw() > 0.0 => {
            heat_kg * WATER_KJ_PER_KG_K * rise_c.abs() / power.kw() / 60.0
        }
        _ => rise_c.abs() / USUAL_HEATING_C_PER_MIN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Rest;
    use quantity::VolumePerMass;

    fn plan(stepping: Stepping) -> MashPlan {
        let rest = |c, min| Rest {
            temperature: Temperature::from_c(c),
            duration: Duration::from_min(min),
        };
        MashPlan {
            rests: vec![rest(52.0, 15.0), rest(64.0, 30.0), rest(72.0, 20.0)],
            stepping,
            ..MashPlan::single(
                VolumePerMass::from_l_per_kg(3.0),
                Temperature::from_c(64.0),
                Duration::from_min(60.0),
            )
        }
    }

    fn points(course: &MashCourse) -> Vec<(f64, f64)> {
        course.points.clone()
    }

    #[test]
    fn heating_takes_its_time_and_pouring_little() {
        let slow = MashCourse::planned(&plan(Stepping::Heat), 18.0);
        assert_eq!(
            points(&slow),
            [
                (0.0, 52.0),
                (15.0, 52.0),
                (27.0, 64.0),
                (57.0, 64.0),
                (65.0, 72.0),
                (85.0, 72.0)
            ]
        );
        let strong = MashPlan {
            power: Some(Power::from_kw(2.0)),
            ..plan(Stepping::Heat)
        };
        let quick = MashCourse::planned(&strong, 18.0);
        // 18 kg, 12 K, 4.187 kJ/(kg K) at 2 kW: 452 s.
        assert!((points(&quick)[2].0 - 15.0 - 452.2 / 60.0).abs() < 0.01);
        let poured = MashCourse::planned(&plan(Stepping::Infusion), 18.0);
        assert!((poured.lasts().min() - 69.0).abs() < 1e-9);
    }

    #[test]
    fn readings_pull_the_course_until_the_plan_moves_on() {
        let reading = |min, c| TemperatureReading {
            after: Duration::from_min(min),
            temperature: Temperature::from_c(c),
        };
        let course = MashCourse::planned(&plan(Stepping::Infusion), 18.0)
            .with_readings(&[reading(30.0, 61.0), reading(20.0, 61.5)]);
        let at = |min| course.at(Duration::from_min(min)).c();
        assert!((at(5.0) - 61.5).abs() < 1e-9, "nothing was read before");
        assert!((at(25.0) - 61.25).abs() < 1e-9);
        assert!(
            (at(46.0) - 61.0).abs() < 1e-9,
            "held until the plan moves on"
        );
        assert!((at(49.0) - 72.0).abs() < 1e-9);
        assert!((course.lasts().min() - 69.0).abs() < 1e-9);
        let none = MashCourse::planned(&plan(Stepping::Infusion), 18.0);
        assert_eq!(none.clone().with_readings(&[]), none);
        assert!((none.lasting(80.0).lasts().min() - 80.0).abs() < 1e-9);
    }
}

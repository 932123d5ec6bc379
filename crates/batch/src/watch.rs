//! Watching a batch: what its instruments said against what was reckoned.

use std::collections::BTreeMap;

use ferment::watch::{
    Course, Expectation, GravityReading, Instrument, Log, Verdict, Watching, watch,
};
use ferment::{CourseMoment, FermentError};
use quantity::{Duration, Gravity, Measured, Ph, Temperature, Units, show};

use crate::log::{LogReading, What};
use crate::plan::ferment_plan;
use crate::stream::Reckoning;

/// The same readings give the same intervals.
const SEED: u64 = 1;
const HOUR_MS: f64 = 3_600_000.0;
/// Readings closer together than this on average come from a sensor, not from a hand
/// \[h\] (judgement).
const SENSOR_STEP_H: f64 = 3.0;

/// A batch as watched.
#[derive(Debug, Clone)]
pub struct Watched {
    /// Where it stands and where it is going.
    pub course: Course,
    /// What was read, by hours from pitching.
    pub log: Log,
    /// What was reckoned beforehand.
    pub planned: Vec<CourseMoment>,
    /// When the yeast was pitched, in milliseconds since 1970.
    pub pitched_ms: i64,
    /// Whether that was taken from the first reading.
    pub pitching_assumed: bool,
}

/// Moments that a batch is watched by, in milliseconds since 1970.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Moments {
    /// When the yeast was pitched; left out, the first reading.
    pub pitched_ms: Option<i64>,
    /// The moment to look from; left out, the last reading.
    pub now_ms: Option<i64>,
}

impl Watched {
    /// Watches a batch.
    ///
    /// # Errors
    /// As [`watch`].
    pub fn of(
        r: &Reckoning,
        readings: &[LogReading],
        moments: Moments,
    ) -> Result<Self, FermentError> {
        let times = readings.iter().map(|reading| reading.at_ms);
        let first_ms = times.clone().min().unwrap_or_default();
        let pitched_ms = moments.pitched_ms.unwrap_or(first_ms);
        let last_ms = moments.now_ms.or(times.max()).unwrap_or(pitched_ms);
        let plan = ferment_plan(&r.document, &r.boil.wort)?;
        let fermentation = &r.fermentation;
        let original = Measured::exactly(r.boil.wort.gravity);
        let mut expectation = Expectation::planned(
            &plan.strain,
            original,
            &fermentation.course,
            fermentation.expected_gravity,
        );
        if let Some(end) = r.document.fermentation.forced_gravity {
            expectation = expectation.forced(end);
        }
        let log = log_of(readings, pitched_ms);
        let temperatures = plan.temperatures()?;
        let course = watch(Watching {
            expectation: &expectation,
            log: &log,
            planned: Some(&temperatures),
            now: Duration::from_h(hours(last_ms, pitched_ms).max(0.0)),
            seed: SEED,
        })?;
        Ok(Self {
            course,
            log,
            planned: fermentation.course.clone(),
            pitched_ms,
            pitching_assumed: moments.pitched_ms.is_none(),
        })
    }

    /// Where it is going, in sentences.
    #[must_use]
    pub fn verdict(&self, units: Units) -> Vec<String> {
        let c = &self.course;
        let gravity = |g: Gravity| show(g, units);
        let mut said = vec![format!(
            "{} after pitching it is {}.",
            show(c.now, units),
            c.finish.verdict.words()
        )];
        if c.finish.verdict != Verdict::Finished {
            said.push(format!(
                "It will end at {}, nine times in ten between {} and {}; {} was expected.",
                gravity(c.end.middle),
                gravity(c.end.low),
                gravity(c.end.high),
                gravity(c.expected_end.value)
            ));
            said.push(finish_time(c, units));
        }
        if self.pitching_assumed {
            said.push("Pitching is taken to be the first reading.".to_owned());
        }
        said
    }
}

fn finish_time(c: &Course, units: Units) -> String {
    let t = &c.finish_time;
    match (t.early, t.middle, t.late) {
        (Some(early), Some(middle), Some(late)) => format!(
            "It will have finished {} after pitching, nine times in ten between {} and {}.",
            show(middle, units),
            show(early, units),
            show(late, units)
        ),
        (Some(early), Some(middle), None) => format!(
            "It will have finished {} after pitching, at the earliest {}; it may take longer than the forecast reaches.",
            show(middle, units),
            show(early, units)
        ),
        _ => "It will not have finished within the forecast.".to_owned(),
    }
}

fn hours(at_ms: i64, from_ms: i64) -> f64 {
    (at_ms.saturating_sub(from_ms)) as f64 / HOUR_MS
}

/// Readings by hours from pitching, their instruments by what they seem to be.
fn log_of(readings: &[LogReading], pitched_ms: i64) -> Log {
    let mut log = Log::default();
    let mut gravities: BTreeMap<&str, Vec<(f64, f64)>> = BTreeMap::new();
    for reading in readings {
        let h = hours(reading.at_ms, pitched_ms);
        let at = Duration::from_h(h);
        match reading.what {
            What::Gravity => gravities
                .entry(&reading.instrument)
                .or_default()
                .push((h, reading.canonical)),
            What::Temperature => log
                .temperatures
                .push((at, Temperature::from_c(reading.canonical))),
            What::Ph => log.ph.push((at, Ph::from_ph(reading.canonical))),
            What::Surroundings | What::Pressure => {}
        }
    }
    for (name, own) in gravities {
        let instrument = log.instruments.len();
        log.instruments.push((name.to_owned(), kind_of(name, &own)));
        log.gravities
            .extend(own.iter().map(|(h, plato)| GravityReading {
                at: Duration::from_h(*h),
                gravity: Gravity::from_plato(*plato),
                instrument,
            }));
    }
    log
}

/// By its name, and else by how often it reads: hands do not read every hour.
fn kind_of(name: &str, own: &[(f64, f64)]) -> Instrument {
    let name = name.to_lowercase();
    if let Some(kind) = Instrument::ALL
        .into_iter()
        .rev()
        .find(|kind| name.contains(kind.word()))
    {
        return kind;
    }
    let times = own.iter().map(|r| r.0);
    let first = times.clone().fold(f64::INFINITY, f64::min);
    let last = times.fold(f64::NEG_INFINITY, f64::max);
    let step_h = (last - first) / own.len().max(1) as f64;
    if own.len() > 10 && step_h < SENSOR_STEP_H {
        Instrument::Float
    } else {
        Instrument::Hydrometer
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Document;

    fn reckoning() -> Reckoning {
        let text = include_str!("../../../examples/lantern-pale.toml");
        let (document, assumptions) = Document::read(text).unwrap();
        Reckoning::of(document, assumptions).unwrap()
    }

    fn reading(h: f64, plato: f64) -> LogReading {
        LogReading {
            instrument: "by hand".to_owned(),
            what: What::Gravity,
            at_ms: (h * HOUR_MS) as i64,
            value: plato,
            unit: "°P",
            canonical: plato,
            raw: plato.to_string(),
        }
    }

    #[test]
    fn a_batch_that_follows_its_plan_is_told_so() {
        let r = reckoning();
        let moments = r.fermentation.course.iter().filter(|m| m.at.h() <= 100.0);
        let readings: Vec<LogReading> = moments
            .step_by(4)
            .map(|m| reading(m.at.h(), m.gravity.plato()))
            .collect();
        let watched = Watched::of(&r, &readings, Moments::default()).unwrap();
        let expected = r.fermentation.expected_gravity.plato();
        let end = watched.course.end;
        assert!(
            end.low.plato() < expected && expected < end.high.plato(),
            "{end:?}"
        );
        assert!(watched.pitching_assumed);
        assert!(
            watched
                .verdict(Units::Metric)
                .iter()
                .any(|s| s.contains("first reading"))
        );
        assert!(
            watched.course.alarms.is_empty(),
            "{:?}",
            watched.course.alarms
        );
    }

    #[test]
    fn nothing_read_is_the_plan() {
        let watched = Watched::of(&reckoning(), &[], Moments::default()).unwrap();
        assert!(
            watched
                .course
                .notes
                .iter()
                .any(|n| n.text.contains("no gravity was read"))
        );
    }

    #[test]
    fn instruments_are_known_by_name_or_by_their_pace() {
        let often: Vec<(f64, f64)> = (0..100).map(|i| (f64::from(i) * 0.5, 12.0)).collect();
        assert_eq!(kind_of("it", &often), Instrument::Float);
        assert_eq!(kind_of("it", &often[..4]), Instrument::Hydrometer);
        assert_eq!(
            kind_of("my Narrow hydrometer", &[]),
            Instrument::NarrowHydrometer
        );
        assert_eq!(kind_of("refractometer", &often), Instrument::Refractometer);
    }
}

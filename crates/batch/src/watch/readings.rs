//! Readings as the model takes them: by hours from pitching, their instruments by what
//! they seem to be, and what became of each.

use std::collections::{BTreeMap, BTreeSet};

use ferment::watch::{Course, GravityReading, Instrument, Log, Sieve};
use quantity::{Brix, Duration, Gravity, Measured, Note, Ph, Quantity, Temperature};
use wort::instruments::{
    RefractometerReading, read_refractometer, read_refractometer_on_the_way, usual_wort_factor,
};

use super::span::Span;
use super::words::points_words;
use crate::log::{BRIX, FlagKind, LogReading, What, review};

/// Readings closer together than this on average come from a sensor, not from a hand
/// \[h\] (judgement).
const SENSOR_STEP_H: f64 = 3.0;
/// As many in such a row are no hand's (judgement).
const SENSOR_READINGS: usize = 10;
/// What makes a spike of gravity, in °P (judgement).
const SPIKE_PLATO: f64 = 0.5;

/// Standard deviations of what the curve is usually off that make a reading odd
/// (judgement), and the standard deviation over the median of a normal distribution.
const FAR_SDS: f64 = 5.0;
const SD_OF_MAD: f64 = 1.4826;
/// Readings as near as this in time are of one point of the fit \[h\].
const SAME_POINT_H: f64 = 0.75;

/// What became of a reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadingFate {
    /// It counts.
    Used,
    /// It counts, and a person should look at it: far from its neighbours, which the
    /// noise of its instrument bears.
    Odd(String),
    /// It does not count, and why.
    LeftOut(String),
}

/// A reading and what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenReading {
    /// Time since pitching.
    pub at: Duration,
    /// In milliseconds since 1970, or since pitching.
    pub at_ms: i64,
    /// The instrument.
    pub instrument: String,
    /// What it measured.
    pub what: What,
    /// What it showed, in the canonical unit.
    pub canonical: f64,
    /// The gravity with the alcohol taken off, for a refractometer.
    pub corrected: Option<Gravity>,
    /// What became of it.
    pub fate: ReadingFate,
}

impl ReadingFate {
    /// Its word in JSON and in tables.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Used => "used",
            Self::Odd(_) => "used, odd",
            Self::LeftOut(_) => "left out",
        }
    }

    /// What is to be said of it.
    #[must_use]
    pub fn why(&self) -> Option<&str> {
        match self {
            Self::Used => None,
            Self::Odd(why) | Self::LeftOut(why) => Some(why),
        }
    }
}

/// The log of the model, and every reading by time.
pub(super) fn taken(
    readings: &[LogReading],
    span: &Span,
    original: Gravity,
) -> (Log, Vec<TakenReading>) {
    let kinds = kinds(readings);
    let mut log = Log {
        instruments: kinds
            .iter()
            .map(|(name, kind)| ((*name).to_owned(), *kind))
            .collect(),
        less_sure_plato: kinds.keys().map(|name| less_sure(readings, name)).collect(),
        ..Log::default()
    };
    let odd = odd(readings);
    let mut seen = BTreeSet::new();
    let mut sorted: Vec<(usize, &LogReading)> = readings.iter().enumerate().collect();
    sorted.sort_by(|(_, a), (_, b)| {
        (a.at_ms, a.what, &a.instrument)
            .cmp(&(b.at_ms, b.what, &b.instrument))
            .then(a.canonical.total_cmp(&b.canonical))
    });
    let sieve = Sieve::new(original, span.now());
    let mut out = Vec::with_capacity(sorted.len());
    for (place, reading) in sorted {
        let mut taken = TakenReading {
            at: span.since(reading.at_ms),
            at_ms: reading.at_ms,
            instrument: reading.instrument.clone(),
            what: reading.what,
            canonical: reading.canonical,
            corrected: None,
            fate: ReadingFate::Used,
        };
        let value = reading.canonical.to_bits();
        let new = seen.insert((&reading.instrument, reading.what, reading.at_ms, value));
        let kept = if !new {
            Err("the same reading once more".to_owned())
        } else if !span.holds(reading.at_ms) {
            Err("its clock is more than a month from the others".to_owned())
        } else {
            keep(&mut log, &kinds, &sieve, original, &mut taken)
        };
        match kept {
            Err(why) => taken.fate = ReadingFate::LeftOut(why),
            Ok(()) => {
                if let Some(why) = odd.get(&place) {
                    taken.fate = ReadingFate::Odd(why.clone());
                }
            }
        }
        out.push(taken);
    }
    (log, out)
}

/// Puts a reading into the log, or says why not.
fn keep(
    log: &mut Log,
    kinds: &BTreeMap<&str, Instrument>,
    sieve: &Sieve,
    original: Gravity,
    taken: &mut TakenReading,
) -> Result<(), String> {
    let (at, x) = (taken.at, taken.canonical);
    match taken.what {
        What::Gravity => {
            let mut gravity = Gravity::from_plato(x);
            if kinds.get(taken.instrument.as_str()) == Some(&Instrument::Refractometer) {
                gravity = without_alcohol(original, x)?;
                taken.corrected = Some(gravity);
            }
            let reading = GravityReading {
                at,
                gravity,
                instrument: kinds
                    .keys()
                    .position(|name| *name == taken.instrument)
                    .unwrap_or(usize::MAX),
            };
            sieve.gravity(&reading)?;
            log.gravities.push(reading);
        }
        What::Temperature => {
            let read = Temperature::from_c(x);
            sieve.temperature(at, read)?;
            log.temperatures.push((at, read));
        }
        What::Ph => {
            let read = Ph::from_ph(x);
            sieve.ph(at, read)?;
            log.ph.push((at, read));
        }
        What::Pressure => sieve.when(at)?,
        What::Surroundings => {
            return Err("kept, but the course asks for the beer alone".to_owned());
        }
    }
    Ok(())
}

/// What a refractometer shows of fermenting beer, with the alcohol taken off, over the
/// reading that the wort would have had. Before it has begun to
/// ferment, it is wort.
fn without_alcohol(original: Gravity, bx: f64) -> Result<Gravity, String> {
    let factor = usual_wort_factor();
    let reading = |bx: f64| RefractometerReading {
        reading: Measured::exactly(Brix::from_bx(bx.max(0.0))),
        uncompensated_at: None,
    };
    let of_wort = original.plato() * factor.value.canonical();
    if bx >= of_wort {
        let wort = read_refractometer(&reading(bx), factor).map_err(|e| e.to_string())?;
        return Ok(wort.gravity.value);
    }
    read_refractometer_on_the_way(&reading(of_wort), &reading(bx), factor)
        .map(|gravity| gravity.value)
        .map_err(|_| "lower than a full fermentation leaves on a refractometer".to_owned())
}

/// How much less sure an instrument is since its checks no longer hold \[°P\].
fn less_sure(readings: &[LogReading], instrument: &str) -> f64 {
    let own = readings
        .iter()
        .filter(|r| r.what == What::Gravity && r.instrument == instrument);
    own.map(|r| r.lapsed_sd).fold(0.0, f64::max)
}

/// The instruments that read gravity, by name; one that says °Bx is a refractometer,
/// unless its name says otherwise.
fn kinds(readings: &[LogReading]) -> BTreeMap<&str, Instrument> {
    let mut times: BTreeMap<&str, Vec<i64>> = BTreeMap::new();
    let mut refracts = BTreeSet::new();
    for reading in readings.iter().filter(|r| r.what == What::Gravity) {
        let own = times.entry(&reading.instrument).or_default();
        own.push(reading.at_ms);
        if reading.unit == BRIX {
            refracts.insert(reading.instrument.as_str());
        }
    }
    let kind = |name: &str, times: &[i64]| match named(name) {
        Some(kind) => kind,
        None if refracts.contains(name) => Instrument::Refractometer,
        None => by_pace(times),
    };
    times
        .into_iter()
        .map(|(name, times)| (name, kind(name, &times)))
        .collect()
}

/// What a name says that it is.
fn named(name: &str) -> Option<Instrument> {
    let name = name.to_lowercase();
    // A narrow hydrometer is one of both words.
    let mut narrow_first = Instrument::ALL.into_iter().rev();
    narrow_first.find(|kind| name.contains(kind.word()))
}

/// By how often it reads: hands do not read every hour.
fn by_pace(times: &[i64]) -> Instrument {
    let first = times.iter().min().copied().unwrap_or(0);
    let last = times.iter().max().copied().unwrap_or(0);
    let span_h = last.saturating_sub(first) as f64 / super::span::HOUR_MS;
    if times.len() > SENSOR_READINGS && span_h / (times.len() as f64) < SENSOR_STEP_H {
        Instrument::Float
    } else {
        Instrument::Hydrometer
    }
}

/// Gravities that stand far from their neighbours in time, by their place.
fn odd(readings: &[LogReading]) -> BTreeMap<usize, String> {
    let mut out = BTreeMap::new();
    let names: BTreeSet<&str> = readings.iter().map(|r| r.instrument.as_str()).collect();
    for name in names {
        let of = |r: &LogReading| r.what == What::Gravity && r.instrument == name;
        let mut own: Vec<(usize, &LogReading)> =
            readings.iter().enumerate().filter(|(_, r)| of(r)).collect();
        own.sort_by_key(|(_, r)| r.at_ms);
        let series: Vec<LogReading> = own.iter().map(|(_, r)| (*r).clone()).collect();
        for flag in review(&series, SPIKE_PLATO) {
            if let (FlagKind::Spike(_) | FlagKind::Contradicts, Some((place, _))) =
                (flag.kind, own.get(flag.place))
            {
                out.insert(*place, flag.kind.words());
            }
        }
    }
    out
}

/// What each point is off the curve, without its sign \[°P\].
pub(super) fn off(course: &Course) -> Vec<f64> {
    let points = course.residuals.iter();
    points
        .map(|r| (r.read.plato() - r.curve.plato()).abs())
        .collect()
}

pub(super) fn median(x: &[f64]) -> Option<f64> {
    let mut sorted = x.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied()
}

/// Marks gravities that stand far from the curve: where it is steep, their neighbours
/// cannot tell.
pub(super) fn far_from_the_curve(taken: &mut [TakenReading], course: &Course) {
    let usual = SD_OF_MAD * median(&off(course)).unwrap_or(0.0);
    let reach = (FAR_SDS * usual).max(SPIKE_PLATO);
    let far = course
        .residuals
        .iter()
        .filter(|r| (r.read.plato() - r.curve.plato()).abs() > reach);
    for r in far {
        let name = course
            .instruments
            .get(r.instrument)
            .map(|i| i.name.as_str());
        let same = |t: &&mut TakenReading| {
            t.what == What::Gravity
                && Some(t.instrument.as_str()) == name
                && (t.at.h() - r.at.h()).abs() <= SAME_POINT_H
                && t.fate == ReadingFate::Used
        };
        let above = r.read.plato() - r.curve.plato();
        let side = if above > 0.0 { "above" } else { "below" };
        let why = format!("{} {side} the curve", points_words(above.abs()));
        for t in taken.iter_mut().filter(same) {
            t.fate = ReadingFate::Odd(why.clone());
        }
    }
}

/// What to know about the readings as a whole.
pub(super) fn notes(readings: &[LogReading], taken: &[TakenReading]) -> Vec<Note> {
    let mut notes = Vec::new();
    let mut last: BTreeMap<(&str, What), i64> = BTreeMap::new();
    let mut back = 0;
    for reading in readings {
        let before = last.insert((&reading.instrument, reading.what), reading.at_ms);
        back += usize::from(before.is_some_and(|before| reading.at_ms < before));
    }
    if back > 0 {
        notes.push(Note::look(format!(
            "times went back {back} times from one reading to the next: they are taken by their clock, whatever their order"
        )));
    }
    for (name, _) in kinds(readings) {
        let wider = less_sure(readings, name);
        if wider > 0.0 {
            notes.push(Note::look(format!(
                "the checks of {name} no longer hold: it may be off by {} more, squared and summed, and its readings count for less",
                points_words(wider)
            )));
        }
    }
    let far = "its clock is more than a month from the others";
    let again = "the same reading once more";
    for (why, told) in [
        (
            far,
            "were left out: their clock is more than a month from the others",
        ),
        (again, "came twice and count once"),
    ] {
        let count = taken.iter().filter(|t| t.fate.why() == Some(why)).count();
        if count > 0 {
            notes.push(Note::look(format!("{count} readings {told}")));
        }
    }
    if taken.iter().any(|t| t.corrected.is_some()) {
        notes.push(Note::look(
            "what the refractometer showed had the alcohol taken off (Terrill 2011, right to two or three points): read a hydrometer where it matters",
        ));
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn instruments_are_known_by_name_or_by_their_pace() {
        let half_hours: Vec<i64> = (0..100).map(|i| i * 1_800_000).collect();
        assert_eq!(by_pace(&half_hours), Instrument::Float);
        assert_eq!(by_pace(&half_hours[..4]), Instrument::Hydrometer);
        assert_eq!(named("it"), None);
        assert_eq!(
            named("my Narrow hydrometer"),
            Some(Instrument::NarrowHydrometer)
        );
        assert_eq!(named("refractometer"), Some(Instrument::Refractometer));
        assert_eq!(named("inline meter"), Some(Instrument::Inline));
        let bx = |name: &str| LogReading {
            instrument: name.to_owned(),
            what: What::Gravity,
            at_ms: 0,
            value: 6.0,
            unit: BRIX,
            canonical: 6.0,
            raw: String::new(),
            lapsed_sd: 0.0,
        };
        assert_eq!(kinds(&[bx("prism")])["prism"], Instrument::Refractometer);
        assert_eq!(
            kinds(&[bx("hydrometer")])["hydrometer"],
            Instrument::Hydrometer
        );
    }

    /// 1 − 0.00085683·Bᵢ + 0.0034941·B_f (Terrill 2011) with 12 and 6 degrees: SG 1.01068.
    #[test]
    fn alcohol_is_taken_off_a_refractometer() {
        let factor = usual_wort_factor().value.canonical();
        let beer = without_alcohol(Gravity::from_plato(12.0), 6.0 * factor).unwrap();
        let begun = without_alcohol(Gravity::from_plato(12.0), 11.8 * factor).unwrap();
        assert!((11.0..12.0).contains(&begun.plato()), "{}", begun.plato());
        let sg = 1.0 - 0.000_856_83 * 12.0 + 0.003_494_1 * 6.0;
        assert!((beer.sg() - sg).abs() < 2e-5, "{} for {sg}", beer.sg());
        let wort = without_alcohol(Gravity::from_plato(12.0), 12.2 * factor).unwrap();
        assert!((wort.plato() - 12.2).abs() < 1e-6);
        assert!(without_alcohol(Gravity::from_plato(12.0), 0.5).is_err());
    }
}

//! The JSON form of a watched fermentation.

use ferment::watch::{Alarm, Likely};
use quantity::{Fraction, Gravity, Quantity, Units};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::NoteForm;
use crate::watch::Watched;

/// Where a fermentation stands and where it is going.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FermentationCourse {
    /// The version of this form: "gylewright/fermentation-course/1".
    pub schema: &'static str,
    /// In sentences.
    pub verdict: Vec<String>,
    /// The moment that is looked from, hours after pitching.
    pub now_h: f64,
    /// Apparent extract at that moment, °P.
    pub gravity_plato: LikelyForm,
    /// Share of the fall that is done.
    pub progress: LikelyForm,
    /// How fast it falls, °P a day.
    pub fall_plato_per_day: LikelyForm,
    /// Where it will end, °P.
    pub end_plato: LikelyForm,
    /// Where it was expected to end, °P.
    pub expected_end_plato: f64,
    /// When it will have finished.
    pub finished_after: FinishedAfter,
    /// Whether it has finished: fermenting, finished, flat_but_not_done, flat_but_cold or
    /// too_few_readings.
    pub finish: &'static str,
    /// How likely it is that a point or less is left.
    pub chance_little_left: f64,
    /// What is wrong, the worst first.
    pub alarms: Vec<AlarmForm>,
    /// The forecast.
    pub forecast: Vec<ForecastForm>,
    /// What was read, against the curve.
    pub readings: Vec<GravityReadingForm>,
    /// The instruments.
    pub instruments: Vec<InstrumentForm>,
    /// What to know about it.
    pub notes: Vec<NoteForm>,
}

/// A number with the interval that holds it nine times in ten.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LikelyForm {
    /// One time in twenty it is lower.
    pub low: f64,
    /// As likely lower as higher.
    pub middle: f64,
    /// One time in twenty it is higher.
    pub high: f64,
}

/// Hours after pitching at which it will have finished; none lies beyond the forecast.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FinishedAfter {
    /// One time in twenty it is sooner.
    pub early_h: Option<f64>,
    /// As likely sooner as later.
    pub middle_h: Option<f64>,
    /// One time in twenty it is later.
    pub late_h: Option<f64>,
}

/// Something that is wrong.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AlarmForm {
    /// long lag, stalled, too warm, cooling early, still dropping, acidity or sensor.
    pub kind: &'static str,
    /// look or act.
    pub weight: &'static str,
    /// In a sentence.
    pub what: String,
    /// The figures that say so.
    pub evidence: Vec<String>,
    /// What to do.
    pub advice: Vec<&'static str>,
}

/// A moment of the forecast.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ForecastForm {
    /// Hours after pitching.
    pub at_h: f64,
    /// Apparent extract, °P.
    pub plato: LikelyForm,
    /// The temperature, read or planned, °C.
    pub temperature_c: f64,
}

/// A reading.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GravityReadingForm {
    /// Hours after pitching.
    pub at_h: f64,
    /// Its instrument.
    pub instrument: String,
    /// What was read, °P.
    pub plato: f64,
    /// What the curve and the bias of the instrument have there, °P.
    pub curve_plato: f64,
}

/// An instrument.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct InstrumentForm {
    /// Its name.
    pub name: String,
    /// What it seems to be.
    pub kind: &'static str,
    /// How far it reads above the truth, °P.
    pub bias_plato: f64,
    /// The standard deviation of that, °P.
    pub bias_sd_plato: f64,
    /// Readings that were used.
    pub readings: usize,
}

fn likely<Q: Copy>(x: &Likely<Q>, number: impl Fn(Q) -> f64) -> LikelyForm {
    LikelyForm {
        low: number(x.low),
        middle: number(x.middle),
        high: number(x.high),
    }
}

fn alarm(alarm: &Alarm) -> AlarmForm {
    AlarmForm {
        kind: alarm.kind.word(),
        weight: alarm.weight.word(),
        what: alarm.what.clone(),
        evidence: alarm.evidence.clone(),
        advice: alarm.advice.clone(),
    }
}

impl From<&Watched> for FermentationCourse {
    fn from(watched: &Watched) -> Self {
        use ferment::watch::Verdict;
        let c = &watched.course;
        let h = |at: Option<quantity::Duration>| at.map(quantity::Duration::h);
        let named = |i: usize| {
            let instrument = watched.log.instruments.get(i);
            instrument.map_or_else(String::new, |(name, _)| name.clone())
        };
        Self {
            schema: "gylewright/fermentation-course/1",
            verdict: watched.verdict(Units::Metric),
            now_h: c.now.h(),
            gravity_plato: likely(&c.gravity, Gravity::plato),
            progress: likely(&c.progress, Fraction::ratio),
            fall_plato_per_day: likely(&c.fall_plato_per_day, |x| x),
            end_plato: likely(&c.end, Gravity::plato),
            expected_end_plato: c.expected_end.canonical(),
            finished_after: FinishedAfter {
                early_h: h(c.finish_time.early),
                middle_h: h(c.finish_time.middle),
                late_h: h(c.finish_time.late),
            },
            finish: match c.finish.verdict {
                Verdict::Fermenting => "fermenting",
                Verdict::Finished => "finished",
                Verdict::FlatButNotDone => "flat_but_not_done",
                Verdict::FlatButCold => "flat_but_cold",
                Verdict::TooFewReadings => "too_few_readings",
            },
            chance_little_left: c.finish.little_left.ratio(),
            alarms: c.alarms.iter().map(alarm).collect(),
            forecast: c
                .forecast
                .iter()
                .map(|f| ForecastForm {
                    at_h: f.at.h(),
                    plato: likely(&f.gravity, Gravity::plato),
                    temperature_c: f.temperature.canonical(),
                })
                .collect(),
            readings: c
                .residuals
                .iter()
                .map(|r| GravityReadingForm {
                    at_h: r.at.h(),
                    instrument: named(r.instrument),
                    plato: r.read.plato(),
                    curve_plato: r.curve.plato(),
                })
                .collect(),
            instruments: c
                .instruments
                .iter()
                .map(|i| InstrumentForm {
                    name: i.name.clone(),
                    kind: i.kind.word(),
                    bias_plato: i.bias_plato.0,
                    bias_sd_plato: i.bias_plato.1,
                    readings: i.readings,
                })
                .collect(),
            notes: c.notes.iter().map(super::reckoning::note).collect(),
        }
    }
}

/// The schema of [`FermentationCourse`].
#[must_use]
pub fn fermentation_course_schema() -> Value {
    super::named::<FermentationCourse>("urn:gylewright:schema:fermentation-course:1")
}

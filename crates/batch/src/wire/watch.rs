//! The JSON form of a watched fermentation.

use ferment::watch::{Alarm, Likely, Posterior, Verdict};
use quantity::{Duration, Fraction, GaugePressure, Gravity, Units};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::NoteForm;
use crate::watch::{
    ControlTest, HOLDS, MODEL, Pressure, SECOND, SecondOpinion, TakenReading, Watched, moment_words,
};

/// Where a fermentation stands and where it is going.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FermentationCourse {
    /// The version of this form: "gylewright/fermentation-course/1".
    pub schema: &'static str,
    /// In sentences.
    pub verdict: Vec<String>,
    /// fermenting, finished, flat_but_not_done, flat_but_cold or too_few_readings.
    pub finish: &'static str,
    /// When the yeast was pitched; none where nothing is dated.
    pub pitched: Option<String>,
    /// Whether that was said; else it is the first reading.
    pub pitched_said: bool,
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
    /// How well that was known beforehand: standard deviation, °P.
    pub expected_end_sd_plato: f64,
    /// When it will have finished.
    pub finished_after: FinishedAfter,
    /// How likely it is that a point or less is left.
    pub chance_little_left: f64,
    /// What is wrong, the worst first.
    pub alarms: Vec<AlarmForm>,
    /// The forecast.
    pub forecast: Vec<ForecastForm>,
    /// What was reckoned beforehand.
    pub planned: Vec<PlannedForm>,
    /// How well the curve follows the readings.
    pub fit: FitForm,
    /// A plain curve through the same readings; none where it says nothing.
    pub second_opinion: Option<SecondOpinionForm>,
    /// The whole posterior, where it was asked for.
    pub posterior: Option<PosteriorForm>,
    /// Every reading, and what became of it.
    pub readings: Vec<TakenReadingForm>,
    /// The pressure of the fermenter; null where none was read.
    pub pressure: Option<PressureForm>,
    /// The instruments that read gravity.
    pub instruments: Vec<InstrumentForm>,
    /// What a brewer can test, and what came out.
    pub tests: Vec<ControlTestForm>,
    /// What to know about it.
    pub notes: Vec<NoteForm>,
    /// Which model it is, and what it was calibrated on.
    pub model: &'static str,
    /// Where it holds.
    pub holds: &'static str,
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

/// The pressure of the fermenter, bar above the air.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PressureForm {
    /// In sentences.
    pub words: Vec<String>,
    /// When it was read last, hours after pitching.
    pub at_h: f64,
    /// What it was.
    pub read_bar: f64,
    /// The temperature of the beer then, °C.
    pub temperature_c: f64,
    /// CO₂ dissolved in balance with it, g/L.
    pub dissolved_g_per_l: f64,
    /// What the vessel is rated for; null where nobody said.
    pub rating_bar: Option<f64>,
    /// Where its valve opens; null where it has none.
    pub relief_bar: Option<f64>,
    /// Whether the valve lets gas out.
    pub at_valve: bool,
    /// How fast it rises over the last day, bar a day; null for too few readings.
    pub rise_bar_per_day: Option<f64>,
    /// Standard deviation of that.
    pub rise_sd_bar_per_day: Option<f64>,
    /// How fast the gravity falls by the gas that came, °P a day; null where the valve lets
    /// gas out.
    pub fall_plato_per_day: Option<f64>,
    /// Standard deviation of that.
    pub fall_sd_plato_per_day: Option<f64>,
    /// Whether something ferments for certain.
    pub ferments: bool,
    /// The pressure once all that may be left has fermented in the closed vessel.
    pub to_come_bar: Option<f64>,
    /// What can hurt.
    pub caution: &'static str,
}

impl From<&Pressure> for PressureForm {
    fn from(p: &Pressure) -> Self {
        Self {
            words: p.words(Units::Metric),
            at_h: p.at.h(),
            read_bar: p.read.bar(),
            temperature_c: p.temperature.c(),
            dissolved_g_per_l: p.dissolved.g_per_l(),
            rating_bar: p.rating.map(GaugePressure::bar),
            relief_bar: p.relief.map(GaugePressure::bar),
            at_valve: p.at_valve,
            rise_bar_per_day: p.rise_bar_per_day.map(|r| r.0),
            rise_sd_bar_per_day: p.rise_bar_per_day.map(|r| r.1),
            fall_plato_per_day: p.fall_plato_per_day.map(|f| f.0),
            fall_sd_plato_per_day: p.fall_plato_per_day.map(|f| f.1),
            ferments: p.ferments(),
            to_come_bar: p.to_come.map(GaugePressure::bar),
            caution: Pressure::caution(),
        }
    }
}

/// Something that is wrong.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AlarmForm {
    /// long lag, stalled, too warm, cooling early, still dropping, acidity, sensor, pressure
    /// or pressure rises.
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
    /// One time in two it is above this, °P.
    pub half_low_plato: f64,
    /// And below this, °P.
    pub half_high_plato: f64,
    /// The temperature, read or planned, °C.
    pub temperature_c: f64,
}

/// A moment of the plan.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlannedForm {
    /// Hours after pitching.
    pub at_h: f64,
    /// Apparent extract, °P.
    pub plato: f64,
    /// Temperature, °C.
    pub temperature_c: f64,
}

/// How well the curve follows the readings.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FitForm {
    /// Gravities that were used.
    pub gravities: usize,
    /// Points that the curve was fitted to: many readings of an hour are one.
    pub points: usize,
    /// Root of the mean square of what the curve is off, °P; none without a point.
    pub rms_plato: Option<f64>,
    /// Half of the points are less off than this, °P: spikes do not move it.
    pub median_plato: Option<f64>,
    /// Independent draws that the intervals rest on.
    pub worth_draws: f64,
    /// The points against the curve.
    pub residuals: Vec<ResidualForm>,
}

/// A point against the curve.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ResidualForm {
    /// Hours after pitching.
    pub at_h: f64,
    /// Its instrument.
    pub instrument: String,
    /// What was read, °P.
    pub plato: f64,
    /// What the curve and the bias of the instrument have there, °P.
    pub curve_plato: f64,
}

/// What a plain curve says.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SecondOpinionForm {
    /// Where it ends, °P.
    pub end_plato: f64,
    /// The standard deviation of that by least squares, a lower bound, °P.
    pub end_sd_plato: f64,
    /// Hours after pitching at which a point is left.
    pub ended_h: Option<f64>,
    /// Root of the mean square of what it is off, °P.
    pub rms_plato: f64,
    /// Whether its end lies within the interval of the other.
    pub agrees: bool,
    /// What it is.
    pub model: &'static str,
}

/// What the whole posterior has, with what tells whether it can be trusted.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PosteriorForm {
    /// Where it will end, °P.
    pub end_plato: LikelyForm,
    /// The gravity by the curve at the moment that is looked from, °P.
    pub now_plato: LikelyForm,
    /// Hours after pitching at which a tenth of the fall is left.
    pub nine_tenths_h: Option<LikelyForm>,
    /// Steps whose energy ran away: none is right.
    pub divergences: usize,
    /// The largest R̂ of all parameters: below 1.01 the chains agree.
    pub r_hat: f64,
    /// The smallest effective size of all parameters.
    pub effective: f64,
    /// Gradients that it took.
    pub gradients: usize,
}

/// A reading and what became of it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TakenReadingForm {
    /// Hours after pitching.
    pub at_h: f64,
    /// The instrument.
    pub instrument: String,
    /// gravity, temperature, surroundings, ph or pressure.
    pub quantity: &'static str,
    /// What it showed, in the canonical unit: °P, °C, pH, bar.
    pub value: f64,
    /// The gravity with the alcohol taken off, for a refractometer, °P.
    pub corrected_plato: Option<f64>,
    /// used, "used, odd" or "left out".
    pub fate: &'static str,
    /// Why.
    pub why: Option<String>,
}

/// An instrument.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct InstrumentForm {
    /// Its name.
    pub name: String,
    /// What it seems to be: hydrometer, narrow hydrometer, refractometer, float, inline.
    pub kind: &'static str,
    /// How far it reads above the truth, °P.
    pub bias_plato: f64,
    /// The standard deviation of that, °P.
    pub bias_sd_plato: f64,
    /// Readings that were used.
    pub readings: usize,
}

/// A test that a brewer runs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ControlTestForm {
    /// forced-fermentation, forced-diketone or finish.
    pub key: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What is done, step by step.
    pub how: &'static [&'static str],
    /// What the figures mean.
    pub means: &'static [&'static str],
    /// Where that comes from.
    pub source: &'static str,
    /// What can hurt, by key.
    pub caution: &'static str,
    /// What came out, in a sentence.
    pub outcome: Option<String>,
    /// Whether that says that the beer is done.
    pub passed: Option<bool>,
}

fn likely<Q: Copy>(x: &Likely<Q>, number: impl Fn(Q) -> f64) -> LikelyForm {
    LikelyForm {
        low: number(x.low),
        middle: number(x.middle),
        high: number(x.high),
    }
}

fn finish_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fermenting => "fermenting",
        Verdict::Finished => "finished",
        Verdict::FlatButNotDone => "flat_but_not_done",
        Verdict::FlatButCold => "flat_but_cold",
        Verdict::TooFewReadings => "too_few_readings",
    }
}

impl From<&Alarm> for AlarmForm {
    fn from(alarm: &Alarm) -> Self {
        Self {
            kind: alarm.kind.word(),
            weight: alarm.weight.word(),
            what: alarm.what.clone(),
            evidence: alarm
                .evidence
                .iter()
                .map(|e| e.text(Units::Metric).to_owned())
                .collect(),
            advice: alarm.advice.clone(),
        }
    }
}

impl From<&SecondOpinion> for SecondOpinionForm {
    fn from(second: &SecondOpinion) -> Self {
        Self {
            end_plato: second.fit.end.value.plato(),
            end_sd_plato: second.fit.end.sd(),
            ended_h: second.ended.map(Duration::h),
            rms_plato: second.fit.rms_plato,
            agrees: second.agrees,
            model: SECOND,
        }
    }
}

impl From<&Posterior> for PosteriorForm {
    fn from(p: &Posterior) -> Self {
        Self {
            end_plato: likely(&p.end, Gravity::plato),
            now_plato: likely(&p.now, Gravity::plato),
            nine_tenths_h: p.nine_tenths.as_ref().map(|at| likely(at, Duration::h)),
            divergences: p.divergences,
            r_hat: p.r_hat,
            effective: p.effective,
            gradients: p.gradients,
        }
    }
}

impl From<&TakenReading> for TakenReadingForm {
    fn from(taken: &TakenReading) -> Self {
        Self {
            at_h: taken.at.h(),
            instrument: taken.instrument.clone(),
            quantity: taken.what.word(),
            value: taken.canonical,
            corrected_plato: taken.corrected.map(Gravity::plato),
            fate: taken.fate.word(),
            why: taken.fate.why().map(str::to_owned),
        }
    }
}

impl From<ControlTest> for ControlTestForm {
    fn from(test: ControlTest) -> Self {
        let passed = test.outcome.as_ref().and_then(|o| o.passed);
        Self {
            key: test.key,
            name: test.name,
            how: test.how,
            means: test.means,
            source: test.source,
            caution: test.caution.key(),
            outcome: test.outcome.map(|o| o.words),
            passed,
        }
    }
}

fn fit(watched: &Watched) -> FitForm {
    let named = |i: usize| {
        let instrument = watched.log.instruments.get(i);
        instrument.map_or_else(String::new, |(name, _)| name.clone())
    };
    let residuals = watched.course.residuals.iter().map(|r| ResidualForm {
        at_h: r.at.h(),
        instrument: named(r.instrument),
        plato: r.read.plato(),
        curve_plato: r.curve.plato(),
    });
    FitForm {
        gravities: watched.fit.gravities,
        points: watched.fit.points,
        rms_plato: watched.fit.rms_plato,
        median_plato: watched.fit.median_plato,
        worth_draws: watched.fit.worth_draws,
        residuals: residuals.collect(),
    }
}

fn forecast(watched: &Watched) -> Vec<ForecastForm> {
    let moments = watched.course.forecast.iter();
    moments
        .map(|f| ForecastForm {
            at_h: f.at.h(),
            plato: likely(&f.gravity, Gravity::plato),
            half_low_plato: f.half.0.plato(),
            half_high_plato: f.half.1.plato(),
            temperature_c: f.temperature.c(),
        })
        .collect()
}

fn planned(watched: &Watched) -> Vec<PlannedForm> {
    let moments = watched.planned.iter();
    moments
        .map(|m| PlannedForm {
            at_h: m.at.h(),
            plato: m.gravity.plato(),
            temperature_c: m.temperature.c(),
        })
        .collect()
}

fn instruments(watched: &Watched) -> Vec<InstrumentForm> {
    let found = watched.course.instruments.iter();
    found
        .map(|i| InstrumentForm {
            name: i.name.clone(),
            kind: i.kind.word(),
            bias_plato: i.bias_plato.0,
            bias_sd_plato: i.bias_plato.1,
            readings: i.readings,
        })
        .collect()
}

impl From<&Watched> for FermentationCourse {
    fn from(watched: &Watched) -> Self {
        let c = &watched.course;
        let h = |at: Option<Duration>| at.map(Duration::h);
        let pitching = watched.pitching;
        Self {
            schema: "gylewright/fermentation-course/1",
            verdict: watched.verdict(Units::Metric),
            finish: finish_word(c.finish.verdict),
            pitched: pitching.dated.then(|| moment_words(pitching.at_ms)),
            pitched_said: pitching.said,
            now_h: c.now.h(),
            gravity_plato: likely(&c.gravity, Gravity::plato),
            progress: likely(&c.progress, Fraction::ratio),
            fall_plato_per_day: likely(&c.fall_plato_per_day, |x| x),
            end_plato: likely(&c.end, Gravity::plato),
            expected_end_plato: c.expected_end.value.plato(),
            expected_end_sd_plato: c.expected_end.sd(),
            finished_after: FinishedAfter {
                early_h: h(c.finish_time.early),
                middle_h: h(c.finish_time.middle),
                late_h: h(c.finish_time.late),
            },
            chance_little_left: c.finish.little_left.ratio(),
            alarms: c.alarms.iter().map(AlarmForm::from).collect(),
            forecast: forecast(watched),
            planned: planned(watched),
            fit: fit(watched),
            second_opinion: watched.second.as_ref().map(SecondOpinionForm::from),
            posterior: None,
            readings: watched
                .readings
                .iter()
                .map(TakenReadingForm::from)
                .collect(),
            pressure: watched.pressure.as_ref().map(PressureForm::from),
            instruments: instruments(watched),
            tests: watched
                .tests(Units::Metric)
                .into_iter()
                .map(ControlTestForm::from)
                .collect(),
            notes: watched.notes.iter().map(super::reckoning::note).collect(),
            model: MODEL,
            holds: HOLDS,
        }
    }
}

/// The schema of [`FermentationCourse`].
#[must_use]
pub fn fermentation_course_schema() -> Value {
    super::named::<FermentationCourse>("urn:gylewright:schema:fermentation-course:1")
}

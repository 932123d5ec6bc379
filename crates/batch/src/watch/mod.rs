//! Watching a batch: what its instruments said against what was reckoned.
//!
//! [`Watched::of`] takes a reckoning and readings by the clock, finds when the yeast was
//! pitched and what each instrument is, and gives the course as [`ferment::watch`] has
//! it, with a [`ReadingFate`] for every reading, a second opinion that knows no yeast,
//! and the [`ControlTest`]s that a brewer can run.

mod control;
mod pressure;
mod readings;
mod span;
mod words;

use ferment::kinetics::published::{FiveParameters, LogisticFit};
use ferment::watch::{
    Course, Expectation, Log, Posterior, Sampling, Verdict, Watching, posterior_until, watch,
};
use ferment::{CourseMoment, FermentError, TemperatureCourse};
use package::forced_too_short;
use quantity::{Duration, Fraction, Gravity, Measured, Note, Units, show};

use crate::Document;
use crate::log::LogReading;
use crate::plan::ferment_plan;
use crate::stream::Reckoning;

pub use control::{ControlTest, Outcome};
pub use pressure::Pressure;
pub use readings::{ReadingFate, TakenReading};
pub use span::{date_words, moment_words};
pub use words::{HOLDS, MODEL, SECOND, fit_words, off_words, points_words};

/// The same readings give the same intervals.
const SEED: u64 = 1;
/// What is left where a course is said to have ended \[°P\]: a point.
const POINT_PLATO: f64 = 0.25;
/// Share of the fall from which on the readings say where it ends \[–\] (judgement, after
/// design studies of gravity readings that put it at 60 to 70 %).
const TELLING: f64 = 0.65;

/// A batch as watched.
#[derive(Debug, Clone)]
pub struct Watched {
    /// Where it stands and where it is going.
    pub course: Course,
    /// What was read, by hours from pitching.
    pub log: Log,
    /// Every reading, by time, and what became of it.
    pub readings: Vec<TakenReading>,
    /// What was reckoned beforehand.
    pub planned: Vec<CourseMoment>,
    /// When the yeast was pitched.
    pub pitching: Pitching,
    /// How well the curve follows the readings.
    pub fit: FitQuality,
    /// A logistic curve through the same readings; none where it says nothing.
    pub second: Option<SecondOpinion>,
    /// The pressure of the fermenter; none where none was read.
    pub pressure: Option<Pressure>,
    /// What to know about it.
    pub notes: Vec<Note>,
    question: Question,
    recorded: control::Recorded,
}

/// Moments that a batch is watched by, in milliseconds since 1970.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Moments {
    /// When the yeast was pitched; left out, as the document says, or the first reading.
    pub pitched_ms: Option<i64>,
    /// The moment to look from; left out, the last reading.
    pub now_ms: Option<i64>,
    /// Whether the readings count from pitching rather than by the calendar.
    pub undated: bool,
}

/// When the yeast was pitched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pitching {
    /// In milliseconds since 1970; nought where nothing is dated.
    pub at_ms: i64,
    /// Whether anybody said so; else it is the first reading.
    pub said: bool,
    /// Whether it is a moment of the calendar.
    pub dated: bool,
}

/// How well the curve follows the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitQuality {
    /// Gravities that were used.
    pub gravities: usize,
    /// Points that the curve was fitted to: many readings of an hour are one.
    pub points: usize,
    /// Root of the mean square of what the curve is off \[°P\]; none without a point.
    pub rms_plato: Option<f64>,
    /// Half of the points are less off than this \[°P\]: spikes do not move it.
    pub median_plato: Option<f64>,
    /// Independent draws that the intervals rest on.
    pub worth_draws: f64,
}

/// What a logistic curve says of the same readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondOpinion {
    /// The curve.
    pub fit: LogisticFit,
    /// When a point is left.
    pub ended: Option<Duration>,
    /// Whether its end, with a point and two standard deviations to either side, meets
    /// what the other has nine times in ten.
    pub agrees: bool,
}

/// What the model is asked; kept for the whole posterior.
#[derive(Debug, Clone)]
struct Question {
    expectation: Expectation,
    temperatures: TemperatureCourse,
    now: Duration,
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
        let span = span::Span::of(r, readings, moments);
        let plan = ferment_plan(&r.document, &r.boil.wort)?;
        let fermentation = &r.fermentation;
        let original = r.boil.wort.gravity;
        let planned = Expectation::planned(
            &plan.strain,
            Measured::exactly(original),
            &fermentation.course,
            fermentation.expected_gravity,
        )
        .learned_from(yeast_batches(&r.document));
        let (expectation, mut notes) = with_forced(planned, &r.document, plan.strain.diastatic);
        let (log, mut taken) = readings::taken(readings, &span, original);
        let question = Question {
            expectation,
            temperatures: plan.temperatures()?,
            now: span.now(),
        };
        let mut course = watch(question.watching(&log))?;
        readings::far_from_the_curve(&mut taken, &course);
        let pressure = Pressure::of(&r.document, &taken, &course);
        if let Some(pressure) = &pressure {
            heed(pressure, &mut course);
        }
        notes.extend(span.notes(&log));
        notes.extend(readings::notes(readings, &taken));
        notes.extend(course.notes.iter().cloned());
        notes.extend(pressure.iter().flat_map(|p| p.notes.iter().cloned()));
        Ok(Self {
            fit: FitQuality::of(&course),
            second: SecondOpinion::of(original, &course),
            pressure,
            recorded: control::Recorded::of(&r.document, plan.strain.diastatic),
            planned: fermentation.course.clone(),
            pitching: span.pitching,
            readings: taken,
            course,
            log,
            notes,
            question,
        })
    }

    /// The whole posterior of the same question. `told` hears what share is done, and
    /// says whether to go on; nothing comes of it where it says no.
    ///
    /// # Errors
    /// As [`watch`].
    pub fn posterior(
        &self,
        sampling: Sampling,
        told: &(dyn Fn(Fraction) -> bool + Sync),
    ) -> Result<Option<Posterior>, FermentError> {
        posterior_until(self.question.watching(&self.log), sampling, told)
    }

    /// What a brewer can test, and what came out.
    #[must_use]
    pub fn tests(&self, units: Units) -> Vec<ControlTest> {
        self.recorded.tests(&self.course, units)
    }

    /// How it stands, in a few words.
    #[must_use]
    pub fn headline(&self, units: Units) -> String {
        words::headline(self, units)
    }

    /// Where it is going, in sentences.
    #[must_use]
    pub fn verdict(&self, units: Units) -> Vec<String> {
        words::verdict(self, units)
    }
}

impl Question {
    fn watching<'q>(&'q self, log: &'q Log) -> Watching<'q> {
        Watching {
            expectation: &self.expectation,
            log,
            planned: Some(&self.temperatures),
            now: self.now,
            seed: SEED,
        }
    }
}

/// Puts what a pressure says into the course: what is wrong, and that it has not finished
/// while gas comes.
fn heed(pressure: &Pressure, course: &mut Course) {
    let verdict = course.finish.verdict;
    course.alarms.extend(pressure.alarms(verdict));
    course
        .alarms
        .sort_by(|a, b| b.weight.cmp(&a.weight).then(a.kind.cmp(&b.kind)));
    if verdict == Verdict::Finished && pressure.ferments() {
        course.finish.verdict = Verdict::Fermenting;
    }
}

/// From how many batches the yeast of a document is known: attenuation and speed both.
fn yeast_batches(document: &Document) -> u32 {
    let of = |key| document.learning.of(key).map_or(0, |t| t.batches);
    of("yeast.attenuation").min(of("yeast.speed"))
}

/// What is expected, with a forced fermentation in place of the class where it counts.
fn with_forced(
    planned: Expectation,
    document: &Document,
    diastatic: bool,
) -> (Expectation, Vec<Note>) {
    let (Some(end), kept) = document.forced() else {
        return (planned, Vec::new());
    };
    match forced_too_short(diastatic, kept.map(|t| t.value)) {
        None => (planned.forced(end), Vec::new()),
        Some(needed) => {
            let told = format!(
                "the forced sample does not count yet: it takes {} in the warm, and the document must say that it had them (forced_time)",
                show(needed, Units::Metric)
            );
            (planned, vec![Note::look(told)])
        }
    }
}

impl FitQuality {
    fn of(course: &Course) -> Self {
        let points = course.residuals.len();
        let off = readings::off(course);
        let squares = off.iter().map(|x| x * x);
        Self {
            gravities: course.instruments.iter().map(|i| i.readings).sum(),
            points,
            rms_plato: (points > 0).then(|| (squares.sum::<f64>() / points as f64).sqrt()),
            median_plato: readings::median(&off),
            worth_draws: course.worth_draws,
        }
    }
}

impl SecondOpinion {
    /// Before the readings say where it ends, a curve through them says nothing.
    fn of(original: Gravity, course: &Course) -> Option<Self> {
        if course.progress.middle.ratio() < TELLING {
            return None;
        }
        let points: Vec<(Duration, Gravity)> =
            course.residuals.iter().map(|r| (r.at, r.read)).collect();
        let fit = FiveParameters::fit(original, &points)?;
        let (end, slack) = (fit.end.value.plato(), POINT_PLATO + 2.0 * fit.end.sd());
        let (low, high) = (course.end.low.plato(), course.end.high.plato());
        Some(Self {
            fit,
            ended: fit.curve.reaches(POINT_PLATO),
            agrees: (low - slack..=high + slack).contains(&end),
        })
    }
}

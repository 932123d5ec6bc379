//! The course of a fermentation as far as readings tell it.

use quantity::{Duration, Fraction, Gravity, Measured, Note, Temperature};

use super::alarm::{self, Alarm};
use super::clock::{Clock, Ticks};
use super::curve::{Curve, Drawn, Moment};
use super::expect::{Expectation, Learned};
use super::finish::{self, Finish};
use super::fit::problem::{CURVE, Prior, Problem, Slots, Wandered};
use super::fit::whiten::Wander;
use super::fit::{Draw, Fit};
use super::reading::{Clean, Instrument, Log, SetAside};
use super::table::table;
use crate::error::{FermentError, within};
use crate::random::Stream;
use crate::temperature::TemperatureCourse;

/// Draws of the posterior; half of them are kept.
const DRAWS: usize = 1600;
/// Moments of the forecast.
const MOMENTS: usize = 97;
/// How long it looks ahead at least, and beyond the last reading \[h\].
const AHEAD_H: f64 = 14.0 * 24.0;
const BEYOND_H: f64 = 7.0 * 24.0;
/// Share of the attenuation that says that yeast was learned from.
const TAUGHT: f64 = 0.85;
/// Fewer independent draws than this are said to be few.
const FEW_DRAWS: f64 = 60.0;

/// What a fermentation is watched with.
#[derive(Debug, Clone, Copy)]
pub struct Watching<'a> {
    /// What is expected.
    pub expectation: &'a Expectation,
    /// What was read.
    pub log: &'a Log,
    /// The temperatures that are planned; without them, the last one stays.
    pub planned: Option<&'a TemperatureCourse>,
    /// The moment from which is looked ahead.
    pub now: Duration,
    /// The seed of the draws.
    pub seed: u64,
}

/// A quantity with the interval that holds it nine times in ten.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Likely<Q> {
    /// One time in twenty it is lower.
    pub low: Q,
    /// As likely lower as higher.
    pub middle: Q,
    /// One time in twenty it is higher.
    pub high: Q,
}

/// A moment of the forecast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// Time since pitching.
    pub at: Duration,
    /// The gravity: nine times in ten.
    pub gravity: Likely<Gravity>,
    /// One time in two it is between these.
    pub half: (Gravity, Gravity),
    /// The temperature, read or planned.
    pub temperature: Temperature,
}

/// When it will have finished: a point or less is left. A time beyond the forecast is
/// none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FinishTime {
    /// One time in twenty it is sooner.
    pub early: Option<Duration>,
    /// As likely sooner as later.
    pub middle: Option<Duration>,
    /// One time in twenty it is later.
    pub late: Option<Duration>,
    /// How likely it is within the forecast.
    pub within_forecast: Fraction,
}

/// A reading against the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residual {
    /// Time since pitching.
    pub at: Duration,
    /// What was read: the median where many lie within an hour.
    pub read: Gravity,
    /// What the curve and the bias of the instrument have there.
    pub curve: Gravity,
    /// Which instrument of the log.
    pub instrument: usize,
}

/// What was found of an instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct InstrumentFound {
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: Instrument,
    /// How far it reads above the truth \[°P\]: value and standard deviation.
    pub bias_plato: (f64, f64),
    /// How far its kind may be off before anything was read \[°P\]: standard deviation.
    pub usual_bias_plato: f64,
    /// Readings that were used.
    pub readings: usize,
}

/// A fermentation as watched.
#[derive(Debug, Clone)]
pub struct Course {
    /// The moment from which is looked ahead.
    pub now: Duration,
    /// The beer at that moment.
    pub gravity: Likely<Gravity>,
    /// Share of the attenuation that is done.
    pub progress: Likely<Fraction>,
    /// How fast it falls \[°P a day\].
    pub fall_plato_per_day: Likely<f64>,
    /// Where it will end, given time and warmth.
    pub end: Likely<Gravity>,
    /// Where it was expected to end.
    pub expected_end: Measured<Gravity>,
    /// When.
    pub finish_time: FinishTime,
    /// The forecast, from pitching on.
    pub forecast: Vec<Forecast>,
    /// Readings against the curve.
    pub residuals: Vec<Residual>,
    /// The instruments.
    pub instruments: Vec<InstrumentFound>,
    /// Whether it has finished.
    pub finish: Finish,
    /// What is wrong, the worst first.
    pub alarms: Vec<Alarm>,
    /// Readings that were not used.
    pub set_aside: Vec<SetAside>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What it taught of the yeast, if it went far enough.
    pub learned: Option<Learned>,
    /// How many independent draws the intervals rest on.
    pub worth_draws: f64,
}

/// Everything known once the fit is made.
pub(crate) struct Fitted<'a> {
    pub(crate) watching: Watching<'a>,
    pub(crate) clean: Clean,
    pub(crate) problem: Problem,
    pub(crate) fit: Fit,
    pub(crate) draws: Vec<Draw>,
    pub(crate) worth: f64,
    pub(crate) now_h: f64,
    pub(crate) until_h: f64,
    pub(crate) temperatures: Temperatures,
}

/// Temperatures as read up to the last reading and as planned from there.
#[derive(Debug, Clone)]
pub(crate) struct Temperatures {
    read: Vec<(f64, f64)>,
    planned: Option<TemperatureCourse>,
    usual_c: f64,
}

impl Temperatures {
    pub(crate) fn at(&self, t_h: f64) -> f64 {
        let after = self.read.partition_point(|r| r.0 <= t_h);
        let (before, next) = (
            after.checked_sub(1).and_then(|i| self.read.get(i)),
            self.read.get(after),
        );
        match (before, next) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (t_h - a.0) / (b.0 - a.0),
            (None, Some(b)) => b.1,
            (a, None) => match (&self.planned, a) {
                (Some(planned), _) => planned.temp_c(t_h),
                (None, Some(a)) => a.1,
                (None, None) => self.usual_c,
            },
        }
    }
}

/// Watches a fermentation.
///
/// The same readings, expectation and seed give the same answer. Readings may come in any
/// order, twice, or not at all: without any, the answer is what is expected.
///
/// # Errors
/// [`FermentError::Impossible`] for an original gravity outside 1 to 40 °P or a moment
/// outside 0 to 8 784 h.
pub fn watch(watching: Watching<'_>) -> Result<Course, FermentError> {
    Ok(Fitted::of(watching)?.course())
}

impl<'a> Fitted<'a> {
    /// The fit and the draws around it.
    pub(crate) fn of(watching: Watching<'a>) -> Result<Self, FermentError> {
        let mut fitted = Self::without_draws(watching)?;
        let mut stream = Stream::seeded(watching.seed);
        let (draws, worth) = fitted.fit.draws(&fitted.problem, DRAWS, &mut stream);
        (fitted.draws, fitted.worth) = (draws, worth);
        Ok(fitted)
    }

    /// The fit alone.
    pub(crate) fn without_draws(watching: Watching<'a>) -> Result<Self, FermentError> {
        let expectation = watching.expectation;
        let original = Gravity::from_plato(expectation.original.mean);
        within("original gravity", original, 1.0, 40.0)?;
        let now_h = within("moment to look from", watching.now, 0.0, 8_784.0)?.h();
        let clean = Clean::of(watching.log, original.plato(), now_h);
        let until_h = AHEAD_H.max(now_h + BEYOND_H);
        let ideal = &expectation.strain.ideal;
        let temperatures = Temperatures {
            read: clean.temperatures.clone(),
            planned: watching.planned.cloned(),
            usual_c: f64::midpoint(ideal.low.c(), ideal.high.c()),
        };
        let problem = problem(&watching, &clean, &temperatures, until_h);
        // Even the worst readings leave the start at the expectation, which is finite.
        let fit = Fit::of(&problem).ok_or_else(|| FermentError::Impossible {
            what: "log of this fermentation",
            given: format!("{} readings that fit no curve", clean.points.len()),
            accepted: "readings of this batch alone".to_owned(),
        })?;
        Ok(Self {
            watching,
            clean,
            problem,
            fit,
            draws: Vec::new(),
            worth: 0.0,
            now_h,
            until_h,
            temperatures,
        })
    }

    fn course(self) -> Course {
        let mut stream = Stream::seeded(self.watching.seed.wrapping_add(1));
        let paths: Vec<Path<'_>> = self.draws.iter().map(|draw| self.path(draw)).collect();
        let at_now = self.now(&paths, &mut stream);
        let alarms = alarm::all(&self, &at_now);
        let finish = finish::judge(&self, &alarms);
        let end = likely(
            paths
                .iter()
                .map(|path| path.curve.can_be(path.curve.end()))
                .collect(),
            Gravity::from_plato,
        );
        Course {
            now: self.watching.now,
            gravity: likely(at_now.gravity.clone(), Gravity::from_plato),
            progress: likely(at_now.progress.clone(), Fraction::from_ratio),
            fall_plato_per_day: likely(at_now.fall.clone(), |x| x),
            end,
            expected_end: self.watching.expectation.end(),
            forecast: self.forecast(&paths, &mut stream),
            finish_time: self.finish_time(&paths, &mut stream),
            residuals: self.residuals(),
            instruments: self.instruments(),
            notes: self.notes(),
            learned: self.learned(&at_now),
            worth_draws: self.worth,
            set_aside: self.clean.aside.clone(),
            finish,
            alarms,
        }
    }

    /// The beer now, draw by draw.
    fn now(&self, paths: &[Path<'_>], stream: &mut Stream) -> AtNow {
        let mut now = AtNow::default();
        for path in paths {
            let (m, slope) = path.at(self.now_h);
            now.gravity.push(path.wandering(self.now_h, stream));
            now.progress.push((1.0 - m.left).clamp(0.0, 1.0));
            now.fall.push(-slope * 24.0);
            now.left.push(m.plato - path.curve.end());
        }
        now
    }

    fn path<'d>(&self, draw: &'d Draw) -> Path<'d> {
        let (curve, energy) = self.problem.curve(&draw.z);
        let mut path = Path {
            wandered: &draw.wandered,
            curve,
            drawn: curve.draw(),
            ticks: self.problem.clock.at(energy),
            last: None,
        };
        path.last = self
            .problem
            .points
            .last()
            .map(|p| (p.at_h, path.sd(p.at_h)));
        path
    }

    fn forecast(&self, paths: &[Path<'_>], stream: &mut Stream) -> Vec<Forecast> {
        let step_h = self.until_h / (MOMENTS - 1) as f64;
        let times: Vec<f64> = (0..MOMENTS).map(|i| i as f64 * step_h).collect();
        let last_h = self.problem.points.last().map_or(0.0, |p| p.at_h);
        let mut columns = vec![Vec::new(); MOMENTS];
        for path in paths {
            for (t, column) in times.iter().zip(&mut columns) {
                column.push(if *t < last_h {
                    // Before the last reading, the curve alone.
                    path.curve.can_be(path.at(*t).0.plato)
                } else {
                    path.wandering(*t, stream)
                });
            }
        }
        times
            .iter()
            .zip(columns)
            .map(|(t, mut column)| {
                column.sort_by(f64::total_cmp);
                let at = |share: f64| Gravity::from_plato(quantile(&column, share));
                Forecast {
                    at: Duration::from_h(*t),
                    gravity: Likely {
                        low: at(0.05),
                        middle: at(0.5),
                        high: at(0.95),
                    },
                    half: (at(0.25), at(0.75)),
                    temperature: Temperature::from_c(self.temperatures.at(*t)),
                }
            })
            .collect()
    }

    /// By the curve and what a course runs early or late of it.
    fn finish_time(&self, paths: &[Path<'_>], stream: &mut Stream) -> FinishTime {
        let left_plato = table().alarm.finish_left_plato;
        let mut times: Vec<f64> = paths
            .iter()
            .map(|path| {
                let span = (path.curve.original * path.curve.attenuation).max(left_plato);
                let tau = path.drawn.tau_at((left_plato / span).min(0.99)).max(0.0);
                let by_curve = path.ticks.when(tau, 0.0..self.until_h);
                by_curve.map_or(f64::INFINITY, |t_h| {
                    let late_h = path.wandered.wander.ahead_h * path.off_by(t_h, stream);
                    (t_h + late_h).max(0.0)
                })
            })
            .collect();
        times.sort_by(f64::total_cmp);
        let at = |share: f64| {
            let h = quantile(&times, share);
            h.is_finite().then(|| Duration::from_h(h))
        };
        let ended = times.iter().filter(|t| t.is_finite()).count();
        FinishTime {
            early: at(0.05),
            middle: at(0.5),
            late: at(0.95),
            within_forecast: Fraction::from_ratio(ended as f64 / times.len().max(1) as f64),
        }
    }

    fn best(&self) -> &[f64] {
        self.fit.modes.first().map_or(&[], |mode| &mode.z)
    }

    fn residuals(&self) -> Vec<Residual> {
        let off = self.problem.residuals(self.best());
        let pairs = self.problem.points.iter().zip(off);
        pairs
            .map(|(point, off)| Residual {
                at: Duration::from_h(point.at_h),
                read: Gravity::from_plato(point.plato),
                curve: Gravity::from_plato(point.plato - off),
                instrument: point.instrument,
            })
            .collect()
    }

    fn instruments(&self) -> Vec<InstrumentFound> {
        let named = self.watching.log.instruments.iter().enumerate();
        named
            .map(|(i, (name, kind))| {
                let all = self
                    .draws
                    .iter()
                    .map(|d| self.problem.offset(&d.z, i, self.now_h));
                InstrumentFound {
                    name: name.clone(),
                    kind: *kind,
                    bias_plato: moments(all.collect()),
                    usual_bias_plato: {
                        let row = kind.row();
                        let drifts = row.drift_plato_per_week * self.now_h / (7.0 * 24.0);
                        self.watching.log.bias_plato(i).hypot(drifts)
                    },
                    readings: self.clean.raw.iter().filter(|r| r.2 == i).count(),
                }
            })
            .collect()
    }

    fn notes(&self) -> Vec<Note> {
        let mut notes = Vec::new();
        if self.clean.points.is_empty() {
            notes.push(Note::look(
                "no gravity was read yet: this is what is expected of the plan",
            ));
        }
        for aside in &self.clean.aside {
            notes.push(Note::look(format!(
                "{} readings were left out: {}",
                aside.count, aside.why
            )));
        }
        if self.clean.temperatures.is_empty() {
            notes.push(Note::look(
                "no temperature of the beer was read: the planned one is taken",
            ));
        }
        if self.worth < FEW_DRAWS {
            notes.push(Note::look(format!(
                "the intervals rest on {:.0} independent draws, which is few: readings and expectation disagree; the whole posterior is safer",
                self.worth
            )));
        }
        notes
    }

    fn learned(&self, now: &AtNow) -> Option<Learned> {
        if super::reading::median(now.progress.clone()) <= TAUGHT {
            return None;
        }
        let each =
            |of: &dyn Fn(&[f64]) -> f64| moments(self.draws.iter().map(|d| of(&d.z)).collect());
        let found = std::array::from_fn(|k| each(&|z| self.problem.value(z, 1 + k)));
        let expectation = self.watching.expectation;
        let expected = (expectation.attenuation.mean, expectation.attenuation.sd);
        let share = |(value, sd)| Measured::with_sd(Fraction::from_ratio(value), sd);
        let (ln_time, ln_time_sd) = expectation.ln_half_time();
        // The curve of the expected numbers, which is not the mean of all curves.
        let usual = expectation.curve().ln_half_time();
        let (ln_found, ln_found_sd) = each(&|z| self.problem.curve(z).0.ln_half_time());
        Some(Learned {
            attenuation_expected: share(expected),
            attenuation: share(found[0]),
            ln_speed_expected: (usual - ln_time, ln_time_sd),
            ln_speed: (usual - ln_found, ln_found_sd),
            found,
        })
    }
}

/// The beer now, draw by draw.
#[derive(Debug, Clone, Default)]
pub(crate) struct AtNow {
    pub(crate) gravity: Vec<f64>,
    pub(crate) progress: Vec<f64>,
    /// \[°P a day\]
    pub(crate) fall: Vec<f64>,
    /// \[°P\]
    pub(crate) left: Vec<f64>,
}

fn problem(
    watching: &Watching<'_>,
    clean: &Clean,
    temperatures: &Temperatures,
    until_h: f64,
) -> Problem {
    let e = watching.expectation;
    let mut priors = e.priors();
    debug_assert_eq!(priors.len(), CURVE);
    let instruments = watching
        .log
        .instruments
        .iter()
        .enumerate()
        .map(|(i, (_, kind))| {
            let row = kind.row();
            let read = clean.points.iter().any(|p| p.instrument == i);
            let mut slot = |sd: f64| {
                (read && sd > 0.0).then(|| {
                    priors.push(Prior::normal(0.0, sd));
                    priors.len() - 1
                })
            };
            Slots {
                bias: slot(watching.log.bias_plato(i)),
                drift: slot(row.drift_plato_per_week),
                tails: row.tails,
            }
        })
        .collect();
    let w = &table().wander;
    Problem {
        priors,
        points: clean.points.clone(),
        instruments,
        clock: Clock::new(|t| temperatures.at(t), until_h, e.reference_c, e.best_c),
        wander: Wander {
            floor: w.floor_plato,
            ahead_h: w.ahead_h,
            hours: w.hours,
        },
    }
}

/// The course of one draw.
struct Path<'d> {
    wandered: &'d Wandered,
    curve: Curve,
    drawn: Drawn,
    ticks: Ticks,
    /// The time of the last reading, and how far off courses are then \[°P\].
    last: Option<(f64, f64)>,
}

impl Path<'_> {
    /// The curve at a time, and its slope by the clock on the wall \[°P/h\].
    fn at(&self, t_h: f64) -> (Moment, f64) {
        let m = self.drawn.at(self.ticks.read(t_h).0);
        (m, m.by_tau * self.ticks.speed(t_h))
    }

    /// How far off its curve a course is at a time: standard deviation \[°P\].
    fn sd(&self, t_h: f64) -> f64 {
        self.wandered.wander.sd(self.at(t_h).1)
    }

    /// The gravity at a time, off the curve by what it wanders from where it was last read
    /// \[°P\].
    fn wandering(&self, t_h: f64, stream: &mut Stream) -> f64 {
        let (m, slope) = self.at(t_h);
        let off = self.wandered.wander.sd(slope) * self.off_by(t_h, stream);
        self.curve.can_be(m.plato + off)
    }

    /// How far off it is in the standard deviation that it has there.
    fn off_by(&self, t_h: f64, stream: &mut Stream) -> f64 {
        let Some((last_h, sd)) = self.last else {
            return stream.normal();
        };
        let found = self.wandered;
        let kept = found.wander.kept((t_h - last_h).max(0.0));
        let spread = (1.0 - kept * kept * (1.0 - found.unknown)).max(0.0).sqrt();
        kept * found.off / sd.max(1e-6) + spread * stream.normal()
    }
}

/// Of sorted numbers.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> f64 {
    let last = sorted.len().saturating_sub(1);
    let place = share * last as f64;
    let (low, high) = (place.floor() as usize, place.ceil() as usize);
    match (sorted.get(low), sorted.get(high)) {
        (Some(a), Some(b)) if a.is_finite() && b.is_finite() => a + (b - a) * (place - low as f64),
        (_, Some(b)) => *b,
        _ => f64::NAN,
    }
}

fn likely<Q>(mut x: Vec<f64>, of: impl Fn(f64) -> Q) -> Likely<Q> {
    x.sort_by(f64::total_cmp);
    Likely {
        low: of(quantile(&x, 0.05)),
        middle: of(quantile(&x, 0.5)),
        high: of(quantile(&x, 0.95)),
    }
}

/// Mean and standard deviation.
pub(crate) fn moments(x: Vec<f64>) -> (f64, f64) {
    let n = x.len().max(1) as f64;
    let mean = x.iter().sum::<f64>() / n;
    let variance = x.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n;
    (mean, variance.sqrt())
}

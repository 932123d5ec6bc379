//! From what was typed and the batch to a wish of the model.

use ferment::steer::{Figure, Goal, Limit, Range, Wish, standing, usual_steepest};
use ferment::watch::{Course, Expectation, GravityReading, Instrument, Log, Watching, watch};
use ferment::{CoursePoint, FermentPlan, ferment};
use quantity::{Duration, Measured, Note, Temperature, Told, Units, show};

use super::refused;
use super::typed::{Read, TypedSteer, fault};
use super::words::step_words;
use crate::log::LogReading;
use crate::plan::ferment_plan;
use crate::reader::Fault;
use crate::stream::Reckoning;
use crate::watch::{Moments, Watched};

/// Diacetyl above which beer is off \[mg/L\] (MEBAK, read).
const BUTTER_MG_PER_L: f64 = 0.10;
/// What may be left to ferment in beer that is ready \[%\] (judgement).
const LEFT_PERCENT: f64 = 2.0;
/// More esters and fusel alcohols than the plan makes, at most (judgement).
const AS_PLANNED: f64 = 1.05;
/// Least and most yeast beside the planned (judgement).
const YEAST: (f64, f64) = (0.75, 1.5);
/// The longest course that is looked at, and the shortest \[h\].
const LONGEST_H: f64 = 90.0 * 24.0;
const SHORTEST_H: f64 = 24.0;

/// Where a running batch stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// The moment.
    pub now: Duration,
    /// Factor on the speed that the class has.
    pub speed: f64,
    /// Gravity by the curve through the readings.
    pub gravity: quantity::Gravity,
    /// Where it will end.
    pub end: quantity::Gravity,
    /// Readings that it rests on.
    pub readings: usize,
}

/// A wish, ready to be searched.
#[derive(Debug, Clone)]
pub(super) struct Asked {
    pub(super) plan: FermentPlan,
    pub(super) wish: Wish,
    pub(super) planned_end: Duration,
    pub(super) against: (Figure, Goal),
    pub(super) assumed: Vec<Told>,
    pub(super) standing: Option<Standing>,
    pub(super) notes: Vec<Note>,
}

impl Asked {
    pub(super) fn of(
        r: &Reckoning,
        typed: &TypedSteer,
        kept: &[LogReading],
    ) -> Result<Self, Vec<Fault>> {
        let read = typed.read()?;
        let told = |error: ferment::FermentError| vec![refused(&error)];
        let mut plan = ferment_plan(&r.document, &r.boil.wort).map_err(told)?;
        let planned_end = main_end(&plan);
        let mut notes = Vec::new();
        let running = if read.running {
            Some(watched(r, kept)?)
        } else {
            match now(&read)? {
                Some(now) => Some((
                    typed_course(r, &plan, &read, now).map_err(told)?,
                    read.readings.len(),
                )),
                None => None,
            }
        };
        let mut found = None;
        if let Some((course, readings)) = running {
            let (stands, as_it_runs) = stands(r, &plan, &course, readings).map_err(told)?;
            plan = as_it_runs;
            found = Some(stands);
        }
        let (standing, now) = (found, found.map(|s| s.now));
        let mut assumed = Vec::new();
        let wish = wish(r, &plan, &read, now, planned_end, &mut assumed)?;
        notes.extend(remarks(&wish, &plan));
        let first = read.aims.iter().find(|aim| aim.figure != Figure::Days);
        let goal = |figure| match first.filter(|aim| aim.figure == figure) {
            Some(aim) => aim.goal,
            None => Goal::Least,
        };
        let figure = read.against.or(first.map(|aim| aim.figure));
        let figure = figure.unwrap_or(Figure::IsoamylAlcohol);
        Ok(Self {
            against: (figure, goal(figure)),
            plan,
            wish,
            planned_end,
            assumed,
            standing,
            notes,
        })
    }

    /// How far the trade-off reaches \[h\]: half as long again as the plan or the best.
    pub(super) fn latest_of_curve(&self, best: &ferment::steer::Steered) -> f64 {
        let long = 1.5 * best.end.h().max(self.planned_end.h());
        long.clamp(best.end.h() + 24.0, (best.end.h() + 24.0).max(LONGEST_H))
    }
}

fn now(read: &Read) -> Result<Option<Duration>, Vec<Fault>> {
    let last = read
        .readings
        .iter()
        .map(|r| r.0.h())
        .fold(f64::NAN, f64::max);
    let now = match read.now {
        Some(now) => now,
        None if last.is_finite() => Duration::from_h(last),
        None => return Ok(None),
    };
    if now.h() > LONGEST_H || now.h() < 0.0 {
        let message = format!("{} is no time of a fermentation", show(now, Units::Metric));
        let help = "give the time since pitching, up to 90 days".to_owned();
        return Err(vec![fault("now", message, help)]);
    }
    Ok(Some(now).filter(|now| now.h() > 0.0))
}

/// When the plan is over but for what is only kept cold: its last point at which the yeast
/// still works.
pub(super) fn main_end(plan: &FermentPlan) -> Duration {
    let works = |p: &&CoursePoint| p.temperature >= plan.strain.working.low;
    let last = plan.course.iter().rev().find(works);
    let end = last.map_or(plan.length, |p| p.at);
    if end.h() >= SHORTEST_H {
        end
    } else {
        Duration::from_h(plan.length.h().max(SHORTEST_H))
    }
}

fn wish(
    r: &Reckoning,
    plan: &FermentPlan,
    read: &Read,
    now: Option<Duration>,
    planned_end: Duration,
    assumed: &mut Vec<Told>,
) -> Result<Wish, Vec<Fault>> {
    let working = &plan.strain.working;
    let coldest = read.coldest.unwrap_or(working.low);
    let warmest = read.warmest.unwrap_or(if working.high < coldest {
        coldest
    } else {
        working.high
    });
    for (given, word, at) in [
        (read.coldest, "coldest", coldest),
        (read.warmest, "warmest", warmest),
    ] {
        if given.is_none() {
            assumed.push(Told::of(|units| {
                format!(
                    "{word}: {}, where this yeast still works ({})",
                    show(at, units),
                    plan.strain.source.mark
                )
            }));
        }
    }
    if warmest < coldest {
        let message = "the warmest is colder than the coldest".to_owned();
        let help = format!("give {} or more", show(coldest, Units::Metric));
        return Err(vec![fault("warmest", message, help)]);
    }
    let steepest = read.steepest.unwrap_or_else(|| {
        assumed.push(Told::of(|units| {
            let step = step_words(usual_steepest().k(), units);
            format!("no faster than {step} in an hour (common practice)")
        }));
        usual_steepest()
    });
    let soonest_h = now.map_or(SHORTEST_H, |now| now.h() + 12.0);
    let latest = read.by.unwrap_or_else(|| {
        let latest = Duration::from_h(
            (2.0 * planned_end.h())
                .max(soonest_h + 240.0)
                .min(LONGEST_H + soonest_h),
        );
        assumed.push(Told::of(|units| {
            format!("ready after {} at the latest", show(latest, units))
        }));
        latest
    });
    if latest.h() < soonest_h {
        let message = format!("{} is too soon", show(latest, Units::Metric));
        let help = format!(
            "give {} or more",
            show(Duration::from_h(soonest_h), Units::Metric)
        );
        return Err(vec![fault("by", message, help)]);
    }
    if latest.h() > 2.0 * LONGEST_H {
        let message = format!(
            "{} is longer than a course is reckoned for",
            show(latest, Units::Metric)
        );
        return Err(vec![fault("by", message, "give up to 180 days".to_owned())]);
    }
    let limits = limits(r, read, assumed);
    let pitch = pitch(plan, read, now, assumed)?;
    Ok(Wish {
        aims: read.aims.clone(),
        limits,
        end: (Duration::from_h(soonest_h), latest),
        range: Range {
            coldest,
            warmest,
            steepest: Some(steepest),
        },
        pitch,
        from: now,
    })
}

fn pitch(
    plan: &FermentPlan,
    read: &Read,
    now: Option<Duration>,
    assumed: &mut Vec<Told>,
) -> Result<(f64, f64), Vec<Fault>> {
    if now.is_some() {
        return Ok((1.0, 1.0));
    }
    if plan.starter.is_some() {
        assumed.push(
            "as much yeast as the planned starter gives: plan another in \"yeast to pitch\"".into(),
        );
        return Ok((1.0, 1.0));
    }
    let (least, most) = match read.yeast {
        (None, None) => {
            let told = format!(
                "{} to {} times the yeast at hand (judgement)",
                YEAST.0, YEAST.1
            );
            assumed.push(told.into());
            YEAST
        }
        (least, most) => (
            least.unwrap_or(most.unwrap_or(1.0).min(1.0)),
            most.unwrap_or(least.unwrap_or(1.0).max(1.0)),
        ),
    };
    if least > most {
        let message = "the most yeast is less than the least".to_owned();
        let help = format!("give {least} or more");
        return Err(vec![fault("yeast_most", message, help)]);
    }
    Ok((least, most))
}

/// The limits wished, and those of beer that is ready.
fn limits(r: &Reckoning, read: &Read, assumed: &mut Vec<Told>) -> Vec<Limit> {
    let mut limits = read.limits.clone();
    let said = |figure| {
        let limit = read.limits.iter().any(|l| l.figure == figure);
        limit || read.aims.iter().any(|a| a.figure == figure)
    };
    let flavour = [
        Figure::IsoamylAcetate,
        Figure::EthylAcetate,
        Figure::IsoamylAlcohol,
    ];
    if !flavour.iter().any(|f| said(*f)) {
        let banana = r.document.aim.as_ref().and_then(|aim| aim.banana);
        match banana.filter(|b| b.value.mg_per_l() > b.sd() && b.sd() > 0.0) {
            Some(banana) => {
                let (mid, sd) = (banana.value.mg_per_l(), banana.sd());
                limits.push(Limit::at_least(Figure::IsoamylAcetate, mid - sd));
                limits.push(Limit::at_most(Figure::IsoamylAcetate, mid + sd));
                assumed.push("banana as the aim of the batch has it".into());
            }
            None => {
                let made = &r.fermentation.beer.flavour;
                let esters = made.ethyl_acetate.mg_per_l() * AS_PLANNED;
                let fusel = made.isoamyl_alcohol.mg_per_l() * AS_PLANNED;
                limits.push(Limit::at_most(Figure::EthylAcetate, esters.max(1e-3)));
                limits.push(Limit::at_most(Figure::IsoamylAlcohol, fusel.max(1e-3)));
                assumed.push(
                    "hardly more esters and fusel alcohols than the plan makes (5 % at most)"
                        .into(),
                );
            }
        }
    }
    if !said(Figure::Diacetyl) {
        limits.push(Limit::at_most(Figure::Diacetyl, BUTTER_MG_PER_L));
        assumed.push("butter below 0.10 mg/L, where beer is off (MEBAK, read)".into());
    }
    if !said(Figure::Gravity) {
        limits.push(Limit::at_most(Figure::LeftToFerment, LEFT_PERCENT));
        assumed.push("no more than 2 % of what can ferment left (judgement)".into());
    }
    limits
}

/// The course through the readings that are kept with a batch, and how many there are.
fn watched(r: &Reckoning, kept: &[LogReading]) -> Result<(Course, usize), Vec<Fault>> {
    let watched =
        Watched::of(r, kept, Moments::default()).map_err(|error| vec![refused(&error)])?;
    let gravities = watched.fit.gravities;
    if gravities == 0 || watched.course.now.h() <= 0.0 {
        let message = "no gravity of this batch was kept since it was pitched".to_owned();
        let help = "keep its readings first, or write them here".to_owned();
        return Err(vec![fault("running", message, help)]);
    }
    if watched.course.now.h() > LONGEST_H {
        let message = "the last reading is more than 90 days after pitching".to_owned();
        let help = "say when it was pitched, in fermentation.pitched of the document".to_owned();
        return Err(vec![fault("running", message, help)]);
    }
    Ok((watched.course, gravities))
}

/// Where a batch stands after its readings, and the plan that goes with it.
fn stands(
    r: &Reckoning,
    plan: &FermentPlan,
    course: &Course,
    readings: usize,
) -> Result<(Standing, FermentPlan), ferment::FermentError> {
    let standing = standing(plan, &r.boil.wort, course)?;
    let told = Standing {
        now: course.now,
        speed: standing.speed,
        gravity: course.gravity.middle,
        end: course.end.middle,
        readings,
    };
    Ok((told, standing.plan))
}

/// The course through readings that were typed.
fn typed_course(
    r: &Reckoning,
    plan: &FermentPlan,
    read: &Read,
    now: Duration,
) -> Result<Course, ferment::FermentError> {
    let as_planned = ferment(plan, &r.boil.wort)?;
    let original = Measured::exactly(r.boil.wort.gravity);
    let expectation = Expectation::planned(
        &plan.strain,
        original,
        &as_planned.course,
        as_planned.expected_gravity,
    );
    let log = Log {
        instruments: vec![("hydrometer".to_owned(), Instrument::Hydrometer)],
        gravities: read
            .readings
            .iter()
            .map(|(at, gravity, _)| GravityReading {
                at: *at,
                gravity: *gravity,
                instrument: 0,
            })
            .collect(),
        temperatures: temperatures(plan, read)?,
        ..Log::default()
    };
    let temperatures = plan.temperatures()?;
    watch(Watching {
        expectation: &expectation,
        log: &log,
        planned: Some(&temperatures),
        now,
        seed: 1,
    })
}

/// Temperatures as read; before the first of them as planned.
fn temperatures(
    plan: &FermentPlan,
    read: &Read,
) -> Result<Vec<(Duration, Temperature)>, ferment::FermentError> {
    let mut own: Vec<(Duration, Temperature)> = read
        .readings
        .iter()
        .filter_map(|(at, _, temperature)| Some((*at, (*temperature)?)))
        .collect();
    if own.is_empty() {
        return Ok(own);
    }
    let planned = plan.temperatures()?;
    own.push((Duration::from_h(0.0), planned.at(Duration::from_h(0.0))));
    Ok(own)
}

/// What the model cannot do for a wish.
fn remarks(wish: &Wish, plan: &FermentPlan) -> Vec<Note> {
    let mut notes = Vec::new();
    let wished = |figure| {
        let limit = wish.limits.iter().any(|l| l.figure == figure);
        limit || wish.aims.iter().any(|a| a.figure == figure)
    };
    if wished(Figure::Vinylguaiacol) {
        notes.push(Note::look(if plan.strain.phenolic {
            "clove comes from the free ferulic acid of the wort: a mash rest near 45 °C moves it, the course of the fermentation hardly does"
        } else {
            "this class of yeast makes no clove; only what heat makes of ferulic acid is there"
        }));
    }
    let (start, range) = (plan.pitch_temperature, &wish.range);
    if wish.from.is_none() && (start < range.coldest || range.warmest < start) {
        notes.push(Note::look(format!(
            "the wort is pitched at {}, outside of what can be had: the course goes there as fast as it may; the boil says how cold it is chilled",
            [Units::Metric, Units::Us].map(|units| show(start, units)).join(" or ")
        )));
    }
    notes
}

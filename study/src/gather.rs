//! Gathering: one row of figures of each batch whose owner agreed.

use std::collections::BTreeSet;
use std::collections::btree_map::{BTreeMap, Entry};
use std::path::Path;

use app::App;
use batch::Reckoning;
use batch::learning::{Taught, read_alone};
use batch::log::{LogReading, What};
use batch::watch::{Moments, Watched};
use ferment::watch::Verdict;
use inquiry::{Facts, Knowledge, Question, State, TestResult, inquire_briefly};
use quantity::numeric::normal_below;
use quantity::{Duration, Measured, Quantity};
use rayon::prelude::*;
use store::GroupId;
use water::analysis::residual_alkalinity;

use crate::StudyError;
use crate::folder::{Folder, Written};
use crate::row::Row;

/// Half of an interval that holds nine in ten of a normal distribution, in standard
/// deviations.
pub const NINE_IN_TEN: f64 = 1.644_854;
/// The finding that speaks of fruity esters.
const ESTERS: &str = "banana";
/// Less chlorine than this in the tap is none \[mg/L\] (judgement: the least that a
/// pool kit shows).
const NO_CHLORINE_MG_PER_L: f64 = 0.05;
/// A test speaks for a cause where its result is so many times likelier with it than
/// without, and against it where it is as many times less likely (judgement).
const DECIDES: f64 = 5.0;
/// Batches that are read at a time.
const AT_A_TIME: usize = 64;

/// What a gathering came to.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Gathered {
    /// Owners with a batch in it.
    pub owners: usize,
    /// Batches that were agreed to.
    pub agreed: usize,
    /// Of these, batches that cannot be reckoned, left out.
    pub unread: usize,
    /// What was written.
    pub written: Written,
}

/// Gathers the agreed batches of stores into a folder. Each group of a store is an owner,
/// and so is each store for its batches that belong to no group.
///
/// # Errors
/// [`StudyError`].
pub async fn gather(stores: &[String], to: &Path) -> Result<Gathered, StudyError> {
    let mut folder = Folder::make(to)?;
    let mut numbers = Pseudonyms::default();
    let mut rows = Vec::new();
    let mut agreed = 0;
    for place in stores {
        let app = App::open(place.as_str()).await?;
        let batches = app.study_state().await?.agreed;
        let mut owners: BTreeMap<Option<GroupId>, u64> = BTreeMap::new();
        for batch in &batches {
            if let Entry::Vacant(place) = owners.entry(batch.group) {
                place.insert(numbers.fresh()?);
            }
        }
        agreed += batches.len();
        for some in batches.chunks(AT_A_TIME) {
            let mut read = Vec::with_capacity(some.len());
            for batch in some {
                let Some(owner) = owners.get(&batch.group) else {
                    continue;
                };
                let readings = app.readings(batch.id).await?;
                read.push((*owner, app.store().current(batch.id).await?.text, readings));
            }
            let some: Vec<Row> = read
                .par_iter()
                .filter_map(|(owner, text, readings)| {
                    let row = row_of_text(text, readings)?;
                    Some(Row {
                        owner: *owner,
                        ..row
                    })
                })
                .collect();
            for row in some {
                let batch = numbers.fresh()?;
                rows.push(Row { batch, ..row });
            }
        }
        app.store().close().await;
    }
    // The order of saving would tell which batch is which.
    rows.sort_by_key(|row| row.batch);
    let read = rows.len();
    let owners: BTreeSet<u64> = rows.iter().map(|row| row.owner).collect();
    folder.add(rows)?;
    Ok(Gathered {
        owners: owners.len(),
        agreed,
        unread: agreed - read,
        written: folder.finish()?,
    })
}

/// Numbers of the system's randomness, none twice. Nothing of a batch goes into them, so
/// that nothing of it can be found from them; they are forgotten with the gathering.
#[derive(Debug, Default)]
struct Pseudonyms {
    given: BTreeSet<u64>,
}

impl Pseudonyms {
    fn fresh(&mut self) -> Result<u64, StudyError> {
        loop {
            let mut bytes = [0; 8];
            getrandom::fill(&mut bytes).map_err(|e| StudyError::NoChance(e.to_string()))?;
            let number = u64::from_le_bytes(bytes);
            if self.given.insert(number) {
                return Ok(number);
            }
        }
    }
}

fn row_of_text(text: &str, readings: &[LogReading]) -> Option<Row> {
    let outcome = app::Outcome::of(text);
    outcome.reckoning().map(|r| row_of(r, readings))
}

/// What the study takes of a batch, without whose it is. Nothing is rounded yet.
#[must_use]
pub fn row_of(r: &Reckoning, readings: &[LogReading]) -> Row {
    let mut row = planned(r);
    row.of_course(r, readings);
    let taught = Taught::of("", r, readings);
    for came in &taught.came {
        let (of, read) = (Expected::of(came.planned, came.came), Some(came.came.0));
        match came.what {
            "original gravity" => {
                tell!(row, of, read => og_planned og_low og_high og_read og_place);
            }
            "apparent attenuation" if row.fg_read.is_some() => {
                tell!(row, of, read => attenuation_planned attenuation_low attenuation_high attenuation_read attenuation_place);
            }
            _ => {}
        }
    }
    if let Some(told) = r.day.as_ref().and_then(|day| day.stands.told.as_ref()) {
        let update = &told.into_kettle;
        if let Some(came) = read_alone(pair(&update.open), pair(&update.found)) {
            let of = Expected::of(pair(&update.planned), came);
            tell!(row, of, Some(came.0) => yield_planned yield_low yield_high yield_read yield_place);
        }
    }
    row.of_inquiry(r);
    row
}

/// What the plan alone says.
fn planned(r: &Reckoning) -> Row {
    let d = &r.document;
    let fermentation = &r.fermentation;
    let course = &fermentation.course;
    let temps = || course.iter().map(|m| (m.at.h(), m.temperature.c()));
    let tap = &r.water.tap.water;
    Row {
        quarter: d.batch.brewed.as_deref().and_then(quarter),
        class: ferment::strain(&d.yeast.class).ok().map(|s| s.name.clone()),
        pitch_rate: Some(fermentation.pitch.rate.millions_per_ml_plato()),
        pitch_ratio: Some(fermentation.pitch.ratio),
        pitch_temperature: course.first().map(|m| m.temperature.c()),
        temperature: mean(temps().filter(|(h, _)| *h <= FIRST_DAYS_H).map(|t| t.1)),
        highest_temperature: temps().map(|t| t.1).reduce(f64::max),
        og_planned: Some(r.boil.wort.gravity.plato()),
        attenuation_planned: Some(fermentation.apparent_attenuation.ratio()),
        residual_alkalinity: Some(
            residual_alkalinity(&tap.ions, tap.alkalinity).mg_per_l_as_caco3(),
        ),
        calcium: Some(tap.ions.calcium.mg_per_l()),
        chloride: Some(tap.ions.chloride.mg_per_l()),
        sulfate: Some(tap.ions.sulfate.mg_per_l()),
        chlorine: Some(chlorine(tap).to_owned()),
        ..Row::default()
    }
}

/// Over which the temperature is taken.
const FIRST_DAYS_H: f64 = 72.0;

fn chlorine(tap: &water::SourceWater) -> &'static str {
    let total = tap.total_chlorine.value.mg_per_l();
    let free = tap.free_chlorine.as_ref().map(|free| free.value.mg_per_l());
    match free {
        _ if total < NO_CHLORINE_MG_PER_L => "none",
        Some(free) if free > total / 2.0 => "free chlorine",
        _ => "chloramine",
    }
}

/// The quarter of a day such as "2027-03-14".
fn quarter(day: &str) -> Option<f64> {
    let month: u32 = day.split('-').nth(1)?.parse().ok()?;
    (1..=12)
        .contains(&month)
        .then(|| f64::from((month - 1) / 3 + 1))
}

fn mean(numbers: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = numbers.fold((0.0, 0.0), |(s, n), x| (s + x, n + 1.0));
    (count > 0.0).then(|| sum / count)
}

fn pair<Q: Quantity>(m: &Measured<Q>) -> (f64, f64) {
    (m.canonical(), m.sd())
}

/// What was expected of a reading: the ends that hold nine in ten, and the middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Expected {
    pub(crate) low: f64,
    pub(crate) middle: f64,
    pub(crate) high: f64,
}

impl Expected {
    /// Of plan and reading together: value and standard deviation each.
    fn of(planned: (f64, f64), came: (f64, f64)) -> Self {
        let half = NINE_IN_TEN * planned.1.hypot(came.1);
        Self {
            low: planned.0 - half,
            middle: planned.0,
            high: planned.0 + half,
        }
    }

    /// Share of the forecast below what was read, as the middle of its hundredth; each half
    /// of the forecast taken as that of a normal distribution.
    pub(crate) fn place(self, read: f64) -> Option<f64> {
        let half = if read < self.middle {
            self.middle - self.low
        } else {
            self.high - self.middle
        };
        let z = NINE_IN_TEN * (read - self.middle) / half;
        let hundredth = (100.0 * normal_below(z)).floor().clamp(0.0, 99.0);
        (half > 0.0 && z.is_finite()).then_some((hundredth + 0.5) / 100.0)
    }
}

/// Puts a forecast, what was read and its place into the columns of a figure.
macro_rules! tell {
    ($row:ident, $expected:expr, $read:expr => $planned:ident $low:ident $high:ident $came:ident $place:ident) => {{
        let (expected, read): (Expected, Option<f64>) = ($expected, $read);
        $row.$planned = Some(expected.middle);
        $row.$low = Some(expected.low);
        $row.$high = Some(expected.high);
        $row.$came = read;
        $row.$place = read.and_then(|read| expected.place(read));
    }};
}
pub(crate) use tell;

impl Row {
    /// What the fermentation was expected to do before any reading, and what it did.
    fn of_course(&mut self, r: &Reckoning, readings: &[LogReading]) {
        let row = self;
        let after = (!readings.is_empty())
            .then(|| Watched::of(r, readings, Moments::default()).ok())
            .flatten();
        if let Some(after) = &after {
            row.of_temperatures(after, readings);
        }
        let Ok(before) = Watched::of(r, &[], Moments::default()) else {
            return;
        };
        let finished = after.filter(|a| a.course.finish.verdict == Verdict::Finished);
        let end = before.course.end;
        let expected = Expected {
            low: end.low.plato(),
            middle: end.middle.plato(),
            high: end.high.plato(),
        };
        let read = finished.as_ref().map(|a| a.course.gravity.middle.plato());
        tell!(row, expected, read => fg_planned fg_low fg_high fg_read fg_place);
        let time = before.course.finish_time;
        let days = |at: Option<Duration>| at.map(|t| t.h() / 24.0);
        // An end beyond the forecast is none, and then nothing is told of the days.
        if let (Some(low), Some(middle), Some(high)) =
            (days(time.early), days(time.middle), days(time.late))
        {
            let read = finished.and_then(|a| days(a.course.finish_time.middle));
            tell!(row, Expected { low, middle, high }, read => days_planned days_low days_high days_read days_place);
        }
    }

    /// Readings of the temperature in place of the plan.
    fn of_temperatures(&mut self, watched: &Watched, readings: &[LogReading]) {
        let temps = watched.log.temperatures.iter();
        let temps: Vec<(f64, f64)> = temps.map(|(at, t)| (at.h(), t.c())).collect();
        if readings.iter().any(|x| x.what == What::Temperature) && !temps.is_empty() {
            let within = temps
                .iter()
                .filter(|(h, _)| (0.0..=FIRST_DAYS_H).contains(h));
            self.temperature = mean(within.map(|t| t.1)).or(self.temperature);
            self.highest_temperature = temps.iter().map(|t| t.1).reduce(f64::max);
        }
    }

    fn of_inquiry(&mut self, r: &Reckoning) {
        let question = r.question();
        let of_esters = question.findings.iter().find(|f| f.key == ESTERS);
        self.esters = of_esters.map(|f| f.state == State::Present);
        let facts = batch::inquiry::facts(r);
        let Some((cause, chance)) = likeliest(&facts, &question) else {
            return;
        };
        let said = &r.document.inquiry;
        let mended = said
            .gone
            .filter(|_| said.tried.as_deref() == Some(cause.as_str()));
        self.cause_confirmed = mended.or_else(|| decided(&cause, &question.results));
        self.cause_chance = Some(chance);
        self.cause = Some(cause);
    }
}

/// The likeliest cause of what was found, before any test; none where nothing asks for one.
fn likeliest(facts: &Facts, question: &Question) -> Option<(String, f64)> {
    let untested = Question {
        results: Vec::new(),
        ..question.clone()
    };
    if !untested
        .findings
        .iter()
        .any(|f| f.state == State::Present && !untested.wanted.contains(&f.key))
    {
        return None;
    }
    let answer = inquire_briefly(facts, &untested).ok()?;
    let first = answer.causes.first()?;
    Some((first.cause.key.clone(), first.made))
}

/// Whether the tests that speak to a cause bear it out; none where they decide nothing.
fn decided(cause: &str, results: &[TestResult]) -> Option<bool> {
    let tests = &Knowledge::built_in().tests;
    let odds: f64 = results
        .iter()
        .filter_map(|result| {
            let test = tests.iter().find(|t| t.key == result.test)?;
            let with = *test.positive.get(cause)?;
            let without = test.otherwise;
            Some(if result.positive {
                with / without
            } else {
                (1.0 - with) / (1.0 - without)
            })
        })
        .product();
    match odds {
        odds if odds >= DECIDES => Some(true),
        odds if odds <= 1.0 / DECIDES => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_the_middle_of_its_hundredth() {
        let of = Expected {
            low: 10.0,
            middle: 12.0,
            high: 13.0,
        };
        assert_eq!(of.place(12.0), Some(0.505));
        assert_eq!(of.place(9.99), Some(0.045));
        assert_eq!(of.place(13.01), Some(0.955));
        assert_eq!(of.place(1e9), Some(0.995));
        assert_eq!(Expected { high: 12.0, ..of }.place(12.5), None);
    }

    #[test]
    fn a_day_gives_its_quarter_alone() {
        assert_eq!(quarter("2027-03-14"), Some(1.0));
        assert_eq!(quarter("2027-12"), Some(4.0));
        assert_eq!(quarter("in spring"), None);
        assert_eq!(quarter("2027-13-01"), None);
    }

    #[test]
    fn a_test_decides_only_where_it_speaks_plainly() {
        let tests = &Knowledge::built_in().tests;
        let plain = |t: &&inquiry::Test| t.positive.iter().any(|(_, p)| p / t.otherwise >= DECIDES);
        let test = tests.iter().find(plain).unwrap();
        let (cause, _) = test
            .positive
            .iter()
            .find(|(_, p)| *p / test.otherwise >= DECIDES)
            .unwrap();
        let result = |positive| TestResult {
            test: test.key.clone(),
            positive,
        };
        assert_eq!(decided(cause, &[result(true)]), Some(true));
        assert_eq!(decided("no such cause", &[result(true)]), None);
        assert_eq!(decided(cause, &[]), None);
    }

    #[test]
    fn pseudonyms_differ_from_gathering_to_gathering() {
        let (mut one, mut other) = (Pseudonyms::default(), Pseudonyms::default());
        let some: Vec<u64> = (0..50).map(|_| one.fresh().unwrap()).collect();
        let more: Vec<u64> = (0..50).map(|_| other.fresh().unwrap()).collect();
        assert!(some.iter().all(|n| !more.contains(n)));
    }
}

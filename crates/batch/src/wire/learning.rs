//! What the batches of a house taught, as JSON.

use quantity::Units;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::learning::{Check, Into as Carried, Known, Moved, Taught, known_words, moved_words};

/// What the batches of a house taught. Numbers of a constant are in its canonical unit:
/// shares from 0 to 1, L/kg, kg/h, factors, °P.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Learning {
    /// The version of this form: "gylewright/learning/1".
    pub schema: &'static str,
    /// The batch whose kit and yeast it is about.
    pub of: String,
    /// Further batches after which one counts half; null where nothing is forgotten.
    pub half_life_batches: Option<f64>,
    /// The batches that say something, the oldest first.
    pub batches: Vec<TaughtForm>,
    /// The constants.
    pub constants: Vec<KnownForm>,
    /// What a plan would take of them.
    pub values: Vec<LearnedValueForm>,
    /// Each batch against what the ones before it made one expect.
    pub constants_check: CheckForm,
    /// Each batch against its own plan.
    pub plans_check: CheckForm,
}

/// A batch that says something.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TaughtForm {
    /// Its identifier.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// Why it is left out; null where it counts.
    pub left_out: Option<String>,
    /// Why its readings of the fermentation say nothing; null where they do.
    pub unread: Option<String>,
}

/// A constant as the batches have it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct KnownForm {
    /// Its key.
    pub key: &'static str,
    /// Of which instrument; null for kit and yeast.
    pub of: Option<String>,
    /// What it is called.
    pub name: &'static str,
    /// What it belongs to: kit, yeast or instrument.
    pub belongs_to: &'static str,
    /// Batches that count.
    pub batches: u32,
    /// In words, in metric units.
    pub text: String,
    /// Before any batch.
    pub prior: NumberForm,
    /// The mean of the house.
    pub house: NumberForm,
    /// The next batch.
    pub next: NumberForm,
    /// How far batches lie apart: standard deviation, and that of it.
    pub apart: f64,
    /// How well that is known.
    pub apart_sd: f64,
    /// Where its spreads come from.
    pub source: String,
    /// How that was obtained.
    pub mark: &'static str,
    /// What each batch did to it, the oldest first.
    pub trace: Vec<MovedForm>,
}

/// A number with its standard deviation and the interval that holds it nine times in ten.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct NumberForm {
    /// The number.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// Five of a hundred lie below; null where it is not reckoned.
    pub low: Option<f64>,
    /// Five of a hundred lie above.
    pub high: Option<f64>,
}

/// What one batch did to a constant.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MovedForm {
    /// The identifier of the batch.
    pub batch: String,
    /// What its readings say by themselves.
    pub says: f64,
    /// What they leave open.
    pub says_sd: f64,
    /// Share of a new batch that it counts for; 0 where it is left out.
    pub weight: f64,
    /// The mean of the house without it; with it, for one that is left out.
    pub otherwise: f64,
    /// How far it lies from what the others make one expect, in standard deviations.
    pub odd: f64,
    /// In words, in metric units.
    pub text: String,
}

/// A value for a plan.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LearnedValueForm {
    /// Its key in a batch document.
    pub key: &'static str,
    /// The value as it would be written.
    pub value: String,
    /// What stands there now; null where nothing does.
    pub now: Option<String>,
    /// From how many batches.
    pub batches: u32,
}

/// Forecasts and what came of them.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CheckForm {
    /// What it comes to, in words.
    pub verdict: &'static str,
    /// How many fell into the middle of their forecasts, by share.
    pub inside: Vec<InsideForm>,
    /// How many lie in each tenth of their forecasts, from the lowest.
    pub tenths: [usize; 10],
}

/// How many fell into a share of their forecasts.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct InsideForm {
    /// The share.
    pub share: f64,
    /// How many.
    pub inside: usize,
    /// Of how many.
    pub of: usize,
}

/// Everything that the form is made of.
#[derive(Debug)]
pub struct Lesson<'l> {
    /// The batch that it is about.
    pub of: &'l str,
    /// Further batches after which one counts half.
    pub half_life: Option<f64>,
    /// The batches.
    pub taught: &'l [Taught],
    /// The constants.
    pub known: &'l [Known],
    /// What a plan would take.
    pub values: &'l [Carried],
    /// The two checks.
    pub checks: [&'l Check; 2],
}

impl From<&Lesson<'_>> for Learning {
    fn from(lesson: &Lesson<'_>) -> Self {
        let [constants_check, plans_check] = lesson.checks.map(CheckForm::from);
        let id = |moved: &Moved| lesson.taught.get(moved.batch).map_or("", |t| t.id.as_str());
        Self {
            schema: "gylewright/learning/1",
            of: lesson.of.to_owned(),
            half_life_batches: lesson.half_life,
            batches: lesson.taught.iter().map(TaughtForm::from).collect(),
            constants: lesson.known.iter().map(|k| known(k, &id)).collect(),
            values: lesson.values.iter().map(LearnedValueForm::from).collect(),
            constants_check,
            plans_check,
        }
    }
}

fn known<'a>(k: &Known, id: &dyn Fn(&Moved) -> &'a str) -> KnownForm {
    let source = k.constant.source();
    let number = |(value, sd): (f64, f64), ends: Option<(f64, f64)>| NumberForm {
        value,
        sd,
        low: ends.map(|e| e.0),
        high: ends.map(|e| e.1),
    };
    KnownForm {
        key: k.constant.word(),
        of: k.of.clone(),
        name: k.constant.name(),
        belongs_to: k.constant.of().word(),
        batches: k.batches(),
        text: known_words(k, Units::Metric),
        prior: number(k.prior, None),
        house: number(k.house, Some(k.likely)),
        next: number(k.next, Some(k.next_likely)),
        apart: k.apart.0,
        apart_sd: k.apart.1,
        mark: source.mark.words(),
        source: source.text,
        trace: k
            .trace
            .iter()
            .map(|m| MovedForm {
                batch: id(m).to_owned(),
                says: m.says.0,
                says_sd: m.says.1,
                weight: m.weight,
                otherwise: m.otherwise,
                odd: m.odd,
                text: moved_words(k, m, Units::Metric),
            })
            .collect(),
    }
}

impl From<&Taught> for TaughtForm {
    fn from(taught: &Taught) -> Self {
        Self {
            id: taught.id.clone(),
            name: taught.name.clone(),
            left_out: taught.document.learning.left_out.clone(),
            unread: taught.unread.clone(),
        }
    }
}

impl From<&Carried> for LearnedValueForm {
    fn from(value: &Carried) -> Self {
        Self {
            key: value.key,
            value: value.value.clone(),
            now: value.now.clone(),
            batches: value.batches,
        }
    }
}

impl From<&Check> for CheckForm {
    fn from(check: &Check) -> Self {
        let inside = check.inside.iter().map(|i| InsideForm {
            share: i.share,
            inside: i.inside,
            of: i.of,
        });
        Self {
            verdict: check.width.words(),
            inside: inside.collect(),
            tenths: check.tenths(),
        }
    }
}

/// The JSON Schema (2020-12) of [`Learning`].
#[must_use]
pub fn learning_schema() -> Value {
    super::named::<Learning>("urn:gylewright:schema:learning:1")
}

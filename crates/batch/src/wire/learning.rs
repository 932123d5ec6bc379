//! What the batches of a house taught, as JSON.

use quantity::Units;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::learning::{
    Check, Forget, Into as Carried, Known, Moved, Sampled, SeasonFigure, SeasonalWater,
    TasterThreshold, Taught, known_words, moved_words, season_source, season_words, taster_source,
    threshold_words,
};
use crate::library::day_of_year;

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
    /// Months after which one counts half; null where they are not what counts.
    pub half_life_months: Option<f64>,
    /// The batches that say something, the oldest first.
    pub batches: Vec<TaughtForm>,
    /// The constants.
    pub constants: Vec<KnownForm>,
    /// Its waters through the year.
    pub waters: Vec<SeasonalWaterForm>,
    /// From which concentration each taster notices what.
    pub tasters: Vec<TasterForm>,
    /// What a plan would take of them.
    pub values: Vec<LearnedValueForm>,
    /// Each batch against what the ones before it made one expect.
    pub constants_check: CheckForm,
    /// Each batch against its own plan.
    pub plans_check: CheckForm,
}

/// A taster's threshold of a compound, in mg/L.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TasterForm {
    /// Who.
    pub taster: String,
    /// The key of the compound.
    pub compound: String,
    /// In words, in metric units.
    pub text: String,
    /// The middle of what is known of the threshold.
    pub threshold: f64,
    /// Five of a hundred lie below.
    pub low: f64,
    /// Five of a hundred lie above.
    pub high: f64,
    /// The published one.
    pub published: f64,
    /// How surely this taster notices what is clear to others, as a share of what holds for
    /// one of whom nothing is known; 0 to 1. A finding that names the taster counts so.
    pub keen: f64,
    /// What it rests on.
    pub tasted: Vec<TastedForm>,
    /// Where the figures before any tasting come from.
    pub prior_source: String,
    /// How that was obtained.
    pub mark: &'static str,
}

/// What a taster said in one beer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TastedForm {
    /// The tasting, or the batch.
    pub wherein: String,
    /// Whether the taster did not know what was in the glass.
    pub blind: bool,
    /// Reckoned concentration over the published threshold.
    pub activity: f64,
    /// Whether it was noticed.
    pub noticed: bool,
}

/// A water of the library through the year.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SeasonalWaterForm {
    /// What it is called.
    pub name: String,
    /// Which source of the batch it is, counted from one.
    pub source: usize,
    /// Its figures.
    pub figures: Vec<SeasonFigureForm>,
    /// Where the spreads before any analysis come from.
    pub prior_source: String,
    /// How that was obtained.
    pub mark: &'static str,
}

/// A figure of a water through the year, in mg/L; alkalinity in mEq/L.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SeasonFigureForm {
    /// Its key in a source.
    pub key: &'static str,
    /// Analyses that have it.
    pub analyses: u32,
    /// In words, for the day of the batch, in metric units.
    pub text: String,
    /// The middle of the year.
    pub middle: f64,
    /// On the day of the batch, as it is drawn; null where the batch has no day.
    pub on_day: Option<NumberForm>,
    /// In the middle of each month from January, as it is drawn.
    pub months: Vec<NumberForm>,
    /// What each analysis did, the oldest first.
    pub trace: Vec<SampledForm>,
}

/// What one analysis did.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SampledForm {
    /// Its day.
    pub day: String,
    /// What it says.
    pub says: f64,
    /// What it leaves open; 0 where it does not say.
    pub says_sd: f64,
    /// Share of a new one that it counts for.
    pub weight: f64,
    /// The middle of the year without it.
    pub otherwise: f64,
    /// How far it lies from what the others make one expect, in standard deviations.
    pub odd: f64,
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
    pub key: String,
    /// What it is, in words.
    pub name: String,
    /// The day that it is for; null where it is the same all year.
    pub day: Option<String>,
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
    /// Its day.
    pub day: Option<&'l str>,
    /// How age counts.
    pub forget: Forget,
    /// The batches.
    pub taught: &'l [Taught],
    /// The constants.
    pub known: &'l [Known],
    /// The waters through the year.
    pub waters: &'l [SeasonalWater],
    /// What tasters notice.
    pub tasters: &'l [TasterThreshold],
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
            half_life_batches: match lesson.forget {
                Forget::Batches(half) => Some(half),
                _ => None,
            },
            half_life_months: match lesson.forget {
                Forget::Months(half) => Some(half),
                _ => None,
            },
            batches: lesson.taught.iter().map(TaughtForm::from).collect(),
            constants: lesson.known.iter().map(|k| known(k, &id)).collect(),
            waters: lesson.waters.iter().map(|w| water(w, lesson.day)).collect(),
            tasters: lesson.tasters.iter().map(taster).collect(),
            values: lesson.values.iter().map(LearnedValueForm::from).collect(),
            constants_check,
            plans_check,
        }
    }
}

fn taster(t: &TasterThreshold) -> TasterForm {
    let source = taster_source();
    let tasted = t.tasted.iter().map(|one| TastedForm {
        wherein: one.wherein.clone(),
        blind: one.blind,
        activity: one.noticed.activity,
        noticed: one.noticed.noticed,
    });
    TasterForm {
        taster: t.taster.clone(),
        compound: t.compound.key.clone(),
        text: threshold_words(t, Units::Metric),
        threshold: t.threshold.mg_per_l(),
        low: t.likely.0.mg_per_l(),
        high: t.likely.1.mg_per_l(),
        published: t.compound.threshold.typical.mg_per_l(),
        keen: t.keen,
        tasted: tasted.collect(),
        prior_source: source.text,
        mark: source.mark.words(),
    }
}

/// Days of the middles of the months.
const MIDDLES: [f64; 12] = [
    16.0, 45.5, 75.0, 105.5, 136.0, 166.5, 197.0, 228.0, 258.5, 289.0, 319.5, 350.0,
];

fn water(water: &SeasonalWater, day: Option<&str>) -> SeasonalWaterForm {
    let source = season_source();
    SeasonalWaterForm {
        name: water.name.clone(),
        source: water.source,
        figures: water.figures.iter().map(|f| season(f, day)).collect(),
        prior_source: source.text,
        mark: source.mark.words(),
    }
}

fn season(figure: &SeasonFigure, day: Option<&str>) -> SeasonFigureForm {
    let on = |day_of_year: f64| {
        let on = figure.course.on(day_of_year);
        NumberForm {
            value: on.drawn.0,
            sd: on.drawn.1,
            low: Some(on.drawn_likely.0),
            high: Some(on.drawn_likely.1),
        }
    };
    SeasonFigureForm {
        key: figure.ion.word(),
        analyses: figure.analyses(),
        text: season_words(figure, day, Units::Metric),
        middle: figure.course.middle(),
        on_day: day.and_then(|d| day_of_year(d.trim())).map(on),
        months: MIDDLES.into_iter().map(on).collect(),
        trace: figure.trace.iter().map(sampled).collect(),
    }
}

fn sampled(s: &Sampled) -> SampledForm {
    SampledForm {
        day: s.day.clone(),
        says: s.says.0,
        says_sd: s.says.1,
        weight: s.weight,
        otherwise: s.otherwise,
        odd: s.odd,
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
            key: value.key.clone(),
            name: value.name.clone(),
            day: value.day.clone(),
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

//! Tastings as JSON. Shares and chances run from 0 to 1; differences are d'.

use glass::tasting::{AttributeJudged, Estimate, Needed, Standing};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::beside::BesideForm;
use super::named;
use crate::beside::Held;
use crate::tasting as reckoned;

/// The JSON Schema of a [`TastingPlan`].
#[must_use]
pub fn tasting_plan_schema() -> Value {
    named::<TastingPlan>("urn:gylewright:schema:tasting-plan:1")
}

/// The JSON Schema of a [`TastingResult`].
#[must_use]
pub fn tasting_result_schema() -> Value {
    named::<TastingResult>("urn:gylewright:schema:tasting-result:1")
}

/// The JSON Schema of a [`TastingOneGlass`].
#[must_use]
pub fn tasting_one_glass_schema() -> Value {
    named::<TastingOneGlass>("urn:gylewright:schema:tasting-one-glass:1")
}

/// What the answers to single glasses say (A-not-A).
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TastingOneGlass {
    /// The version of this form: "gylewright/tasting-one-glass/1".
    pub schema: &'static str,
    /// Whether a difference is shown.
    pub shown: bool,
    /// The chance of such answers without a difference.
    pub p: f64,
    /// Size of the difference.
    pub d_prime: Interval,
    /// Its standard error.
    pub d_prime_standard_error: Option<f64>,
    /// The result in one sentence.
    pub headline: String,
    /// What it can say.
    pub can_say: Vec<String>,
    /// What it cannot say.
    pub cannot_say: Vec<String>,
}

impl From<&reckoned::OneGlass> for TastingOneGlass {
    fn from(one: &reckoned::OneGlass) -> Self {
        Self {
            schema: "gylewright/tasting-one-glass/1",
            shown: one.judged.shown(),
            p: one.judged.p,
            d_prime: interval(one.judged.d_prime),
            d_prime_standard_error: one.judged.d_prime_error,
            headline: one.headline.clone(),
            can_say: one.can_say.clone(),
            cannot_say: one.cannot_say.clone(),
        }
    }
}

/// What a number of tastings can show.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TastingPlan {
    /// The version of this form: "gylewright/tasting-plan/1".
    pub schema: &'static str,
    /// How it is asked.
    pub protocol: &'static str,
    /// How many tastings.
    pub tastings: u32,
    /// The difference that matters.
    pub d_prime: f64,
    /// The risk of a false alarm that was set.
    pub false_alarm: f64,
    /// The risk of a false alarm that it comes to.
    pub true_false_alarm: f64,
    /// So many right show a difference; none if not even all would.
    pub critical: Option<u32>,
    /// The chance that the difference is seen.
    pub power: f64,
    /// The same for other differences.
    pub power_by_difference: Vec<PowerAt>,
    /// How many tastings it takes.
    pub needed: Option<TastingsNeeded>,
    /// The other ways of asking, the strongest first.
    pub beside: Vec<OtherWay>,
    /// The same in words.
    pub says: Vec<String>,
}

/// The chance that a difference is seen.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PowerAt {
    /// The difference.
    pub d_prime: f64,
    /// The chance.
    pub power: f64,
}

/// How many tastings a chance takes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TastingsNeeded {
    /// The smallest number.
    pub first: u32,
    /// From here on every number has it.
    pub stable: Option<u32>,
}

/// Another way of asking, with as many tastings.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OtherWay {
    /// Which.
    pub protocol: &'static str,
    /// The chance that the difference is seen.
    pub power: f64,
    /// How many tastings it takes.
    pub needed: Option<TastingsNeeded>,
}

/// What the answers of a tasting say.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TastingResult {
    /// The version of this form: "gylewright/tasting-result/1".
    pub schema: &'static str,
    /// What it is called.
    pub name: String,
    /// How it is asked.
    pub protocol: &'static str,
    /// Right answers.
    pub right: u32,
    /// Answers.
    pub answered: u32,
    /// Tastings that were planned.
    pub planned: u32,
    /// Whether it is over.
    pub over: bool,
    /// Whether a difference is shown, by the rule that was set.
    pub shown: bool,
    /// Where the stopping rule stands; none without one.
    pub stop: Option<&'static str>,
    /// The chance of so many right by guessing alone.
    pub p: Option<f64>,
    /// So many right show a difference.
    pub critical: Option<u32>,
    /// Share of tastings in which the beers were told apart.
    pub discriminators: Option<Interval>,
    /// Size of the difference; none where who pours tastes.
    pub d_prime: Option<Interval>,
    /// Its standard error.
    pub d_prime_standard_error: Option<f64>,
    /// Single glasses by what they were called (A-not-A); none in other ways of asking.
    pub single_glasses: Option<SingleGlassesForm>,
    /// Likeness, where a limit was set and each taster answered once.
    pub likeness: Option<Likeness>,
    /// How much tasters vary.
    pub spread: Option<TasterSpread>,
    /// Each taster's count.
    pub tasters: Vec<TasterResult>,
    /// Scores, batch less reference.
    pub attributes: Vec<AttributeResult>,
    /// What the batch should hold beside what was scored and found of it, where its
    /// reckoning is known.
    pub held: Vec<BesideForm>,
    /// The result in one sentence.
    pub headline: String,
    /// What it can say.
    pub can_say: Vec<String>,
    /// What it cannot say.
    pub cannot_say: Vec<String>,
}

/// How glasses were called that were served one at a time.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SingleGlassesForm {
    /// Glasses of the batch that were called another beer.
    pub batch_called_other: u32,
    /// Glasses of the batch.
    pub batch: u32,
    /// Glasses of the reference that were called another beer.
    pub reference_called_other: u32,
    /// Glasses of the reference.
    pub reference: u32,
}

/// A figure with its 95 % interval.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Interval {
    /// The figure; none where it has no end.
    pub value: Option<f64>,
    /// The lower end.
    pub low: Option<f64>,
    /// The upper end.
    pub high: Option<f64>,
}

/// What is shown about likeness.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Likeness {
    /// The share of discriminators that still counts as alike.
    pub limit: f64,
    /// The chance of so few right if the limit were reached.
    pub p: f64,
    /// At most so many right show it.
    pub critical: Option<u32>,
    /// Whether it is shown.
    pub shown: bool,
}

/// How much tasters vary: a beta-binomial law with guessing on top.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TasterSpread {
    /// Mean share of discriminators.
    pub mean: f64,
    /// Spread between tasters.
    pub gamma: f64,
    /// The chance of such a spread if all were alike.
    pub p: f64,
    /// So many independent tastings are they worth.
    pub worth: f64,
}

/// A taster's count.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TasterResult {
    /// Who.
    pub name: String,
    /// Right answers.
    pub right: u32,
    /// Answers.
    pub answered: u32,
    /// Tastings that were planned.
    pub planned: u32,
}

/// What scores of an attribute say.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AttributeResult {
    /// What was scored.
    pub attribute: String,
    /// Tasters.
    pub tasters: usize,
    /// Mean difference in points.
    pub mean: Interval,
    /// The chance by t.
    pub t_p: Option<f64>,
    /// The exact chance by ranks.
    pub wilcoxon_p: f64,
    /// The same, raised for the number of attributes.
    pub adjusted_p: f64,
    /// The mean difference that would be seen in 80 of 100 such tastings.
    pub seen_at_80: Option<f64>,
}

impl From<&reckoned::Plan> for TastingPlan {
    fn from(plan: &reckoned::Plan) -> Self {
        Self {
            schema: "gylewright/tasting-plan/1",
            protocol: plan.question.protocol.word(),
            tastings: plan.question.tastings,
            d_prime: plan.question.difference,
            false_alarm: plan.question.false_alarm,
            true_false_alarm: plan.power.true_alpha,
            critical: plan.power.critical,
            power: plan.power.power,
            power_by_difference: plan
                .power
                .by_difference
                .iter()
                .map(|&(d_prime, power)| PowerAt { d_prime, power })
                .collect(),
            needed: plan.needed.map(needed),
            beside: plan
                .beside
                .iter()
                .map(|b| OtherWay {
                    protocol: b.protocol.word(),
                    power: b.power,
                    needed: b.needed.map(needed),
                })
                .collect(),
            says: plan.says.clone(),
        }
    }
}

impl TastingResult {
    /// The result of a tasting.
    #[must_use]
    pub fn of(tasting: &reckoned::Tasting, judged: &reckoned::Judged) -> Self {
        let d = judged.difference;
        let one = judged.one_glass.as_ref().map(|one| one.judged);
        let compared = d.map(|d| (d.d_prime, d.d_prime_error));
        let size = compared.or(one.map(|one| (one.d_prime, one.d_prime_error)));
        let size = size.filter(|_| judged.sized);
        Self {
            schema: "gylewright/tasting-result/1",
            name: tasting.name.clone(),
            protocol: tasting.protocol.word(),
            right: judged.right,
            answered: judged.answered,
            planned: judged.planned,
            over: judged.over,
            shown: judged.shown(),
            stop: judged.standing.map(stop_word),
            p: d.map(|d| d.p).or(one.map(|one| one.p)),
            critical: d.and_then(|d| d.critical),
            discriminators: d.map(|d| interval(d.discriminators)),
            d_prime: size.map(|(d_prime, _)| interval(d_prime)),
            d_prime_standard_error: size.and_then(|(_, error)| error),
            single_glasses: one.map(|one| SingleGlassesForm {
                batch_called_other: one.answers.hits,
                batch: one.answers.batch_glasses,
                reference_called_other: one.answers.false_alarms,
                reference: one.answers.reference_glasses,
            }),
            likeness: judged.similarity.map(|s| Likeness {
                limit: s.limit,
                p: s.p,
                critical: s.critical,
                shown: s.shown(),
            }),
            spread: judged.replicated.as_ref().map(|r| TasterSpread {
                mean: r.corrected.mean,
                gamma: r.corrected.gamma,
                p: r.spread_p,
                worth: r.worth,
            }),
            tasters: judged
                .tasters
                .iter()
                .map(|t| TasterResult {
                    name: t.name.clone(),
                    right: t.right,
                    answered: t.answered,
                    planned: t.planned,
                })
                .collect(),
            attributes: judged.attributes.iter().map(attribute).collect(),
            held: Vec::new(),
            headline: judged.headline.clone(),
            can_say: judged.can_say.clone(),
            cannot_say: judged.cannot_say.clone(),
        }
    }
}

impl TastingResult {
    /// The same beside what the batch should hold.
    #[must_use]
    pub fn beside(mut self, held: &Held) -> Self {
        self.held = super::beside::told(held);
        self
    }
}

fn needed(needed: Needed) -> TastingsNeeded {
    TastingsNeeded {
        first: needed.first,
        stable: needed.stable,
    }
}

pub(super) fn interval(e: Estimate) -> Interval {
    Interval {
        value: e.value,
        low: e.low,
        high: e.high,
    }
}

fn attribute(a: &AttributeJudged) -> AttributeResult {
    AttributeResult {
        attribute: a.attribute.clone(),
        tasters: a.tasters,
        mean: interval(a.mean),
        t_p: a.t_p,
        wilcoxon_p: a.wilcoxon_p,
        adjusted_p: a.adjusted_p,
        seen_at_80: a.seen_at_80,
    }
}

const fn stop_word(standing: Standing) -> &'static str {
    match standing {
        Standing::Open => "open",
        Standing::Different => "different",
        Standing::SmallerThanNamed => "smaller than named",
        Standing::Undecided => "undecided",
    }
}

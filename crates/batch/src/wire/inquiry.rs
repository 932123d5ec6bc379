//! An inquiry as JSON.

use inquiry::{Answer, RankedCause, RankedTest, Side};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::CautionForm;
use super::reckoning::caution;

/// How many causes are given.
const CAUSES: usize = 12;

/// Why a batch is off.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Inquiry {
    /// The version of this form: "gylewright/inquiry/1".
    pub schema: &'static str,
    /// Whether anything found asks for a cause.
    pub fault: bool,
    /// What it comes to, in one sentence.
    pub verdict: String,
    /// The likeliest causes, first the one that most likely made what was found.
    pub causes: Vec<CauseForm>,
    /// Chance that none of the causes of the tables is there.
    pub none: f64,
    /// Tests that would settle it, the most certainty for their price first.
    pub tests: Vec<TestForm>,
    /// Facts of the batch that moved the chances before anything was tasted.
    pub facts: Vec<String>,
    /// Other batches of the house that spoke, with what each moved, the 100 that were saved
    /// last; of a document alone there are none.
    pub house: Vec<String>,
    /// Findings that count by what is known of who found them, in words.
    pub tasters: Vec<String>,
    /// What was left out, and why.
    pub notes: Vec<String>,
    /// What the chances rest on.
    pub mark: &'static str,
}

/// A cause.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CauseForm {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Chance that it made some of what was found.
    pub made: f64,
    /// Chance that it is there at all.
    pub chance: f64,
    /// Chance before anything was found, by the facts of the batch.
    pub before: f64,
    /// How it makes the fault.
    pub mechanism: String,
    /// Where that comes from.
    pub source: String,
    /// How that was obtained.
    pub mark: &'static str,
    /// What speaks for and against it; the log-odds that fall away without it.
    pub reasons: Vec<ReasonForm>,
    /// What to change.
    pub remedy: String,
    /// Whether that costs less than leaving it, at this chance.
    pub worth_remedy: bool,
    /// What can hurt.
    pub cautions: Vec<CautionForm>,
}

/// A reason.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReasonForm {
    /// In words.
    pub text: String,
    /// finding, circumstance, test, fact or house.
    pub of: &'static str,
    /// Log-odds \[nat\]; below nought it speaks against the cause.
    pub log_odds: f64,
}

/// A test.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TestForm {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// How it is made.
    pub how: String,
    /// Work.
    pub minutes: f64,
    /// Until it says something.
    pub days: f64,
    /// 0 nothing, 1 little, 2 a kit or meter, 3 a laboratory.
    pub money: usize,
    /// Chance of a positive result.
    pub positive: f64,
    /// Doubt that it takes away on average.
    pub gain_bit: f64,
    /// The same for what it costs, in bits a unit of ten minutes of work.
    pub gain_per_price: f64,
    /// What a positive result means.
    pub if_positive: String,
    /// The likeliest cause then, and its chance.
    pub then_positive: (String, f64),
    /// What a negative result means.
    pub if_negative: String,
    /// The likeliest cause then, and its chance.
    pub then_negative: (String, f64),
    /// What can hurt.
    pub cautions: Vec<CautionForm>,
}

impl From<&Answer> for Inquiry {
    fn from(a: &Answer) -> Self {
        Self {
            schema: "gylewright/inquiry/1",
            fault: a.fault,
            verdict: crate::inquiry::verdict(a).words(),
            causes: a.causes.iter().take(CAUSES).map(cause).collect(),
            none: a.none,
            tests: a.tests.iter().map(test).collect(),
            facts: a.facts.iter().map(|f| f.text.clone()).collect(),
            house: Vec::new(),
            tasters: Vec::new(),
            notes: a.notes.clone(),
            mark: "judgement",
        }
    }
}

fn cause(c: &RankedCause) -> CauseForm {
    let reason = |r: &inquiry::Reason| ReasonForm {
        text: r.text.clone(),
        of: match r.side {
            Side::Finding => "finding",
            Side::Circumstance => "circumstance",
            Side::Test => "test",
            Side::Fact => "fact",
            Side::House => "house",
        },
        log_odds: r.weight,
    };
    CauseForm {
        key: c.cause.key.clone(),
        name: c.cause.name.clone(),
        made: c.made,
        chance: c.chance,
        before: c.before,
        mechanism: c.cause.mechanism.clone(),
        source: c.cause.source.text.clone(),
        mark: c.cause.source.mark.words(),
        reasons: c.reasons.iter().map(reason).collect(),
        remedy: c.cause.remedy.clone(),
        worth_remedy: c.worth_remedy,
        cautions: c.cause.cautions.iter().copied().map(caution).collect(),
    }
}

fn test(t: &RankedTest) -> TestForm {
    let then = |(key, chance): (&'static str, f64)| (key.to_owned(), chance);
    TestForm {
        key: t.test.key.clone(),
        name: t.test.name.clone(),
        how: t.test.how.clone(),
        minutes: t.test.minutes,
        days: t.test.days,
        money: t.test.money,
        positive: t.positive,
        gain_bit: t.gain,
        gain_per_price: t.gain_per_price(),
        if_positive: t.test.if_positive.clone(),
        then_positive: then(t.if_positive),
        if_negative: t.test.if_negative.clone(),
        then_negative: then(t.if_negative),
        cautions: t.test.cautions.iter().copied().map(caution).collect(),
    }
}

/// The JSON Schema of [`Inquiry`].
#[must_use]
pub fn inquiry_schema() -> Value {
    super::named::<Inquiry>("urn:gylewright:schema:inquiry:1")
}

//! An inquiry told as it went: what was found, what it could be, what was tested, what it
//! was, what was changed in the next batch, and what came of it.

use std::collections::BTreeMap;

use inquiry::{
    Answer, Cause, Facts, Finding, House, InquiryError, Knowledge, Question, RankedCause, State,
    after_remedy, inquire_briefly,
};

use super::{facts, finding_words, percent};
use crate::Reckoning;
use crate::edit::written_values;

/// The whole of it.
#[derive(Debug, Clone)]
pub struct Story {
    /// What is there, and what was looked for and is not, in words.
    pub found: Vec<String>,
    /// What was brewed, as far as it moves a chance.
    pub brewed: Vec<String>,
    /// The likeliest causes before any test.
    pub could_be: Vec<Told>,
    /// The tests, in the order of the document.
    pub steps: Vec<Step>,
    /// What it comes to.
    pub answer: Answer,
    /// The same as a verdict.
    pub verdict: Verdict,
    /// The batches that were brewed after it with a remedy in them.
    pub next: Vec<Next>,
}

/// A cause with its chances.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Which.
    pub cause: &'static Cause,
    /// Chance that it made what was found \[–\].
    pub made: f64,
    /// Chance before anything was found \[–\].
    pub before: f64,
}

/// A test that was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Whether it came out positive.
    pub positive: bool,
    /// What that means.
    pub means: String,
    /// The likeliest cause once it was known, and its chance.
    pub then: Option<Told>,
}

/// What an inquiry has come to (limits are judgement).
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// Nothing that was found asks for a cause.
    NoFault,
    /// At least 90 %.
    Settled(Told),
    /// At least 60 %.
    Likely(Told),
    /// The likeliest two.
    Open(Vec<Told>),
}

/// A batch that was brewed after it, as it is given.
#[derive(Debug, Clone, Copy)]
pub struct Brewed<'a> {
    /// Its identifier in the store.
    pub id: &'a str,
    /// Its document.
    pub text: &'a str,
    /// Its reckoning.
    pub reckoning: &'a Reckoning,
    /// Whether a blind tasting showed it to be as its aim.
    pub alike: bool,
}

/// A batch that was brewed after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// Its identifier in the store.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// The cause that it mends, where that is said.
    pub mends: Option<&'static Cause>,
    /// Keys of the document that differ: path, before, now.
    pub changed: Vec<(String, String, String)>,
    /// What came of it.
    pub came: Came,
    /// The same in words.
    pub words: String,
    /// Chance of the cause that it mends, with what came of it \[–\].
    pub chance: Option<f64>,
}

/// What came of a remedy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Came {
    /// The fault is gone.
    Gone,
    /// It is still there.
    Still,
    /// Nobody has said yet.
    NotSaid,
}

const SETTLED: f64 = 0.9;
const LIKELY: f64 = 0.6;

/// Causes that are told.
const TOLD: usize = 4;

impl Story {
    /// The story of a batch, with the batches that were brewed after it.
    ///
    /// # Errors
    /// [`InquiryError`] for a question that cannot be weighed.
    pub fn of(
        text: &str,
        r: &Reckoning,
        house: &House,
        after: &[Brewed<'_>],
    ) -> Result<Self, InquiryError> {
        let question = r.question();
        let facts = Facts {
            house: house.clone(),
            ..facts(r)
        };
        let answer = r.inquire_in(house, &question)?;
        let untested = Question {
            results: Vec::new(),
            ..question.clone()
        };
        let at_first = inquire_briefly(&facts, &untested)?;
        let steps = (0..question.results.len()).map(|n| step(&facts, &question, n));
        let next = after.iter().map(|b| next(text, r, &answer, b));
        let next: Vec<Next> = next.collect::<Result<_, _>>()?;
        Ok(Self {
            found: question.findings.iter().map(finding_words).collect(),
            brewed: answer.facts.iter().map(|f| f.text.clone()).collect(),
            could_be: told(&at_first, TOLD),
            steps: steps.collect::<Result<_, _>>()?,
            verdict: with_outcome(&answer, &next),
            next,
            answer,
        })
    }
}

fn told(answer: &Answer, most: usize) -> Vec<Told> {
    if !answer.fault {
        return Vec::new();
    }
    let told = |c: &RankedCause| Told {
        cause: c.cause,
        made: c.made,
        before: c.before,
    };
    answer.causes.iter().take(most).map(told).collect()
}

fn step(facts: &Facts, question: &Question, n: usize) -> Result<Step, InquiryError> {
    let k = Knowledge::built_in();
    let result = &question.results[n];
    let test = &k.tests[k.test(&result.test)?];
    let so_far = Question {
        results: question.results[..=n].to_vec(),
        ..question.clone()
    };
    let means = if result.positive {
        &test.if_positive
    } else {
        &test.if_negative
    };
    Ok(Step {
        key: test.key.clone(),
        name: test.name.clone(),
        positive: result.positive,
        means: means.clone(),
        then: told(&inquire_briefly(facts, &so_far)?, 1).pop(),
    })
}

/// What an answer comes to.
#[must_use]
pub fn verdict(answer: &Answer) -> Verdict {
    of_chances(told(answer, TOLD))
}

/// The same, with what came of a remedy in the batches after it.
fn with_outcome(answer: &Answer, next: &[Next]) -> Verdict {
    let mut told = told(answer, TOLD);
    for told in &mut told {
        let tried = next.iter().find(|n| n.mends == Some(told.cause));
        if let Some(chance) = tried.and_then(|n| n.chance) {
            told.made = chance;
        }
    }
    told.sort_by(|a, b| b.made.total_cmp(&a.made));
    of_chances(told)
}

/// By the likeliest, which come first.
fn of_chances(mut told: Vec<Told>) -> Verdict {
    told.truncate(2);
    match told.first().map(|t| t.made) {
        None => Verdict::NoFault,
        Some(made) if made >= SETTLED => Verdict::Settled(told.swap_remove(0)),
        Some(made) if made >= LIKELY => Verdict::Likely(told.swap_remove(0)),
        Some(_) => Verdict::Open(told),
    }
}

impl Verdict {
    /// In one sentence.
    #[must_use]
    pub fn words(&self) -> String {
        let with = |t: &Told| format!("{} ({})", t.cause.name.to_lowercase(), percent(t.made));
        match self {
            Self::NoFault => "Nothing that was found asks for a cause.".to_owned(),
            Self::Settled(t) => format!("It was {}.", with(t)),
            Self::Likely(t) => format!("Most likely {}; that is not settled yet.", with(t)),
            Self::Open(told) => {
                let told: Vec<String> = told.iter().map(with).collect();
                format!("Not settled: {}.", told.join(", or "))
            }
        }
    }
}

impl Came {
    /// In a word or two.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Gone => "the fault is gone",
            Self::Still => "the fault is still there",
            Self::NotSaid => "not said yet",
        }
    }
}

fn next(
    text: &str,
    r: &Reckoning,
    answer: &Answer,
    brewed: &Brewed<'_>,
) -> Result<Next, InquiryError> {
    let said = &brewed.reckoning.document.inquiry;
    let k = Knowledge::built_in();
    let mends = said.mends.as_ref().map(|key| k.cause(key)).transpose()?;
    let mends = mends.map(|at| &k.causes[at]);
    let came = came(r, brewed, mends);
    let before = answer.causes.iter().find(|c| Some(c.cause) == mends);
    let counted = r.document.inquiry.tried.is_some() && r.document.inquiry.gone.is_some();
    let chance = match (before, came) {
        (Some(c), Came::Gone | Came::Still) if !counted => {
            Some(after_remedy(c.made, came == Came::Gone)?)
        }
        (Some(c), Came::Gone | Came::Still) => Some(c.made),
        _ => None,
    };
    Ok(Next {
        id: brewed.id.to_owned(),
        name: brewed.reckoning.document.batch.name.clone(),
        mends,
        changed: changed(text, brewed.text),
        words: came_words(r, brewed, came),
        came,
        chance,
    })
}

/// By what the brewer says of the remedy; else by what is said of the next batch itself.
fn came(r: &Reckoning, brewed: &Brewed<'_>, mends: Option<&Cause>) -> Came {
    let said = &r.document.inquiry;
    let tried = said.tried.as_deref();
    if let (Some(gone), true) = (said.gone, tried == mends.map(|c| c.key.as_str())) {
        return if gone { Came::Gone } else { Came::Still };
    }
    let states = faults(r).map(|f| state_in(brewed.reckoning, &f.key));
    let states: Vec<Option<State>> = states.collect();
    if states.contains(&Some(State::Present)) {
        Came::Still
    } else if sound(brewed)
        || (!states.is_empty() && states.iter().all(|s| *s == Some(State::Absent)))
    {
        Came::Gone
    } else {
        Came::NotSaid
    }
}

fn sound(brewed: &Brewed<'_>) -> bool {
    brewed.alike || brewed.reckoning.document.inquiry.sound == Some(true)
}

/// What was wrong with a batch.
fn faults(r: &Reckoning) -> impl Iterator<Item = &Finding> {
    let wanted = super::wanted(r);
    let all = r.document.findings.iter();
    all.filter(move |f| f.state == State::Present && !wanted.contains(&f.key))
}

fn state_in(r: &Reckoning, key: &str) -> Option<State> {
    let found = r.document.findings.iter().find(|f| f.key == key);
    found.map(|f| f.state)
}

fn came_words(r: &Reckoning, brewed: &Brewed<'_>, came: Came) -> String {
    let k = Knowledge::built_in();
    let mut parts = vec![came.words().to_owned()];
    if brewed.alike {
        parts.push("a blind tasting showed it to be as its aim".to_owned());
    } else if brewed.reckoning.document.inquiry.sound == Some(true) {
        parts.push("it was called sound".to_owned());
    }
    for fault in faults(r) {
        let name = k
            .finding(&fault.key)
            .map_or(fault.key.as_str(), |at| k.findings[at].name.as_str());
        parts.push(match state_in(brewed.reckoning, &fault.key) {
            Some(State::Present) => format!("{name}: there again"),
            Some(State::Absent) => format!("{name}: looked for and not there"),
            None => format!("{name}: nothing said"),
        });
    }
    parts.join("; ")
}

/// Keys that differ between two documents, without what was found and done about it.
fn changed(before: &str, now: &str) -> Vec<(String, String, String)> {
    let brewed = |text: &str| -> BTreeMap<String, String> {
        let mut values = written_values(text).unwrap_or_default();
        values.retain(|path, _| {
            let told = [
                "finding[",
                "test[",
                "inquiry.",
                "batch.name",
                "batch.notes",
                "batch.brewed",
            ];
            !told.iter().any(|of| path.starts_with(of))
        });
        values
    };
    let (before, now) = (brewed(before), brewed(now));
    let mut paths: Vec<&String> = before.keys().chain(now.keys()).collect();
    paths.sort_unstable();
    paths.dedup();
    let of = |values: &BTreeMap<String, String>, path: &String| {
        values.get(path).cloned().unwrap_or_else(|| "–".to_owned())
    };
    let differs = paths.into_iter().filter(|p| before.get(*p) != now.get(*p));
    differs
        .map(|path| (path.clone(), of(&before, path), of(&now, path)))
        .collect()
}

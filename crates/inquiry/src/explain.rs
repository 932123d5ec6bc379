//! What speaks for and against a cause: the log-odds that fall away with each part.

use crate::answer::weighed_again;
use crate::error::InquiryError;
use crate::facts::Facts;
use crate::house::House;
use crate::infer::Posterior;
use crate::knowledge::{Fact, Knowledge};
use crate::question::{Question, State};

/// One part of the evidence and its weight for a cause.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// What it is, in words.
    pub text: String,
    /// What kind of thing speaks.
    pub side: Side,
    /// Log-odds of the cause with it less those without it \[nat\].
    pub weight: f64,
}

/// What kind of thing a reason is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// A finding with what is said of it.
    Finding,
    /// What is said of a finding: when and where it shows.
    Circumstance,
    /// A result of a test.
    Test,
    /// A fact of the batch.
    Fact,
    /// The house's own history.
    House,
}

/// Weights below this do not decide anything \[nat\].
const SMALL: f64 = 0.02;

/// Reasons for each cause of a list, by leaving out one part after another.
pub(crate) fn reasons(
    k: &Knowledge,
    facts: &Facts,
    question: &Question,
    held: &[&Fact],
    full: &Posterior,
    causes: &[usize],
) -> Result<Vec<Vec<Reason>>, InquiryError> {
    let mut said: Vec<Vec<Reason>> = vec![Vec::new(); causes.len()];
    for (side, text, without) in parts(k, facts, question, held) {
        let left = weighed_again(k, &without.facts, &without.question, &without.held)?;
        for (reasons, &cause) in said.iter_mut().zip(causes) {
            let weight = log_odds(full.causes[cause]) - log_odds(left.causes[cause]);
            if weight.abs() > SMALL {
                reasons.push(Reason {
                    text: text.clone(),
                    side,
                    weight,
                });
            }
        }
    }
    for reasons in &mut said {
        reasons.sort_by(|a, b| b.weight.abs().total_cmp(&a.weight.abs()));
    }
    Ok(said)
}

/// A question with one part left out.
struct Without<'a> {
    facts: Facts,
    question: Question,
    held: Vec<&'a Fact>,
}

fn parts<'a>(
    k: &Knowledge,
    facts: &Facts,
    question: &Question,
    held: &[&'a Fact],
) -> Vec<(Side, String, Without<'a>)> {
    let all = || Without {
        facts: facts.clone(),
        question: question.clone(),
        held: held.to_vec(),
    };
    let mut parts = Vec::new();
    for (i, finding) in question.findings.iter().enumerate() {
        let name = |key: &str| {
            k.finding(key)
                .map_or(key.to_owned(), |at| k.findings[at].name.clone())
        };
        let mut without = all();
        without.question.findings.remove(i);
        let not = if finding.state == State::Absent {
            "no "
        } else {
            ""
        };
        parts.push((
            Side::Finding,
            format!("{not}{}", name(&finding.key)),
            without,
        ));
        for (j, (key, holds)) in finding.shows.iter().enumerate() {
            let mut without = all();
            without.question.findings[i].shows.remove(j);
            let not = if *holds { "" } else { "not " };
            let words = k
                .circumstance(key)
                .map_or(key.clone(), |at| k.circumstances[at].name.clone());
            parts.push((
                Side::Circumstance,
                format!("{}: {not}{words}", finding.key),
                without,
            ));
        }
    }
    for (i, result) in question.results.iter().enumerate() {
        let mut without = all();
        without.question.results.remove(i);
        let words = k
            .test(&result.test)
            .map_or(result.test.clone(), |at| k.tests[at].name.clone());
        let came = if result.positive {
            "positive"
        } else {
            "negative"
        };
        parts.push((Side::Test, format!("{words}: {came}"), without));
    }
    for (i, fact) in held.iter().enumerate() {
        let mut without = all();
        without.held.remove(i);
        parts.push((Side::Fact, fact.text.clone(), without));
    }
    if !facts.house.batches.is_empty() {
        let mut without = all();
        without.facts.house = House::default();
        parts.push((
            Side::House,
            "what this house had before".to_owned(),
            without,
        ));
    }
    parts
}

/// Log-odds [nat], kept finite.
fn log_odds(p: f64) -> f64 {
    let p = p.clamp(1e-12, 1.0 - 1e-12);
    (p / (1.0 - p)).ln()
}

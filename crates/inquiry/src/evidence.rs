//! From a question to the evidence of the network.

use crate::error::InquiryError;
use crate::knowledge::{Fact, Knowledge};
use crate::network::{Agreement, Evidence, Seen};
use crate::question::{Finding, Question, State};

/// Evidence, and what was left out of it.
pub(crate) struct Weighed {
    pub evidence: Evidence,
    pub notes: Vec<String>,
}

pub(crate) fn weigh(
    k: &Knowledge,
    question: &Question,
    held: &[&Fact],
) -> Result<Weighed, InquiryError> {
    let mut notes = Vec::new();
    let counted = counted(k, question, held, &mut notes)?;
    let mut evidence = Evidence::default();
    for finding in counted {
        let seen = seen(k, finding, &mut evidence.agreements)?;
        if evidence.seen.iter().any(|s| s.effect == seen.effect) {
            return Err(InquiryError::Twice {
                given: finding.key.clone(),
            });
        }
        evidence.seen.push(seen);
    }
    for result in &question.results {
        let effect = k.effect_of_test(k.test(&result.test)?);
        if evidence.seen.iter().any(|s| s.effect == effect) {
            return Err(InquiryError::Twice {
                given: result.test.clone(),
            });
        }
        evidence.seen.push(Seen {
            asks: false,
            ..Seen::plain(effect, result.positive)
        });
    }
    Ok(Weighed { evidence, notes })
}

/// The findings that count: none that the aim wants, none that a fact says already, and
/// one of each group of near-synonyms, the strongest.
fn counted<'a>(
    k: &Knowledge,
    question: &'a Question,
    held: &[&Fact],
    notes: &mut Vec<String>,
) -> Result<Vec<&'a Finding>, InquiryError> {
    for wanted in &question.wanted {
        k.finding(wanted)?;
    }
    let mut counted: Vec<&Finding> = Vec::new();
    for finding in &question.findings {
        let row = &k.findings[k.finding(&finding.key)?];
        if question.wanted.contains(&finding.key) {
            if finding.state == State::Present {
                notes.push(format!(
                    "{} is what the aim wants: it is no fault",
                    row.name
                ));
            }
            continue;
        }
        let known_by = match finding.state {
            State::Present => &row.told_by,
            State::Absent => &row.denied_by,
        };
        if held.iter().any(|f| known_by.contains(&f.key)) {
            notes.push(format!(
                "{} is known from the batch already: it counts once",
                row.name
            ));
            continue;
        }
        let twin = counted.iter_mut().find(|c| {
            finding.state == State::Present
                && c.state == State::Present
                && c.key != finding.key
                && row.group.is_some()
                && k.findings
                    .iter()
                    .any(|f| f.key == c.key && f.group == row.group)
        });
        let Some(twin) = twin else {
            counted.push(finding);
            continue;
        };
        let kept = if finding.severity > twin.severity {
            finding
        } else {
            *twin
        };
        notes.push(format!(
            "{} and {} are near-synonyms: they count once, as {}",
            twin.key, finding.key, kept.key
        ));
        *twin = kept;
    }
    Ok(counted)
}

/// What is said of a present finding speaks of the cause that made it, never of
/// another: its chance is taken by cause.
fn seen(
    k: &Knowledge,
    finding: &Finding,
    agreements: &mut Vec<Vec<f64>>,
) -> Result<Seen, InquiryError> {
    let effect = k.finding(&finding.key)?;
    let present = finding.state == State::Present;
    let mut seen = Seen {
        keen: finding.keen,
        ..Seen::plain(effect, present)
    };
    if !present || (finding.shows.is_empty() && finding.severity.is_none()) {
        return Ok(seen);
    }
    let (made, leaked) = finding
        .severity
        .map_or((1.0, 1.0), super::question::Severity::chances);
    let mut by_cause = vec![made; k.causes.len()];
    let mut leak = leaked;
    for (i, (key, holds)) in finding.shows.iter().enumerate() {
        let row = k.circumstance(key)?;
        let first = |key: &str| {
            k.circumstances
                .iter()
                .any(|c| c.key == key && c.about == "first")
        };
        let again =
            |s: &(String, bool)| s.0 == *key || (s.1 && *holds && first(&s.0) && first(key));
        if finding.shows.iter().skip(i + 1).any(again) {
            return Err(InquiryError::Twice { given: key.clone() });
        }
        let said = |p: f64| if *holds { p } else { 1.0 - p };
        leak *= said(k.shown(row, None));
        for (cause, chance) in by_cause.iter_mut().enumerate() {
            *chance *= said(k.shown(row, Some(cause)));
        }
    }
    seen.agrees = Agreement {
        row: Some(agreements.len()),
        leak,
    };
    agreements.push(by_cause);
    Ok(seen)
}

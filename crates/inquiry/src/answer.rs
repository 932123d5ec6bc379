//! The answer: ranked causes with reasons, deciding tests, remedies that are cheaper
//! than finding out.

use crate::deciding::{RankedTest, rank};
use crate::error::InquiryError;
use crate::evidence::weigh;
use crate::explain::{Reason, reasons};
use crate::facts::{Facts, shifted};
use crate::infer::Posterior;
use crate::knowledge::{Cause, Fact, Knowledge};
use crate::network::{Evidence, Network};
use crate::question::Question;

/// What an inquiry comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Causes, the likeliest first.
    pub causes: Vec<RankedCause>,
    /// Chance that none of the listed causes is there \[–\].
    pub none: f64,
    /// Whether any finding is left that asks for a cause.
    pub fault: bool,
    /// Tests, the most certainty for their price first.
    pub tests: Vec<RankedTest>,
    /// Facts that moved the priors.
    pub facts: Vec<&'static Fact>,
    /// What was left out, and why.
    pub notes: Vec<String>,
}

/// One cause in the answer.
#[derive(Debug, Clone, PartialEq)]
pub struct RankedCause {
    /// Which.
    pub cause: &'static Cause,
    /// Chance given everything \[–\].
    pub chance: f64,
    /// Chance before the findings, by the facts \[–\].
    pub before: f64,
    /// What speaks for and against it, the weightiest first; for the first few only.
    pub reasons: Vec<Reason>,
    /// Whether its remedy costs less than leaving it, at this chance.
    pub worth_remedy: bool,
}

/// Causes whose reasons are worked out.
const EXPLAINED: usize = 6;

/// Answers a question about a batch.
///
/// # Errors
/// [`InquiryError`] for keys that no table knows, things said twice, shares outside 0
/// to 1, and more than 16 present findings.
pub fn inquire(facts: &Facts, question: &Question) -> Result<Answer, InquiryError> {
    let k = Knowledge::built_in();
    let weighed = weigh(k, question)?;
    let held = facts.holding();
    let network = network(k, facts, &held)?;
    let posterior = network.posterior(&weighed.evidence)?;
    let fault = weighed.evidence.seen.iter().any(|s| s.present);
    let mut order: Vec<usize> = (0..k.causes.len()).collect();
    order.sort_by(|&a, &b| posterior.causes[b].total_cmp(&posterior.causes[a]).then(a.cmp(&b)));
    let explained = &order[..EXPLAINED.min(order.len())];
    let mut said = reasons(k, facts, question, &held, &posterior, explained)?;
    let causes = order.iter().enumerate().map(|(rank, &at)| RankedCause {
        cause: &k.causes[at],
        chance: posterior.causes[at],
        before: network.causes[at].prior,
        reasons: said.get_mut(rank).map(std::mem::take).unwrap_or_default(),
        worth_remedy: fault && k.causes[at].remedy_cost < posterior.causes[at] * k.causes[at].loss,
    });
    let causes = causes.collect();
    let tests = if fault { rank(k, &network, &weighed.evidence, &posterior, &held)? } else { Vec::new() };
    Ok(Answer { causes, none: posterior.none, fault, tests, facts: held, notes: weighed.notes })
}

/// The network with the priors that the facts leave.
pub(crate) fn network(
    k: &Knowledge,
    facts: &Facts,
    held: &[&Fact],
) -> Result<Network, InquiryError> {
    let mut network = k.network.clone();
    let priors = facts.house_priors(k)?;
    for ((node, prior), cause) in network.causes.iter_mut().zip(priors).zip(&k.causes) {
        let factor: f64 = held.iter().filter_map(|f| f.odds.get(&cause.key)).product();
        node.prior = shifted(prior, factor);
    }
    Ok(network)
}

/// Chances for a question with a part left out.
pub(crate) fn weighed_again(
    k: &Knowledge,
    facts: &Facts,
    question: &Question,
    held: &[&Fact],
) -> Result<Posterior, InquiryError> {
    let evidence: Evidence = weigh(k, question)?.evidence;
    network(k, facts, held)?.posterior(&evidence)
}

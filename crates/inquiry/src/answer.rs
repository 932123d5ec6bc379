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
    /// Chance that it made some of what was found \[–\]: causes are ranked by it, so that
    /// a common cause that explains nothing does not come first.
    pub made: f64,
    /// Chance that it is there, whether it made something or not \[–\].
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
    let (mut answer, posterior, order) = weighed_up(k, facts, question)?;
    let explained = &order[..EXPLAINED.min(order.len())];
    let said = reasons(k, facts, question, &answer.facts, &posterior, explained)?;
    for (cause, reasons) in answer.causes.iter_mut().zip(said) {
        cause.reasons = reasons;
    }
    Ok(answer)
}

/// The same without reasons, which take most of the time.
///
/// # Errors
/// As [`inquire`].
pub fn inquire_briefly(facts: &Facts, question: &Question) -> Result<Answer, InquiryError> {
    Ok(weighed_up(Knowledge::built_in(), facts, question)?.0)
}

fn weighed_up(
    k: &'static Knowledge,
    facts: &Facts,
    question: &Question,
) -> Result<(Answer, Posterior, Vec<usize>), InquiryError> {
    let held = facts.holding();
    let weighed = weigh(k, question, &held)?;
    let network = network(k, facts, &held)?;
    let posterior = network.posterior(&weighed.evidence)?;
    let fault = weighed.evidence.seen.iter().any(|s| s.present && s.asks);
    let mut order: Vec<usize> = (0..k.causes.len()).collect();
    let made = |at: usize| (posterior.made[at], posterior.causes[at]);
    order.sort_by(|&a, &b| {
        let (a, b) = (made(a), made(b));
        b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
    let causes = order.iter().map(|&at| RankedCause {
        cause: &k.causes[at],
        made: posterior.made[at],
        chance: posterior.causes[at],
        before: network.causes[at].prior,
        reasons: Vec::new(),
        worth_remedy: k.causes[at].remedy_cost < posterior.made[at] * k.causes[at].loss,
    });
    let causes = causes.collect();
    let tests = if fault { rank(k, &network, &weighed.evidence, &posterior, &held)? } else { Vec::new() };
    let none = posterior.none;
    let answer = Answer { causes, none, fault, tests, facts: held, notes: weighed.notes };
    Ok((answer, posterior, order))
}

/// The network with the priors that the facts leave.
pub(crate) fn network(
    k: &Knowledge,
    facts: &Facts,
    held: &[&Fact],
) -> Result<Network, InquiryError> {
    let mut network = k.network.clone();
    let priors = facts.house.priors(k)?;
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
    let evidence: Evidence = weigh(k, question, held)?.evidence;
    network(k, facts, held)?.posterior(&evidence)
}

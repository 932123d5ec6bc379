//! The answer: ranked causes with reasons, deciding tests, remedies that are cheaper
//! than finding out.

use crate::deciding::{RankedTest, rank};
use crate::error::InquiryError;
use crate::evidence::{Weighed, weigh};
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
/// to 1, and more than 16 present findings of which too many hang together.
pub fn inquire(facts: &Facts, question: &Question) -> Result<Answer, InquiryError> {
    let k = Knowledge::built_in();
    let case = Case::of(k, facts, question)?;
    let mut answer = case.answer();
    let explained: Vec<usize> = case.order().into_iter().take(EXPLAINED).collect();
    let said = reasons(k, facts, question, &case.held, &case.posterior, &explained)?;
    for (cause, reasons) in answer.causes.iter_mut().zip(said) {
        cause.reasons = reasons;
    }
    answer.tests = case.tests()?;
    Ok(answer)
}

/// The causes alone, without reasons and tests, which take most of the time.
///
/// # Errors
/// As [`inquire`].
pub fn inquire_briefly(facts: &Facts, question: &Question) -> Result<Answer, InquiryError> {
    Ok(Case::of(Knowledge::built_in(), facts, question)?.answer())
}

/// The tests alone, the most certainty for their price first.
///
/// # Errors
/// As [`inquire`].
pub fn rank_tests(facts: &Facts, question: &Question) -> Result<Vec<RankedTest>, InquiryError> {
    Case::of(Knowledge::built_in(), facts, question)?.tests()
}

/// A question weighed.
struct Case {
    k: &'static Knowledge,
    held: Vec<&'static Fact>,
    notes: Vec<String>,
    evidence: Evidence,
    network: Network,
    posterior: Posterior,
}

impl Case {
    fn of(k: &'static Knowledge, facts: &Facts, question: &Question) -> Result<Self, InquiryError> {
        let held = facts.holding();
        let Weighed { evidence, notes } = weigh(k, question, &held)?;
        let network = network(k, facts, &held)?;
        let posterior = network.posterior(&evidence)?;
        Ok(Self {
            k,
            held,
            notes,
            evidence,
            network,
            posterior,
        })
    }

    fn fault(&self) -> bool {
        self.evidence.seen.iter().any(|s| s.present && s.asks)
    }

    /// Causes by what they made, then by whether they are there.
    fn order(&self) -> Vec<usize> {
        let (made, there) = (&self.posterior.made, &self.posterior.causes);
        let mut order: Vec<usize> = (0..made.len()).collect();
        order.sort_by(|&a, &b| {
            made[b]
                .total_cmp(&made[a])
                .then(there[b].total_cmp(&there[a]))
        });
        order
    }

    fn answer(&self) -> Answer {
        let ranked = |at: usize| RankedCause {
            cause: &self.k.causes[at],
            made: self.posterior.made[at],
            chance: self.posterior.causes[at],
            before: self.network.causes[at].prior,
            reasons: Vec::new(),
            worth_remedy: self.k.causes[at].remedy_cost
                < self.posterior.made[at] * self.k.causes[at].loss,
        };
        Answer {
            causes: self.order().into_iter().map(ranked).collect(),
            none: self.posterior.none,
            fault: self.fault(),
            tests: Vec::new(),
            facts: self.held.clone(),
            notes: self.notes.clone(),
        }
    }

    fn tests(&self) -> Result<Vec<RankedTest>, InquiryError> {
        if !self.fault() {
            return Ok(Vec::new());
        }
        rank(
            self.k,
            &self.network,
            &self.evidence,
            &self.posterior,
            &self.held,
        )
    }
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
        node.prior = shifted(prior, odds_of(held, &cause.key));
    }
    Ok(network)
}

/// What facts do to the odds of a cause.
pub(crate) fn odds_of(held: &[&Fact], cause: &str) -> f64 {
    held.iter().filter_map(|f| f.odds.get(cause)).product()
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

//! A network of independent causes, the traces that they leave, and what shows.

use crate::error::{InquiryError, share};
use crate::infer::{Posterior, posterior};

/// A compound that one cause makes, and what it shows as.
///
/// Findings through one trace go together: they are correlated given the cause, as
/// words for one compound are.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Chance that the cause makes it \[–\].
    pub made: f64,
    /// Effects and the chance that the trace alone shows as each \[–\].
    pub shows: Vec<(usize, f64)>,
}

/// One cause.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Chance before any evidence \[–\].
    pub prior: f64,
    /// What it leaves.
    pub traces: Vec<Trace>,
}

/// Causes over effects, joined by noisy-OR with leaks.
///
/// P(no effect of S | causes) = Π leaks (1 − leak) · Π active causes Π traces
/// [1 − made + made · Π S (1 − shows)]. The leak is the chance of an effect with no
/// cause at all (net form: links are given without the leak). Source: Pearl 1988 for
/// noisy-OR, Heckerman 1989 for the two layers (from memory).
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    /// Causes.
    pub causes: Vec<Node>,
    /// Leak of each effect \[–\].
    pub leaks: Vec<f64>,
}

/// Whether an effect was seen. What is not listed was not looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Which effect.
    pub effect: usize,
    /// Whether it was there.
    pub present: bool,
    /// Whether it is a fault that asks for a cause; a test is not.
    pub asks: bool,
    /// How surely it would have been noticed \[–\]: 1 for a taster who knows it, 0 for
    /// one who is blind to it. Multiplies every link.
    pub keen: f64,
    /// How likely what is said of it would be, by the cause that made it; empty where
    /// nothing is said. A firing that does not agree is taken not to have been.
    pub agrees: Agreement,
}

/// How likely the circumstances of a present effect are, given who made it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// Row of [`Evidence::agreements`]; none where nothing is said.
    pub row: Option<usize>,
    /// The same for the leak \[–\].
    pub leak: f64,
}

/// Everything that was seen.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evidence {
    /// Effects that were looked for.
    pub seen: Vec<Seen>,
    /// Chance of what is said of an effect, by cause.
    pub agreements: Vec<Vec<f64>>,
}

impl Seen {
    /// An effect that was there, or was not, with nothing said of it.
    #[must_use]
    pub const fn plain(effect: usize, present: bool) -> Self {
        let agrees = Agreement {
            row: None,
            leak: 1.0,
        };
        Self {
            effect,
            present,
            asks: true,
            keen: 1.0,
            agrees,
        }
    }
}

impl Evidence {
    /// Effects that were there and effects that were not.
    #[must_use]
    pub fn plain(present: &[usize], absent: &[usize]) -> Self {
        let there = present.iter().map(|&f| Seen::plain(f, true));
        let not = absent.iter().map(|&f| Seen::plain(f, false));
        Self {
            seen: there.chain(not).collect(),
            agreements: Vec::new(),
        }
    }
}

impl Network {
    /// Chances of the causes given the evidence: exact.
    ///
    /// # Errors
    /// [`InquiryError::TooMany`] for more than 16 present effects of which too many hang
    /// together, [`InquiryError::Impossible`] for evidence of chance nought,
    /// [`InquiryError::Share`] for a chance outside 0 to 1, [`InquiryError::Unknown`] for
    /// an effect that is not there.
    pub fn posterior(&self, evidence: &Evidence) -> Result<Posterior, InquiryError> {
        self.check(evidence)?;
        posterior(self, evidence)
    }

    fn check(&self, evidence: &Evidence) -> Result<(), InquiryError> {
        for node in &self.causes {
            share("a prior", node.prior)?;
            for trace in &node.traces {
                share("the chance of a trace", trace.made)?;
                for (effect, shows) in &trace.shows {
                    share("a link", *shows)?;
                    self.known(*effect)?;
                }
            }
        }
        self.leaks
            .iter()
            .try_for_each(|l| share("a leak", *l).map(drop))?;
        for (i, seen) in evidence.seen.iter().enumerate() {
            self.known(seen.effect)?;
            share("how surely a finding was looked for", seen.keen)?;
            share("the agreement of a leak", seen.agrees.leak)?;
            if evidence
                .seen
                .iter()
                .skip(i + 1)
                .any(|s| s.effect == seen.effect)
            {
                return Err(InquiryError::Twice {
                    given: format!("effect {}", seen.effect),
                });
            }
        }
        evidence
            .agreements
            .iter()
            .flatten()
            .try_for_each(|a| share("an agreement", *a).map(drop))
    }

    fn known(&self, effect: usize) -> Result<(), InquiryError> {
        if effect < self.leaks.len() {
            return Ok(());
        }
        let (given, nearest) = (
            effect.to_string(),
            self.leaks.len().saturating_sub(1).to_string(),
        );
        Err(InquiryError::Unknown {
            what: "effect",
            given,
            nearest,
        })
    }
}

//! Work that takes long, with all that it needs: so that whoever has a processor to spare
//! can do it, and say how far it is.
//!
//! ```
//! use batch::certainty::Question;
//! use batch::job::{Found, Work};
//! let text = include_str!("../../../examples/lantern-pale.toml").to_owned();
//! let question = Question { draws: 64, points: 0, seed: 1 };
//! let work = Work::Certainty { text, question };
//! let outcome = work.done(&|_, _| true).ok_or("stopped")?;
//! assert!(matches!(outcome, Ok(Found::Certainty(found)) if found.drawn == 64));
//! assert!(work.done(&|_, _| false).is_none());
//! # Ok::<(), String>(())
//! ```

use std::sync::atomic::{AtomicBool, Ordering};

use ferment::FermentError;
use ferment::watch::{Posterior, Sampling};

use crate::certainty::{self, Certainty, CertaintyError, certainty};
use crate::comparing::{self, CompareError, Comparison, compare};
use crate::document::Document;
use crate::library::Stores;
use crate::log::LogReading;
use crate::matching::{
    AtHand, Destination, MatchError, Matched, MovedBatch, TypedMatch, matched, moved,
};
use crate::reader::Fault;
use crate::stream::Reckoning;
use crate::watch::{Moments, Watched};

/// Parts of a whole that is not counted otherwise.
const PARTS: usize = 1000;

/// A question that takes long to answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Work {
    /// Recipes that meet an aim.
    Match {
        /// The batch document.
        text: String,
        /// What is asked.
        typed: TypedMatch,
        /// A document of stores.
        stores: Option<String>,
    },
    /// The same beer elsewhere.
    Move {
        /// The batch document.
        text: String,
        /// Where it goes.
        to: Destination,
        /// What is asked.
        typed: TypedMatch,
        /// A document of stores.
        stores: Option<String>,
    },
    /// How sure a batch is.
    Certainty {
        /// The batch document.
        text: String,
        /// How closely to look.
        question: certainty::Question,
    },
    /// Batches beside each other.
    Compare {
        /// The batch documents.
        texts: Vec<String>,
        /// How closely to look.
        question: comparing::Question,
    },
    /// The whole posterior of a fermentation.
    Posterior {
        /// The batch document.
        text: String,
        /// The readings.
        readings: Vec<LogReading>,
        /// The moments that it is watched by.
        moments: Moments,
        /// How long to sample.
        sampling: Sampling,
    },
}

/// What was found.
#[derive(Debug, Clone)]
pub enum Found {
    /// Of [`Work::Match`].
    Match(Box<Matched>),
    /// Of [`Work::Move`].
    Move(Box<MovedBatch>),
    /// Of [`Work::Certainty`].
    Certainty(Box<Certainty>),
    /// Of [`Work::Compare`].
    Compare(Box<Comparison>),
    /// Of [`Work::Posterior`].
    Posterior(Box<Posterior>),
}

/// Why there is no answer, for whoever shows it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Refusal {
    /// In a sentence.
    pub told: String,
    /// What is wrong, each at its place.
    pub faults: Vec<Fault>,
    /// Whether those stand in the question; else they stand in a document.
    pub of_question: bool,
    /// In which of several documents, counted from nought.
    pub which: Option<usize>,
}

/// What comes of work that nobody stopped.
pub type Outcome = Result<Found, Refusal>;

/// The words of all kinds of work, each with what it does.
pub const KINDS: [(&str, &str); 5] = [
    ("match", "looking for recipes that meet the aim"),
    ("move", "matching the beer in its new place"),
    ("certainty", "drawing all that is not known"),
    ("compare", "taking over one difference after the other"),
    ("posterior", "sampling the whole posterior"),
];

/// What work of a kind does, in words.
#[must_use]
pub fn does(kind: &str) -> &'static str {
    let known = KINDS.iter().find(|(word, _)| *word == kind);
    known.map_or("working", |(_, does)| does)
}

impl Work {
    /// The word for its kind.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Match { .. } => "match",
            Self::Move { .. } => "move",
            Self::Certainty { .. } => "certainty",
            Self::Compare { .. } => "compare",
            Self::Posterior { .. } => "posterior",
        }
    }

    /// Does it. `go_on` is told how many pieces are done and of about how many, from any
    /// thread, and says whether to go on; none where it said no.
    #[must_use]
    pub fn done(&self, go_on: &(dyn Fn(usize, usize) -> bool + Sync)) -> Option<Outcome> {
        let stopped = AtomicBool::new(false);
        let told = |done: usize, whole: usize| {
            let on = go_on(done, whole);
            if !on {
                stopped.store(true, Ordering::Relaxed);
            }
            on
        };
        let outcome = self.outcome(&told);
        // Part of an answer is none, whatever it looks like.
        (!stopped.into_inner()).then_some(outcome)
    }

    fn outcome(&self, go_on: &(dyn Fn(usize, usize) -> bool + Sync)) -> Outcome {
        match self {
            Self::Match {
                text,
                typed,
                stores,
            } => {
                let read = read_stores(stores.as_deref())?;
                let at_hand = at_hand(read.as_ref(), stores.as_deref());
                let found = matched(text, typed, at_hand.as_ref(), go_on)?;
                Ok(Found::Match(Box::new(found)))
            }
            Self::Move {
                text,
                to,
                typed,
                stores,
            } => {
                let read = read_stores(stores.as_deref())?;
                let at_hand = at_hand(read.as_ref(), stores.as_deref());
                let found = moved(text, to, typed, at_hand.as_ref(), go_on)?;
                Ok(Found::Move(Box::new(found)))
            }
            Self::Certainty { text, question } => {
                let found = certainty(text, question, go_on)?;
                Ok(Found::Certainty(Box::new(found)))
            }
            Self::Compare { texts, question } => {
                let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
                Ok(Found::Compare(Box::new(compare(&texts, question, go_on)?)))
            }
            Self::Posterior {
                text,
                readings,
                moments,
                sampling,
            } => {
                let (document, assumptions) = Document::read(text).map_err(of_document)?;
                let reckoning = Reckoning::of(document, assumptions)
                    .map_err(|fault| of_document(vec![fault]))?;
                let watched = Watched::of(&reckoning, readings, *moments)?;
                let part = |share: f64| (PARTS as f64 * share) as usize;
                let found = watched.posterior(*sampling, &|share| {
                    go_on(part(share.ratio()).min(PARTS), PARTS)
                })?;
                let none = || Refusal::told("the readings of this batch say too little of it");
                Ok(Found::Posterior(Box::new(found.ok_or_else(none)?)))
            }
        }
    }
}

fn read_stores(text: Option<&str>) -> Result<Option<Stores>, Refusal> {
    let read = |text: &str| Stores::read(text).map(|(stores, _)| stores);
    let faulty = |faults| Refusal {
        told: "the document of the stores has faults".to_owned(),
        faults,
        ..Refusal::default()
    };
    text.map(read).transpose().map_err(faulty)
}

fn at_hand<'s>(stores: Option<&'s Stores>, text: Option<&'s str>) -> Option<AtHand<'s>> {
    let (stores, text) = (stores?, text?);
    Some(AtHand { stores, text })
}

fn of_document(faults: Vec<Fault>) -> Refusal {
    Refusal {
        told: "the document cannot be reckoned as it is".to_owned(),
        faults,
        ..Refusal::default()
    }
}

impl Refusal {
    /// One that is all told in a sentence.
    #[must_use]
    pub fn told(words: impl Into<String>) -> Self {
        Self {
            told: words.into(),
            ..Self::default()
        }
    }
}

impl From<FermentError> for Refusal {
    fn from(error: FermentError) -> Self {
        Self::told(error.to_string())
    }
}

impl From<CertaintyError> for Refusal {
    fn from(error: CertaintyError) -> Self {
        let told = error.to_string();
        let faults = match error {
            CertaintyError::Document(faults) => faults,
            _ => Vec::new(),
        };
        Self {
            faults,
            ..Self::told(told)
        }
    }
}

impl From<MatchError> for Refusal {
    fn from(error: MatchError) -> Self {
        let told = error.to_string();
        let of_question = matches!(error, MatchError::Question(_));
        let faults = match error {
            MatchError::Document(faults) | MatchError::Question(faults) => faults,
            MatchError::Stopped | MatchError::Unbrewable => Vec::new(),
        };
        Self {
            faults,
            of_question,
            ..Self::told(told)
        }
    }
}

impl From<CompareError> for Refusal {
    fn from(error: CompareError) -> Self {
        let told = error.to_string();
        let (which, faults) = match error {
            CompareError::Document { which, faults } => (Some(which), faults),
            _ => (None, Vec::new()),
        };
        Self {
            which,
            faults,
            ..Self::told(told)
        }
    }
}

//! How sure the figures of a batch are, and what they are unsure of.
//!
//! Every figure with a spread (of the document, of the class of a malt, a hop or a yeast,
//! of a model) is drawn, all together, and each draw is reckoned from tap to glass with the
//! liquors that the plan weighs in: what is decided stays, nature differs. Out come an
//! interval for each figure, and the share of its variance that each doubt has.
//!
//! ```
//! use batch::certainty::{Question, certainty};
//! let text = include_str!("../../../../examples/lantern-pale.toml");
//! let question = Question { draws: 64, points: 0, ..Question::default() };
//! let found = certainty(text, &question, &|_, _| true).map_err(|error| error.to_string())?;
//! let gravity = found.figure("original_gravity").ok_or("no gravity")?;
//! assert!(gravity.low < gravity.likely && gravity.likely < gravity.high);
//! # Ok::<(), String>(())
//! ```
//!
//! Doubts are drawn as if none knew of another, but for those that the document says move
//! together (`[[together]]`).

mod answer;
mod between;
pub(crate) mod decided;
pub(crate) mod doubt;
pub(crate) mod drawn;
pub(crate) mod figures;
#[cfg(test)]
mod jcgm;
pub(crate) mod nature;
mod normal;
mod paired;
mod sobol;
pub(crate) mod summary;
pub(crate) mod together;
pub mod words;

use std::sync::atomic::{AtomicUsize, Ordering};

use toml::de::DeTable;

pub(crate) use paired::{Pair, paired};

pub use answer::{Better, Certainty, Share, Sure};
pub use between::Between;
pub(crate) use between::Columns;
pub use doubt::{Doubt, Origin};

use crate::document::{Document, refuse_oversize};
use crate::reader::Fault;
use crate::stream::Reckoning;
use nature::Nature;

/// The most draws, and points for the shares.
pub const MOST_DRAWS: usize = 65_536;

/// How closely to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Question {
    /// Draws for the intervals.
    pub draws: usize,
    /// Points for the shares, each of as many reckonings as there are doubts, and two;
    /// nought for no shares.
    pub points: usize,
    /// The same seed gives the same answer on every machine, by any number of threads.
    pub seed: u32,
}

impl Question {
    /// Enough for the intervals beside the figures of a page: the ends are right within some
    /// twentieth of the interval.
    pub const GLANCE: Self = Self {
        draws: 192,
        points: 0,
        seed: 1,
    };
}

impl Default for Question {
    fn default() -> Self {
        Self {
            draws: 2048,
            points: 128,
            seed: 1,
        }
    }
}

/// Somebody stopped it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stopped;

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum CertaintyError {
    /// The document cannot be reckoned as it is.
    #[error("the document cannot be reckoned as it is")]
    Document(Vec<Fault>),
    /// Stopped before the end.
    #[error("stopped before the end; fewer draws take less time")]
    Stopped,
    /// Too many or too few.
    #[error("{0} draws cannot be made; from 32 to {MOST_DRAWS} would work")]
    Draws(usize),
    /// So unsure that most draws cannot be brewed.
    #[error("{refused} of {all} draws cannot be brewed ({why}); smaller spreads would work")]
    Unbrewable {
        /// How many.
        refused: usize,
        /// Of how many.
        all: usize,
        /// Why the first cannot.
        why: String,
    },
}

impl From<Stopped> for CertaintyError {
    fn from(_: Stopped) -> Self {
        Self::Stopped
    }
}

/// How sure the figures of a document are. `go_on` is told how many reckonings are done and
/// of how many, and says whether to go on.
///
/// # Errors
/// [`CertaintyError`].
pub fn certainty(
    text: &str,
    question: &Question,
    go_on: &(dyn Fn(usize, usize) -> bool + Sync),
) -> Result<Certainty, CertaintyError> {
    if !(32..=MOST_DRAWS).contains(&question.draws) || question.points > MOST_DRAWS {
        return Err(CertaintyError::Draws(question.draws.max(question.points)));
    }
    refuse_oversize(text, "a batch document").map_err(CertaintyError::Document)?;
    let parsed = DeTable::parse(text)
        .map_err(|error| CertaintyError::Document(vec![Fault::from_toml(&error, text)]))?;
    let nature = Nature::of(parsed.get_ref())?;
    // Only shares ask which doubts move a figure; finding out costs two reckonings each.
    let alive = match question.points {
        0 => vec![],
        _ => nature.alive(),
    };
    let apart = nature.apart(&alive);
    let done = AtomicUsize::new(0);
    let a_point = apart.len() + 2;
    let all = question.draws + question.points * a_point;
    let step = |by: usize| go_on(done.fetch_add(by, Ordering::Relaxed) + by, all);
    let draws = nature.draws(question, &|| step(1))?;
    let shares = sobol::shares(
        &apart,
        question.points,
        question.seed.wrapping_add(1),
        |chances| nature.with(&alive, chances).ok(),
        &|_| step(a_point),
    )?;
    let named = |group: &Vec<usize>| group.iter().map(|i| alive[*i]).collect();
    let factors: Vec<Vec<usize>> = apart.iter().map(named).collect();
    nature.judged(draws, &factors, &shares)
}

/// The intervals that stand beside the figures of a plan; none for a document that cannot be
/// drawn.
#[must_use]
pub fn glance(text: &str) -> Option<Certainty> {
    certainty(text, &Question::GLANCE, &|_, _| true).ok()
}

/// What `read` takes from documents alone, drawn as those of [`drawn_figures`]: a tenth of
/// the time where no stage is asked.
pub(crate) fn drawn_documents(
    text: &str,
    draws: usize,
    seed: u32,
    read: &(dyn Fn(&Document) -> Option<Vec<f64>> + Sync),
) -> Result<Vec<Option<Vec<f64>>>, CertaintyError> {
    let parsed = DeTable::parse(text)
        .map_err(|error| CertaintyError::Document(vec![Fault::from_toml(&error, text)]))?;
    Ok(Nature::of(parsed.get_ref())?.read_documents(draws, seed, read))
}

/// Figures of a document drawn with all that is not known of it: a row a draw, none where
/// it cannot be brewed. The same seed draws the same doubts for every document that has
/// them in the same order.
pub(crate) fn drawn_figures(
    text: &str,
    draws: usize,
    seed: u32,
    read: &(dyn Fn(&Reckoning) -> Option<Vec<f64>> + Sync),
    go_on: &(dyn Fn() -> bool + Sync),
) -> Result<Vec<Option<Vec<f64>>>, CertaintyError> {
    let parsed = DeTable::parse(text)
        .map_err(|error| CertaintyError::Document(vec![Fault::from_toml(&error, text)]))?;
    Nature::of(parsed.get_ref())?.read(draws, seed, read, go_on)
}

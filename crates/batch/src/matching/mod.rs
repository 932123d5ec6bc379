//! Matching an aim: documents that meet what the glass should hold.
//!
//! What is aimed at is a figure with a tolerance, from the document's aim, from a label,
//! from readings of a sample, or asked for. What may move is malts, hops, temperatures,
//! yeast and gas, each between its ends and on the steps of its scale; salts and acid are
//! left to their own search ([`crate::liquor::minerals`]). The figures are those of the
//! stream run forward; steps are convex programs on straightened figures, kept as far as
//! they prove true.
//!
//! ```
//! use batch::matching::{TypedMatch, matched};
//! let text = include_str!("../../../../examples/lantern-pale.toml");
//! let typed = TypedMatch::from_iter([("colour", "12 ± 1 EBC"), ("draws", "0"), ("clove", "free")]);
//! let found = matched(text, &typed, None, &|_, _| true).map_err(|e| e.to_string())?;
//! // Pilsner and wheat malt alone are no darker: the nearest is told, and what stands
//! // against the rest.
//! assert!(!found.met() && !found.blocks.is_empty());
//! # Ok::<(), String>(())
//! ```

mod answers;
mod blocks;
mod chance;
mod change;
mod convex;
mod ends;
mod entries;
mod fields;
mod figure;
mod goal;
mod lever;
mod levers;
mod moving;
mod practical;
mod prices;
mod problem;
pub mod sample;
mod search;
mod settings;
mod tasted;
mod typed;
mod water;
pub mod words;
mod work;

use std::sync::atomic::{AtomicUsize, Ordering};

use quantity::{Caution, Note};

pub use blocks::Block;
pub use figure::{AIMED, Aimed, aimed};
pub use goal::{From as AimFrom, Goal, Wish};
pub use lever::{Lever, Limited, Moves};
pub use levers::AtHand;
pub use moving::{Destination, MovedBatch, moved};
pub use tasted::admired;
pub use typed::{FIELDS, GROUPS, TypedMatch};

use crate::document::{Document, refuse_oversize};
use crate::liquor::minerals::Change;
use crate::reader::{Assumption, Fault};
use crate::stream::Reckoning;
use work::Work;

/// A figure of an answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reached {
    /// As the answer is reckoned.
    pub value: f64,
    /// Between which nine of ten draws lie; none where nothing was drawn.
    pub between: Option<(f64, f64)>,
    /// Share of the draws that would do.
    pub chance: Option<f64>,
    /// How far beyond what would do, in tolerances; nought within.
    pub beyond: f64,
}

/// What a lever comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    /// Its place among the levers.
    pub lever: usize,
    /// What it comes to.
    pub value: f64,
}

/// A document that meets the aim, or comes near it.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Its word: best, least-change, few, cheap, other, likely.
    pub key: &'static str,
    /// What it is.
    pub label: String,
    /// The document.
    pub text: String,
    /// What makes it of the document that was given.
    pub changes: Vec<Change>,
    /// What each lever comes to.
    pub amounts: Vec<Amount>,
    /// Salts and acid, in words; empty where they stay.
    pub additions: Vec<String>,
    /// The figure of each goal.
    pub figures: Vec<Reached>,
    /// The greatest miss, in tolerances; nought where all are met.
    pub worst: f64,
    /// How many malts, sugars and hops it has.
    pub ingredients: usize,
    /// What malts, hops, yeast, salts and acids cost of which a price is known; none where no
    /// price is.
    pub cost: Option<f64>,
    /// How far the recipe is moved: the root of the mean square, in scales of the levers.
    pub change: f64,
    /// Share of the draws that meet every aim; none where nothing was drawn.
    pub chance: Option<f64>,
    /// What the stages say of it that must be looked at.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
    /// Those of what is newly added to the water.
    pub of_additions: Vec<Caution>,
}

impl Answer {
    /// What moved, and to where.
    pub fn moved<'l>(&self, levers: &'l [Lever]) -> impl Iterator<Item = (&'l Lever, f64)> {
        let each = self.amounts.iter().map(|a| (a.lever, a.value));
        let each: Vec<(usize, f64)> = each.collect();
        each.into_iter().filter_map(move |(at, value)| {
            let lever = levers.get(at)?;
            ((value - lever.now).abs() > 1e-6 * lever.scale).then_some((lever, value))
        })
    }

    /// Whether it meets every aim.
    #[must_use]
    pub fn met(&self) -> bool {
        self.worst <= 1e-9
    }
}

/// The words of all answers.
pub(crate) const ANSWERS: [&str; 6] = ["best", "least-change", "few", "cheap", "other", "likely"];

/// What a search comes to.
#[derive(Debug, Clone)]
pub struct Matched {
    /// What is aimed at.
    pub goals: Vec<Goal>,
    /// The figures as the document stands.
    pub before: Vec<f64>,
    /// What may move.
    pub levers: Vec<Lever>,
    /// Different answers, the nearest to the aim first.
    pub answers: Vec<Answer>,
    /// Where the aim cannot be met: what stands against it.
    pub blocks: Vec<Block>,
    /// What was taken where nothing was said.
    pub assumptions: Vec<Assumption>,
    /// Reckonings that it took, beside the draws.
    pub reckoned: usize,
}

impl Matched {
    /// The nearest to the aim.
    #[must_use]
    pub fn best(&self) -> &Answer {
        // The first is always there.
        &self.answers[0]
    }

    /// Whether the aim can be met.
    #[must_use]
    pub fn met(&self) -> bool {
        self.best().met()
    }

    /// The answer of a key; the best where there is none.
    #[must_use]
    pub fn answer(&self, key: &str) -> &Answer {
        let found = self.answers.iter().find(|a| a.key == key);
        found.unwrap_or_else(|| self.best())
    }
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum MatchError {
    /// The document cannot be reckoned as it is.
    #[error("the document cannot be reckoned as it is; mend it first")]
    Document(Vec<Fault>),
    /// The question cannot be used.
    #[error("the question cannot be used; {}", .0.first().map_or_else(String::new, |f| format!("{}: {}", f.message, f.help)))]
    Question(Vec<Fault>),
    /// Somebody stopped it.
    #[error("stopped before the end; ask again to begin anew")]
    Stopped,
    /// No step from the document as it stands can be brewed.
    #[error("no other recipe can be brewed from this one; ease its limits, or begin with another")]
    Unbrewable,
}

/// Told how many reckonings were made, of about how many; says whether to go on.
pub type GoOn<'g> = &'g (dyn Fn(usize, usize) -> bool + Sync);

/// Searches for documents that meet an aim; nothing is kept.
///
/// # Errors
/// [`MatchError`].
pub fn matched(
    text: &str,
    typed: &TypedMatch,
    at_hand: Option<&AtHand<'_>>,
    go_on: GoOn<'_>,
) -> Result<Matched, MatchError> {
    let (document, reckoning) = read(text)?;
    let asked = typed.read(&document).map_err(MatchError::Question)?;
    found(text, &document, &reckoning, asked, at_hand, go_on)
}

fn read(text: &str) -> Result<(Document, Reckoning), MatchError> {
    refuse_oversize(text, "a batch document").map_err(MatchError::Document)?;
    let (document, assumptions) = Document::read(text).map_err(MatchError::Document)?;
    let reckoning = Reckoning::of(document.clone(), assumptions)
        .map_err(|fault| MatchError::Document(vec![fault]))?;
    Ok((document, reckoning))
}

fn found(
    text: &str,
    document: &Document,
    reckoning: &Reckoning,
    asked: typed::Read,
    at_hand: Option<&AtHand<'_>>,
    go_on: GoOn<'_>,
) -> Result<Matched, MatchError> {
    let before: Option<Vec<f64>> = asked
        .goals
        .iter()
        .map(|g| (g.figure.read)(reckoning))
        .collect();
    let Some(before) = before else {
        return Err(MatchError::Question(unfigured(&asked, reckoning)));
    };
    let template =
        levers::template(text, document, &asked, at_hand).map_err(MatchError::Question)?;
    let reckoned = AtomicUsize::new(0);
    let about = 100 + 60 * (template.levers.len() + 2);
    let told = |done: usize| go_on(done.min(about), about);
    let work = Work {
        text,
        document,
        asked: &asked,
        template: &template,
        at_hand,
        reckoned: &reckoned,
        go_on: &told,
    };
    let (answers, blocks) = answers::answers(&work)?;
    Ok(Matched {
        before,
        answers,
        blocks,
        levers: template.levers.clone(),
        goals: asked.goals.clone(),
        assumptions: asked.assumptions.clone(),
        reckoned: reckoned.load(Ordering::Relaxed),
    })
}

/// Aims at figures that this batch has not.
fn unfigured(asked: &typed::Read, r: &Reckoning) -> Vec<Fault> {
    let missing = asked.goals.iter().filter(|g| (g.figure.read)(r).is_none());
    missing
        .map(|g| {
            crate::steer::fault(
                g.figure.key,
                format!("this batch has no {}", g.figure.name),
                "leave it free".to_owned(),
            )
        })
        .collect()
}

//! Which water for this batch: the waters at hand and their blends in pairs, each
//! designed for the aim of the batch, season by season.
//!
//! ```
//! use batch::liquor::choice::{Question, chosen};
//! use batch::{Document, Reckoning};
//! let text = include_str!("../../../../examples/lantern-pale.toml");
//! let (document, assumptions) = Document::read(text).map_err(|faults| faults[0].to_string())?;
//! let reckoning = Reckoning::of(document, assumptions).map_err(|fault| fault.to_string())?;
//! let question = Question::usual(&reckoning, &[]);
//! let found = chosen(&reckoning, &[], &question).map_err(|error| error.to_string())?;
//! // Two waters and their blend.
//! assert_eq!(found.choice.ranked.len(), 3);
//! # Ok::<(), String>(())
//! ```

mod picks;
mod question;
mod reasons;
mod seasons;
mod waters;

use quantity::{Alkalinity, Caution, Note};
use water::choice::{Choice, Ranked, choose};
use water::design::DesignError;

use crate::liquor::Wrong;
use crate::liquor::minerals::{Asked, MineralsError, without_waters};
use crate::stream::Reckoning;

pub use picks::{Pick, Which};
pub use question::{MOST_WATERS, Question, Wanted};
pub use seasons::Sample;
pub use waters::{Kept, KeptAnalysis, MOST_SEASONS, Water, waters};

/// Why there is no choice.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChoiceError {
    /// The question cannot be read.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Wrong(Vec<Wrong>),
    /// The batch has no task to choose for.
    #[error(transparent)]
    Task(#[from] MineralsError),
}

impl From<DesignError> for ChoiceError {
    fn from(error: DesignError) -> Self {
        Self::Task(error.into())
    }
}

/// The waters and blends, the best first, and what they were chosen for.
#[derive(Debug, Clone)]
pub struct Chosen {
    /// The task and its assumptions.
    pub asked: Asked,
    /// The waters that were asked about; the places of the choice are theirs.
    pub waters: Vec<Water>,
    /// Whether anything has a price.
    pub priced: bool,
    /// The ranking.
    pub choice: Choice,
    /// The residual alkalinity above which this mash needs acid; none without a grist.
    pub acid_above: Option<Alkalinity>,
}

/// Designs every water at hand and every blend of two for the aim of a batch.
///
/// # Errors
/// [`ChoiceError`]: a question that cannot be read, a batch without an aim, or a
/// reason that is the same for every water.
pub fn chosen(r: &Reckoning, kept: &[Kept], question: &Question) -> Result<Chosen, ChoiceError> {
    let read = question.read(r, kept).map_err(ChoiceError::Wrong)?;
    let asked = without_waters(r, &read.at_hand)?;
    let choice = choose(&read.candidates, &asked.task)?;
    Ok(Chosen {
        acid_above: seasons::acid_above(r, &asked.task),
        priced: read.priced(&asked.task),
        waters: read.waters,
        choice,
        asked,
    })
}

impl Chosen {
    /// What the best water's design for its worst season remarks, each once: the other
    /// seasons say the same with other figures.
    #[must_use]
    pub fn notes(&self) -> Vec<Note> {
        let best = self.choice.ranked.first();
        let worst = best.and_then(Ranked::worst);
        let of_designs = worst.iter().flat_map(|dated| &dated.design.notes);
        let mut notes: Vec<Note> = vec![];
        for note in of_designs.chain(&self.asked.remarks) {
            if !notes.contains(note) {
                notes.push(note.clone());
            }
        }
        notes
    }

    /// What can hurt someone in any of the designs, each once.
    #[must_use]
    pub fn cautions(&self) -> Vec<Caution> {
        let seasons = self.choice.ranked.iter().flat_map(|r| &r.seasons);
        let mut cautions: Vec<Caution> = seasons
            .flat_map(|dated| &dated.design.cautions)
            .copied()
            .collect();
        cautions.sort_unstable();
        cautions.dedup();
        cautions
    }

    /// The waters of a blend.
    pub fn waters_of<'s>(&'s self, ranked: &'s Ranked) -> impl Iterator<Item = &'s Water> {
        ranked.waters.iter().filter_map(|at| self.waters.get(*at))
    }
}

#[cfg(test)]
mod tests;

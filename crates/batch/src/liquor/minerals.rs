//! Salts and acid for the aim of a batch: from what is at hand to a design of the
//! water stage, and back to changes of the document.
//!
//! ```
//! use batch::liquor::minerals::{AtHand, Question, changes, found};
//! use batch::{Document, Reckoning};
//! let text = include_str!("../../../../examples/lantern-pale.toml");
//! let (document, assumptions) = Document::read(text).map_err(|faults| faults[0].to_string())?;
//! let reckoning = Reckoning::of(document, assumptions).map_err(|fault| fault.to_string())?;
//! let at_hand = AtHand::of(&Question::usual(&reckoning)).map_err(|wrong| wrong[0].to_string())?;
//! let found = found(&reckoning, &at_hand).map_err(|error| error.to_string())?;
//! assert!(found.design.lines.iter().all(|line| line.met()));
//! assert!(!changes(&reckoning, &found).is_empty());
//! # Ok::<(), String>(())
//! ```

mod at_hand;
mod changes;
mod pretreated;
mod question;
mod settings;
mod sure;
mod task;

use quantity::{Caution, Mass, Note};
use water::WaterError;
use water::analysis::analyse_blend;
use water::design::{
    Conflict, Design, DesignError, Figure, LeftOut, Money, Part, Practical, Task, conflict,
    practical,
};

use crate::reader::Assumption;
use crate::stream::Reckoning;

pub use super::Wrong;
pub(in crate::liquor) use at_hand::Asks;
pub use at_hand::{AtHand, Blend, DistilledAtHand};
pub use changes::{Change, apply, changes, distilled_source};
pub use pretreated::{Left, Pretreated};
pub use question::{DISTILLED, Have, MALT, Question};
pub use sure::{LineSure, sure};
pub use task::task;
pub(in crate::liquor) use task::{distilled_water, without_waters};

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MineralsError {
    /// The document aims at nothing that salts or acids change.
    #[error(
        "the aim names nothing that salts or acid change; give it calcium, chloride, sulfate or \
         the mash pH"
    )]
    NoAim,
    /// The search has no design, or refuses the water.
    #[error(transparent)]
    Design(#[from] DesignError),
    /// A pH that the sparge water cannot be brought to.
    #[error("sparge water to pH {ph}: {message}")]
    SpargePh {
        /// The pH.
        ph: quantity::Ph,
        /// Why.
        message: String,
    },
    /// A water that cannot be boiled or limed on paper.
    #[error("{water}: {message}")]
    Pretreatment {
        /// The water.
        water: String,
        /// Why.
        message: String,
    },
}

impl From<WaterError> for MineralsError {
    fn from(error: WaterError) -> Self {
        Self::Design(error.into())
    }
}

/// The task of a batch, with what went into it beside the document.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The task.
    pub task: Task,
    /// Waters that could be boiled or limed first.
    pub pretreated: Vec<Pretreated>,
    /// What was taken where neither document nor question says.
    pub assumptions: Vec<Assumption>,
    /// What the search leaves out.
    pub remarks: Vec<Note>,
}

/// A design and the task that it answers.
#[derive(Debug, Clone)]
pub struct Found {
    /// The task and its assumptions.
    pub asked: Asked,
    /// What comes nearest.
    pub design: Design,
}

/// What [`Found::lime`] is called where it is weighed.
pub const SLAKED_LIME: &str = "slaked lime, first of all";

impl Found {
    /// The waters that the design wants boiled or limed first.
    pub fn pretreated(&self) -> impl Iterator<Item = &Pretreated> {
        self.asked.pretreated.iter().filter(|p| {
            let parts = self.design.liquors.iter().flat_map(|l| &l.blend);
            parts
                .filter(|part| part.source == p.source)
                .any(|part| part.how == p.how)
        })
    }

    /// Slaked lime to stir into a part of a blend before anything else; none where it is
    /// not limed.
    #[must_use]
    pub fn lime(&self, part: &Part) -> Option<Mass> {
        let mut ready = self.asked.pretreated.iter();
        let ready = ready.find(|p| p.source == part.source && p.how == part.how)?;
        Some(Mass::from_g(
            ready.lime?.mg_per_l() * part.volume.l() / 1000.0,
        ))
    }

    /// What the search and the pre-treatment remark.
    pub fn notes(&self) -> impl Iterator<Item = &Note> {
        let ready = self.pretreated().flat_map(|p| &p.notes);
        self.design
            .notes
            .iter()
            .chain(&self.asked.remarks)
            .chain(ready)
    }

    /// What can hurt someone, each once.
    #[must_use]
    pub fn cautions(&self) -> Vec<Caution> {
        let mut cautions = self.design.cautions.clone();
        cautions.extend(self.pretreated().flat_map(|p| &p.cautions).copied());
        cautions.sort_unstable();
        cautions.dedup();
        cautions
    }

    /// The cost, where something at hand has a price.
    #[must_use]
    pub fn cost(&self) -> Option<Money> {
        let task = &self.asked.task;
        let waters = task.sources.iter().flat_map(|s| &s.variants);
        let priced = waters.filter_map(|v| v.price_per_litre).next().is_some()
            || task.salts.iter().any(|s| s.price_per_kg.is_some())
            || task.acids.iter().any(|a| a.price_per_litre_or_kg.is_some())
            || task.acid_malt.is_some_and(|m| m.price_per_kg.is_some());
        priced.then_some(self.design.cost)
    }
}

/// Searches for what comes nearest to the aim of a batch.
///
/// # Errors
/// [`MineralsError`]; a water that must not be used is refused with its reasons.
pub fn found(r: &Reckoning, at_hand: &AtHand) -> Result<Found, MineralsError> {
    let asked = task(r, at_hand)?;
    if !at_hand.blend.is_free() {
        let tap = &r.water.tap;
        tap.verdict.allow_advice(&tap.water.name)?;
    }
    let Practical {
        task,
        design,
        left_out,
    } = practical(&asked.task)?;
    let mut remarks = asked.remarks;
    remarks.extend(left_out.map(said_of));
    remarks.extend(conflict(&asked.task, &design)?.map(|conflict| which_to_drop(&conflict)));
    let asked = Asked {
        task,
        remarks,
        ..asked
    };
    for plan in &design.plans {
        let blend = analyse_blend(&plan.sources)?;
        blend.verdict.allow_advice(&blend.water.name)?;
    }
    Ok(Found { asked, design })
}

fn said_of(left_out: LeftOut) -> Note {
    let said = match left_out {
        LeftOut::Bases => "no salt that brings alkalinity is used here",
        LeftOut::Acids => "no acid is used here",
    };
    Note::fine(format!(
        "Acid and what brings alkalinity undo each other in one liquor: {said}."
    ))
}

/// Which of two aims to drop, by the keys of the document.
fn which_to_drop(conflict: &Conflict) -> Note {
    let key = |figure: Figure| match figure {
        Figure::Alkalinity => "aim.alkalinity",
        Figure::ResidualAlkalinity => "aim.residual_alkalinity",
        _ => "aim.mash_ph",
    };
    Note::look(format!(
        "{} and {} ask for nearly the same in two ways, and with this grist they do not agree: drop \
         {}. With {} alone the {} comes to {}, where {} was aimed at.",
        key(conflict.keep),
        key(conflict.drop),
        key(conflict.drop),
        key(conflict.keep),
        conflict.drop,
        conflict.comes_to,
        conflict.target,
    ))
}

#[cfg(test)]
mod tests;

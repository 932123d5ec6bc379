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
mod task;

use quantity::{Caution, Note};
use water::analysis::analyse_blend;
use water::design::{Design, DesignError, Money, SaltAtHand, Task, design};
use water::{Liquor, WaterError};

use crate::reader::Assumption;
use crate::stream::Reckoning;

pub use super::Wrong;
pub use at_hand::{AtHand, Blend, DistilledAtHand};
pub use changes::{Change, apply, changes};
pub use pretreated::Pretreated;
pub use question::{DISTILLED, Have, MALT, Question};
pub use task::task;

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
    let (asked, design) = best(asked)?;
    let design = with_fewest(&asked.task, design);
    for plan in &design.plans {
        let blend = analyse_blend(&plan.sources)?;
        blend.verdict.allow_advice(&blend.water.name)?;
    }
    Ok(Found { asked, design })
}

/// How much further from the aims, in squared tolerances, a design may be that does
/// with fewer kinds of addition (judgement: nobody would taste it).
const AS_GOOD: f64 = 0.05;

/// The design with the fewest kinds of addition that is as good: where the aims leave
/// room, the nearest point of all would pour a little of everything.
fn with_fewest(task: &Task, whole: Design) -> Design {
    if task.at_most_kinds.is_some() {
        return whole;
    }
    let good = whole.misfit.weighed + AS_GOOD;
    let fewest = whole.ladder.iter().find(|r| r.misfit.weighed <= good);
    let Some(kinds) = fewest.map(|rung| rung.kinds) else {
        return whole;
    };
    let fewer = design(&Task {
        at_most_kinds: Some(kinds),
        ladder: false,
        ..task.clone()
    });
    match fewer {
        Ok(fewer) if fewer.misfit.weighed <= good => Design {
            ladder: whole.ladder,
            ..fewer
        },
        // A scale too coarse for so few kinds: the first stands.
        Ok(_) | Err(_) => whole,
    }
}

/// An acid and a base in one liquor undo each other: where the search would pour
/// both, to serve two aims that ask for nearly the same, one of them is left out,
/// whichever is missed less.
fn best(asked: Asked) -> Result<(Asked, Design), MineralsError> {
    let whole = design(&asked.task);
    let task = &asked.task;
    let is_base = |salt: &SaltAtHand| salt.salt.alkalinity_per_g_per_l.meq_per_l() > 0.0;
    let has_both = !task.acids.is_empty() && task.salts.iter().any(is_base);
    let usable = match &whole {
        Ok(design) => !pours_both(design),
        Err(error) => !matches!(error, DesignError::Water(_) | DesignError::NotSolved),
    };
    if !has_both || usable {
        return Ok((asked, whole?));
    }
    let without_bases = Task {
        salts: task.salts.iter().copied().filter(|s| !is_base(s)).collect(),
        ..task.clone()
    };
    let without_acids = Task {
        acids: vec![],
        acid_malt: None,
        ..task.clone()
    };
    let tried = [without_bases, without_acids].map(|task| (design(&task), task));
    let least = tried
        .into_iter()
        .filter_map(|(design, task)| Some((design.ok()?, task)))
        .min_by(|(a, _), (b, _)| a.misfit.weighed.total_cmp(&b.misfit.weighed));
    let Some((design, task)) = least else {
        return Ok((asked, whole?));
    };
    let mut remarks = asked.remarks;
    remarks.push(Note::fine(
        "Acid and what brings alkalinity undo each other in one liquor, so only one of them is \
         used.",
    ));
    Ok((
        Asked {
            task,
            remarks,
            ..asked
        },
        design,
    ))
}

fn pours_both(design: &Design) -> bool {
    [Liquor::Mash, Liquor::Sparge].into_iter().any(|liquor| {
        let base = design
            .salts()
            .any(|d| d.into == liquor && d.salt.alkalinity_per_g_per_l.meq_per_l() > 0.0);
        let malt = liquor == Liquor::Mash && design.acid_malt.is_some();
        base && (malt || design.acids().any(|d| d.into == liquor))
    })
}

#[cfg(test)]
mod tests;

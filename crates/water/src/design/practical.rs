//! A design as it is poured: no acid against a base, no addition for next to nothing;
//! and which of two aims to drop where they ask for the same thing in two ways.

use quantity::Quantity;

use super::figure::{Figure, Level};
use super::result::Design;
use super::task::{SaltAtHand, Task};
use super::{DesignError, design};
use crate::treatment::Liquor;

/// What a design does without, as it would undo what else is poured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftOut {
    /// Salts that bring alkalinity.
    Bases,
    /// Acids, and acidulated malt.
    Acids,
}

/// A design as it is poured.
#[derive(Debug, Clone, PartialEq)]
pub struct Practical {
    /// The task that it answers: that of the question, less what was left out.
    pub task: Task,
    /// The design.
    pub design: Design,
    /// What was left out.
    pub left_out: Option<LeftOut>,
}

/// Two aims of which one has to go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conflict {
    /// The aim to drop.
    pub drop: Figure,
    /// What was aimed at.
    pub target: Level,
    /// The aim to keep.
    pub keep: Figure,
    /// What the dropped figure comes to once only the other one is aimed at.
    pub comes_to: Level,
}

/// Designs a task as a brewer would pour it.
///
/// An acid and a base in one liquor undo each other: where [`design`] would pour
/// both, to serve two aims that ask for nearly the same, one of them is left out,
/// whichever is missed less. And where the aims leave room, the nearest point of all
/// would pour a little of everything: of the designs that are within 0.05 squared
/// tolerances of it (judgement: nobody would taste it), the one with the fewest kinds
/// of addition is taken.
///
/// # Errors
/// Those of [`design`].
pub fn practical(task: &Task) -> Result<Practical, DesignError> {
    let found = one_way(task)?;
    let design = with_fewest(&found.task, found.design);
    Ok(Practical { design, ..found })
}

/// Which of two aims to drop, where the alkalinity of the mash liquor and the mash pH
/// are both aimed at and the design misses one of them; none where it meets both.
///
/// The mash pH is kept wherever it can be met alone: alkalinity is but a means to it.
///
/// # Errors
/// Those of [`design`].
pub fn conflict(task: &Task, design: &Design) -> Result<Option<Conflict>, DesignError> {
    let Some(by_water) = alkalinity_aimed_at(task) else {
        return Ok(None);
    };
    let aims_at_ph = task.grist.as_ref().is_some_and(|grist| grist.aim.is_some());
    let missed = |figure: Figure| {
        let mut lines = design.lines.iter();
        lines.any(|l| l.figure == figure && l.liquor != Some(Liquor::Sparge) && !l.met())
    };
    if !aims_at_ph || !(missed(by_water) || missed(Figure::MashPh)) {
        return Ok(None);
    }
    let mut of_ph = task.clone();
    of_ph.mash.aims.alkalinity = None;
    of_ph.mash.aims.residual_alkalinity = None;
    let mut of_water = task.clone();
    if let Some(grist) = &mut of_water.grist {
        grist.aim = None;
    }
    for (alone, drop, keep) in [
        (of_ph, by_water, Figure::MashPh),
        (of_water, Figure::MashPh, by_water),
    ] {
        // A task without any aim left is none.
        let Ok(alone) = one_way(&Task {
            ladder: false,
            ..alone
        }) else {
            continue;
        };
        let meets = |figure| {
            let mut lines = alone.design.lines.iter();
            lines.any(|line| line.figure == figure && line.met())
        };
        let target = target_of(design, drop);
        if let (true, Some(target), Some(comes_to)) =
            (meets(keep), target, figure_of(&alone.design, drop))
        {
            return Ok(Some(Conflict {
                drop,
                target,
                keep,
                comes_to,
            }));
        }
    }
    Ok(None)
}

fn alkalinity_aimed_at(task: &Task) -> Option<Figure> {
    let aims = &task.mash.aims;
    match (&aims.alkalinity, &aims.residual_alkalinity) {
        (Some(_), _) => Some(Figure::Alkalinity),
        (None, Some(_)) => Some(Figure::ResidualAlkalinity),
        (None, None) => None,
    }
}

fn target_of(design: &Design, figure: Figure) -> Option<Level> {
    let mut lines = design.lines.iter();
    let line = lines.find(|l| l.figure == figure && l.liquor != Some(Liquor::Sparge));
    line.map(|line| line.target)
}

/// A figure that is no longer aimed at, of the mash liquor.
fn figure_of(design: &Design, figure: Figure) -> Option<Level> {
    let mash = design.liquors.iter().find(|l| l.liquor == Liquor::Mash)?;
    let water = &mash.water;
    let value = match figure {
        Figure::Alkalinity => water.alkalinity.canonical(),
        Figure::ResidualAlkalinity => {
            crate::analysis::residual_alkalinity(&water.ions, water.alkalinity).canonical()
        }
        Figure::MashPh => design.mash_ph.as_ref()?.ph.canonical(),
        _ => return None,
    };
    Some(figure.level(value))
}

fn is_base(salt: &SaltAtHand) -> bool {
    salt.salt.alkalinity_per_g_per_l.meq_per_l() > 0.0
}

fn one_way(task: &Task) -> Result<Practical, DesignError> {
    let whole = design(task);
    let as_asked = |design| Practical {
        task: task.clone(),
        design,
        left_out: None,
    };
    let has_both = !task.acids.is_empty() && task.salts.iter().any(is_base);
    let usable = match &whole {
        Ok(design) => !pours_both(design),
        Err(error) => !matches!(error, DesignError::Water(_) | DesignError::NotSolved),
    };
    if !has_both || usable {
        return whole.map(as_asked);
    }
    let mut without_bases = task.clone();
    without_bases.salts.retain(|salt| !is_base(salt));
    let mut without_acids = task.clone();
    without_acids.acids.clear();
    without_acids.acid_malt = None;
    let tried = [
        (without_bases, LeftOut::Bases),
        (without_acids, LeftOut::Acids),
    ];
    let least = tried
        .into_iter()
        .filter_map(|(task, left_out)| {
            Some(Practical {
                design: design(&task).ok()?,
                left_out: Some(left_out),
                task,
            })
        })
        .min_by(|a, b| {
            let misfit = |found: &Practical| found.design.misfit.weighed;
            misfit(a).total_cmp(&misfit(b))
        });
    match least {
        Some(found) => Ok(found),
        None => whole.map(as_asked),
    }
}

/// Whether an acid and a base go into one liquor.
#[must_use]
pub fn pours_both(design: &Design) -> bool {
    [Liquor::Mash, Liquor::Sparge].into_iter().any(|liquor| {
        let base = design
            .salts()
            .any(|d| d.into == liquor && d.salt.alkalinity_per_g_per_l.meq_per_l() > 0.0);
        let malt = liquor == Liquor::Mash && design.acid_malt.is_some();
        base && (malt || design.acids().any(|d| d.into == liquor))
    })
}

/// How much further from the aims, in squared tolerances, a design may be that does
/// with fewer kinds of addition.
const AS_GOOD: f64 = 0.05;

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

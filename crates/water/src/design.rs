//! Minerals and acid for an aim: which waters, which salts, how much acid.
//!
//! [`design`] takes a [`Task`] (waters at hand with their prices, volumes, the
//! grist, aims with tolerances, limits, what is in the cupboard and how finely it
//! can be weighed) and gives the [`Design`] that comes nearest: amounts that can
//! be weighed, the water and mash pH after them as [`treat`](crate::treat) and
//! [`mash_ph`](fn@crate::mash_ph::mash_ph) reckon them, and why it is no nearer.
//!
//! What is minimised is Σ weight · ((figure − target)/tolerance)², plus what the
//! additions cost where the brewer says what a tolerance is worth. Limits hold
//! whatever the aims come to. Aims are the brewer's own figures: none are built
//! in.
//!
//! ```
//! use water::dechlorination::Dechlorination;
//! use water::design::{
//!     Aim, Aims, Limits, LiquorTask, SaltAtHand, ShareLimits, SourceAtHand, Task, Together,
//!     Variant, design,
//! };
//! use water::salts::Salt;
//! use water::{Ions, SourceWater};
//!
//! let soft = SourceWater {
//!     ions: Ions { calcium: "10 mg/L".parse()?, ..Ions::default() },
//!     alkalinity: "0.5 mEq/L".parse()?,
//!     ..SourceWater::named("soft")
//! };
//! let task = Task {
//!     sources: vec![SourceAtHand::plain(soft)],
//!     salts: vec![SaltAtHand::plenty(Salt::named("gypsum")?, "0.1 g".parse()?)],
//!     mash: LiquorTask {
//!         volume: "20 L".parse()?,
//!         aims: Aims {
//!             calcium: Some(Aim::near("80 mg/L".parse()?, "5 mg/L".parse()?)),
//!             ..Aims::default()
//!         },
//!         limits: Limits::default(),
//!     },
//!     ..Task::default()
//! };
//! let found = design(&task)?;
//! // 70 mg/L · 20 L / 0.2328 is 6.01 g.
//! assert!((found.salts().next().unwrap().mass.g() - 6.0).abs() < 1e-9);
//! assert!(found.lines[0].met());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod check_task;
mod error;
mod explain;
mod figure;
mod model;
mod practical;
pub mod qp;
mod reckon;
mod relax;
mod result;
mod settings;
mod settle;
mod sparse;
mod task;
mod weigh;

use std::collections::BTreeSet;

use quantity::{Caution, Mass, Note, Volume};

use crate::treatment::{Amount, Liquor};
use explain::{binding, contributions, holders};
use model::{Model, What, choices};
use reckon::{Reckoned, added_malt, reckon};
use settle::{Settled, Stuck, settle};
use sparse::{count, kinds_used, with_at_most};
use weigh::weigh;

pub use error::DesignError;
pub use figure::{Figure, Level};
pub use practical::{Conflict, LeftOut, Practical, conflict, pours_both, practical};
pub use result::{
    Binding, Contribution, Design, DesignedLiquor, Line, Misfit, Nearer, Part, Relaxation, Rung,
    Side,
};
pub use settings::{Settings, settings};
pub use task::*;

/// Finds the additions that come nearest to the aims.
///
/// A convex quadratic program over shares and doses, the mash pH linearised where
/// it lands and solved again until nothing moves; every choice among pre-treated
/// waters is tried; the amounts are then moved onto the grids of the scales with
/// every limit kept, and all figures reckoned from those. The same task gives the
/// same design on every machine.
///
/// # Errors
/// [`DesignError`]: impossible figures; limits that contradict each other, with
/// the smallest change that would do; a scale too coarse for the limits.
pub fn design(task: &Task) -> Result<Design, DesignError> {
    check_task::check(task)?;
    let models = choices(task)?
        .iter()
        .map(|choice| Model::build(task, choice))
        .collect::<Result<Vec<_>, _>>()?;
    let all = settle_all(&models)?;
    let most = task.at_most_kinds.unwrap_or(usize::MAX);
    let chosen = best(&models, &all, most)?.ok_or_else(|| too_few(&models, &all, most))?;
    let mut design = finish(&models[chosen.model], &chosen.settled)?;
    if task.ladder {
        design.ladder = ladder(&models, &all)?;
    }
    Ok(design)
}

/// A choice of waters with what settled there.
struct Chosen {
    model: usize,
    settled: Settled,
}

/// Settles each choice of waters, with all additions allowed; none where its
/// limits contradict each other.
fn settle_all(models: &[Model]) -> Result<Vec<Option<Settled>>, DesignError> {
    let mut all = vec![];
    for model in models {
        match settle(model, &vec![true; model.kinds.len()], None) {
            Ok(settled) => all.push(Some(settled)),
            Err(Stuck::Contradiction) => all.push(None),
            Err(Stuck::Failed(error)) => return Err(error),
        }
    }
    if all.iter().all(Option::is_none) {
        return Err(contradiction(models));
    }
    Ok(all)
}

/// The error that names the smallest relaxation over all choices of waters.
fn contradiction(models: &[Model]) -> DesignError {
    let mut least: Option<relax::Relaxed> = None;
    for model in models {
        match relax::relax(model) {
            Ok(relaxed) if least.as_ref().is_none_or(|l| relaxed.total < l.total) => {
                least = Some(relaxed);
            }
            Ok(_) => {}
            Err(error) => return error,
        }
    }
    least.map_or(DesignError::NotSolved, |relaxed| relaxed.error)
}

/// The best over all choices of waters with at most so many kinds of addition.
fn best(
    models: &[Model],
    all: &[Option<Settled>],
    kinds: usize,
) -> Result<Option<Chosen>, DesignError> {
    let mut best: Option<Chosen> = None;
    for (at, (model, settled)) in models.iter().zip(all).enumerate() {
        let Some(settled) = settled else { continue };
        let beaten = |value: f64| {
            best.as_ref()
                .is_some_and(|b| value >= b.settled.value - 1e-9)
        };
        if beaten(settled.value) {
            continue;
        }
        let found = match with_at_most(model, kinds, settled) {
            Ok(found) => found,
            Err(Stuck::Failed(error)) => return Err(error),
            Err(Stuck::Contradiction) => None,
        };
        if let Some(settled) = found.filter(|s| !beaten(s.value)) {
            best = Some(Chosen { model: at, settled });
        }
    }
    Ok(best)
}

/// So few kinds keep no limits: how many would, and which limit is in the way.
fn too_few(models: &[Model], all: &[Option<Settled>], kinds: usize) -> DesignError {
    let of = models.first().map_or(0, |model| model.kinds.len());
    let does = |kinds: &usize| matches!(best(models, all, *kinds), Ok(Some(_)));
    DesignError::TooFewKinds {
        kinds,
        of,
        enough: (kinds + 1..=of).find(does),
        lift: in_the_way(models, kinds),
    }
}

/// The limits of the brewer without which so few kinds would do, one at a time.
fn in_the_way(models: &[Model], kinds: usize) -> Vec<String> {
    let Some(first) = models.first() else {
        return vec![];
    };
    let of_brewer = first.limits.iter().filter(|limit| limit.relax.is_some());
    of_brewer
        .filter(|limit| {
            let freed: Vec<Model> = models.iter().map(|m| without(m, &limit.what)).collect();
            let settled = settle_all(&freed);
            settled.is_ok_and(|all| matches!(best(&freed, &all, kinds), Ok(Some(_))))
        })
        .map(model::ModelLimit::sentence)
        .collect()
}

fn without<'t>(model: &Model<'t>, what: &str) -> Model<'t> {
    let mut freed = model.clone();
    freed
        .limits
        .retain(|limit| limit.relax.is_none() || limit.what != what);
    freed
}

/// A settled design, weighed and reckoned by the models of the stage.
struct Weighed {
    x: Vec<f64>,
    reckoned: Reckoned,
}

/// Rounds, reckons, and rounds again where what the linear sum leaves out would
/// pass a limit.
fn weigh_and_reckon(
    model: &Model,
    settled: &Settled,
    allowed: &[bool],
) -> Result<Weighed, DesignError> {
    const MOST_TRIES: usize = 4;
    let mut model = model.clone();
    let mut passed = None;
    for _ in 0..MOST_TRIES {
        let x = weigh(&model, settled, allowed)?;
        let reckoned = reckon(&model, &x)?;
        model.offsets = reckoned.offsets(&model, &x);
        passed = tighten(&mut model, &x)?;
        if passed.is_none() {
            return Ok(Weighed { x, reckoned });
        }
    }
    Err(passed.unwrap_or(DesignError::NotSolved))
}

/// Holds x to each limit as the models of the stage see it, and gives those that
/// are passed a margin.
fn tighten(model: &mut Model, x: &[f64]) -> Result<Option<DesignError>, DesignError> {
    let line = model.mash_line(x)?;
    let mut passed = None;
    let by: Vec<f64> = model
        .limits
        .iter()
        .map(|limit| {
            let (row, constant) = model.limit_row(limit, line.as_ref());
            limit.sign() * (limit.bound - constant - qp::dot(row, x))
        })
        .collect();
    for (limit, by) in model.limits.iter_mut().zip(by) {
        let length = qp::dot(&limit.row, &limit.row).sqrt().max(1e-3);
        if limit.holds != model::Holds::Equal && by > 1e-8 * length.max(limit.bound.abs()) {
            limit.margin += by;
            passed = Some(DesignError::TooCoarse {
                limit: limit.sentence(),
                by: limit.unit.level(by).to_string(),
            });
        }
    }
    Ok(passed)
}

fn finish(model: &Model, settled: &Settled) -> Result<Design, DesignError> {
    let allowed = kinds_allowed(model, settled);
    let weighed = weigh_and_reckon(model, settled, &allowed)?;
    let mut model = model.clone();
    model.offsets = weighed.reckoned.offsets(&model, &weighed.x);
    let line = model.mash_line(&weighed.x)?;
    let x = &weighed.x;
    let mut lines: Vec<Line> = (0..model.aims.len())
        .map(|at| line_of(&model, at, x, line.as_ref()))
        .collect();
    let binding = binding(&model, settled, &allowed);
    holders(&model, settled, &allowed, &binding, &mut lines);
    let misfit = Misfit {
        unrounded: settled.misfit,
        weighed: model.misfit(x, line.as_ref()),
    };
    let mash_ph = weighed.reckoned.mash_ph.clone();
    Ok(Design {
        liquors: weighed.reckoned.liquors(&model, x),
        acid_malt: added_malt(&model, x).and_then(|kg| model.acid_malt(kg)),
        notes: notes(&model, &weighed, misfit),
        cautions: cautions(&weighed.reckoned),
        cost: Money::from_amount(model.cost(x)),
        ladder: vec![],
        plans: weighed.reckoned.plans,
        mash_ph,
        lines,
        binding,
        misfit,
    })
}

/// With a limit on kinds, those that were chosen; else all.
fn kinds_allowed(model: &Model, settled: &Settled) -> Vec<bool> {
    let used = kinds_used(model, &settled.x);
    match model.task.at_most_kinds {
        Some(_) => used,
        None => vec![true; used.len()],
    }
}

fn line_of(model: &Model, at: usize, x: &[f64], line: Option<&model::MashLine>) -> Line {
    let aim = &model.aims[at];
    let off = model.off(aim, x, line);
    let (target, reached) = if aim.figure == Figure::SulfateToChloride {
        let of = |figure| {
            let liquor = aim.liquor.unwrap_or(Liquor::Mash);
            qp::dot(&model.row(figure, liquor), x) + model.constant(figure, aim.liquor)
        };
        (aim.ratio, of(Figure::Sulfate) / of(Figure::Chloride))
    } else {
        (aim.target, aim.target + off)
    };
    Line {
        liquor: aim.liquor,
        figure: aim.figure,
        target: aim.figure.level(target),
        tolerance: aim.figure.difference(aim.tolerance),
        reached: aim.figure.level(reached),
        off: aim.figure.difference(off),
        off_in_tolerances: off / aim.tolerance,
        from: contributions(model, at, x, line),
        held_by: None,
    }
}

/// What each further kind of addition buys, from the fewest that keep the limits
/// to as many as are of use.
fn ladder(models: &[Model], all: &[Option<Settled>]) -> Result<Vec<Rung>, DesignError> {
    let least = all
        .iter()
        .flatten()
        .map(|settled| settled.value)
        .fold(f64::INFINITY, f64::min);
    let most = models.first().map_or(0, |model| model.kinds.len());
    let mut rungs = vec![];
    for kinds in 0..=most {
        let Some(chosen) = best(models, all, kinds)? else {
            continue;
        };
        let value = chosen.settled.value;
        rungs.extend(rung(&models[chosen.model], &chosen.settled)?);
        if value <= least + 1e-6 * (1.0 + least.abs()) {
            break;
        }
    }
    Ok(rungs)
}

/// One rung; none where the scale is too coarse for its limits.
fn rung(model: &Model, settled: &Settled) -> Result<Option<Rung>, DesignError> {
    let allowed = kinds_used(model, &settled.x);
    let weighed = match weigh_and_reckon(model, settled, &allowed) {
        Ok(weighed) => weighed,
        Err(DesignError::TooCoarse { .. }) => return Ok(None),
        Err(error) => return Err(error),
    };
    let x = &weighed.x;
    let line = model.mash_line(x)?;
    let acid_malt = added_malt(model, x).filter(|kg| *kg > 0.0);
    Ok(Some(Rung {
        kinds: count(&kinds_used(model, x)),
        additions: totals(model, x),
        acid_malt: acid_malt.map(Mass::from_kg),
        misfit: Misfit {
            unrounded: settled.misfit,
            weighed: model.misfit(x, line.as_ref()),
        },
        cost: Money::from_amount(model.cost(x)),
    }))
}

/// How much of each kind, over both liquors.
fn totals(model: &Model, x: &[f64]) -> Vec<(String, Amount)> {
    let mut amounts: Vec<(String, Amount)> = vec![];
    for (column, x) in model.columns.iter().zip(x) {
        let amount = x * column.amount;
        let amount = match column.what {
            What::Salt(_) if amount > 0.0 => Amount::Mass(Mass::from_kg(amount)),
            What::Acid(item) if amount > 0.0 => {
                match model::amount_like(model.task.acids[item].resolution, amount) {
                    crate::acids::AcidAmount::Mass(mass) => Amount::Mass(mass),
                    crate::acids::AcidAmount::Volume(volume) => Amount::Volume(volume),
                }
            }
            _ => continue,
        };
        let name = model.name(column);
        match amounts.last_mut() {
            Some((last, sum)) if *last == name => *sum = plus(*sum, amount),
            _ => amounts.push((name, amount)),
        }
    }
    amounts
}

fn plus(a: Amount, b: Amount) -> Amount {
    match (a, b) {
        (Amount::Mass(a), Amount::Mass(b)) => Amount::Mass(Mass::from_kg(a.kg() + b.kg())),
        (Amount::Volume(a), Amount::Volume(b)) => Amount::Volume(Volume::from_l(a.l() + b.l())),
        (a, _) => a,
    }
}

fn notes(model: &Model, weighed: &Weighed, misfit: Misfit) -> Vec<Note> {
    let mut notes: Vec<Note> = vec![];
    let treated = weighed.reckoned.treated.iter().flat_map(|t| &t.notes);
    let mash = weighed.reckoned.mash_ph.iter().flat_map(|m| &m.notes);
    for note in treated.chain(mash) {
        if !notes.contains(note) {
            notes.push(note.clone());
        }
    }
    let lost = misfit.weighed - misfit.unrounded;
    if lost > 0.5 {
        notes.push(Note::look(format!(
            "Weighing costs {lost:.1} squared tolerances beside the best that any amount could do: \
             a finer scale or syringe would come nearer."
        )));
    }
    let least = settings().least_sparge_alkalinity_meq_per_l.value;
    let sparge = weighed.reckoned.water(Liquor::Sparge);
    let acid = weighed
        .reckoned
        .plans
        .iter()
        .flat_map(|plan| &plan.acids)
        .any(|dose| dose.into == Liquor::Sparge);
    if let Some(left) = sparge.map(|water| water.alkalinity.meq_per_l())
        && acid
        && (0.0..least).contains(&left)
    {
        notes.push(Note::look(format!(
            "The sparge liquor keeps {left:.2} mEq/L of alkalinity: below {least} mEq/L a trifle of \
             acid moves its pH by a whole unit, so measure it."
        )));
    }
    if no_additions(model) {
        notes.push(Note::fine(
            "Nothing is at hand to add: only the blend could be chosen.",
        ));
    }
    notes
}

fn no_additions(model: &Model) -> bool {
    model.kinds.is_empty()
}

fn cautions(reckoned: &Reckoned) -> Vec<Caution> {
    let all: BTreeSet<Caution> = reckoned
        .treated
        .iter()
        .flat_map(|treated| &treated.cautions)
        .copied()
        .collect();
    all.into_iter().collect()
}

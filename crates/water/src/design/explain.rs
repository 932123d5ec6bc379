//! Why the design is as it is: what binds, and what holds an aim back.

use super::figure::Figure;
use super::model::{Holds, MashLine, Model, ModelLimit, What};
use super::result::{Binding, Contribution, Line, Nearer, named};
use super::settings::settings;
use super::settle::{Settled, settle};

/// The limits that bind and could be let go, the dearest first, with what a
/// looser one would bring. All of it before rounding.
pub(super) fn binding(model: &Model, settled: &Settled, allowed: &[bool]) -> Vec<Binding> {
    let mut all: Vec<Binding> = model
        .limits
        .iter()
        .enumerate()
        .filter(|(i, limit)| {
            let price = settled.multipliers[*i];
            limit.relax.is_some() && limit.holds != Holds::Equal && price > 1e-6
        })
        .filter_map(|(i, _)| binds(model, settled, allowed, i))
        .collect();
    all.sort_by(|a, b| a.misfit_then.total_cmp(&b.misfit_then));
    all
}

fn binds(model: &Model, settled: &Settled, allowed: &[bool], i: usize) -> Option<Binding> {
    let limit = &model.limits[i];
    let looser = looser(limit);
    let mut loose = model.clone();
    loose.limits[i].bound = looser;
    let then = settle(&loose, allowed, settled.line.as_ref()).ok()?;
    Some(Binding {
        what: limit.what.clone(),
        side: limit.side(),
        limit: limit.unit.level(limit.bound),
        price: settled.multipliers[i],
        loosened: limit.unit.level(looser),
        misfit_then: then.misfit,
        nearer: nearer(model, settled, &then),
    })
}

fn looser(limit: &ModelLimit) -> f64 {
    let unit = limit.relax.unwrap_or(0.0);
    let by = (settings().loosen_share.value * limit.bound.abs()).max(unit);
    limit.bound - limit.sign() * by
}

/// The aim that comes nearer most, counted in its tolerance.
fn nearer(model: &Model, now: &Settled, then: &Settled) -> Option<Nearer> {
    let gain = |aim: &super::model::ModelAim| {
        let off = |at: &Settled| model.off(aim, &at.x, at.line.as_ref()).abs();
        off(now) - off(then)
    };
    let best = model
        .aims
        .iter()
        .map(|aim| (aim, gain(aim)))
        .max_by(|a, b| (a.1 / a.0.tolerance).total_cmp(&(b.1 / b.0.tolerance)))?;
    (best.1 / best.0.tolerance > 0.01).then(|| Nearer {
        liquor: best.0.liquor,
        figure: best.0.figure,
        by: best.0.figure.difference(best.1),
    })
}

/// Aim by aim, what holds back those that `lines` shows as missed.
pub(super) fn holders(
    model: &Model,
    settled: &Settled,
    allowed: &[bool],
    binding: &[Binding],
    lines: &mut [Line],
) {
    if lines.iter().all(Line::met) {
        return;
    }
    let without_aim: Vec<Option<Settled>> = (0..model.aims.len())
        .map(|at| {
            let mut model = model.clone();
            model.aims[at].weight = 0.0;
            settle(&model, allowed, settled.line.as_ref()).ok()
        })
        .collect();
    for (at, line) in lines.iter_mut().enumerate() {
        if line.met() {
            continue;
        }
        line.held_by = nothing_moves(model, settled, at, allowed)
            .or_else(|| limit_holds(line, binding))
            .or_else(|| aim_holds(model, settled, at, &without_aim));
    }
}

/// Whether no water or addition that is allowed moves it the right way.
fn nothing_moves(model: &Model, settled: &Settled, at: usize, allowed: &[bool]) -> Option<String> {
    let aim = &model.aims[at];
    let off = model.off(aim, &settled.x, settled.line.as_ref());
    let (row, _) = model.aim_row(aim, settled.line.as_ref())?;
    let waters: Vec<f64> = model
        .columns
        .iter()
        .zip(row)
        .filter(|(column, value)| {
            matches!(column.what, What::Water { .. }) && (**value).abs() > 0.0
        })
        .map(|(_, value)| *value)
        .collect();
    let spread = waters
        .iter()
        .any(|a| waters.iter().any(|b| (a - b).abs() > 1e-9));
    // More of what brings it, or less of what brings too much of it.
    let moves = |((column, x), value): ((&super::model::Column, &f64), &f64)| {
        let more = column.kind.is_some_and(|kind| allowed[kind]) && value * off < 0.0;
        let less = column.kind.is_some() && *x > 0.0 && value * off > 0.0;
        more || less
    };
    let blends = spread
        && model
            .columns
            .iter()
            .any(|c| c.kind.is_none() && c.step.is_some());
    if blends || model.columns.iter().zip(&settled.x).zip(row).any(moves) {
        return None;
    }
    let way = if off > 0.0 { "lowers" } else { "raises" };
    Some(format!("nothing at hand {way} it"))
}

/// The binding limit whose loosening brings this aim nearer first of all.
fn limit_holds(line: &Line, binding: &[Binding]) -> Option<String> {
    let it = |b: &&Binding| {
        b.nearer
            .as_ref()
            .is_some_and(|n| n.figure == line.figure && n.liquor == line.liquor)
    };
    let b = binding.iter().find(it)?;
    Some(format!("the limit of {}: {} {}", b.what, b.side, b.limit))
}

/// The other aim without which this one would come nearest.
fn aim_holds(
    model: &Model,
    settled: &Settled,
    at: usize,
    without: &[Option<Settled>],
) -> Option<String> {
    let aim = &model.aims[at];
    let off = |s: &Settled| model.off(aim, &s.x, s.line.as_ref()).abs();
    let now = off(settled);
    let (other, then) = without
        .iter()
        .enumerate()
        .filter(|(other, _)| *other != at)
        .filter_map(|(other, settled)| Some((other, off(settled.as_ref()?))))
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    // Less than a twentieth nearer is not what holds it.
    (then < 0.95 * now).then(|| {
        let other = &model.aims[other];
        format!("the aim for {}", named(other.figure, other.liquor))
    })
}

/// What each water and addition brings to an aim, the largest first.
pub(super) fn contributions(
    model: &Model,
    at: usize,
    x: &[f64],
    line: Option<&MashLine>,
) -> Vec<Contribution> {
    let aim = &model.aims[at];
    let Some((row, constant)) = model.aim_row(aim, line) else {
        return vec![];
    };
    let mut parts: Vec<(String, f64)> = vec![];
    for ((column, x), value) in model.columns.iter().zip(x).zip(row) {
        let name = model.name(column);
        let brings = value * x;
        match parts.iter_mut().find(|(known, _)| *known == name) {
            Some((_, sum)) => *sum += brings,
            None => parts.push((name, brings)),
        }
    }
    if aim.figure != Figure::MashPh {
        parts.push(("dechlorination".to_owned(), constant));
    }
    parts.retain(|(_, value)| value.abs() > 1e-9);
    parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let contribution = |(what, value)| Contribution {
        what,
        level: aim.figure.difference(value),
    };
    parts.into_iter().map(contribution).collect()
}

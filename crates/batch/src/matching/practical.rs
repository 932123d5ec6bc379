//! From exact values to what a scale can weigh, and from many ingredients to few.

use super::convex::{Here, Style, Weighing, straight};
use super::lever::{Lever, NOTHING_KG};
use super::problem::Problem;
use super::search::{Ended, search};

/// Sweeps of single steps after rounding.
const SWEEPS: usize = 4;
/// What rounding one lever moves in the others, in scales: figures that bend are straight
/// only so far.
const NEAR: f64 = 0.25;

/// The values on the steps of their scales: one lever after the other is set, the coarsest
/// first, and the rest found anew; then single steps as long as one helps.
pub(super) fn rounded(problem: &Problem<'_>, style: &Style, ended: &Ended, held: &[bool]) -> Ended {
    let weighing = Weighing {
        levers: problem.levers,
        together: problem.together,
        goals: problem.goals,
        style,
    };
    let here = ended.here();
    let mut set = held.to_vec();
    let mut values = ended.values.clone();
    let mut order: Vec<usize> = (0..values.len()).filter(|i| !set[*i]).collect();
    order.sort_by(|a, b| coarseness(problem, &here, *b).total_cmp(&coarseness(problem, &here, *a)));
    for i in order {
        let mut best: Option<(f64, Vec<f64>)> = None;
        for value in neighbours(&problem.levers[i], values[i]) {
            let mut fixed = values.clone();
            fixed[i] = value;
            set[i] = true;
            let figures = straight(&here, problem.levers, &fixed);
            let from = Here {
                values: &fixed,
                figures: &figures,
                slopes: here.slopes,
            };
            let settled = weighing
                .step(&from, NEAR, &set)
                .map_or(fixed, |step| step.values);
            let figures = straight(&here, problem.levers, &settled);
            let worth = weighing.worth(&settled, &figures) + broken(problem, &settled);
            if best.as_ref().is_none_or(|(least, _)| worth < *least) {
                best = Some((worth, settled));
            }
        }
        set[i] = true;
        if let Some((_, settled)) = best {
            values = settled;
        }
    }
    let nearest = nearest(problem, ended, held);
    let worth = |values: &[f64]| match problem.figures(values) {
        Some(figures) => weighing.worth(values, &figures) + broken(problem, values),
        None => f64::INFINITY,
    };
    if worth(&nearest) < worth(&values) {
        values = nearest;
    }
    stepped(problem, &weighing, ended, values, held)
}

/// Each lever on the step that is nearest.
pub(super) fn nearest(problem: &Problem<'_>, ended: &Ended, held: &[bool]) -> Vec<f64> {
    let each = problem.levers.iter().zip(&ended.values).zip(held);
    each.map(|((lever, value), held)| {
        let near = |a: &f64, b: &f64| (a - value).abs().total_cmp(&(b - value).abs());
        let found = neighbours(lever, *value).into_iter().min_by(near);
        found.filter(|_| !held).unwrap_or(*value)
    })
    .collect()
}

/// Single steps of single levers, judged on straight figures and proved by the stream.
fn stepped(
    problem: &Problem<'_>,
    weighing: &Weighing<'_>,
    ended: &Ended,
    mut values: Vec<f64>,
    held: &[bool],
) -> Ended {
    let Some(mut figures) = problem.figures(&values) else {
        return ended.clone();
    };
    for _ in 0..SWEEPS {
        if problem.worst(&figures) <= 0.0 {
            break;
        }
        let here = Here {
            values: &values,
            figures: &figures,
            slopes: &ended.slopes,
        };
        let now = weighing.worth(&values, &figures);
        let mut best: Option<(f64, Vec<f64>)> = None;
        for i in (0..values.len()).filter(|i| !held[*i]) {
            for value in around(&problem.levers[i], values[i]) {
                let mut moved = values.clone();
                moved[i] = value;
                if broken(problem, &moved) > 0.0 {
                    continue;
                }
                let promised = straight(&here, problem.levers, &moved);
                let worth = weighing.worth(&moved, &promised);
                if worth < best.as_ref().map_or(now, |(least, _)| *least) {
                    best = Some((worth, moved));
                }
            }
        }
        let Some((_, moved)) = best else { break };
        let Some(there) = problem.figures(&moved) else {
            break;
        };
        if weighing.worth(&moved, &there) >= now {
            break;
        }
        (values, figures) = (moved, there);
    }
    Ended {
        values,
        figures,
        ..ended.clone()
    }
}

/// What one step of a lever's scale moves, in tolerances.
fn coarseness(problem: &Problem<'_>, here: &Here<'_>, i: usize) -> f64 {
    let lever = &problem.levers[i];
    let each = problem.goals.iter().zip(here.slopes);
    let moved = each.map(|(goal, slope)| (slope[i] / goal.tolerance).abs());
    moved.fold(0.0, f64::max) * lever.step / lever.scale
}

/// A penalty for limits on several levers that are not kept.
fn broken(problem: &Problem<'_>, values: &[f64]) -> f64 {
    let room = problem.together.iter().map(|t| t.room(values).min(0.0));
    room.map(|r| if r < -1e-6 { -1e6 * r } else { 0.0 }).sum()
}

/// The steps on both sides of a value; where it stands in the document if it is that near.
fn neighbours(lever: &Lever, value: f64) -> Vec<f64> {
    if (value - lever.now).abs() < 0.5 * lever.step {
        return vec![lever.now];
    }
    let steps = value / lever.step;
    let both = [steps.floor(), steps.ceil()].map(|n| n * lever.step);
    within(lever, &both)
}

fn around(lever: &Lever, value: f64) -> Vec<f64> {
    let steps = (value / lever.step).round();
    let both = [steps - 1.0, steps + 1.0].map(|n| n * lever.step);
    within(lever, &both)
}

fn within(lever: &Lever, values: &[f64]) -> Vec<f64> {
    let edge = 1e-9 * lever.scale;
    let inside = |v: &&f64| **v >= lever.least - edge && **v <= lever.most + edge;
    let found: Vec<f64> = values.iter().filter(inside).copied().collect();
    if found.is_empty() {
        // Between the ends there is no step: the end that is nearer.
        let value = values[0].clamp(lever.least, lever.most);
        return vec![value];
    }
    found
}

/// As few ingredients as still meet the aim, or `most` of them: the one that the aim needs
/// least is taken out, and the rest found anew, as long as that works.
pub(super) fn fewer(
    problem: &Problem<'_>,
    style: &Style,
    ended: Ended,
    held: &mut [bool],
    most: Option<usize>,
) -> Ended {
    let mut best = ended;
    loop {
        let used = used(problem.levers, &best.values);
        if most.is_some_and(|most| used.len() <= most) {
            return best;
        }
        let must = most.is_some();
        let mut able: Vec<usize> = used
            .into_iter()
            .filter(|i| !held[*i] && problem.levers[*i].least <= NOTHING_KG)
            .collect();
        // Judged on straight figures: the loss of leaving each out.
        let loss = |i: usize, held: &[bool]| {
            let (there, _) = without(problem, style, &best, i, held);
            there
        };
        able.sort_by(|a, b| loss(*a, held).total_cmp(&loss(*b, held)));
        let mut taken = None;
        for i in able {
            let (_, start) = without(problem, style, &best, i, held);
            held[i] = true;
            let found = search(problem, style, &start, held);
            match found {
                Some(found) if must || problem.worst(&found.figures) <= 1e-9 => {
                    taken = Some(found);
                    break;
                }
                _ => held[i] = false,
            }
        }
        match taken {
            Some(found) => best = found,
            None => return best,
        }
    }
}

/// Ingredients of which there is any.
pub(super) fn used(levers: &[Lever], values: &[f64]) -> Vec<usize> {
    let each = levers.iter().zip(values).enumerate();
    let some = each.filter(|(_, (lever, value))| lever.is_ingredient() && **value >= NOTHING_KG);
    some.map(|(i, _)| i).collect()
}

/// What is left of the worth without an ingredient, on straight figures, and where to
/// search from.
fn without(
    problem: &Problem<'_>,
    style: &Style,
    from: &Ended,
    i: usize,
    held: &[bool],
) -> (f64, Vec<f64>) {
    let weighing = Weighing {
        levers: problem.levers,
        together: problem.together,
        goals: problem.goals,
        style,
    };
    let mut values = from.values.clone();
    values[i] = 0.0;
    let figures = straight(&from.here(), problem.levers, &values);
    let mut set = held.to_vec();
    set[i] = true;
    let here = Here {
        values: &values,
        figures: &figures,
        slopes: &from.slopes,
    };
    let settled = match weighing.step(&here, 4.0, &set) {
        Some(step) => step.values,
        None => values.clone(),
    };
    let figures = straight(&from.here(), problem.levers, &settled);
    (weighing.worth(&settled, &figures), settled)
}

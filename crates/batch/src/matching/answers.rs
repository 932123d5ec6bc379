//! Several different answers, each with what it trades.

use std::sync::atomic::Ordering;

use rayon::prelude::*;

use quantity::{Note, Weight};

use super::blocks::{Block, blocks};
use super::chance::{Drawn, likeliest};
use super::convex::Style;
use super::lever::{Lever, Moves, NOTHING_KG};
use super::practical::{nearest, used};
use super::prices::Prices;
use super::search::Ended;
use super::work::{Solved, Wanted, Work};
use super::{Amount, Answer, MatchError, Reached};
use crate::certainty::CertaintyError;
use crate::document::{AcidEntry, Document, Into, SaltEntry};
use crate::stream::Reckoning;

/// Answers that differ by less than a part of a step are the same.
const SAME: f64 = 0.5;

/// Every answer, and what stands against the aim where it cannot be met.
pub(super) fn answers(work: &Work<'_>) -> Result<(Vec<Answer>, Vec<Block>), MatchError> {
    let best = best(work)?;
    let first = answer(work, "best", "the nearest to the aim".to_owned(), &best)?;
    let met = first.met();
    let mut all = vec![(first, best)];
    let wanted = if met && !work.asked.only_best {
        others(work, &all[0].1)
    } else {
        Vec::new()
    };
    let found: Vec<Option<(Answer, Solved)>> = wanted
        .into_par_iter()
        .map(|(key, label, wanted)| {
            let solved = work.solved(wanted)?;
            let answer = answer(work, key, label, &solved).ok()?;
            Some((answer, solved))
        })
        .collect();
    going(work)?;
    for (answer, solved) in found.into_iter().flatten() {
        let new = all.iter().all(|(_, other)| differ(work, other, &solved));
        if answer.met() && new {
            all.push((answer, solved));
        }
    }
    if work.asked.draws > 0 {
        all.par_iter_mut()
            .map(|(answer, _)| draw(work, answer).map(|_| ()))
            .collect::<Result<Vec<()>, MatchError>>()?;
        if met
            && !work.asked.only_best
            && let Some(likely) = likely(work, &all[0])?
        {
            all.push(likely);
        }
    }
    let against = if met {
        Vec::new()
    } else {
        blocks(work, &all[0].1)?
    };
    Ok((all.into_iter().map(|(answer, _)| answer).collect(), against))
}

fn going(work: &Work<'_>) -> Result<(), MatchError> {
    let done = work.reckoned.load(Ordering::Relaxed);
    (work.go_on)(done).then_some(()).ok_or(MatchError::Stopped)
}

fn style(levers: &[Lever], centre: f64, change: f64) -> Style {
    Style {
        centre,
        change,
        cost: vec![0.0; levers.len()],
    }
}

/// The nearest to the aim, from the recipe as it stands; where that does not get there,
/// from others too.
fn best(work: &Work<'_>) -> Result<Solved, MatchError> {
    let levers = &work.template.levers;
    let free = vec![false; levers.len()];
    let goals = work.goals();
    let from = |start: Vec<f64>| {
        work.solved(Wanted {
            style: style(levers, 1.0, 1e-3),
            held: free.clone(),
            few: false,
            start,
        })
    };
    let worst = |solved: &Solved| {
        let each = goals.iter().zip(&solved.ended.figures);
        each.map(|(g, f)| g.beyond(*f)).fold(0.0, f64::max)
    };
    let now = work.now();
    let mut found = from(now.clone());
    for start in [some_of_all(levers, &now), half_way(levers, &now)] {
        if found.as_ref().is_some_and(|f| worst(f) <= 1e-9) {
            break;
        }
        going(work)?;
        let other = from(start);
        let nearer = match (&found, &other) {
            (Some(a), Some(b)) => worst(b) < worst(a) - 1e-3,
            (None, Some(_)) => true,
            _ => false,
        };
        if nearer {
            found = other;
        }
    }
    going(work)?;
    found.ok_or(MatchError::Unbrewable)
}

/// Some of everything that may go in.
fn some_of_all(levers: &[Lever], now: &[f64]) -> Vec<f64> {
    let each = levers.iter().zip(now);
    each.map(|(lever, now)| match lever.moves {
        Moves::Malt(_) | Moves::Hop(_) if *now < NOTHING_KG => {
            (0.5 * lever.scale).clamp(lever.least, lever.most)
        }
        _ => *now,
    })
    .collect()
}

/// Between where it stands and the middle of what it may.
fn half_way(levers: &[Lever], now: &[f64]) -> Vec<f64> {
    let each = levers.iter().zip(now);
    each.map(|(lever, now)| match lever.moves {
        Moves::Malt(_) | Moves::Hop(_) => now + 0.5 * lever.scale.min(lever.most - now).max(0.0),
        _ => 0.5 * (now + 0.5 * (lever.least + lever.most)),
    })
    .collect()
}

/// What is asked for beside the nearest.
fn others(work: &Work<'_>, best: &Solved) -> Vec<(&'static str, String, Wanted)> {
    let levers = &work.template.levers;
    let free = vec![false; levers.len()];
    let wanted = |style: Style, held: Vec<bool>, few: bool, start: Vec<f64>| Wanted {
        style,
        held,
        few,
        start,
    };
    let from_best = best.ended.values.clone();
    let mut all = vec![
        (
            "least-change",
            "the nearest to the recipe as it is".to_owned(),
            wanted(style(levers, 1e-3, 1.0), free.clone(), false, work.now()),
        ),
        (
            "few",
            "the fewest ingredients".to_owned(),
            wanted(
                style(levers, 1.0, 1e-3),
                free.clone(),
                true,
                from_best.clone(),
            ),
        ),
    ];
    if levers.iter().any(|l| l.price.is_some()) {
        let mut cheap = style(levers, 1e-3, 1e-3);
        let prices = levers.iter().map(|l| l.price.unwrap_or(0.0) * l.scale);
        let dearest = prices.clone().fold(0.0, f64::max).max(1e-9);
        cheap.cost = prices.map(|p| p / dearest).collect();
        all.push((
            "cheap",
            "the cheapest".to_owned(),
            wanted(cheap, free.clone(), false, from_best.clone()),
        ));
    }
    if let Some(i) = speciality(levers, &from_best) {
        let mut held = free;
        held[i] = true;
        let mut start = from_best;
        start[i] = 0.0;
        all.push((
            "other",
            format!("without {}", levers[i].name),
            wanted(style(levers, 1.0, 1e-3), held, false, start),
        ));
    }
    all
}

/// The most used malt beside the first, if it may be left out.
fn speciality(levers: &[Lever], values: &[f64]) -> Option<usize> {
    let mut malts: Vec<usize> = (0..levers.len())
        .filter(|i| matches!(levers[*i].moves, Moves::Malt(_)) && values[*i] >= NOTHING_KG)
        .collect();
    malts.sort_by(|a, b| values[*b].total_cmp(&values[*a]));
    let second = malts.get(1).copied()?;
    (levers[second].least < NOTHING_KG).then_some(second)
}

fn differ(work: &Work<'_>, a: &Solved, b: &Solved) -> bool {
    let each = work
        .template
        .levers
        .iter()
        .zip(a.ended.values.iter().zip(&b.ended.values));
    each.into_iter()
        .any(|(lever, (a, b))| (a - b).abs() > SAME * lever.step)
}

/// The answer of where a search ended, from the text of its document.
fn answer(
    work: &Work<'_>,
    key: &'static str,
    label: String,
    solved: &Solved,
) -> Result<Answer, MatchError> {
    let levers = &work.template.levers;
    let (text, changes, r) = work.document_of(solved).ok_or(MatchError::Unbrewable)?;
    let figure = |g: &super::Goal| (g.figure.read)(&r);
    let values: Option<Vec<f64>> = work.asked.goals.iter().map(figure).collect();
    let values = values.ok_or(MatchError::Unbrewable)?;
    let figures: Vec<Reached> = work
        .asked
        .goals
        .iter()
        .zip(values)
        .map(|(goal, value)| Reached {
            value,
            between: None,
            chance: None,
            beyond: goal.beyond(value),
        })
        .collect();
    let at = &solved.ended.values;
    let amounts = at.iter().enumerate();
    let moved = levers
        .iter()
        .zip(at)
        .map(|(l, x)| ((x - l.now) / l.scale).powi(2));
    let of_water = solved.treated.notes.iter();
    let mut notes: Vec<Note> = of_water
        .filter(|n| n.weight != Weight::Fine)
        .cloned()
        .collect();
    notes.extend(
        of_stages(&r)
            .into_iter()
            .filter(|n| !solved.treated.notes.contains(n)),
    );
    let mut cautions: Vec<_> = r.cautions().into_iter().collect();
    cautions.extend(solved.treated.cautions.iter().copied());
    cautions.sort_unstable();
    cautions.dedup();
    let locked = r.document.grist.len() + r.document.hops.len() - used(levers, at).len();
    Ok(Answer {
        key,
        label,
        text,
        worst: figures.iter().map(|f| f.beyond).fold(0.0, f64::max),
        figures,
        amounts: amounts
            .map(|(lever, value)| Amount {
                lever,
                value: *value,
            })
            .collect(),
        additions: additions(work.document, &r.document),
        ingredients: used(levers, at).len() + locked,
        cost: Prices::of(work.asked, work.at_hand).whole(&r.document),
        change: (moved.sum::<f64>() / levers.len().max(1) as f64).sqrt(),
        chance: None,
        notes,
        cautions,
        of_additions: solved.treated.cautions.clone(),
        changes,
    })
}

/// What the stages say that must be acted on.
fn of_stages(r: &Reckoning) -> Vec<Note> {
    let notes = r.signs.iter().flat_map(|s| &s.notes);
    notes.filter(|n| n.weight == Weight::Act).cloned().collect()
}

/// Salts and acid of an answer in words, where they are not those of the document.
fn additions(before: &Document, after: &Document) -> Vec<String> {
    let same = before.water.salts == after.water.salts && before.water.acids == after.water.acids;
    if same {
        return Vec::new();
    }
    let into = |into: Into| match into {
        Into::Mash => "into the mash",
        Into::Sparge => "into the sparge",
    };
    let salt = |s: &SaltEntry| format!("{} {}, {}", s.amount.value, s.salt, into(s.into));
    let acid = |a: &AcidEntry| {
        let amount = a.volume.map(|v| v.value.to_string());
        let amount = amount.or(a.mass.map(|m| m.value.to_string()));
        format!(
            "{} {}, {}",
            amount.unwrap_or_default(),
            a.acid,
            into(a.into)
        )
    };
    let salts = after.water.salts.iter().map(salt);
    salts.chain(after.water.acids.iter().map(acid)).collect()
}

/// Draws what is not known of an answer; none where that cannot be done, as where doubts
/// are said to move together and one of them is gone.
fn draw(work: &Work<'_>, answer: &mut Answer) -> Result<Option<Drawn>, MatchError> {
    let goals = &work.asked.goals;
    let drawn = match Drawn::of(&answer.text, goals, work.asked.draws, work.go_on) {
        Ok(drawn) => drawn,
        Err(CertaintyError::Stopped) => return Err(MatchError::Stopped),
        Err(_) => return Ok(None),
    };
    answer.chance = Some(drawn.all_met(goals));
    for (k, (reached, goal)) in answer.figures.iter_mut().zip(goals).enumerate() {
        reached.between = drawn.between(k);
        reached.chance = Some(drawn.met(k, goal));
    }
    Ok(Some(drawn))
}

/// The answer that meets the aim most likely; none where it is no likelier than the first.
fn likely(
    work: &Work<'_>,
    (first, best): &(Answer, Solved),
) -> Result<Option<(Answer, Solved)>, MatchError> {
    going(work)?;
    let all = &work.asked.goals;
    let goals = work.goals();
    let which: Vec<usize> = (0..all.len())
        .filter(|k| goals.iter().any(|g| g.figure.key == all[*k].figure.key))
        .collect();
    let Some(drawn) = draw(work, &mut first.clone())? else {
        return Ok(None);
    };
    let drawn = drawn.only(&which);
    let (levers, together) = (&work.template.levers, &work.template.together);
    let ended = &best.ended;
    let values = likeliest(
        &drawn,
        &goals,
        levers,
        together,
        &ended.values,
        &ended.slopes,
        &best.held,
    );
    let problem = work.problem(&best.filled, &goals);
    let Some(figures) = problem.figures(&values) else {
        return Ok(None);
    };
    let moved = Ended {
        values,
        figures,
        ..ended.clone()
    };
    // On the steps of the scale, each to the nearest.
    let settled = nearest(&problem, &moved, &best.held);
    let Some(figures) = problem.figures(&settled) else {
        return Ok(None);
    };
    let solved = Solved {
        ended: Ended {
            values: settled,
            figures,
            ..moved
        },
        ..best.clone()
    };
    let label = "the likeliest to meet the aim".to_owned();
    let Ok(mut found) = answer(work, "likely", label, &solved) else {
        return Ok(None);
    };
    draw(work, &mut found)?;
    Ok((found.chance > first.chance).then_some((found, solved)))
}

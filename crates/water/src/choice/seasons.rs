//! Which analysis holds when, and what changes from one to the next.

use std::collections::BTreeSet;

use quantity::Volume;

use super::{Candidate, Change, Dated, Season};
use crate::treatment::{Amount, Liquor};

/// Every date from which another analysis holds, in order: one date without a name
/// where none ever does. What holds before the first analysis of a water is taken to
/// be that analysis.
pub(super) fn turns(candidates: &[&Candidate]) -> Vec<String> {
    let holds = |from: &String| -> Vec<Option<&str>> {
        let each = candidates.iter().map(|c| in_force(c, from));
        each.map(|season| season.map(|s| s.from.as_str())).collect()
    };
    let mut turns = dates(candidates);
    turns.dedup_by(|later, earlier| holds(later) == holds(earlier));
    if turns.len() == 1 {
        turns = vec![String::new()];
    }
    turns
}

fn dates(candidates: &[&Candidate]) -> Vec<String> {
    let all: BTreeSet<&str> = candidates
        .iter()
        .flat_map(|c| &c.seasons)
        .map(|season| season.from.as_str())
        .collect();
    // A water that is the same all year has no date of its own beside one that
    // has.
    let dated = all.iter().any(|from| !from.is_empty());
    all.into_iter()
        .filter(|from| !(dated && from.is_empty()))
        .map(str::to_owned)
        .collect()
}

/// The analysis that holds from a date: the last that is not later.
pub(super) fn in_force<'a>(candidate: &'a Candidate, from: &str) -> Option<&'a Season> {
    let not_later = candidate
        .seasons
        .iter()
        .filter(|season| season.from.as_str() <= from)
        .max_by(|a, b| a.from.cmp(&b.from));
    let first = || candidate.seasons.iter().min_by(|a, b| a.from.cmp(&b.from));
    not_later.or_else(first)
}

/// What to change each time a season turns: waters, additions, acidulated malt.
pub(super) fn changes(seasons: &[Dated]) -> Vec<Change> {
    let mut changes = vec![];
    for pair in seasons.windows(2) {
        let (before, after) = (amounts(&pair[0]), amounts(&pair[1]));
        let mut names: Vec<&(Option<Liquor>, String)> = before.iter().map(|(key, _)| key).collect();
        for (key, _) in &after {
            if !names.contains(&key) {
                names.push(key);
            }
        }
        for key in names {
            let find = |all: &[(Key, Amount)]| {
                let found = all.iter().find(|(other, _)| other == key);
                found.map(|(_, amount)| *amount)
            };
            let (was, is) = (find(&before), find(&after));
            if !same(was, is) {
                changes.push(Change {
                    from: pair[1].from.clone(),
                    into: key.0,
                    what: key.1.clone(),
                    before: was,
                    after: is,
                });
            }
        }
    }
    changes
}

type Key = (Option<Liquor>, String);

fn amounts(dated: &Dated) -> Vec<(Key, Amount)> {
    let mut all = vec![];
    for liquor in &dated.design.liquors {
        // One water alone is all of the liquor in every season.
        if liquor.blend.len() > 1 {
            for part in &liquor.blend {
                all.push((
                    (Some(liquor.liquor), part.name.clone()),
                    Amount::Volume(Volume::from_l(part.volume.l())),
                ));
            }
        }
        for weigh in &liquor.additions {
            all.push(((Some(weigh.into), weigh.what.clone()), weigh.amount));
        }
    }
    if let Some(malt) = dated.design.acid_malt {
        all.push((
            (None, "acidulated malt".to_owned()),
            Amount::Mass(malt.mass),
        ));
    }
    all
}

fn same(a: Option<Amount>, b: Option<Amount>) -> bool {
    let number = |amount: Amount| match amount {
        Amount::Mass(mass) => mass.kg(),
        Amount::Volume(volume) => volume.l(),
    };
    match (a, b) {
        (Some(a), Some(b)) => (number(a) - number(b)).abs() < 1e-9,
        (a, b) => a.is_none() && b.is_none(),
    }
}

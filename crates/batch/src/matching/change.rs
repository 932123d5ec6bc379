//! From values of the levers back to changes of the document.

use super::lever::{Lever, Moves, NOTHING_KG, trimmed};
use super::levers::Template;
use crate::document::Document;
use crate::liquor::minerals::Change;

/// What makes a document that of these values: what moves no further than a part of its
/// step stays as it is written.
pub(super) fn changes(template: &Template, document: &Document, values: &[f64]) -> Vec<Change> {
    let (mut sets, mut removes, mut adds) = (vec![], vec![], vec![]);
    let entries = &template.entries;
    for (lever, value) in template.levers.iter().zip(values) {
        let gone = value.abs() < NOTHING_KG;
        let list = match lever.moves {
            Moves::Malt(at) => Some((at, "grist", entries.malts, &entries.new_malts)),
            Moves::Hop(at) => Some((at, "hop", entries.hops, &entries.new_hops)),
            _ => None,
        };
        match list {
            Some((at, list, own, new)) if at >= own => {
                if let (false, Some(keys)) = (gone, new.get(at - own)) {
                    let amount = ("amount".to_owned(), lever.written(*value));
                    let values = keys.iter().cloned().chain([amount]).collect();
                    let list = list.to_owned();
                    adds.push(Change::Add { list, values });
                }
            }
            Some((at, list, ..)) if gone => removes.push((list, at)),
            _ if !moved(lever, *value) => {}
            _ if lever.moves == Moves::Course => sets.extend(course(document, *value)),
            _ => sets.push(Change::Set {
                path: lever.path.clone(),
                written: lever.written(*value),
            }),
        }
    }
    let stays = |change: &&Change| match change {
        Change::Set { path, .. } => !removes
            .iter()
            .any(|(list, at)| path.starts_with(&format!("{list}[{}].", at + 1))),
        _ => true,
    };
    let mut all: Vec<Change> = entries.adopted.iter().filter(stays).cloned().collect();
    all.extend(sets);
    // Within a list the last goes first, so that no place shifts under another.
    removes.sort_unstable_by(|a, b| b.cmp(a));
    all.extend(removes.into_iter().map(|(list, at)| Change::Remove {
        path: format!("{list}[{}]", at + 1),
    }));
    all.extend(adds);
    all
}

fn moved(lever: &Lever, value: f64) -> bool {
    (value - lever.now).abs() > 1e-6 * lever.scale
}

fn course(document: &Document, by: f64) -> impl Iterator<Item = Change> + '_ {
    let points = document.fermentation.course.iter().enumerate();
    points.map(move |(i, point)| Change::Set {
        path: format!("fermentation.course[{}].temperature", i + 1),
        written: format!("{} °C", trimmed(point.temperature.value.c() + by)),
    })
}

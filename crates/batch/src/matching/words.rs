//! What was found, in words.

use quantity::Units;

use super::{Answer, Block, GROUPS, Limited, Matched, aimed};

/// Who says where a lever ends.
#[must_use]
pub fn limited_words(limited: &Limited) -> String {
    match limited {
        Limited::Asked => "as you asked".to_owned(),
        Limited::Stores => "as much as is in the stores".to_owned(),
        Limited::Usual(source) => source.clone(),
    }
}

/// What stands against the aim.
#[must_use]
pub fn block_words(found: &Matched, block: &Block, units: Units) -> String {
    match block {
        Block::Limit {
            lever,
            ends,
            limited,
            would,
            enough,
        } => {
            let Some(lever) = found.levers.get(*lever) else {
                return String::new();
            };
            let [ends, would] = [*ends, *would].map(|x| lever.print(x, units));
            let who = limited_words(limited);
            let then = if *enough {
                "the aim could be had"
            } else {
                "the aim would be nearer"
            };
            format!("{} ends at {ends} ({who}); at {would} {then}", lever.name)
        }
        Block::Together {
            name,
            limited,
            enough,
        } => {
            let then = if *enough {
                "without that the aim could be had"
            } else {
                "without that the aim would be nearer"
            };
            format!("{name} ({}); {then}", limited_words(limited))
        }
        Block::Goal { key, would } => {
            let Some(figure) = aimed(key) else {
                return String::new();
            };
            format!(
                "without an aim for the {} the others could be had; it would come to {}",
                figure.name,
                figure.print(*would, units)
            )
        }
        Block::Flat { key, at } => {
            let Some(figure) = aimed(key) else {
                return String::new();
            };
            format!(
                "nothing that may move takes the {} any further than {}",
                figure.name,
                figure.print(*at, units)
            )
        }
        Block::Group { groups } => {
            let what: Vec<&str> = groups.iter().map(|g| group_words(g)).collect();
            format!(
                "it could be had if more might move: {}",
                what.join(", and ")
            )
        }
    }
}

/// What a group is.
#[must_use]
pub fn group_words(group: &str) -> &'static str {
    let found = GROUPS.iter().find(|(name, _)| *name == group);
    found.map_or("", |(_, words)| words)
}

/// What cannot be had, figure by figure; nothing where all are met.
#[must_use]
pub fn missed_words(found: &Matched, answer: &Answer, units: Units) -> Vec<String> {
    let each = found.goals.iter().zip(&answer.figures);
    let missed = each.filter(|(_, reached)| reached.beyond > 1e-9);
    missed
        .map(|(goal, reached)| {
            format!(
                "{} {} cannot be had: {} is the nearest",
                goal.figure.name,
                goal.words(units),
                goal.figure.print(reached.value, units)
            )
        })
        .collect()
}

/// A chance in words that people count in.
#[must_use]
pub fn chance_words(chance: f64) -> String {
    format!("{:.0} in 100", 100.0 * chance)
}

/// The same of brewings.
#[must_use]
pub fn of_hundred(chance: f64) -> String {
    format!("{:.0} of 100 brewings", 100.0 * chance)
}

/// What an answer trades: ingredients, cost, how far it is from the recipe, its chance.
#[must_use]
pub fn trade_words(answer: &Answer) -> String {
    let mut words = vec![format!(
        "{} ingredient{}",
        answer.ingredients,
        if answer.ingredients == 1 { "" } else { "s" }
    )];
    if let Some(cost) = answer.cost {
        words.push(format!("cost {cost:.2}"));
    }
    if !answer.met() {
        words.push(format!("misses by {:.1} tolerances", answer.worst));
    }
    if let Some(chance) = answer.chance {
        words.push(format!("the whole aim is met in {}", of_hundred(chance)));
    }
    words.join(", ")
}

//! How sure a figure is, in words.

use quantity::Units;

use super::{Better, Certainty, Doubt, Share, Sure};

/// A share in whole per cent.
#[must_use]
pub fn per_cent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// How often something comes out.
#[must_use]
pub fn of_ten(chance: f64) -> String {
    match (10.0 * chance).round() {
        n if n < 1.0 => "hardly ever".to_owned(),
        n if n > 9.0 => "nearly always".to_owned(),
        n => format!("in {n:.0} of 10"),
    }
}

/// What a figure is unsure of, the heaviest first: at most so many.
#[must_use]
pub fn unsure_of(found: &Certainty, figure: &Sure, most: usize) -> String {
    let word = |share: &Share| {
        let doubts: Vec<&Doubt> = found.doubts_of(share).collect();
        format!("{} {}", together(&doubts), per_cent(share.total))
    };
    let words: Vec<String> = figure.shares.iter().take(most).map(word).collect();
    words.join("; ")
}

/// What moves together, by name: "calcium in it, and its alkalinity, together".
fn together(doubts: &[&Doubt]) -> String {
    match doubts {
        [] => String::new(),
        [one] => one.what.clone(),
        several => {
            let names: Vec<&str> = several.iter().map(|d| d.what.as_str()).collect();
            format!("{}, together", names.join(" and "))
        }
    }
}

/// What to know better, and what that would buy.
#[must_use]
pub fn better_words(better: &Better<'_>, units: Units) -> String {
    let Better {
        doubts,
        figure,
        left,
    } = better;
    let values: Vec<&str> = doubts.iter().map(|d| d.text(units)).collect();
    let settle = doubts.first().map_or("", |d| d.settle.as_str());
    let buys = if *left < 0.1 {
        format!("{} would be all but certain", figure.label)
    } else {
        format!(
            "the interval of {} would shrink to {} of this",
            figure.label,
            per_cent(*left)
        )
    };
    format!(
        "{} ({}): {settle}, and {buys}",
        together(doubts),
        values.join("; "),
    )
}

/// How it was reckoned, with what was left out.
#[must_use]
pub fn how(found: &Certainty) -> String {
    let refused = match (found.refused, &found.refusal) {
        (0, _) | (_, None) => String::new(),
        (n, Some(why)) => format!("; {n} more cannot be brewed ({why}) and are left out"),
    };
    format!(
        "{} draws, each reckoned from tap to glass with the liquors, the reagent and the sugar of the plan{refused}",
        found.drawn
    )
}

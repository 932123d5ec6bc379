//! How sure a figure is, in words.

use quantity::Units;

use super::{Better, Certainty, Share, Sure};

/// A share in whole per cent.
#[must_use]
pub fn per_cent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// What a figure is unsure of, the heaviest first: at most so many.
#[must_use]
pub fn unsure_of(found: &Certainty, figure: &Sure, most: usize) -> String {
    let word = |share: &Share| {
        let what = found.doubts.get(share.doubt).map_or("", |d| &d.what);
        format!("{what} {}", per_cent(share.total))
    };
    let words: Vec<String> = figure.shares.iter().take(most).map(word).collect();
    words.join("; ")
}

/// What to know better, and what that would buy.
#[must_use]
pub fn better_words(better: &Better<'_>, units: Units) -> String {
    let Better {
        doubt,
        figure,
        left,
    } = better;
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
        "{} ({}): {}, and {buys}",
        doubt.what,
        doubt.text(units),
        doubt.settle
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
        "{} draws, each reckoned from tap to glass with the liquors of the plan{refused}",
        found.drawn
    )
}

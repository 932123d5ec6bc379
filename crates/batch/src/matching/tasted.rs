//! An aim from what a tasting of the admired beer said: how strong something was, in words,
//! as a band of odour activity (judgement).

use glass::Compound;
use glass::tasting::{Scored, attributes};
use quantity::{Mark, MassConcentration, Units, show};

use super::figure::{Aimed, aimed};
use super::goal::Wish;
use super::typed::parts;
use crate::beside::{Level, Levels, compound_named};
use crate::reader::Assumption;
use crate::tasting::{Judged, Tasting};

/// The figures whose compound can be tasted.
const CARRIED: [(&str, &str); 4] = [
    ("clove", "4-vinylguaiacol"),
    ("banana", "isoamyl-acetate"),
    ("esters", "ethyl-acetate"),
    ("fusel", "isoamyl-alcohol"),
];
/// The strongest first, since "not noticed" holds no other.
const LEVELS: [Level; 4] = [Level::NotNoticed, Level::Faint, Level::Clear, Level::Strong];

/// An aim that was tasted.
pub(super) struct TastedAim {
    pub(super) figure: &'static Aimed,
    pub(super) wish: Wish,
    pub(super) assumption: Assumption,
}

/// Reads "clove clear; banana faint to clear; fusel not noticed".
pub(super) fn read(text: &str) -> Vec<Result<TastedAim, String>> {
    let lines = parts(text, ';').flat_map(|line| parts(line, ','));
    lines.map(one).collect()
}

fn one(line: &str) -> Result<TastedAim, String> {
    let lower = line.to_lowercase();
    let (what, levels) = split(&lower).ok_or_else(|| {
        let words = LEVELS.map(Level::words).join(", ");
        format!("{line:?} does not end in how strong it was: {words}, or two of them with \"to\" between")
    })?;
    let compounds = CARRIED.iter().filter_map(|(_, key)| Compound::find(key));
    let by_figure = CARRIED.iter().find(|(figure, _)| *figure == what);
    let key = match by_figure {
        Some((_, compound)) => Some(*compound),
        None => compound_named(what, compounds).map(|c| c.key.as_str()),
    };
    let carried = CARRIED.iter().find_map(|(figure, of)| {
        (Some(*of) == key).then(|| Some((aimed(figure)?, Compound::find(of)?)))
    });
    let (figure, compound) = carried.flatten().ok_or_else(|| {
        format!("{what:?} is nothing that can be aimed at by taste; clove, banana, esters (ethyl acetate) and fusel (isoamyl alcohol) are")
    })?;
    let threshold = compound.threshold.typical.mg_per_l();
    let (low, _, high) = levels.drawn();
    let wish = match (levels.low, levels.high) {
        (Level::NotNoticed, _) => Wish::AtMost(high * threshold),
        (_, Level::Strong) => Wish::AtLeast(low * threshold),
        _ => Wish::Near {
            centre: 0.5 * (low + high) * threshold,
            within: 0.5 * (high - low) * threshold,
        },
    };
    let published = show(MassConcentration::from_mg_per_l(threshold), Units::Metric);
    let between = match wish {
        Wish::AtMost(_) => format!("at most {high} times"),
        Wish::AtLeast(_) => format!("at least {low} times"),
        Wish::Near { .. } => format!("{low} to {high} times"),
    };
    Ok(TastedAim {
        figure,
        wish,
        assumption: Assumption {
            path: format!("aim.{}", figure.key),
            value: format!(
                "{} is {between} the threshold of {published}",
                levels.words()
            ),
            source:
                "bands of odour activity by which words are read; who tastes may differ twentyfold"
                    .to_owned(),
            mark: Mark::Judgement,
        },
    })
}

/// What, and how strong: the level or the two levels that a line ends in.
fn split(line: &str) -> Option<(&str, Levels)> {
    let last = |text: &str| -> Option<(usize, Level)> {
        let text = text.trim_end();
        LEVELS.iter().find_map(|level| {
            let rest = text.strip_suffix(level.words())?;
            (rest.is_empty() || rest.ends_with(' ')).then_some((rest.len(), *level))
        })
    };
    let (at, high) = last(line)?;
    let before = line.get(..at)?.trim_end();
    if let Some(first) = before.strip_suffix(" to")
        && let Some((at, low)) = last(first)
        && low <= high
    {
        return Some((first.get(..at)?.trim(), Levels { low, high }));
    }
    let what = before.trim();
    (!what.is_empty()).then_some((what, Levels { low: high, high }))
}

/// What a tasting that is over said of the beer beside the batch, as the words of an aim:
/// "clove clear; banana faint"; empty before it is over, and where nothing was scored that
/// can be aimed at. What the panel leaves open is a band of two levels.
#[must_use]
pub fn admired(tasting: &Tasting, judged: &Judged) -> String {
    /// The scale of the sheets: 10 is very strong.
    const SCALE: f64 = 10.0;
    let mut by: Vec<Scored> = Vec::new();
    let scores = tasting.scores.iter().filter(|_| judged.over);
    for score in scores.filter(|s| s.reference <= SCALE) {
        match by.iter_mut().find(|s| s.attribute == score.attribute) {
            Some(held) => held.differences.push(score.reference),
            None => by.push(Scored {
                attribute: score.attribute.clone(),
                differences: vec![score.reference],
            }),
        }
    }
    let points = attributes(&by).unwrap_or_default();
    let said = points.iter().map(|p| {
        let levels = Levels::scored(p.mean);
        format!("{} {}", p.attribute.to_lowercase(), levels.words())
    });
    let usable: Vec<String> = said.filter(|line| one(line).is_ok()).collect();
    usable.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wish(line: &str) -> (&'static str, Wish) {
        let read = one(line).unwrap_or_else(|told| panic!("{told}"));
        (read.figure.key, read.wish)
    }

    #[test]
    fn words_become_bands_of_activity() {
        let threshold = |key: &str| Compound::find(key).unwrap().threshold.typical.mg_per_l();
        let clove = threshold("4-vinylguaiacol");
        let (key, Wish::Near { centre, within }) = wish("Clove clear") else {
            panic!("a band has two ends");
        };
        assert_eq!(key, "clove");
        assert!((centre - within - 2.0 * clove).abs() < 1e-12);
        assert!((centre + within - 10.0 * clove).abs() < 1e-12);
        let banana = threshold("isoamyl-acetate");
        assert_eq!(
            wish("banana not noticed"),
            ("banana", Wish::AtMost(0.5 * banana))
        );
        assert_eq!(
            wish("pear drop strong"),
            ("banana", Wish::AtLeast(10.0 * banana))
        );
        let (key, Wish::Near { centre, within }) = wish("fusel faint to clear") else {
            panic!("a band has two ends");
        };
        let fusel = threshold("isoamyl-alcohol");
        assert_eq!(key, "fusel");
        assert!((centre - within - 0.5 * fusel).abs() < 1e-9);
        assert!((centre + within - 10.0 * fusel).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_aimed_at_is_told() {
        for line in ["clove", "clove loud", "smoke clear", "clear"] {
            let told = one(line).err();
            assert!(
                told.is_some_and(|t| t.contains(" is ") || t.contains("how strong")),
                "{line}"
            );
        }
        assert_eq!(
            read("clove clear, banana faint\nfusel not noticed").len(),
            3
        );
    }
}

//! What was found, in plain words.

use quantity::Units;

use super::{Against, Difference};

/// What made a figure differ: "0.6 kg more pilsner malt (+0.9 % vol), boil time 15 min
/// longer (+0.1 % vol)".
#[must_use]
pub fn made_by(against: &Against, difference: &Difference, units: Units) -> String {
    if difference.shares.is_empty() {
        return "what of it comes from what cannot be told: some mixtures of the two have no such figure".to_owned();
    }
    let mut told = Vec::new();
    let mut hardly = 0;
    for share in &difference.shares {
        let by = difference.print_share(share.by, units);
        if by.starts_with('0') {
            hardly += usize::from(share.by != 0.0);
        } else if let Some(part) = against.parts.get(share.part) {
            let error = share.error.map(|e| difference.print_share(e, units));
            let error = error.filter(|e| !e.starts_with('0'));
            let error = error.map_or_else(String::new, |e| format!(" ± {}", &e[1..]));
            told.push(format!("{} ({by}{error})", part.short()));
        }
    }
    match (told.is_empty(), hardly) {
        (true, _) => format!("many things, each of which hardly moves it: {hardly}"),
        (false, 0) => told.join(", "),
        (false, 1) => format!("{}; one thing more hardly moves it", told.join(", ")),
        (false, n) => format!("{}; {n} things more hardly move it", told.join(", ")),
    }
}

/// Whether the two can be told apart, where that is worth a word.
#[must_use]
pub fn apart_words(difference: &Difference, units: Units) -> Option<String> {
    let (low, high) = difference.between?;
    let within = !difference.told_apart()?;
    let [low, high] = [low, high].map(|end| difference.print_share(end, units));
    within.then(|| format!("cannot be told apart: nine times in ten between {low} and {high}"))
}

/// How it was split.
#[must_use]
pub fn how(against: &Against) -> String {
    let n = against.reckoned;
    let split = if against.every_order {
        "what differs was taken over in every order, and each thing has what it adds on average"
    } else {
        "what differs was taken over in orders drawn by a seed, and each thing has what it adds on average; ± is a standard error"
    };
    format!(
        "{n} reckonings from tap to glass: {split} (Shapley 1953); the shares sum to the whole difference"
    )
}

/// What the comparison of intervals rests on.
pub const REACH: &str = "Two figures can be told apart where nine times in ten their difference lies on one side of nought. Both batches are drawn together: what both share (the same figure of kit, water or instrument, the class of a malt or a yeast, the models) is one draw, so that it makes the difference no less sure. What a model does not know of one brewing (how fast the yeast works this time, half of what it makes of flavour) is drawn for each, so that the chance between two brewings of one recipe is in it; the ups and downs of scales, volumes and the kit from day to day are not.";

//! Where the uncertainty of a predicted mash pH comes from.

use quantity::Fraction;
use water::mash_ph::MaltSpread;

use crate::stream::Reckoning;

/// A part of what is not known.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Of what: a malt, the buffering of all, acidulated malt, or the model.
    pub of: String,
    /// Its part of the variance.
    pub share: Fraction,
}

/// The parts, the greatest first; they add up to one. None without malt.
#[must_use]
pub fn shares(r: &Reckoning) -> Vec<Share> {
    let Some(predicted) = &r.mash_ph else {
        return vec![];
    };
    let spread = &predicted.spread;
    let square = |sd: f64| sd * sd;
    let own: f64 = predicted.by_malt.iter().map(|m| square(m.buffering)).sum();
    let own_part = |malt: &MaltSpread| square(malt.malt_ph) + square(malt.buffering);
    let mut parts: Vec<(String, f64)> = malt_names(r)
        .into_iter()
        .zip(predicted.by_malt.iter().map(own_part))
        .collect();
    parts.extend([
        (
            "buffering of all malts".to_owned(),
            square(spread.buffering) - own,
        ),
        ("acidulated malt".to_owned(), square(spread.acid_malt)),
        ("what the model leaves out".to_owned(), square(spread.model)),
    ]);
    let whole: f64 = parts.iter().map(|(_, part)| part.max(0.0)).sum();
    let mut shares: Vec<Share> = parts
        .into_iter()
        .filter(|(_, part)| *part > 0.0)
        .map(|(of, part)| Share {
            of,
            share: Fraction::from_ratio(part / whole),
        })
        .collect();
    shares.sort_by(|a, b| b.share.ratio().total_cmp(&a.share.ratio()));
    shares
}

/// What the malts of the mash are called, in the order of what is learned of them.
#[must_use]
pub fn malt_names(r: &Reckoning) -> Vec<String> {
    let given = r.mash_to_read();
    let entries = given.map(|given| given.grist).unwrap_or_default();
    entries.into_iter().map(|n| name(r, n)).collect()
}

fn name(r: &Reckoning, entry: usize) -> String {
    let entry = r.document.grist.get(entry);
    entry.map_or_else(String::new, |e| {
        e.name.clone().unwrap_or_else(|| e.class.clone())
    })
}

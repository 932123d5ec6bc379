//! What of a choice comes into the batch: which waters, and how much of each.

use quantity::Fraction;
use water::choice::{Dated, Ranked};

use super::Chosen;
use crate::liquor::minerals::DISTILLED;

/// A water that is taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Pick {
    /// Which.
    pub water: Which,
    /// Its share of all liquor.
    pub share: Fraction,
}

/// Where a water that is taken comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Which {
    /// A source of the batch, counted from nought.
    Source(usize),
    /// A water of the library, by its name and the text of its analysis.
    Kept {
        /// What it is called.
        name: String,
        /// The text of the analysis in force.
        text: String,
    },
    /// Distilled water.
    Distilled,
}

impl Chosen {
    /// The waters of a blend in a season, each with its share: whole per cents, the
    /// largest takes what rounding leaves.
    #[must_use]
    pub fn picks(&self, ranked: &Ranked, season: &Dated) -> Vec<Pick> {
        let litres = |place: usize| -> f64 {
            let parts = season.design.liquors.iter().flat_map(|l| &l.blend);
            let of_it = parts.filter(|part| part.source == place);
            of_it.map(|part| part.volume.l()).sum()
        };
        let each: Vec<f64> = (0..ranked.waters.len()).map(litres).collect();
        let all: f64 = each.iter().sum();
        let mut per_cent: Vec<f64> = each
            .iter()
            .map(|litres| {
                if all > 0.0 {
                    (100.0 * litres / all).round()
                } else {
                    0.0
                }
            })
            .collect();
        let left = 100.0 - per_cent.iter().sum::<f64>();
        if let Some(largest) = per_cent.iter_mut().max_by(|a, b| a.total_cmp(b)) {
            *largest += left;
        }
        let shares = per_cent.into_iter().map(|share| share / 100.0);
        self.waters_of(ranked)
            .zip(shares)
            .filter(|(_, share)| *share > 0.0)
            .filter_map(|(water, share)| {
                let which = match water.source {
                    Some(at) => Which::Source(at),
                    None if water.key == DISTILLED => Which::Distilled,
                    None => Which::Kept {
                        name: water.name.clone(),
                        text: water.in_force(&season.from)?.text.clone()?,
                    },
                };
                Some(Pick {
                    water: which,
                    share: Fraction::from_ratio(share),
                })
            })
            .collect()
    }
}

//! A split batch: what it takes to see the difference.

use glass::tasting::{Needed, Protocol, TastingError, tastings_for};
use quantity::Volume;

use crate::knowledge::Test;

/// How a split batch is tasted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Which has more of the note: the note is known, so that a pair tells most.
    pub protocol: Protocol,
    /// Tastings that see a plain fault with a chance of 0.8 at a risk of 0.05.
    pub tastings: Needed,
    /// Beer of each half that they take.
    pub beer: Volume,
}

/// A plain fault \[d′\]: nine tasters in ten pick the right one of a pair. Judgement.
const PLAIN: f64 = 2.0;
const RISK: f64 = 0.05;
const POWER: f64 = 0.8;

/// What a glass takes and what is spilt \[L\]: 60 mL and a third. Common practice.
const GLASS_L: f64 = 0.08;

impl Test {
    /// How its two halves are tasted; none for a test that splits no batch.
    ///
    /// With one split the answer is that two beers differ: the vessel is mixed up with
    /// the change, until it is done again with the vessels swapped.
    ///
    /// # Errors
    /// None with the built-in figures; those of the tasting otherwise.
    pub fn split(&self) -> Result<Option<Split>, TastingError> {
        if self.kind != "split batch" {
            return Ok(None);
        }
        let needed = tastings_for(Protocol::Paired, PLAIN, RISK, POWER)?;
        Ok(needed.map(|tastings| {
            let glasses = tastings.stable.unwrap_or(tastings.first);
            let beer = Volume::from_l(GLASS_L * f64::from(glasses));
            Split {
                protocol: Protocol::Paired,
                tastings,
                beer,
            }
        }))
    }
}

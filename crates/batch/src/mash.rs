//! What a missed mash temperature asks for, in words.

use quantity::{Units, show};
use wort::Remedy;

/// A way back, in words.
#[must_use]
pub fn way_back(what: Remedy, units: Units) -> String {
    match what {
        Remedy::BoilingWater(water) => {
            format!(
                "stir in {} of boiling water; it thins the mash",
                show(water, units)
            )
        }
        Remedy::ColdWater(water) => {
            format!(
                "stir in {} of cold water; it thins the mash",
                show(water, units)
            )
        }
        Remedy::Heat(heat, time) => {
            format!("heat it, {} in {}", show(heat, units), show(time, units))
        }
        Remedy::Longer(time) => format!("rest {} longer at the end", show(time, units)),
    }
}

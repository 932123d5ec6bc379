//! Decoctions: which part of a mash to boil, and how much of it.

use quantity::{Duration, Fraction, Mass, Volume};

use super::{Tun, impossible};
use crate::error::WortError;
use crate::mash::figures::FIGURES;
use crate::mix::Mix;
use crate::plan::Part;

/// The part of a mash that is boiled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// Which part.
    pub part: Part,
    /// How much to take, as it stands and hot. Take 10 to 20 % more for what the pot and
    /// the way back lose (common practice).
    pub volume: Volume,
    /// The same, weighed.
    pub mass: Mass,
    /// Grain in it.
    pub grain: Mass,
    /// Share of the heat capacity of mash and tun.
    pub share: Fraction,
    /// Share of the grain that is boiled.
    pub of_grain: Fraction,
    /// Share of the liquor, and with it of the enzymes, that is boiled.
    pub of_liquor: Fraction,
    /// When to take it, after mashing in.
    pub pulled_after: Duration,
    /// How long it boils.
    pub boils: Duration,
    /// Steam that it gives off.
    pub steam: Mass,
}

/// A part of the mash by what is in it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Taken {
    pub(super) grain_kg: f64,
    pub(super) liquor_kg: f64,
    pub(super) heat_kg: f64,
}

impl Tun {
    /// Heat capacity to pull \[kg of water\] so that it brings the rest to a temperature.
    ///
    /// (c − e)(T_b − T₂) = (C − c)(T₂ − T₁), so c = \[C(T₂ − T₁) + e(T_b − T₂)\]/(T_b − T₁):
    /// C mash and tun, e the steam that the part gives off, T_b the boiling point, T₁ the
    /// temperature to which the rest of the mash has come, T₂ the one wanted. Without
    /// steam that is the usual (T₂ − T₁)/(T_b − T₁) of the heat capacity. `rest_of` gives
    /// T₁ for what was pulled, as the rest cools faster the less of it there is.
    pub(super) fn pulled(
        &self,
        heat_kg: f64,
        steam_kg: f64,
        to_c: f64,
        rest_of: impl Fn(f64) -> f64,
    ) -> Result<f64, WortError> {
        let mut pulled_kg = 0.0;
        for _ in 0..ROUNDS {
            let from_c = rest_of(pulled_kg);
            if to_c < from_c || to_c > self.boils_c - 1.0 {
                return Err(impossible(
                    from_c,
                    to_c,
                    "a decoction only warms, and up to a little below the boiling point; order the rests upward",
                ));
            }
            let wanted = heat_kg * (to_c - from_c) + steam_kg * (self.boils_c - to_c);
            let next_kg = wanted / (self.boils_c - from_c);
            if next_kg > heat_kg {
                return Err(impossible(
                    from_c,
                    to_c,
                    "so much would have to be boiled that the rest of the mash is gone; make two decoctions with a rest between",
                ));
            }
            let near = (next_kg - pulled_kg).abs() < 1e-13 * heat_kg;
            pulled_kg = next_kg;
            if near {
                break;
            }
        }
        Ok(pulled_kg)
    }

    /// What is in a part of the mash of such a heat capacity. Extract in solution counts
    /// as grain: it has about the same heat capacity.
    pub(super) fn taken(
        &self,
        part: Part,
        heat_kg: f64,
        liquor_kg: f64,
        steam_kg: f64,
        temps_c: [f64; 2],
    ) -> Result<Taken, WortError> {
        let relative = self.grain_heat_kg / self.grain_kg;
        let settled = FIGURES.thick_mash.value.min(liquor_kg / self.grain_kg);
        let ratio = match part {
            Part::Whole => liquor_kg / self.grain_kg,
            Part::Thick => settled,
            Part::Thin => f64::INFINITY,
        };
        let grain_kg = heat_kg / (relative + ratio);
        let taken = Taken {
            grain_kg,
            liquor_kg: heat_kg - relative * grain_kg,
            heat_kg,
        };
        let above_kg = liquor_kg - settled * self.grain_kg;
        let help = if grain_kg > self.grain_kg {
            "there is not so much mash in the tun; make two decoctions with a rest between"
        } else if part == Part::Thin && taken.liquor_kg > above_kg {
            "there is not so much thin mash above the grain; pull it thick, or make two decoctions"
        } else if steam_kg > taken.liquor_kg / 2.0 {
            "the part that is boiled would boil dry; boil it for less long"
        } else {
            return Ok(taken);
        };
        let [from_c, to_c] = temps_c;
        Err(impossible(from_c, to_c, help))
    }
}

/// Rounds after which the search for what to pull ends; each brings it nearer by more
/// than a factor of ten.
const ROUNDS: usize = 40;

impl Taken {
    /// Its volume as it stands \[L\].
    pub(super) fn volume_l(&self, temp_c: f64) -> f64 {
        Mix::water(self.liquor_kg).volume_at(temp_c) + FIGURES.grain_volume.value * self.grain_kg
    }
}

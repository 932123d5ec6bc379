//! What passes between this stage and the others.

use quantity::{
    Alkalinity, Ammonium, Calcium, Chloride, Chlorine, Fraction, Iron, Magnesium, Manganese,
    Measured, Nitrate, Nitrite, Ph, Potassium, Sodium, Sulfate, SulfurDioxide, Volume,
};

/// The dissolved ions that brewing minds, alkalinity apart.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ions {
    /// Calcium.
    pub calcium: Calcium,
    /// Magnesium.
    pub magnesium: Magnesium,
    /// Sodium.
    pub sodium: Sodium,
    /// Potassium.
    pub potassium: Potassium,
    /// Ammonium.
    pub ammonium: Ammonium,
    /// Chloride.
    pub chloride: Chloride,
    /// Sulfate.
    pub sulfate: Sulfate,
    /// Nitrate.
    pub nitrate: Nitrate,
}

/// A water as it comes from the tap, the well or the bottle.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceWater {
    /// What the brewer calls it.
    pub name: String,
    /// Its ions.
    pub ions: Ions,
    /// Its alkalinity.
    pub alkalinity: Alkalinity,
    /// Its pH, if known; it tells little about brewing.
    pub ph: Option<Ph>,
    /// Free and combined chlorine together.
    pub total_chlorine: Measured<Chlorine>,
    /// Free chlorine alone; where it is not known, all of it is taken to be
    /// combined, the case that is harder to remove.
    pub free_chlorine: Option<Measured<Chlorine>>,
    /// Nitrite, if measured.
    pub nitrite: Option<Nitrite>,
    /// Iron, if measured.
    pub iron: Option<Iron>,
    /// Manganese, if measured.
    pub manganese: Option<Manganese>,
}

/// A source and its share of all the water drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceShare {
    /// The water.
    pub water: SourceWater,
    /// Its share.
    pub share: Fraction,
}

/// Chlorine still in the water when it meets malt, in mg/L as Cl₂.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ResidualChlorine {
    /// Free chlorine expected.
    pub free: Chlorine,
    /// Combined chlorine expected.
    pub combined: Chlorine,
    /// The most that total chlorine could still be, given how well the water
    /// was known and how surely the treatment works.
    pub at_most: Chlorine,
}

impl ResidualChlorine {
    /// Total chlorine expected.
    #[must_use]
    pub fn total(&self) -> Chlorine {
        Chlorine::from_mg_per_l(self.free.mg_per_l() + self.combined.mg_per_l())
    }
}

/// Water ready to meet malt: the state that the mash takes over.
#[derive(Debug, Clone, PartialEq)]
pub struct BrewingWater {
    /// How much, at 20 °C.
    pub volume: Volume,
    /// Its ions.
    pub ions: Ions,
    /// Its alkalinity, negative after an excess of acid.
    pub alkalinity: Alkalinity,
    /// Chlorine still in it.
    pub chlorine: ResidualChlorine,
    /// The most sulfite that can be left, as SO₂.
    pub sulfur_dioxide_at_most: SulfurDioxide,
}

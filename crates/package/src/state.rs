//! What passes between this stage and the next.

use ferment::Flavour;
use quantity::{
    AlcoholByVolume, Bitterness, CarbonDioxide, Colour, Gravity, Ph, SulfurDioxide, Volume,
};
use water::{Ions, ResidualChlorine};

/// Beer in bottle or keg: the state from which the glass is poured.
#[derive(Debug, Clone, PartialEq)]
pub struct PackedBeer {
    /// Volume packaged.
    pub volume: Volume,
    /// Apparent extract after any priming has fermented out.
    pub gravity: Gravity,
    /// Alcohol, with what priming added.
    pub alcohol: AlcoholByVolume,
    /// CO₂ in solution.
    pub carbon_dioxide: CarbonDioxide,
    /// pH.
    pub ph: Ph,
    /// Colour.
    pub colour: Colour,
    /// Bitterness.
    pub bitterness: Bitterness,
    /// The most sulfite that can be there from treatment, as SO₂.
    pub sulfur_dioxide_at_most: SulfurDioxide,
    /// Chlorine that met malt phenols, per litre.
    pub halogen_met: ResidualChlorine,
    /// Ions.
    pub ions: Ions,
    /// Flavour compounds.
    pub flavour: Flavour,
}

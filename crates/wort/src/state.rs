//! What passes between this stage and the others.

use quantity::{
    Bitterness, Colour, Gravity, MassConcentration, Ph, SulfurDioxide, Temperature, Volume,
};
use water::{Ions, ResidualChlorine};

/// Carbohydrates of wort by kind, each \[g/L\].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Carbohydrates {
    /// Glucose, fructose and sucrose: taken up first.
    pub simple: MassConcentration,
    /// Maltose.
    pub maltose: MassConcentration,
    /// Maltotriose.
    pub maltotriose: MassConcentration,
    /// Dextrins: left by all but diastatic yeast.
    pub dextrin: MassConcentration,
}

/// Traces that later stages and the inquiry need.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Traces {
    /// S-methylmethionine still there, as the dimethyl sulfide it can become.
    pub smm: MassConcentration,
    /// Dimethyl sulfide.
    pub dms: MassConcentration,
    /// Free amino nitrogen, as N.
    pub fan: MassConcentration,
    /// Free ferulic acid.
    pub ferulic_acid: MassConcentration,
    /// Iso-alpha-acids.
    pub iso_alpha: MassConcentration,
    /// The most sulfite that can be there, as SO₂.
    pub sulfur_dioxide_at_most: SulfurDioxide,
    /// Chlorine that met malt phenols, as it would be per litre of this liquid.
    pub halogen_met: ResidualChlorine,
}

/// Wort in the kettle before the boil.
#[derive(Debug, Clone, PartialEq)]
pub struct SweetWort {
    /// Volume at 20 °C.
    pub volume: Volume,
    /// Extract.
    pub gravity: Gravity,
    /// What the mash had come to; that of the room without grain. What the wort loses
    /// on its way to the kettle is not reckoned.
    pub temperature: Temperature,
    /// pH as a cooled sample reads.
    pub ph: Ph,
    /// Colour.
    pub colour: Colour,
    /// Carbohydrates.
    pub carbohydrates: Carbohydrates,
    /// Ions that came with the water.
    pub ions: Ions,
    /// Traces.
    pub traces: Traces,
}

/// Cooled wort in the fermenter, before the yeast: the state that fermentation
/// takes over.
#[derive(Debug, Clone, PartialEq)]
pub struct PitchingWort {
    /// Volume at 20 °C.
    pub volume: Volume,
    /// Extract: the original gravity.
    pub gravity: Gravity,
    /// Temperature at which it leaves the chiller.
    pub temperature: Temperature,
    /// pH as a cooled sample reads.
    pub ph: Ph,
    /// Colour.
    pub colour: Colour,
    /// Bitterness that the beer will have if fermentation takes its usual part.
    pub bitterness: Bitterness,
    /// Apparent attenuation that a yeast which ferments maltotriose and no
    /// dextrin reaches in this wort, as a ratio: the limit of attenuation.
    pub attenuation_limit: quantity::Fraction,
    /// Carbohydrates.
    pub carbohydrates: Carbohydrates,
    /// Ions that came with the water.
    pub ions: Ions,
    /// Traces.
    pub traces: Traces,
}

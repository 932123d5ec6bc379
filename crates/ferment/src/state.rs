//! What passes between this stage and the others.

use quantity::{
    AlcoholByVolume, Bitterness, CarbonDioxide, Cells, Colour, Duration, Gravity, Mass,
    MassConcentration, Ph, SulfurDioxide, Temperature, Volume,
};
use water::{Ions, ResidualChlorine};

/// Flavour compounds made in fermentation, and those that pass through it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Flavour {
    /// Ethyl acetate.
    pub ethyl_acetate: MassConcentration,
    /// Isoamyl acetate.
    pub isoamyl_acetate: MassConcentration,
    /// Isoamyl alcohol, standing for the higher alcohols.
    pub isoamyl_alcohol: MassConcentration,
    /// Acetaldehyde.
    pub acetaldehyde: MassConcentration,
    /// Diacetyl that is there.
    pub diacetyl: MassConcentration,
    /// Acetolactate that is still to become diacetyl, as diacetyl.
    pub diacetyl_to_come: MassConcentration,
    /// 4-Vinylguaiacol.
    pub vinylguaiacol: MassConcentration,
    /// Dimethyl sulfide.
    pub dms: MassConcentration,
    /// Iso-alpha-acids.
    pub iso_alpha: MassConcentration,
}

/// One moment of a course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CourseMoment {
    /// Time since pitching.
    pub at: Duration,
    /// Temperature of the beer.
    pub temperature: Temperature,
    /// Apparent extract.
    pub gravity: Gravity,
    /// Alcohol.
    pub alcohol: AlcoholByVolume,
    /// Active yeast in suspension, in millions per mL.
    pub active_cells: quantity::CellDensity,
    /// pH.
    pub ph: Ph,
    /// Sulfite that the yeast made, as SO₂.
    pub sulfur_dioxide: SulfurDioxide,
    /// CO₂ in solution.
    pub carbon_dioxide: CarbonDioxide,
    /// Flavour compounds so far.
    pub flavour: Flavour,
}

/// Beer at the end of fermentation: the state that packaging takes over.
#[derive(Debug, Clone, PartialEq)]
pub struct GreenBeer {
    /// Volume at 20 °C, before what stays behind with the yeast.
    pub volume: Volume,
    /// Original gravity.
    pub original: Gravity,
    /// Final gravity: apparent extract.
    pub gravity: Gravity,
    /// Real extract, in °P.
    pub real_extract: Gravity,
    /// Apparent extract that could still ferment out in the package, at most.
    pub fermentable_left_at_most: Gravity,
    /// Alcohol.
    pub alcohol: AlcoholByVolume,
    /// Temperature at the end of the course.
    pub temperature: Temperature,
    /// The warmest it was after gas production ended: it decides what CO₂ is left.
    pub warmest_after_end: Temperature,
    /// CO₂ in solution at the end.
    pub carbon_dioxide: CarbonDioxide,
    /// pH.
    pub ph: Ph,
    /// Colour.
    pub colour: Colour,
    /// Bitterness.
    pub bitterness: Bitterness,
    /// Yeast grown and pitched, as dry mass in the whole batch.
    pub yeast_mass: Mass,
    /// Cells in suspension at the end, in the whole batch.
    pub cells: Cells,
    /// Whether the yeast ferments dextrins, slowly and for weeks.
    pub diastatic: bool,
    /// The most sulfite that can be there from treatment, as SO₂; yeast adds its own.
    pub sulfur_dioxide_at_most: SulfurDioxide,
    /// Chlorine that met malt phenols, per litre.
    pub halogen_met: ResidualChlorine,
    /// Ions.
    pub ions: Ions,
    /// Flavour compounds.
    pub flavour: Flavour,
}

//! Beer to pack, for the tests of the stage.

use ferment::{Flavour, GreenBeer};
use quantity::{
    AlcoholByVolume, Bitterness, CarbonDioxide, Cells, Chlorine, Colour, Gravity, Mass,
    MassConcentration, Ph, SulfurDioxide, Temperature, Volume,
};
use water::{Ions, ResidualChlorine};

/// An ale that stood open at 20 °C and is dry.
pub fn green() -> GreenBeer {
    GreenBeer {
        volume: Volume::from_l(21.0),
        original: Gravity::from_plato(12.0),
        gravity: Gravity::from_plato(2.5),
        real_extract: Gravity::from_plato(4.29),
        fermentable_left_at_most: Gravity::from_plato(0.0),
        alcohol: AlcoholByVolume::from_percent(5.0),
        temperature: Temperature::from_c(20.0),
        warmest_after_end: Temperature::from_c(20.0),
        carbon_dioxide: CarbonDioxide::from_volumes(0.84),
        ph: Ph::from_ph(4.3),
        colour: Colour::from_ebc(12.0),
        bitterness: Bitterness::from_ibu(30.0),
        yeast_mass: Mass::from_g(100.0),
        cells: Cells::from_billions(50.0),
        diastatic: false,
        sulfur_dioxide_at_most: SulfurDioxide::from_mg_per_l(2.0),
        halogen_met: ResidualChlorine {
            at_most: Chlorine::from_mg_per_l(0.1),
            ..ResidualChlorine::default()
        },
        ions: Ions::default(),
        flavour: Flavour {
            diacetyl: MassConcentration::from_mg_per_l(0.05),
            ..Flavour::default()
        },
    }
}

//! Doubts of the models, put into the states that the stages hand on.

use ferment::Flavour;
use quantity::{Bitterness, Fraction, MassConcentration};
use wort::{Boiled, Mashed};

use super::doubt::{Doubts, Model};

/// Longest that a wort can be fermented, as a share.
const MOST: f64 = 0.99;

/// The limit of attenuation, and the factor to what it most likely is.
pub(crate) fn limit(mash: &mut Mashed, doubts: &mut Doubts) -> f64 {
    let Some(limit) = mash.attenuation_limit else {
        return 1.0;
    };
    let drawn = doubts.of_model(Model::AttenuationLimit, limit);
    mash.attenuation_limit = Some(drawn);
    drawn.value.ratio() / limit.value.ratio().max(f64::MIN_POSITIVE)
}

/// Bitterness, colour, and the limit of attenuation by its factor.
pub(crate) fn boil(boiled: &mut Boiled, limit: f64, doubts: &mut Doubts) {
    let of_wort = boiled.wort.attenuation_limit.ratio();
    boiled.wort.attenuation_limit = Fraction::from_ratio((of_wort * limit).min(MOST.max(of_wort)));
    let before = boiled.report.bitterness;
    let drawn = doubts.of_model(Model::Bitterness, before);
    if before.value.ibu() > 0.0 {
        let ratio = drawn.value.ibu() / before.value.ibu();
        let wort = &mut boiled.wort;
        wort.bitterness = Bitterness::from_ibu(wort.bitterness.ibu() * ratio);
        scale(&mut wort.traces.iso_alpha, ratio);
    }
    boiled.report.bitterness = drawn;
    let colour = doubts.of_model(Model::Colour, boiled.report.colour.wort);
    boiled.wort.colour = colour.value;
    boiled.report.colour.wort = colour;
}

/// What the yeast makes.
pub(crate) fn flavour(flavour: &mut Flavour, doubts: &mut Doubts) {
    let esters = doubts.factor(Model::Esters);
    scale(&mut flavour.ethyl_acetate, esters);
    scale(&mut flavour.isoamyl_acetate, esters);
    let fusels = doubts.factor(Model::Fusels);
    scale(&mut flavour.isoamyl_alcohol, fusels);
    let diketones = doubts.factor(Model::Diketones);
    scale(&mut flavour.diacetyl, diketones);
    scale(&mut flavour.diacetyl_to_come, diketones);
    let clove = doubts.factor(Model::Clove);
    scale(&mut flavour.vinylguaiacol, clove);
}

fn scale(concentration: &mut MassConcentration, by: f64) {
    *concentration = MassConcentration::from_mg_per_l(concentration.mg_per_l() * by);
}

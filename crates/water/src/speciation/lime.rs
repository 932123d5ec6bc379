//! Taking out alkalinity with lime.

use quantity::{Alkalinity, Calcium, Caution, MassConcentration, Note, Ph};

use super::error::SpeciationError;
use super::mineral::Mineral;
use super::practice::practice;
use super::solution::{Solution, WATER_KG_PER_L, mol_per_kg};
use super::table::{Species, component as c, table};
use crate::check;
use crate::formula;

/// A dose of lime, and what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct LimeDose {
    /// By the formula: one Ca(OH)₂ for each CO₂ and each two HCO₃⁻.
    pub stoichiometric: MassConcentration,
    /// The least of the range that practice doses.
    pub recommended_low: MassConcentration,
    /// The most of the range that practice doses.
    pub recommended_high: MassConcentration,
    /// The dose that leaves the least alkalinity at equilibrium, as long as chalk
    /// alone forms: magnesium hydroxide follows only well beyond it.
    pub least: LimePoint,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// A point of the curve of alkalinity over lime.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimePoint {
    /// Ca(OH)₂ in a litre.
    pub dose: MassConcentration,
    /// The pH of the settled water.
    pub ph: Ph,
    /// Its alkalinity.
    pub alkalinity: Alkalinity,
    /// Its calcium.
    pub calcium: Calcium,
    /// Chalk that formed \[mmol per kg of water\].
    pub chalk_mmol_per_kg: f64,
}

const FORMING: [Mineral; 2] = [Mineral::Calcite, Mineral::Brucite];

/// Stirs lime into a water and lets chalk, and where the pH is high enough
/// magnesium hydroxide, form and settle.
///
/// # Errors
/// [`SpeciationError`]: a dose out of bounds or too concentrated.
pub fn lime(water: &Solution, dose: MassConcentration) -> Result<Solution, SpeciationError> {
    lime_with(water, dose, &FORMING)
}

/// As [`lime`], with the solids named that can form.
///
/// # Errors
/// As [`lime`].
pub fn lime_with(
    water: &Solution,
    dose: MassConcentration,
    forming: &[Mineral],
) -> Result<Solution, SpeciationError> {
    check::within("lime: dose", dose)?;
    let mol = dose.mg_per_l() / molar_mass() * mol_per_kg();
    water
        .plus(Mineral::Portlandite.makeup(), mol)?
        .allowing(forming)
}

/// The curve of pH and alkalinity over lime.
///
/// # Errors
/// As [`lime`].
pub fn lime_curve(
    water: &Solution,
    doses: &[MassConcentration],
) -> Result<Vec<LimePoint>, SpeciationError> {
    doses
        .iter()
        .map(|dose| point(water, *dose, &FORMING))
        .collect()
}

/// How much lime takes out the alkalinity of a water, what practice doses of that, and
/// the dose that leaves the least.
///
/// # Errors
/// As [`lime`].
pub fn lime_dose(water: &Solution) -> Result<LimeDose, SpeciationError> {
    let stoichiometric = stoichiometric_lime(water);
    let practice = practice();
    let share = |part: f64| MassConcentration::from_mg_per_l(part * stoichiometric.mg_per_l());
    let least = least_alkalinity(water, 1.3 * stoichiometric.mg_per_l())?;
    Ok(LimeDose {
        stoichiometric,
        recommended_low: share(practice.lime_low),
        recommended_high: share(practice.lime_high),
        notes: notes(water, &least),
        least,
        cautions: vec![Caution::StrongBase],
    })
}

/// The lime that takes out the alkalinity of a water by the formula.
///
/// Ca(OH)₂ = CO₂ + HCO₃⁻/2, all in mmol, bicarbonate counted with its pairs:
/// CO₂ + Ca(OH)₂ → CaCO₃ + H₂O and Ca(HCO₃)₂ + Ca(OH)₂ → 2 CaCO₃ + 2 H₂O.
#[must_use]
pub fn stoichiometric_lime(water: &Solution) -> MassConcentration {
    // Every proton that carbonate holds takes one hydroxide: two of them for CO2.
    let taken = |(species, mol): (&Species, f64)| {
        let has_carbonate = species.makeup.of[c::CO3] > 0.0;
        if has_carbonate {
            0.5 * species.makeup.of[c::H] * mol
        } else {
            0.0
        }
    };
    let species = table().species.iter().zip(water.moles());
    let mol_per_kg = species.map(taken).sum::<f64>() / water.answer.water_kg;
    MassConcentration::from_mg_per_l(1000.0 * mol_per_kg * WATER_KG_PER_L * molar_mass())
}

/// The dose that leaves the least alkalinity, between none and `most`: it falls
/// and then rises, so that a golden section finds the turn.
fn least_alkalinity(water: &Solution, most_mg_per_l: f64) -> Result<LimePoint, SpeciationError> {
    const GOLDEN: f64 = 0.618_033_988_749_895;
    const SECTIONS: usize = 24;
    let dose = MassConcentration::from_mg_per_l;
    let at = |mg_per_l: f64| point(water, dose(mg_per_l), &[Mineral::Calcite]);
    let (mut low, mut high) = (0.0, most_mg_per_l);
    let inner = |low: f64, high: f64| (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (one, two) = inner(low, high);
    let (mut one, mut two) = (at(one)?, at(two)?);
    for _ in 0..SECTIONS {
        if one.alkalinity < two.alkalinity {
            high = two.dose.mg_per_l();
            two = one;
            one = at(inner(low, high).0)?;
        } else {
            low = one.dose.mg_per_l();
            one = two;
            two = at(inner(low, high).1)?;
        }
    }
    Ok(if one.alkalinity < two.alkalinity {
        one
    } else {
        two
    })
}

fn point(
    water: &Solution,
    dose: MassConcentration,
    forming: &[Mineral],
) -> Result<LimePoint, SpeciationError> {
    let settled = lime_with(water, dose, forming)?;
    let formed = |water: &Solution| water.formed_mmol_per_kg(Mineral::Calcite);
    Ok(LimePoint {
        dose,
        ph: settled.ph(),
        alkalinity: settled.alkalinity(),
        calcium: settled.ions().calcium,
        chalk_mmol_per_kg: formed(&settled) - formed(water),
    })
}

fn notes(water: &Solution, least: &LimePoint) -> Vec<Note> {
    let practice = practice();
    let mut notes = vec![Note::fine(format!(
        "Dose {:.0} to {:.0} % of the formula, stirred up in a little of the water, let it settle \
         overnight and pour off. The pH should then be {} to {}: measure it and the alkalinity. \
         Too much lime brings the alkalinity back up.",
        100.0 * practice.lime_low,
        100.0 * practice.lime_high,
        practice.limed_ph_low,
        practice.limed_ph_high,
    ))];
    let (calcium, alkalinity) = (
        water.ions().calcium.meq_per_l(),
        water.alkalinity().meq_per_l(),
    );
    if calcium < alkalinity && least.alkalinity.meq_per_l() > practice.boiled_alkalinity_meq_per_l {
        notes.push(Note::look(format!(
            "Calcium, {calcium:.1} mEq/L, is less than alkalinity, {alkalinity:.1} mEq/L: lime \
             cannot take out the part that belongs to sodium. Use acid for the rest."
        )));
    }
    notes
}

/// \[g/mol\]. The fallback is the same figure, for a formula that is not read.
fn molar_mass() -> f64 {
    formula::molar_mass("Ca(OH)2").unwrap_or(74.092)
}

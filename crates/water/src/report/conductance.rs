//! Conductivity and dissolved solids that the ions make, to hold against what a
//! report gives.

use quantity::{Conductivity, MassConcentration, Note, rounded};

use super::Analysis;
use super::constants::constants;
use super::parameter::Parameter;
use crate::state::SourceWater;

/// Conductivity at 25 °C \[µS/cm\] from the ions.
///
/// κ = y² Σ λᵢ cᵢ, with the equivalent conductance λ \[µS/cm per mEq/L\] at
/// infinite dilution, the charge concentration c \[mEq/L\], and the activity
/// coefficient of one charge log₁₀ y = −0.5 (√I/(1+√I) − 0.3 I), I \[mol/L\].
/// Source: Standard Methods 2510 A (from memory), for waters below I = 0.5.
/// Alkalinity counts as bicarbonate.
#[must_use]
pub fn computed_conductivity(water: &SourceWater) -> Conductivity {
    let c = &constants().conductance;
    let ions = &water.ions;
    let alkalinity = water.alkalinity.meq_per_l().max(0.0);
    // Charges, and the charge of one ion.
    let all = [
        (c.calcium, ions.calcium.meq_per_l(), 2.0),
        (c.magnesium, ions.magnesium.meq_per_l(), 2.0),
        (c.sodium, ions.sodium.meq_per_l(), 1.0),
        (c.potassium, ions.potassium.meq_per_l(), 1.0),
        (c.ammonium, ions.ammonium.meq_per_l(), 1.0),
        (c.bicarbonate, alkalinity, 1.0),
        (c.chloride, ions.chloride.meq_per_l(), 1.0),
        (c.sulfate, ions.sulfate.meq_per_l(), 2.0),
        (c.nitrate, ions.nitrate.meq_per_l(), 1.0),
    ];
    let strength: f64 = all.iter().map(|(_, meq, z)| 0.5 * meq * z / 1000.0).sum();
    let root = strength.sqrt();
    let log_y = -0.5 * (root / (1.0 + root) - 0.3 * strength.min(0.5));
    let ideal: f64 = all
        .iter()
        .map(|(conductance, meq, _)| conductance * meq)
        .sum();
    Conductivity::from_us_per_cm(ideal * 10f64.powf(2.0 * log_y))
}

/// Solids left on drying \[mg/L\] from the ions: their sum, with bicarbonate as
/// the carbonate that is left of it. Source: Standard Methods 1030 E.
#[must_use]
pub fn computed_solids(water: &SourceWater) -> MassConcentration {
    let ions = &water.ions;
    let bicarbonate = water.alkalinity.meq_per_l().max(0.0) * quantity::molar_mass::HCO3;
    MassConcentration::from_mg_per_l(
        ions.calcium.mg_per_l()
            + ions.magnesium.mg_per_l()
            + ions.sodium.mg_per_l()
            + ions.potassium.mg_per_l()
            + ions.chloride.mg_per_l()
            + ions.sulfate.mg_per_l()
            + ions.nitrate.mg_per_l()
            + constants().solids.bicarbonate_kept * bicarbonate,
    )
}

/// Where conductivity or solids of the report do not go with its ions.
pub(super) fn remarks(analysis: &Analysis, water: &SourceWater) -> Vec<Note> {
    let c = constants();
    let mut notes = vec![];
    if let Some(reading) = analysis.reading(Parameter::Conductivity)
        && let Some(given) = reading.value.canonical()
    {
        let at_20 = reading.at_celsius.is_some_and(|t| (t - 20.0).abs() < 1.0);
        let given = if at_20 {
            given * c.conductance_at_20.to_25
        } else {
            given
        };
        let ours = computed_conductivity(water).us_per_cm();
        notes.extend(apart(
            "The conductivity",
            given,
            ours,
            "µS/cm at 25 °C",
            c.conductance.agreement,
            10.0,
        ));
    }
    if let Some(given) = analysis
        .reading(Parameter::DissolvedSolids)
        .and_then(|r| r.value.canonical())
    {
        let ours = computed_solids(water).mg_per_l();
        notes.extend(apart(
            "The dissolved solids",
            given,
            ours,
            "mg/L",
            c.solids.agreement,
            15.0,
        ));
    }
    notes
}

fn apart(what: &str, given: f64, ours: f64, unit: &str, ratio: f64, least: f64) -> Option<Note> {
    let off = (given - ours).abs();
    if off <= ratio * given.max(ours) || off <= least {
        return None;
    }
    let side = if given > ours {
        "an ion is missing or too low"
    } else {
        "an ion is too high"
    };
    Some(Note::look(format!(
        "{what} is given as {} {unit}, and the ions make {}: {side}.",
        rounded(given),
        rounded(ours)
    )))
}

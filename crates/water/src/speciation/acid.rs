//! Acid in a water by itself: for sparge liquor, or to take out alkalinity.

use quantity::{Alkalinity, Caution, Molality, Note, Ph, Quantity, Volume};

use super::error::SpeciationError;
use super::gas;
use super::kernel::{self, Buffer, Problem, WaterMass};
use super::mineral::Mineral;
use super::practice::practice;
use super::solution::{Air, Solution, WATER_KG_PER_L, makeup_of_acid};
use super::table::{component as c, table, weighted};
use crate::acids::{AcidAmount, AcidProduct};
use crate::check;

/// The acid that brings a water to a pH or an alkalinity.
#[derive(Debug, Clone, PartialEq)]
pub struct AcidToPh {
    /// The acid.
    pub product: &'static AcidProduct,
    /// How much acid a kilogram of water takes.
    pub dose: Molality,
    /// The water with the acid in it.
    pub after: Solution,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// A point of the curve of pH over acid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TitrationPoint {
    /// The acid in a kilogram of water.
    pub dose: Molality,
    /// The pH that it gives.
    pub ph: Ph,
    /// The alkalinity that it leaves; negative past the end point.
    pub alkalinity: Alkalinity,
}

impl AcidToPh {
    /// What a volume of the water takes: volume of a liquid acid, mass of a solid.
    #[must_use]
    pub fn amount_for(&self, water: Volume) -> AcidAmount {
        let mol = self.dose.mmol_per_kg() / 1000.0 * water.l() * WATER_KG_PER_L;
        match self.product.mol_per_l() {
            Some(mol_per_l) => AcidAmount::Volume(Volume::from_l(mol / mol_per_l)),
            None => AcidAmount::Mass(quantity::Mass::from_kg(
                mol / self.product.mol_per_g / 1000.0,
            )),
        }
    }
}

/// The acid that brings a water to a pH, at the temperature it has.
///
/// With [`Air::Closed`] that is the pH just after mixing. As carbon dioxide leaves
/// the pH drifts up, towards what [`Air::Open`] reckons, which needs more acid.
/// The truth lies between.
///
/// ```
/// use quantity::{PartialPressure, Ph, Temperature, Volume};
/// use water::acids::{AcidAmount, AcidProduct};
/// use water::speciation::{Air, Anchor, Solution, acid_to};
///
/// let ions = water::Ions {
///     calcium: "110 mg/L".parse()?,
///     ..water::Ions::default()
/// };
/// let pH = Anchor::Ph(Ph::from_ph(7.3));
/// let tap = Solution::new(&ions, "5.7 mEq/L".parse()?, pH, Temperature::from_c(20.0))?;
/// let lactic = AcidProduct::named("lactic acid 80 %")?;
/// let need = acid_to(&tap, lactic, Ph::from_ph(5.8), Air::Closed)?;
/// let AcidAmount::Volume(volume) = need.amount_for(Volume::from_l(20.0)) else { panic!() };
/// assert!(volume.l() > 0.007 && volume.l() < 0.009);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`SpeciationError::OutOfReach`] for a pH above that of the water, or too low.
pub fn acid_to(
    water: &Solution,
    product: &'static AcidProduct,
    target: Ph,
    air: Air,
) -> Result<AcidToPh, SpeciationError> {
    check::within("target pH", target)?;
    let constants = &*water.constants;
    let makeup = makeup_of_acid(product.acid);
    let mut buffers = vec![Buffer::holding_ph(makeup, target.ph())];
    if let Air::Open(pressure) = air {
        buffers.push(gas::held(constants, pressure)?);
    }
    let problem = Problem {
        constants,
        totals: water.totals.of,
        water: WaterMass::Total(water.totals.water),
        buffers: &buffers,
    };
    let out_of_reach = || SpeciationError::OutOfReach {
        acid: product.acid.name.clone(),
        from_ph: water.ph().ph(),
        target_ph: target.ph(),
    };
    let answer = kernel::solve(&problem, Some(&water.answer)).map_err(|_| out_of_reach())?;
    let [mol, gas, ..] = answer.amounts;
    let dose = Molality::from_mmol_per_kg(1000.0 * mol);
    if !dose.within_bounds() {
        return Err(out_of_reach());
    }
    let mut after = water.clone();
    after.totals = water
        .totals
        .plus(&makeup, mol)
        .plus(gas::carbon_dioxide(), gas);
    after.answer = answer;
    Ok(AcidToPh {
        product,
        dose,
        notes: notes(&after, air),
        after,
        cautions: vec![Caution::Acid],
    })
}

/// The acid that brings a water to an alkalinity.
///
/// Alkalinity to the CO₂ end point goes with the acid in a straight line, and neither
/// temperature nor carbon dioxide moves it, so that this dose holds for closed and
/// open water alike; the pH that goes with it does not.
///
/// # Errors
/// [`SpeciationError::AlkalinityOutOfReach`] for an alkalinity that is not below that
/// of the water, and those of [`Solution::with_acid`].
pub fn acid_to_alkalinity(
    water: &Solution,
    product: &'static AcidProduct,
    target: Alkalinity,
) -> Result<AcidToPh, SpeciationError> {
    check::within("target alkalinity", target)?;
    let out_of_reach = || SpeciationError::AlkalinityOutOfReach {
        acid: product.acid.name.clone(),
        from_meq_per_l: water.alkalinity().meq_per_l(),
        target_meq_per_l: target.meq_per_l(),
    };
    let makeup = makeup_of_acid(product.acid);
    let taken_per_mol = -weighted(&makeup.of, &table().alkalinity);
    let taken_meq_per_l = water.alkalinity().meq_per_l() - target.meq_per_l();
    let dose = Molality::from_mmol_per_kg(taken_meq_per_l / WATER_KG_PER_L / taken_per_mol);
    if !(taken_meq_per_l > 0.0 && taken_per_mol > 0.0 && dose.within_bounds()) {
        return Err(out_of_reach());
    }
    let after = water.with_acid(product.acid, dose)?;
    Ok(AcidToPh {
        product,
        dose,
        notes: notes(&after, Air::Closed),
        after,
        cautions: vec![Caution::Acid],
    })
}

/// The curve of pH over acid: each dose in the water as it was, at its
/// temperature.
///
/// # Errors
/// As [`Solution::with_acid`].
pub fn titration(
    water: &Solution,
    product: &AcidProduct,
    doses: &[Molality],
    air: Air,
) -> Result<Vec<TitrationPoint>, SpeciationError> {
    let mut points = Vec::with_capacity(doses.len());
    let mut like = water.answer;
    for &dose in doses {
        let mut start = water.clone();
        start.answer = like;
        let mut mixed = start.with_acid(product.acid, dose)?;
        if let Air::Open(pressure) = air {
            mixed = mixed.open_to(pressure)?;
        }
        like = mixed.answer;
        points.push(TitrationPoint {
            dose,
            ph: mixed.ph(),
            alkalinity: mixed.alkalinity(),
        });
    }
    Ok(points)
}

fn notes(after: &Solution, air: Air) -> Vec<Note> {
    let mut notes = vec![];
    if air == Air::Closed {
        notes.push(Note::fine(
            "The pH just after mixing: it drifts up as carbon dioxide leaves, with stirring and \
             with heat. Dose in steps and measure.",
        ));
    }
    let least = practice().leave_alkalinity_meq_per_l;
    if after.alkalinity().meq_per_l() < least {
        notes.push(Note::look(format!(
            "Less than {least} mEq/L of alkalinity is left: here a little more acid moves the pH \
             by a lot. Aim for a higher pH, or add the last of the acid drop by drop."
        )));
    }
    let phosphate = after.totals.of[c::PO4] > 0.0;
    if phosphate
        && after
            .saturation(Mineral::Hydroxyapatite)
            .is_some_and(|index| index > 0.0)
    {
        notes.push(Note::look(
            "Phosphate and calcium can form a haze of calcium phosphate here, the more so when \
             hot, which would take calcium out and set acid free. That is not reckoned.",
        ));
    }
    notes
}

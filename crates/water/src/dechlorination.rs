//! Taking chlorine and chloramine out of water, and a bound for what stays.

mod carbon;
mod losses;
mod reagent;
pub(crate) mod remarks;
mod stood;

use quantity::{
    Alkalinity, Ammonium, Caution, ChargeConcentration, Chloride, Chlorine, Duration, FlowRate,
    Fraction, Mass, MassConcentration, Note, Potassium, Sodium, Sulfate, SulfurDioxide, Volume,
    molar_mass as m,
};

use crate::analysis::free_and_combined;
use crate::check;
use crate::error::WaterError;
use crate::state::{Ions, ResidualChlorine, SourceWater};

pub use carbon::{
    CarbonBed, CarbonClaim, CarbonRating, CarbonTable, Contact, carbon_table, household_block,
};
pub use losses::{HalfLife, Losses, aerating, boiling, standing};
pub use reagent::{Reagent, ReagentData};
pub(crate) use stood::{DRAWN_AT, stood};

/// How chlorine is taken out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Dechlorination {
    /// Not at all.
    None,
    /// With a reagent.
    Reagent {
        /// The reagent.
        reagent: Reagent,
        /// How much of what is weighed is the reagent.
        purity: Fraction,
        /// How much more than the stoichiometric dose, of a matched dose.
        excess: Fraction,
        /// How the dose is set.
        dose: Dose,
    },
    /// By letting it stand.
    Stand {
        /// How long.
        time: Duration,
    },
    /// By boiling the liquor in an open kettle.
    BoilLiquor {
        /// How long.
        time: Duration,
    },
    /// By blowing air through it.
    Aerate {
        /// How long.
        time: Duration,
    },
    /// Through activated carbon.
    Carbon {
        /// The carbon.
        bed: CarbonBed,
        /// How fast the water runs through it.
        flow: FlowRate,
    },
}

/// How a dose of reagent is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Dose {
    /// By the total chlorine of the water.
    Matched,
    /// By hand, for all of the liquor.
    Mass(Mass),
    /// In tablets, for all of the liquor.
    Tablets {
        /// How many.
        count: f64,
        /// The mass of active salt in one, as the label says; purity is not taken
        /// off it.
        tablet_mass: Mass,
    },
}

/// How much liquor is treated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Volumes {
    /// For the mash.
    pub mash: Volume,
    /// For the sparge.
    pub sparge: Volume,
}

impl Volumes {
    /// All of it.
    #[must_use]
    pub fn total(&self) -> Volume {
        Volume::from_l(self.mash.l() + self.sparge.l())
    }
}

/// A reagent as it is weighed out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReagentDose {
    /// The reagent.
    pub reagent: Reagent,
    /// For all of the liquor.
    pub total: Mass,
    /// For the mash liquor.
    pub mash: Mass,
    /// For the sparge liquor.
    pub sparge: Mass,
    /// In a litre of liquor.
    pub per_litre: MassConcentration,
    /// The chlorine that it can reduce.
    pub capacity: Chlorine,
}

/// What came of it, per litre of liquor.
#[derive(Debug, Clone, PartialEq)]
pub struct Dechlorinated {
    /// The reagent, where one is used.
    pub dose: Option<ReagentDose>,
    /// Chlorine that stays.
    pub residual: ResidualChlorine,
    /// Sulfite that can stay, as SO₂, if the water had the least chlorine that is
    /// plausible and none of it was lost to air.
    pub sulfur_dioxide_at_most: SulfurDioxide,
    /// The ions that it brings.
    pub added: Ions,
    /// The change of alkalinity.
    pub alkalinity_change: Alkalinity,
    /// Charge of the reagent's anions that are left over, counted as HSO₃⁻ or as
    /// ascorbate; they close the ion balance.
    pub spare_anions: ChargeConcentration,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// Takes chlorine out of a water.
///
/// A matched dose is V · total chlorine · ratio · (1 + excess)/purity, with the
/// ratio of [`Reagent::mg_per_mg_chlorine`]; it is set on *total* chlorine, as
/// combined chlorine takes as much reagent as free. Free chlorine is reduced
/// first, being far quicker. The reactions are those in `data/reagents.toml`;
/// chlorine in excess of the reagent stays.
///
/// # Errors
/// Those of an impossible water, [`WaterError::NoLiquor`], and
/// [`WaterError::OutOfBounds`] for a dose, a purity or a time.
pub fn dechlorinate(
    water: &SourceWater,
    volumes: Volumes,
    how: &Dechlorination,
) -> Result<Dechlorinated, WaterError> {
    check::source(water)?;
    check::within("mash volume", volumes.mash)?;
    check::within("sparge volume", volumes.sparge)?;
    if volumes.total().l() <= 0.0 {
        return Err(WaterError::NoLiquor);
    }
    match *how {
        Dechlorination::None => untreated(water),
        Dechlorination::Reagent {
            reagent,
            purity,
            excess,
            dose,
        } => {
            let dose = weigh(water, volumes, reagent, purity, excess, dose)?;
            let mut done = react(water, &dose)?;
            done.notes = remarks::of_reagent(water, &dose, how, &done);
            done.cautions = remarks::cautions_of_reagent(&dose, &done);
            Ok(done)
        }
        Dechlorination::Stand { time } => {
            let time = check::within("standing time", time)?;
            let (left, notes) = stood::in_a_vessel(water, time);
            let mut done = lost(left);
            done.notes = remarks::of_standing(&done.residual);
            done.notes.extend(notes);
            Ok(done)
        }
        Dechlorination::BoilLiquor { time } => {
            let time = check::within("boiling time", time)?;
            let mut done = lost(losses::residual(water, boiling(), time));
            done.notes = remarks::of_boiling(water, &done.residual);
            done.cautions.push(Caution::HotLiquor);
            Ok(done)
        }
        Dechlorination::Aerate { time } => {
            let time = check::within("aerating time", time)?;
            let mut done = lost(losses::residual(water, aerating(), time));
            done.notes = remarks::of_aerating(&done.residual);
            Ok(done)
        }
        Dechlorination::Carbon { bed, flow } => {
            let passed = carbon::pass(water, volumes.total(), &bed, flow)?;
            let mut done = adsorbed(water, passed.residual)?;
            done.notes = remarks::of_carbon(&passed, &done.residual);
            Ok(done)
        }
    }
}

fn untreated(water: &SourceWater) -> Result<Dechlorinated, WaterError> {
    let (free, combined) = free_and_combined(water)?;
    let at_most = water.total_chlorine.upper();
    let mut done = lost(ResidualChlorine {
        free,
        combined,
        at_most,
    });
    done.notes = remarks::of_none(&done.residual);
    done.cautions.clear();
    Ok(done)
}

/// A water that only lost chlorine.
///
/// What chlorine turns into when it goes by itself, at most 0.5 mg/L of chloride
/// for each mg/L, is left out.
fn lost(residual: ResidualChlorine) -> Dechlorinated {
    Dechlorinated {
        dose: None,
        residual,
        sulfur_dioxide_at_most: SulfurDioxide::default(),
        added: Ions::default(),
        alkalinity_change: Alkalinity::default(),
        spare_anions: ChargeConcentration::default(),
        notes: vec![],
        cautions: vec![Caution::TreatedWater],
    }
}

/// A water that carbon took chlorine out of: C* + HOCl → CO* + H⁺ + Cl⁻ and
/// C* + NH₂Cl + H₂O → CO* + NH₄⁺ + Cl⁻ (Bauer & Snoeyink 1973, from memory).
/// Later a part of the nitrogen leaves as N₂, so ammonium is counted high.
fn adsorbed(water: &SourceWater, residual: ResidualChlorine) -> Result<Dechlorinated, WaterError> {
    let (free, combined) = free_and_combined(water)?;
    let gone =
        |there: Chlorine, left: Chlorine| (there.mg_per_l() - left.mg_per_l()).max(0.0) / m::CL2;
    let free_gone = gone(free, residual.free);
    let combined_gone = gone(combined, residual.combined);
    let mut done = lost(residual);
    done.added.chloride =
        Chloride::from_mg_per_l((free_gone + combined_gone) * Chloride::MOLAR_MASS);
    done.added.ammonium = Ammonium::from_mg_per_l(combined_gone * Ammonium::MOLAR_MASS);
    done.alkalinity_change = Alkalinity::from_meq_per_l(-free_gone);
    Ok(done)
}

fn weigh(
    water: &SourceWater,
    volumes: Volumes,
    reagent: Reagent,
    purity: Fraction,
    excess: Fraction,
    dose: Dose,
) -> Result<ReagentDose, WaterError> {
    let purity = check::above_zero("purity of the reagent", purity)?.ratio();
    let excess = check::within("excess of the reagent", excess)?.ratio();
    let litres = volumes.total().l();
    let ratio = reagent.mg_per_mg_chlorine();
    let mg_per_l = match dose {
        Dose::Matched => water.total_chlorine.value.mg_per_l() * ratio * (1.0 + excess) / purity,
        Dose::Mass(mass) => check::within("mass of the reagent", mass)?.g() * 1000.0 / litres,
        Dose::Tablets { count, tablet_mass } => {
            let tablet_g = check::within("mass of a tablet", tablet_mass)?.g();
            let all = Mass::from_g(count * tablet_g);
            check::within("mass of the tablets", all)?.g() * 1000.0 / litres
        }
    };
    let per_litre = MassConcentration::from_mg_per_l(mg_per_l);
    let per_litre = check::within("reagent per litre", per_litre)?;
    // The label of a tablet counts the active salt alone: to take purity off it
    // again would promise less sulfur dioxide than there can be.
    let active = match dose {
        Dose::Tablets { .. } => 1.0,
        Dose::Matched | Dose::Mass(_) => purity,
    };
    let capacity = Chlorine::from_mg_per_l(mg_per_l * active / ratio);
    let mass = |volume: Volume| Mass::from_g(mg_per_l * volume.l() / 1000.0);
    Ok(ReagentDose {
        reagent,
        total: mass(volumes.total()),
        mash: mass(volumes.mash),
        sparge: mass(volumes.sparge),
        per_litre,
        capacity: check::within("chlorine that the reagent can reduce", capacity)?,
    })
}

/// Chlorine and reagent meet.
fn react(water: &SourceWater, dose: &ReagentDose) -> Result<Dechlorinated, WaterError> {
    let (free, combined) = free_and_combined(water)?;
    let (free, combined) = (free.mg_per_l(), combined.mg_per_l());
    let capacity = dose.capacity.mg_per_l();
    let free_gone = free.min(capacity);
    let combined_gone = combined.min(capacity - free_gone);
    let spare = (capacity - free_gone - combined_gone).max(0.0);
    let at_most = (water.total_chlorine.upper().mg_per_l() - capacity).max(0.0);
    let left = |there: f64, gone: f64| Chlorine::from_mg_per_l((there - gone).max(0.0));
    let data = dose.reagent.data();
    let mmol = |mg_per_l: f64| mg_per_l / m::CL2;
    let acid = mmol(free_gone) * data.acid_free
        + mmol(combined_gone) * data.acid_combined
        + mmol(spare) * data.acid_spare;
    Ok(Dechlorinated {
        dose: Some(*dose),
        residual: ResidualChlorine {
            free: left(free, free_gone),
            combined: left(combined, combined_gone),
            at_most: Chlorine::from_mg_per_l(at_most),
        },
        sulfur_dioxide_at_most: spare_sulfur_dioxide(water, dose),
        added: added(
            data,
            mmol(capacity),
            mmol(free_gone + combined_gone),
            mmol(combined_gone),
        ),
        alkalinity_change: Alkalinity::from_meq_per_l(-acid),
        spare_anions: ChargeConcentration::from_meq_per_l(mmol(spare)),
        notes: vec![],
        cautions: vec![],
    })
}

/// The ions from a reagent that could reduce `capacity`, did reduce `gone`, and
/// of that `combined` \[all mmol/L of Cl₂\].
fn added(data: &ReagentData, capacity: f64, gone: f64, combined: f64) -> Ions {
    let reagent = capacity / data.chlorine_per_mol;
    let sulfate = if data.sulfur_per_mol > 0.0 { gone } else { 0.0 };
    Ions {
        sodium: Sodium::from_mg_per_l(reagent * data.sodium_per_mol * Sodium::MOLAR_MASS),
        potassium: Potassium::from_mg_per_l(
            reagent * data.potassium_per_mol * Potassium::MOLAR_MASS,
        ),
        ammonium: Ammonium::from_mg_per_l(combined * Ammonium::MOLAR_MASS),
        chloride: Chloride::from_mg_per_l(gone * Chloride::MOLAR_MASS),
        sulfate: Sulfate::from_mg_per_l(sulfate * Sulfate::MOLAR_MASS),
        ..Ions::default()
    }
}

/// Sulfite that the least plausible chlorine leaves unreacted.
fn spare_sulfur_dioxide(water: &SourceWater, dose: &ReagentDose) -> SulfurDioxide {
    if !dose.reagent.is_sulfite() {
        return SulfurDioxide::default();
    }
    let least = water.total_chlorine.lower().mg_per_l();
    let spare = (dose.capacity.mg_per_l() - least).max(0.0);
    SulfurDioxide::from_mg_per_l(spare * m::SO2 / m::CL2)
}

#[cfg(test)]
mod tests;

//! What is dissolved in a water, as JSON.

use std::collections::BTreeMap;

use ::water::acids::AcidAmount;
use ::water::speciation::{AcidToPh, Mineral, Speciated};
use quantity::{CACO3_MG_PER_MEQ, Quantity};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::certainty::Between;
use crate::liquor::dissolved::{self as core, AcidAim};
use crate::wire::reckoning::{caution, note};
use crate::wire::{CautionForm, NoteForm};

/// What is dissolved in a water, and what can be made of it. Field names end in the
/// unit of the number.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterDissolved {
    /// The version of this form: "gylewright/water-dissolved/1".
    pub schema: &'static str,
    /// Which water of the batch: tap, mash, sparge, or a source by its place.
    pub of: String,
    /// What it is called.
    pub name: String,
    /// The water as it is, and what becomes of it.
    pub states: Vec<WaterState>,
    /// Lime; null where there is nothing for it to take out, or no advice is given.
    pub lime: Option<WaterLime>,
    /// Acid; null where none is needed, or no advice is given.
    pub acid: Option<WaterAcid>,
    /// Why no dose is advised, for a water that must not be used.
    pub refused: Option<String>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
}

/// A state of a water.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterState {
    /// What was done to bring it about.
    pub state: &'static str,
    /// Where its figures lie in nine of ten draws of the water; null where it cannot be
    /// drawn.
    pub between: Option<WaterStateBetween>,
    /// How warm it is.
    pub temperature_c: f64,
    /// Its pH at that temperature.
    pub ph: f64,
    /// Its alkalinity.
    pub alkalinity_meq_per_l: f64,
    /// The same counted as CaCO3.
    pub alkalinity_mg_per_l_as_caco3: f64,
    /// Calcium, free and paired.
    pub calcium_mg_per_l: f64,
    /// Magnesium, free and paired.
    pub magnesium_mg_per_l: f64,
    /// log10 of the carbon dioxide that it stands in equilibrium with, in atm.
    pub log_carbon_dioxide_pressure: f64,
    /// Half the sum of charge squared times molality.
    pub ionic_strength_mmol_per_kg: f64,
    /// log10 of ion activity product over solubility, by mineral; above nought it
    /// may form. Minerals whose ions are missing are left out.
    pub saturation: BTreeMap<&'static str, f64>,
    /// What there is of each species, by its formula.
    pub species_mmol_per_kg: BTreeMap<&'static str, f64>,
    /// How much of calcium, magnesium, sodium or potassium is in each pair.
    pub pairs: Vec<WaterPair>,
}

/// The ends of nine of ten draws, the lower first; null where nothing moves the figure.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterStateBetween {
    /// Of its pH.
    pub ph: Option<[f64; 2]>,
    /// Of its alkalinity.
    pub alkalinity_meq_per_l: Option<[f64; 2]>,
    /// Of its calcium.
    pub calcium_mg_per_l: Option<[f64; 2]>,
    /// Of the saturation index of calcite.
    pub calcite_saturation: Option<[f64; 2]>,
}

/// A pair of ions.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterPair {
    /// Its formula and charge.
    pub pair: &'static str,
    /// Whose share: "calcium".
    pub of: &'static str,
    /// How much of all of that is in this pair, 0 to 1.
    pub share: f64,
}

/// Slaked lime in a water. Doses are of Ca(OH)2.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterLime {
    /// One for each CO2 and each two HCO3-.
    pub by_the_formula_mg_per_l: f64,
    /// Between which it lies in nine of ten draws of the water, the lower first; null where
    /// nothing moves it.
    pub by_the_formula_between_mg_per_l: Option<[f64; 2]>,
    /// The least that practice doses.
    pub recommended_low_mg_per_l: f64,
    /// The most that practice doses.
    pub recommended_high_mg_per_l: f64,
    /// The dose that would leave the least alkalinity.
    pub least_alkalinity_at_mg_per_l: f64,
    /// The dose of the state "limed".
    pub taken_mg_per_l: f64,
    /// For how much water.
    pub volume_l: f64,
    /// What that comes to.
    pub in_all_g: f64,
    /// What each dose would do.
    pub curve: Vec<WaterLimePoint>,
}

/// A point of the curve over lime.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterLimePoint {
    /// The dose.
    pub dose_mg_per_l: f64,
    /// pH of the settled water.
    pub ph: f64,
    /// Its alkalinity.
    pub alkalinity_meq_per_l: f64,
    /// Its calcium.
    pub calcium_mg_per_l: f64,
}

/// Acid in a water that has none of the plan's yet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterAcid {
    /// Which.
    pub acid: String,
    /// The pH aimed at, where one is.
    pub to_ph: Option<f64>,
    /// The alkalinity aimed at, where one is.
    pub to_alkalinity_meq_per_l: Option<f64>,
    /// For how much water.
    pub volume_l: f64,
    /// The pH before.
    pub ph_before: f64,
    /// While carbon dioxide stays, as just after mixing.
    pub closed: WaterAcidDose,
    /// Once it has left to air.
    pub open: WaterAcidDose,
}

/// A dose of acid.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterAcidDose {
    /// How much, where it is measured.
    pub volume_ml: Option<f64>,
    /// How much, where it is weighed.
    pub mass_g: Option<f64>,
    /// Acid in a kilogram of water.
    pub dose_mmol_per_kg: f64,
    /// The pH after it.
    pub ph: f64,
    /// The alkalinity after it.
    pub alkalinity_meq_per_l: f64,
    /// Where nine of ten draws of the water lie; null where it cannot be drawn.
    pub between: Option<WaterAcidBetween>,
    /// pH over dose, in pairs of mmol/kg and pH.
    pub curve: Vec<[f64; 2]>,
}

/// The ends of nine of ten draws, the lower first; null where nothing moves the figure.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterAcidBetween {
    /// Of the dose that would bring the water just where it should be.
    pub needs_mmol_per_kg: Option<[f64; 2]>,
    /// Of the pH after the dose that is told.
    pub ph: Option<[f64; 2]>,
    /// Of the alkalinity after it.
    pub alkalinity_meq_per_l: Option<[f64; 2]>,
}

/// The JSON Schema of [`WaterDissolved`].
#[must_use]
pub fn water_dissolved_schema() -> Value {
    crate::wire::named::<WaterDissolved>("urn:gylewright:schema:water-dissolved:1")
}

impl WaterDissolved {
    /// An answer, and how sure it is.
    #[must_use]
    pub fn of(found: &core::Dissolved, sure: Option<&core::Sure>) -> Self {
        let states = found.states();
        let states = states.iter().enumerate().map(|(at, state)| {
            let sure = sure.and_then(|sure| sure.states.get(at));
            WaterState {
                between: sure.map(WaterStateBetween::from),
                ..WaterState::from(state)
            }
        });
        let acid = found.acid.as_ref().map(|acid| {
            let sure = sure.and_then(|sure| sure.acid);
            WaterAcid::of(acid, sure)
        });
        let lime = found.lime.as_ref().map(|lime| WaterLime {
            by_the_formula_between_mg_per_l: sure.and_then(|sure| ends(sure.lime)),
            ..WaterLime::from(lime)
        });
        Self {
            schema: "gylewright/water-dissolved/1",
            of: found.of.key(),
            name: found.name.clone(),
            states: states.collect(),
            lime,
            acid,
            refused: found.refused.as_ref().map(ToString::to_string),
            notes: found.notes().iter().map(note).collect(),
            cautions: found.cautions().into_iter().map(caution).collect(),
        }
    }
}

fn ends<Q: Quantity>(between: Option<Between<Q>>) -> Option<[f64; 2]> {
    between.map(|b| [b.low.canonical(), b.high.canonical()])
}

impl From<&core::StateSure> for WaterStateBetween {
    fn from(sure: &core::StateSure) -> Self {
        Self {
            ph: ends(sure.ph),
            alkalinity_meq_per_l: ends(sure.alkalinity),
            calcium_mg_per_l: ends(sure.calcium),
            calcite_saturation: sure.chalk.map(|b| [b.low, b.high]),
        }
    }
}

impl From<core::DoseSure> for WaterAcidBetween {
    fn from(sure: core::DoseSure) -> Self {
        Self {
            needs_mmol_per_kg: ends(sure.dose),
            ph: ends(sure.ph),
            alkalinity_meq_per_l: ends(sure.alkalinity),
        }
    }
}

impl From<&core::State> for WaterState {
    fn from(state: &core::State) -> Self {
        let is: &Speciated = &state.is;
        let name = |(mineral, index): &(Mineral, f64)| (mineral.name(), *index);
        Self {
            state: state.name,
            between: None,
            temperature_c: is.temperature.c(),
            ph: is.ph.ph(),
            alkalinity_meq_per_l: is.alkalinity.meq_per_l(),
            alkalinity_mg_per_l_as_caco3: is.alkalinity.meq_per_l() * CACO3_MG_PER_MEQ,
            calcium_mg_per_l: is.ions.calcium.mg_per_l(),
            magnesium_mg_per_l: is.ions.magnesium.mg_per_l(),
            log_carbon_dioxide_pressure: is.log_carbon_dioxide_pressure,
            ionic_strength_mmol_per_kg: is.ionic_strength.mmol_per_kg(),
            saturation: is.saturation.iter().map(name).collect(),
            species_mmol_per_kg: is
                .species
                .iter()
                .map(|s| (s.name, s.molality.mmol_per_kg()))
                .collect(),
            pairs: is
                .pairs()
                .into_iter()
                .map(|pair| WaterPair {
                    pair: pair.name,
                    of: pair.of,
                    share: pair.share.ratio(),
                })
                .collect(),
        }
    }
}

impl From<&core::Lime> for WaterLime {
    fn from(lime: &core::Lime) -> Self {
        let dose = &lime.dose;
        Self {
            by_the_formula_mg_per_l: dose.stoichiometric.mg_per_l(),
            by_the_formula_between_mg_per_l: None,
            recommended_low_mg_per_l: dose.recommended_low.mg_per_l(),
            recommended_high_mg_per_l: dose.recommended_high.mg_per_l(),
            least_alkalinity_at_mg_per_l: dose.least.dose.mg_per_l(),
            taken_mg_per_l: lime.taken.mg_per_l(),
            volume_l: lime.volume.l(),
            in_all_g: lime.in_all.g(),
            curve: lime
                .curve
                .iter()
                .map(|point| WaterLimePoint {
                    dose_mg_per_l: point.dose.mg_per_l(),
                    ph: point.ph.ph(),
                    alkalinity_meq_per_l: point.alkalinity.meq_per_l(),
                    calcium_mg_per_l: point.calcium.mg_per_l(),
                })
                .collect(),
        }
    }
}

impl WaterAcid {
    fn of(acid: &core::Acid, sure: Option<core::AcidSure>) -> Self {
        let (to_ph, to_alkalinity) = match acid.aim {
            AcidAim::Ph(ph) => (Some(ph.ph()), None),
            AcidAim::Alkalinity(a) => (None, Some(a.meq_per_l())),
        };
        let dose = |to: &AcidToPh,
                    sure: Option<core::DoseSure>,
                    curve: &[::water::speciation::TitrationPoint]| {
            let (volume_ml, mass_g) = match to.amount_for(acid.volume) {
                AcidAmount::Volume(volume) => (Some(1000.0 * volume.l()), None),
                AcidAmount::Mass(mass) => (None, Some(mass.g())),
            };
            WaterAcidDose {
                volume_ml,
                mass_g,
                dose_mmol_per_kg: to.dose.mmol_per_kg(),
                ph: to.after.ph().ph(),
                alkalinity_meq_per_l: to.after.alkalinity().meq_per_l(),
                between: sure.map(WaterAcidBetween::from),
                curve: curve
                    .iter()
                    .map(|point| [point.dose.mmol_per_kg(), point.ph.ph()])
                    .collect(),
            }
        };
        Self {
            acid: acid.product.name.clone(),
            to_ph,
            to_alkalinity_meq_per_l: to_alkalinity,
            volume_l: acid.volume.l(),
            ph_before: acid.before.ph(),
            closed: dose(&acid.closed, sure.map(|s| s.closed), &acid.curve_closed),
            open: dose(&acid.open, sure.map(|s| s.open), &acid.curve_open),
        }
    }
}

//! A water whose chemistry is known, and what can be done with it.

use std::f64::consts::LN_10;
use std::sync::Arc;

use quantity::{
    Alkalinity, Ammonium, Calcium, Chloride, Magnesium, MassConcentration, Molality, Nitrate, Note,
    PartialPressure, Ph, Potassium, Quantity as _, Sodium, Sulfate, Temperature,
};

use super::constants::Constants;
use super::equilibrium::{Supply, System, settle};
use super::error::SpeciationError;
use super::gas;
use super::kernel::{self, Answer, Buffer, Problem, WaterMass};
use super::mineral::Mineral;
use super::table::{COMPONENTS, MAX_SPECIES, Makeup, component as c, table, weighted};
use crate::acids::Acid;
use crate::analysis::ion_balance;
use crate::check;
use crate::salts::Salt;
use crate::state::{Ions, SourceWater};

/// Kilograms of water in a litre of a dilute water at 20 °C, where the volumes of
/// documents are kept. What is dissolved takes up no room: that is 0.1 % of the
/// volume for 2 g/L.
pub const WATER_KG_PER_L: f64 = 0.998_203;
/// Carbon dioxide over a tap water whose pH is not known: between surface water,
/// near that of air, and ground water, ten times more than this (judgement).
pub const TYPICAL_TAP: PartialPressure = PartialPressure::from_atm(3.2e-3);
/// Carbon dioxide in outdoor air at sea level (from memory, the 2020s); a closed
/// room holds two to three times as much.
pub const OUTDOOR_AIR: PartialPressure = PartialPressure::from_atm(4.2e-4);
/// Ionic strength up to which the activity coefficients are meant to be used
/// \[mol/kg\] (judgement; ion size and slopes were fitted on seawater and less).
const USUAL_STRENGTH: f64 = 0.7;
/// The most ions that are let in \[mol/kg\].
const MOST_IONS: f64 = 4.0;

/// What sets the carbonate of a water, beside its alkalinity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Anchor {
    /// Its pH, read at the temperature of the analysis.
    Ph(Ph),
    /// The carbon dioxide it stands in equilibrium with.
    CarbonDioxide(PartialPressure),
    /// All inorganic carbon in it.
    InorganicCarbon(Molality),
}

/// What carbon dioxide can do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Air {
    /// Neither leave nor enter.
    Closed,
    /// Leave or enter until the water is in equilibrium with this.
    Open(PartialPressure),
}

/// How a solid takes part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solid {
    /// The solid.
    pub mineral: Mineral,
    /// How much of it lies in the water and can dissolve.
    pub available: Available,
}

/// How much of a solid can dissolve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Available {
    /// None: it can only form.
    Nothing,
    /// This much.
    Amount(Molality),
    /// More than the water takes up.
    Plenty,
}

/// A water in equilibrium: what it holds, how warm it is, what fell out of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Moles of each component in the solution, per kilogram of the first water.
    pub(super) totals: Makeup,
    pub(super) temperature: Temperature,
    pub(super) constants: Arc<Constants>,
    pub(super) answer: Answer,
    /// Moles that formed of each mineral, less what dissolved.
    pub(super) formed: [f64; Mineral::ALL.len()],
    pub(super) notes: Vec<Note>,
}

impl Solution {
    /// A water from its analysis.
    ///
    /// Cations and anions need not balance: what is missing is carried along as a
    /// charge that nothing reacts with, never forced upon an ion.
    ///
    /// # Errors
    /// [`SpeciationError`]: figures out of bounds, too concentrated, or a pH that
    /// does not go with the alkalinity.
    pub fn new(
        ions: &Ions,
        alkalinity: Alkalinity,
        anchor: Anchor,
        temperature: Temperature,
    ) -> Result<Self, SpeciationError> {
        check_analysis(ions, alkalinity)?;
        let constants = constants(temperature)?;
        let mut totals = makeup_of_ions(ions);
        let alkalinity_mol = alkalinity.meq_per_l() * mol_per_kg();
        let mut carbon = 0.0;
        let buffer = match anchor {
            Anchor::Ph(ph) => {
                check::within("water: pH", ph)?;
                Some(Buffer::holding_ph(*gas::carbon_dioxide(), ph.ph()))
            }
            Anchor::CarbonDioxide(pressure) => Some(gas::held(&constants, pressure)?),
            Anchor::InorganicCarbon(dic) => {
                check::within("water: inorganic carbon", dic)?;
                carbon = dic.mmol_per_kg() / 1000.0;
                None
            }
        };
        totals.of[c::CO3] = carbon;
        totals.of[c::H] = 2.0 * carbon - alkalinity_mol;
        refuse_brine(&totals)?;
        let problem = Problem {
            constants: &constants,
            totals: totals.of,
            water: WaterMass::Kilogram,
            buffers: buffer.as_slice(),
        };
        let contradiction = |ph: f64| SpeciationError::Contradiction {
            alkalinity_meq_per_l: alkalinity.meq_per_l(),
            ph,
        };
        let answer = kernel::solve(&problem, None).map_err(|_| match anchor {
            Anchor::Ph(ph) => contradiction(ph.ph()),
            _ => SpeciationError::NotSolved,
        })?;
        if let (Some(buffer), [brought, ..]) = (buffer, answer.amounts) {
            totals = totals.plus(&buffer.makeup, brought);
        }
        if let Anchor::Ph(ph) = anchor
            && totals.of[c::CO3] < 0.0
        {
            return Err(contradiction(ph.ph()));
        }
        refuse_brine(&totals)?;
        totals.water = answer.water_mol;
        Ok(Self {
            totals,
            temperature,
            constants,
            answer,
            formed: [0.0; Mineral::ALL.len()],
            notes: vec![],
        })
    }

    /// A source as it was analysed, with its pH where that is known, and otherwise
    /// in equilibrium with the carbon dioxide given, which a note then says.
    ///
    /// The pH counts as read at `temperature`.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn of(
        water: &SourceWater,
        temperature: Temperature,
        without_ph: PartialPressure,
    ) -> Result<Self, SpeciationError> {
        check::source(water)?;
        let anchor = water
            .ph
            .map_or(Anchor::CarbonDioxide(without_ph), Anchor::Ph);
        let mut solution = Self::new(&water.ions, water.alkalinity, anchor, temperature)?;
        if water.ph.is_none() {
            solution.notes.push(Note::look(format!(
                "The pH of {} is not known: it is reckoned as if the water held as much carbon \
                 dioxide as {} atm of it gives. Measure the pH on fresh water.",
                water.name,
                quantity::rounded(without_ph.atm()),
            )));
        }
        let balance = ion_balance(water);
        if !balance.notes().is_empty() {
            solution.notes.extend(balance.notes());
            solution.notes.push(Note::fine(format!(
                "The ions of {} do not add up, by {}. The difference is carried along unchanged; \
                 no ion was made up to close it.",
                water.name, balance.difference,
            )));
        }
        Ok(solution)
    }

    /// Lets it come to equilibrium at a temperature, with the air and solids given.
    ///
    /// # Errors
    /// [`SpeciationError::Temperature`], [`SpeciationError::NotSolved`].
    pub fn equilibrated(
        &self,
        temperature: Temperature,
        air: Air,
        solids: &[Solid],
    ) -> Result<Self, SpeciationError> {
        let constants = self.constants_at(temperature)?;
        let gas = match air {
            Air::Closed => None,
            Air::Open(pressure) => Some(gas::held(&constants, pressure)?),
        };
        let supplies: Vec<Supply> = solids.iter().map(supply).collect();
        let system = System {
            constants: &constants,
            totals: self.totals.of,
            water_mol: self.totals.water,
            gas,
            supplies: &supplies,
        };
        let settled =
            settle(&system, Some(&self.answer)).map_err(|_| SpeciationError::NotSolved)?;
        let mut totals = self.totals.plus(gas::carbon_dioxide(), settled.gas);
        let mut formed = self.formed;
        for (solid, given) in solids.iter().zip(&settled.given) {
            totals = totals.plus(solid.mineral.makeup(), *given);
            formed[solid.mineral as usize] -= given;
        }
        Ok(Self {
            totals,
            temperature,
            constants,
            answer: settled.answer,
            formed,
            notes: self.notes.clone(),
        })
    }

    /// Warmed or cooled with nothing leaving or entering.
    ///
    /// # Errors
    /// As [`equilibrated`](Self::equilibrated).
    pub fn heated(&self, to: Temperature) -> Result<Self, SpeciationError> {
        self.equilibrated(to, Air::Closed, &[])
    }

    /// After carbon dioxide has come to equilibrium with the air over it.
    ///
    /// # Errors
    /// As [`equilibrated`](Self::equilibrated).
    pub fn open_to(&self, air: PartialPressure) -> Result<Self, SpeciationError> {
        self.equilibrated(self.temperature, Air::Open(air), &[])
    }

    /// After solids that it holds too much of have formed.
    ///
    /// # Errors
    /// As [`equilibrated`](Self::equilibrated).
    pub fn allowing(&self, minerals: &[Mineral]) -> Result<Self, SpeciationError> {
        let solids: Vec<Solid> = minerals.iter().map(|m| m.forming()).collect();
        self.equilibrated(self.temperature, Air::Closed, &solids)
    }

    /// With a salt dissolved in it in full: milligrams of the salt, as it is
    /// weighed, in a litre. Its crystal water is left out.
    ///
    /// Chalk dissolves in full here, whether it would or not: see
    /// [`equilibrated`](Self::equilibrated) with [`Available`] for what it does.
    ///
    /// # Errors
    /// [`SpeciationError`]: a dose out of bounds or too concentrated.
    pub fn with_salt(&self, salt: &Salt, dose: MassConcentration) -> Result<Self, SpeciationError> {
        check::within(format_args!("{}: dose", salt.name), dose)?;
        let mol = dose.mg_per_l() / salt.molar_mass_g_per_mol * mol_per_kg();
        self.plus(&makeup_of_salt(salt), mol)
    }

    /// With an acid stirred in \[mmol of acid per kg of water\].
    ///
    /// # Errors
    /// [`SpeciationError`]: a dose out of bounds or too concentrated.
    pub fn with_acid(&self, acid: &Acid, dose: Molality) -> Result<Self, SpeciationError> {
        check::within(format_args!("{}: dose", acid.name), dose)?;
        self.plus(&makeup_of_acid(acid), dose.mmol_per_kg() / 1000.0)
    }

    /// Several waters mixed, with nothing leaving or entering. Shares are by mass
    /// and need not add up to one. What had formed in them stays behind.
    ///
    /// # Errors
    /// [`SpeciationError`]: no share above zero, or a temperature out of range.
    pub fn blend(
        parts: &[(&Self, f64)],
        temperature: Temperature,
    ) -> Result<Self, SpeciationError> {
        let whole: f64 = parts.iter().map(|(_, share)| share).sum();
        let possible = parts
            .iter()
            .all(|(_, share)| share.is_finite() && *share >= 0.0);
        let first = parts.iter().max_by(|a, b| a.1.total_cmp(&b.1));
        let (Some((first, _)), true) = (first, possible && whole > 0.0) else {
            return Err(SpeciationError::NothingBlended);
        };
        let sum = |sum: Makeup, (part, share): &(&Self, f64)| sum.plus(&part.totals, share / whole);
        let mut notes: Vec<Note> = vec![];
        for note in parts.iter().flat_map(|(part, _)| &part.notes) {
            if !notes.contains(note) {
                notes.push(note.clone());
            }
        }
        let mixed = Self {
            totals: parts.iter().fold(Makeup::default(), sum),
            temperature: first.temperature,
            constants: Arc::clone(&first.constants),
            answer: first.answer,
            formed: [0.0; Mineral::ALL.len()],
            notes,
        };
        mixed.heated(temperature)
    }

    /// Its temperature.
    #[must_use]
    pub const fn temperature(&self) -> Temperature {
        self.temperature
    }

    /// Its pH: −log10 of the activity of H⁺.
    #[must_use]
    pub fn ph(&self) -> Ph {
        Ph::from_ph(-self.answer.ln_activity[c::H] / LN_10)
    }

    /// Its alkalinity to the CO₂ end point.
    #[must_use]
    pub fn alkalinity(&self) -> Alkalinity {
        let mol = weighted(&self.totals.of, &table().alkalinity) / self.answer.water_kg;
        Alkalinity::from_meq_per_l(mol / mol_per_kg())
    }

    /// All its inorganic carbon.
    #[must_use]
    pub fn inorganic_carbon(&self) -> Molality {
        let mol = self.totals.of[c::CO3].max(0.0) / self.answer.water_kg;
        Molality::from_mmol_per_kg(1000.0 * mol)
    }

    /// Its ions, free and paired.
    #[must_use]
    pub fn ions(&self) -> Ions {
        let mmol_per_l =
            |j: usize| self.totals.of[j].max(0.0) / self.answer.water_kg / mol_per_kg();
        macro_rules! ions {
            ($($field:ident: $kind:ident at $place:ident),+) => {
                Ions { $($field: $kind::from_mg_per_l(mmol_per_l(c::$place) * $kind::MOLAR_MASS)),+ }
            };
        }
        ions! {
            calcium: Calcium at CA, magnesium: Magnesium at MG, sodium: Sodium at NA,
            potassium: Potassium at K, ammonium: Ammonium at NH4, chloride: Chloride at CL,
            sulfate: Sulfate at SO4, nitrate: Nitrate at NO3
        }
    }

    /// How much of a mineral has formed since the analysis, per kilogram of water;
    /// negative where it dissolved \[mmol/kg\].
    #[must_use]
    pub fn formed_mmol_per_kg(&self, mineral: Mineral) -> f64 {
        1000.0 * self.formed[mineral as usize]
    }

    /// Charge that no ion of the analysis accounts for \[mEq/kg\]: cations less
    /// anions.
    #[must_use]
    pub fn imbalance_meq_per_kg(&self) -> f64 {
        1000.0 * weighted(&self.totals.of, &table().charge) / self.answer.water_kg
    }

    /// Moles of every species, by its place.
    pub(super) fn moles(&self) -> [f64; MAX_SPECIES] {
        self.answer.moles(&self.constants)
    }

    fn constants_at(&self, temperature: Temperature) -> Result<Arc<Constants>, SpeciationError> {
        if temperature == self.temperature {
            return Ok(Arc::clone(&self.constants));
        }
        constants(temperature)
    }

    /// With an amount \[mol\] of something more in it, at the same temperature.
    pub(super) fn plus(&self, makeup: &Makeup, mol: f64) -> Result<Self, SpeciationError> {
        let mut more = self.clone();
        more.totals = self.totals.plus(makeup, mol);
        refuse_brine(&more.totals)?;
        more.heated(self.temperature)
    }
}

impl Mineral {
    /// It can form, and there is none of it to dissolve.
    #[must_use]
    pub const fn forming(self) -> Solid {
        Solid {
            mineral: self,
            available: Available::Nothing,
        }
    }

    /// There is more of it than the water takes up.
    #[must_use]
    pub const fn in_plenty(self) -> Solid {
        Solid {
            mineral: self,
            available: Available::Plenty,
        }
    }
}

/// The constants at a temperature at which water is liquid.
fn constants(temperature: Temperature) -> Result<Arc<Constants>, SpeciationError> {
    if (0.0..=100.0).contains(&temperature.c()) {
        Ok(Arc::new(Constants::at(temperature.k())))
    } else {
        Err(SpeciationError::Temperature {
            given_c: temperature.c(),
        })
    }
}

/// A remark where the water is stronger than its activity coefficients were made
/// for.
pub(super) fn strength_note(strength: f64) -> Option<Note> {
    (strength > USUAL_STRENGTH).then(|| {
        Note::look(format!(
            "The ionic strength is {strength:.2} mol/kg; the activity coefficients are meant for \
             up to {USUAL_STRENGTH} mol/kg, so that pH and saturation are rough."
        ))
    })
}

/// Moles in a kilogram of water for a millimole in a litre.
pub(super) const fn mol_per_kg() -> f64 {
    1e-3 / WATER_KG_PER_L
}

/// What an acid is made of.
pub(super) fn makeup_of_acid(acid: &Acid) -> Makeup {
    const ANIONS: [(&str, usize, f64); 6] = [
        ("phosphoric", c::PO4, 3.0),
        ("lactic", c::LACTATE, 1.0),
        ("sulfuric", c::SO4, 2.0),
        ("hydrochloric", c::CL, 1.0),
        ("citric", c::CITRATE, 3.0),
        ("ascorbic", c::ASCORBATE, 2.0),
    ];
    let mut makeup = Makeup::default();
    if let Some((_, anion, protons)) = ANIONS.iter().find(|(key, ..)| *key == acid.key) {
        makeup.of[*anion] = 1.0;
        makeup.of[c::H] = *protons;
    }
    makeup
}

/// The names for a message are only made up where there is one.
fn check_analysis(ions: &Ions, alkalinity: Alkalinity) -> Result<(), SpeciationError> {
    let within = ions.calcium.within_bounds()
        && ions.magnesium.within_bounds()
        && ions.sodium.within_bounds()
        && ions.potassium.within_bounds()
        && ions.ammonium.within_bounds()
        && ions.chloride.within_bounds()
        && ions.sulfate.within_bounds()
        && ions.nitrate.within_bounds();
    if !within {
        check::ions("water", ions)?;
    }
    check::within("water: alkalinity", alkalinity)?;
    Ok(())
}

fn supply(solid: &Solid) -> Supply {
    Supply {
        phase: solid.mineral.place(),
        available: match solid.available {
            Available::Nothing => 0.0,
            Available::Amount(amount) => amount.mmol_per_kg() / 1000.0,
            Available::Plenty => f64::INFINITY,
        },
    }
}

fn makeup_of_ions(ions: &Ions) -> Makeup {
    let mut makeup = Makeup::default();
    for (place, mmol_per_l) in [
        (c::CA, ions.calcium.mmol_per_l()),
        (c::MG, ions.magnesium.mmol_per_l()),
        (c::NA, ions.sodium.mmol_per_l()),
        (c::K, ions.potassium.mmol_per_l()),
        (c::NH4, ions.ammonium.mmol_per_l()),
        (c::CL, ions.chloride.mmol_per_l()),
        (c::SO4, ions.sulfate.mmol_per_l()),
        (c::NO3, ions.nitrate.mmol_per_l()),
    ] {
        makeup.of[place] = mmol_per_l * mol_per_kg();
    }
    makeup
}

/// A formula unit of a salt. Carbonate is counted from the formula, and what its
/// alkalinity has beyond that is hydroxide.
fn makeup_of_salt(salt: &Salt) -> Makeup {
    let litre_of_g = salt.molar_mass_g_per_mol;
    let mut makeup = makeup_of_ions(&salt.ions_per_g_per_l.times(litre_of_g));
    let to_units = 1.0 / (1000.0 * mol_per_kg());
    makeup.of.iter_mut().for_each(|n| *n *= to_units);
    let carbonate = f64::from(u8::from(salt.formula.contains("CO3")));
    let alkalinity = salt.alkalinity_per_g_per_l.meq_per_l() * litre_of_g / 1000.0;
    makeup.of[c::CO3] = carbonate;
    makeup.of[c::H] = 2.0 * carbonate - alkalinity;
    makeup.water = (-makeup.of[c::H]).max(0.0);
    makeup
}

fn refuse_brine(totals: &Makeup) -> Result<(), SpeciationError> {
    let ions = totals.of.iter().skip(1).fold(0.0, |sum, n| sum + n.abs())
        + weighted(&totals.of, &table().alkalinity).abs();
    if ions <= MOST_IONS {
        return Ok(());
    }
    Err(SpeciationError::TooConcentrated {
        given_mol_per_kg: ions,
        most_mol_per_kg: MOST_IONS,
    })
}

const _: () = assert!(
    COMPONENTS == 14,
    "makeup_of_ions names every component of an analysis"
);

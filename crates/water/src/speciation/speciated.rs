//! What a water is found to hold.

use quantity::{
    Alkalinity, Caution, Fraction, MassConcentration, Molality, Note, PartialPressure, Ph,
    Temperature,
};

use super::gas;
use super::mineral::Mineral;
use super::solution::{Solution, WATER_KG_PER_L, strength_note};
use super::table::{MAX_SPECIES, Species, component as c, species_place, table};
use crate::formula;
use crate::state::Ions;

/// A water's chemistry, in figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Speciated {
    /// Its temperature.
    pub temperature: Temperature,
    /// Its pH.
    pub ph: Ph,
    /// Its alkalinity to the CO₂ end point.
    pub alkalinity: Alkalinity,
    /// Its ions, free and paired.
    pub ions: Ions,
    /// All inorganic carbon.
    pub inorganic_carbon: Molality,
    /// Dissolved carbon dioxide.
    pub carbon_dioxide: Molality,
    /// Free bicarbonate.
    pub bicarbonate: Molality,
    /// Free carbonate.
    pub carbonate: Molality,
    /// Half the sum of z² m over the species.
    pub ionic_strength: Molality,
    /// The carbon dioxide that it stands in equilibrium with.
    pub carbon_dioxide_pressure: PartialPressure,
    /// log10 of that in atm.
    pub log_carbon_dioxide_pressure: f64,
    /// Of each mineral, log10 of ion activity product over solubility: 0 is
    /// saturated, above 0 it may form. None where the water has not all its ions.
    pub saturation: Vec<(Mineral, f64)>,
    /// What formed since the analysis; negative where it dissolved \[mmol/kg\].
    pub formed_mmol_per_kg: Vec<(Mineral, f64)>,
    /// Every species, most abundant first.
    pub species: Vec<Dissolved>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// One species.
#[derive(Debug, Clone, PartialEq)]
pub struct Dissolved {
    /// Its formula and charge, such as "CaSO4" or "Ca+2".
    pub name: &'static str,
    /// How much of it there is.
    pub molality: Molality,
    /// Its activity over its molality \[–\].
    pub activity_coefficient: f64,
}

/// A metal held by an anion, dissolved: what is paired does not act as its ion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Its formula and charge, such as "CaHCO3+".
    pub name: &'static str,
    /// What is paired: "calcium".
    pub of: &'static str,
    /// How much of all of that is in this pair.
    pub share: Fraction,
}

impl Speciated {
    /// The pairs of calcium, magnesium, sodium and potassium, the greatest share
    /// first.
    #[must_use]
    pub fn pairs(&self) -> Vec<Pair> {
        let all = |metal: usize| -> f64 {
            let held = self.species.iter().map(|dissolved| {
                let species = &table().species[species_place(dissolved.name)];
                species.makeup.of[metal] * dissolved.molality.mmol_per_kg()
            });
            held.sum()
        };
        let mut pairs: Vec<Pair> = vec![];
        for (metal, of) in METALS {
            let whole = all(metal);
            pairs.extend(self.species.iter().filter_map(|dissolved| {
                let species = &table().species[species_place(dissolved.name)];
                let held = species.makeup.of[metal] * dissolved.molality.mmol_per_kg();
                (is_pair_of(species, metal) && held > 0.0).then(|| Pair {
                    name: dissolved.name,
                    of,
                    share: Fraction::from_ratio(held / whole),
                })
            }));
        }
        pairs.sort_by(|a, b| b.share.ratio().total_cmp(&a.share.ratio()));
        pairs
    }

    /// Free bicarbonate \[mg/L\].
    #[must_use]
    pub fn bicarbonate_mass(&self) -> MassConcentration {
        mass("HCO3", self.bicarbonate)
    }

    /// Dissolved carbon dioxide \[mg/L\].
    #[must_use]
    pub fn carbon_dioxide_mass(&self) -> MassConcentration {
        mass("CO2", self.carbon_dioxide)
    }

    /// The saturation index of a mineral; none where the water lacks its ions.
    #[must_use]
    pub fn saturation_of(&self, mineral: Mineral) -> Option<f64> {
        let found = self.saturation.iter().find(|(m, _)| *m == mineral);
        found.map(|(_, index)| *index)
    }

    /// How much there is of a species, by its formula; zero where there is none.
    #[must_use]
    pub fn molality_of(&self, species: &str) -> Molality {
        let found = self.species.iter().find(|s| s.name == species);
        found.map_or(Molality::from_mmol_per_kg(0.0), |s| s.molality)
    }
}

impl Solution {
    /// All figures of the water.
    #[must_use]
    pub fn speciated(&self) -> Speciated {
        let log_pressure = self.log_carbon_dioxide_pressure();
        let moles = self.moles();
        let species = |name: &str| self.molal(moles[species_place(name)]);
        let mut notes = self.notes.clone();
        notes.extend(strength_note(self.answer.ionic_strength));
        let formed = Mineral::ALL
            .iter()
            .zip(self.formed)
            .filter(|(_, mol)| *mol != 0.0);
        Speciated {
            temperature: self.temperature,
            ph: self.ph(),
            alkalinity: self.alkalinity(),
            ions: self.ions(),
            inorganic_carbon: self.inorganic_carbon(),
            carbon_dioxide: species("CO2"),
            bicarbonate: species("HCO3-"),
            carbonate: species("CO3-2"),
            ionic_strength: Molality::from_mmol_per_kg(1000.0 * self.answer.ionic_strength),
            carbon_dioxide_pressure: PartialPressure::from_atm(10f64.powf(log_pressure)),
            log_carbon_dioxide_pressure: log_pressure,
            saturation: Mineral::ALL
                .into_iter()
                .filter_map(|mineral| Some((mineral, self.saturation(mineral)?)))
                .collect(),
            formed_mmol_per_kg: formed
                .map(|(mineral, mol)| (*mineral, 1000.0 * mol))
                .collect(),
            species: self.all_species(&moles),
            notes,
            cautions: if self.temperature.c() >= HOT_C {
                vec![Caution::HotLiquor]
            } else {
                vec![]
            },
        }
    }

    /// log10 of ion activity product over solubility; none where the water lacks
    /// the ions of the mineral.
    #[must_use]
    pub fn saturation(&self, mineral: Mineral) -> Option<f64> {
        let ln =
            self.answer.ln_product(mineral.makeup()) - self.constants.ln_k_phase[mineral.place()];
        ln.is_finite().then_some(ln / std::f64::consts::LN_10)
    }

    /// log10 of the fugacity of carbon dioxide \[atm\], which is its pressure as
    /// long as that is small; a very low number where there is no carbonate.
    #[must_use]
    pub fn log_carbon_dioxide_pressure(&self) -> f64 {
        const NONE: f64 = -12.0;
        gas::log_fugacity(&self.constants, &self.answer).max(NONE)
    }

    fn molal(&self, mol: f64) -> Molality {
        Molality::from_mmol_per_kg(1000.0 * mol.max(0.0) / self.answer.water_kg)
    }

    fn all_species(&self, moles: &[f64; MAX_SPECIES]) -> Vec<Dissolved> {
        let root = self.answer.ionic_strength.sqrt();
        let there = table()
            .species
            .iter()
            .enumerate()
            .filter(|(i, _)| moles[*i] > 0.0);
        let mut species: Vec<Dissolved> = there
            .map(|(i, species)| Dissolved {
                name: &species.name,
                molality: self.molal(moles[i]),
                activity_coefficient: self.constants.ln_gamma(i, root).exp(),
            })
            .collect();
        species.sort_by(|a, b| {
            b.molality
                .mmol_per_kg()
                .total_cmp(&a.molality.mmol_per_kg())
        });
        species
    }
}

const METALS: [(usize, &str); 4] = [
    (c::CA, "calcium"),
    (c::MG, "magnesium"),
    (c::NA, "sodium"),
    (c::K, "potassium"),
];

fn mass(of: &str, amount: Molality) -> MassConcentration {
    let g_per_mol = formula::molar_mass(of).unwrap_or_default();
    MassConcentration::from_mg_per_l(amount.mmol_per_kg() * WATER_KG_PER_L * g_per_mol)
}

/// Whether a species holds the metal and something else; the bare ion is one of the
/// components.
fn is_pair_of(species: &Species, metal: usize) -> bool {
    species.makeup.of[metal] > 0.0 && species.parts().len() > 1
}

/// From here on water scalds \[°C\]: the caution names 60 °C.
const HOT_C: f64 = 55.0;

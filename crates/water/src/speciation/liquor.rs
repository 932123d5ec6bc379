//! The liquor that a treated water becomes.

use std::collections::BTreeMap;

use quantity::{Alkalinity, Mass, Molality, Volume};

use super::error::SpeciationError;
use super::solution::{Anchor, Solution, WATER_KG_PER_L};
use crate::acids::AcidDose;
use crate::dechlorination::Dechlorinated;
use crate::salts::{Salt, SaltDose};
use crate::state::Ions;

/// What is done to a litre of tap water before it meets malt, besides acid.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Treated {
    ions: Ions,
    alkalinity_meq_per_l: f64,
    carbon_mmol_per_l: f64,
}

impl Solution {
    /// The liquor that the water becomes: with what took its chlorine out, and with
    /// these salts and acids in a volume of it. Nothing leaves to the air.
    ///
    /// Salts count as [`treat`](crate::treat) counts them: no more of one than
    /// dissolves in pure water.
    ///
    /// # Errors
    /// [`SpeciationError`]: doses out of bounds or too concentrated, no volume.
    pub fn liquor(
        &self,
        dechlorination: &Dechlorinated,
        salts: &[SaltDose],
        acids: &[AcidDose],
        volume: Volume,
    ) -> Result<Self, SpeciationError> {
        let mut treated = Treated {
            ions: self.ions().plus(dechlorination.added),
            alkalinity_meq_per_l: self.alkalinity().meq_per_l()
                + dechlorination.alkalinity_change.meq_per_l(),
            carbon_mmol_per_l: self.inorganic_carbon().mmol_per_kg() * WATER_KG_PER_L,
        };
        // Two doses of one salt share its solubility.
        let mut masses: BTreeMap<&str, (&Salt, f64)> = BTreeMap::new();
        for dose in salts {
            masses.entry(&dose.salt.name).or_insert((dose.salt, 0.0)).1 += dose.mass.kg();
        }
        for (salt, kg) in masses.into_values() {
            treated.salt(salt, Mass::from_kg(kg), volume)?;
        }
        let mut liquor = Self::new(
            &treated.ions,
            Alkalinity::from_meq_per_l(treated.alkalinity_meq_per_l),
            Anchor::InorganicCarbon(Molality::from_mmol_per_kg(
                treated.carbon_mmol_per_l / WATER_KG_PER_L,
            )),
            self.temperature(),
        )?;
        liquor.notes.clone_from(&self.notes);
        for dose in acids {
            let mol = dose.product.mol(dose.amount)?;
            let mmol_per_kg = 1000.0 * mol / (volume.l() * WATER_KG_PER_L);
            liquor =
                liquor.with_acid(dose.product.acid, Molality::from_mmol_per_kg(mmol_per_kg))?;
        }
        Ok(liquor)
    }
}

impl Treated {
    fn salt(&mut self, salt: &Salt, mass: Mass, volume: Volume) -> Result<(), SpeciationError> {
        let dissolved = salt.dissolved(mass, volume)?;
        let alkalinity = dissolved.alkalinity.meq_per_l();
        self.ions = self.ions.plus(dissolved.ions);
        self.alkalinity_meq_per_l += alkalinity;
        // A formula unit with carbonate brings one of it, whatever its alkalinity.
        let per_unit = salt.alkalinity_per_g_per_l.meq_per_l() * salt.molar_mass_g_per_mol / 1000.0;
        if salt.formula.contains("CO3") && per_unit > 0.0 {
            self.carbon_mmol_per_l += alkalinity / per_unit;
        }
        Ok(())
    }
}

//! The balance of protons that a mash closes.

use quantity::numeric::root;
use quantity::{Alkalinity, Ph, Quantity};

use super::{AcidMalt, MaltAcidity, MashLiquor, Tun, check_liquor, check_malts, constants};
use crate::acids::{Acid, protons_per_mole};
use crate::error::WaterError;

/// The balance of protons.
pub(crate) struct Balance {
    /// Σ m B \[mEq/pH\].
    malt_meq_per_ph: f64,
    /// Σ m B pH_DI \[mEq\].
    malt_meq: f64,
    /// V·RA less the acid of acidulated malt \[mEq\].
    base_meq: f64,
    /// Carbonate that stays in the mash \[mmol\].
    carbonate_mmol: f64,
    /// Each acid \[mmol\].
    acids: Vec<(&'static Acid, f64)>,
}

impl Balance {
    pub(crate) fn of(
        tun: Tun,
        malts: &[MaltAcidity],
        acid_malts: &[AcidMalt],
        liquor: &MashLiquor,
    ) -> Result<Self, WaterError> {
        check_malts(malts, acid_malts)?;
        check_liquor(liquor)?;
        let malt_meq_per_ph: f64 = malts.iter().map(meq_per_ph).sum();
        if malt_meq_per_ph <= 0.0 {
            return Err(WaterError::NoMalt);
        }
        let acid_malt_meq: f64 = acid_malts
            .iter()
            .map(|a| a.mass.kg() * a.acidity.value.meq_per_kg())
            .sum();
        let acids = liquor.acids.iter().map(|acid| {
            let mmol = 1000.0 * acid.product.mol(acid.amount)?;
            Ok((acid.product.acid, mmol))
        });
        Ok(Self {
            malt_meq_per_ph,
            malt_meq: malts
                .iter()
                .map(|m| meq_per_ph(m) * m.ph_di.value.ph())
                .sum(),
            carbonate_mmol: match tun {
                Tun::Open => 0.0,
                Tun::Closed => liquor.volume.l() * liquor.alkalinity.meq_per_l().max(0.0),
            },
            base_meq: liquor.volume.l() * residual(liquor).meq_per_l() - acid_malt_meq,
            acids: acids.collect::<Result<_, WaterError>>()?,
        })
    }

    /// Base still wanted at a pH \[mEq\]; rises with the pH throughout.
    pub(crate) fn deficit(&self, ph: f64) -> f64 {
        let acid: f64 = self
            .acids
            .iter()
            .map(|(acid, mmol)| mmol * protons_per_mole(acid, Ph::from_ph(ph)))
            .sum();
        let kept = self.carbonate_mmol * bicarbonate_share(ph);
        self.malt_meq_per_ph * ph - self.malt_meq - self.base_meq + kept + acid
    }

    /// d deficit/d pH \[mEq/pH\].
    pub(crate) fn slope(&self, ph: f64) -> f64 {
        const STEP: f64 = 1e-4;
        let acid: f64 = self
            .acids
            .iter()
            .map(|(acid, mmol)| {
                let z = |at| protons_per_mole(acid, Ph::from_ph(at));
                mmol * (z(ph + STEP) - z(ph - STEP)) / (2.0 * STEP)
            })
            .sum();
        let share = bicarbonate_share(ph);
        let kept = self.carbonate_mmol * std::f64::consts::LN_10 * share * (1.0 - share);
        self.malt_meq_per_ph + kept + acid
    }

    /// The pH at which nothing is wanting; the deficit is monotone.
    pub(crate) fn solve(&self) -> Result<f64, WaterError> {
        let (low, high) = (Ph::MIN, Ph::MAX);
        let reachable = self.deficit(low) <= 0.0 && self.deficit(high) >= 0.0;
        if !reachable {
            let buffering_meq_per_ph = self.malt_meq_per_ph;
            return Err(WaterError::MashOutOfReach {
                buffering_meq_per_ph,
            });
        }
        Ok(root(low, high, |ph| self.deficit(ph)))
    }
}

pub(super) fn meq_per_ph(malt: &MaltAcidity) -> f64 {
    malt.mass.kg() * malt.buffer.value.meq_per_kg_ph()
}

pub(super) fn residual(liquor: &MashLiquor) -> Alkalinity {
    let c = constants();
    Alkalinity::from_meq_per_l(
        liquor.alkalinity.meq_per_l()
            - liquor.calcium.meq_per_l() / c.calcium_divisor.value
            - liquor.magnesium.meq_per_l() / c.magnesium_divisor.value,
    )
}

/// The share of carbonate that is bicarbonate at a pH, at 20 °C; carbonate proper
/// is nothing at the pH of a mash.
pub(super) fn bicarbonate_share(ph: f64) -> f64 {
    1.0 / (1.0 + 10f64.powf(constants().carbonic_pk1.value - ph))
}

//! The mash from reading to reading, with all that went into it.

use quantity::{Alkalinity, Calcium, Magnesium};

use super::{Addition, Mash, Reading, Remedy};
use crate::acids::AcidAmount;
use crate::check;
use crate::error::WaterError;
use crate::mash_ph::{AcidMalt, MashAcid, MashLiquor};
use crate::salts::Salt;
use crate::state::Ions;
use crate::treatment::Amount;

/// A mash at one moment.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stage {
    /// Acidulated malt in it, what was there first first.
    pub acid_malts: Vec<AcidMalt>,
    /// Its liquor with what was added.
    pub liquor: MashLiquor,
    /// The ions of that liquor.
    pub ions: Ions,
}

/// The mash as it was mashed in, and at each reading.
pub(super) struct Stages {
    first: Stage,
    at_reading: Vec<Stage>,
}

impl Stages {
    pub(super) fn of(mash: &Mash, readings: &[Reading]) -> Result<Self, WaterError> {
        let first = Stage {
            acid_malts: mash.acid_malts.clone(),
            liquor: mash.liquor.clone(),
            ions: mash.ions,
        };
        let mut stage = first.clone();
        let mut at_reading = Vec::with_capacity(readings.len());
        for reading in readings {
            for addition in &reading.added {
                stage = stage.with(addition)?;
            }
            at_reading.push(stage.clone());
        }
        Ok(Self { first, at_reading })
    }

    /// At each reading.
    pub(super) fn at_reading(&self) -> &[Stage] {
        &self.at_reading
    }

    /// At the last reading.
    pub(super) fn now(&self) -> &Stage {
        self.at_reading.last().unwrap_or(&self.first)
    }
}

impl Stage {
    /// With something more in it.
    pub(super) fn with(&self, addition: &Addition) -> Result<Self, WaterError> {
        let mut stage = self.clone();
        match (addition.what, addition.amount) {
            (Remedy::Acid(product), amount) => {
                let amount = match amount {
                    Amount::Mass(mass) => AcidAmount::Mass(mass),
                    Amount::Volume(volume) => AcidAmount::Volume(volume),
                };
                let left = product.acidified(amount, stage.liquor.volume)?;
                stage.ions = stage.ions.plus(left.ions);
                stage.liquor.acids.push(MashAcid { product, amount });
            }
            (Remedy::AcidulatedMalt(acidity), Amount::Mass(mass)) => {
                check::within("mass of acidulated malt", mass)?;
                stage.acid_malts.push(AcidMalt { mass, acidity });
            }
            (Remedy::Salt(salt), Amount::Mass(mass)) => {
                check::within(format_args!("{salt}: mass"), mass)?;
                stage.stir_in(salt, mass.g());
            }
            (what, Amount::Volume(_)) => {
                return Err(WaterError::SolidByVolume {
                    what: what.name().to_owned(),
                });
            }
        }
        check::ions("mash liquor", &stage.ions)?;
        Ok(stage)
    }

    /// All of a salt, dissolved or not: what does not dissolve at once does as the
    /// mash takes it up, and doses keep within solubility.
    fn stir_in(&mut self, salt: &Salt, grams: f64) {
        let g_per_l = grams / self.liquor.volume.l();
        let ions = salt.ions_per_g_per_l.times(g_per_l);
        self.ions = self.ions.plus(ions);
        let liquor = &mut self.liquor;
        liquor.alkalinity = Alkalinity::from_meq_per_l(
            liquor.alkalinity.meq_per_l() + salt.alkalinity_per_g_per_l.meq_per_l() * g_per_l,
        );
        liquor.calcium =
            Calcium::from_mg_per_l(liquor.calcium.mg_per_l() + ions.calcium.mg_per_l());
        liquor.magnesium =
            Magnesium::from_mg_per_l(liquor.magnesium.mg_per_l() + ions.magnesium.mg_per_l());
    }
}

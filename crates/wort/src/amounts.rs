//! What the reckoning of volumes reports: amounts of wort, the books, the batch.

use quantity::{Fraction, Gravity, Mass, Note, Temperature, Volume, VolumePerMass};

use crate::mix::Mix;

/// An amount of wort or water, at 20 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WortAmount {
    /// Volume.
    pub volume: Volume,
    /// Extract by mass.
    pub gravity: Gravity,
    /// Mass of extract.
    pub extract: Mass,
    /// Mass of water.
    pub water: Mass,
}

impl WortAmount {
    pub(crate) fn of(mix: Mix) -> Self {
        Self {
            volume: Volume::from_l(mix.volume_l()),
            gravity: Gravity::from_plato(mix.plato()),
            extract: Mass::from_kg(mix.extract_kg),
            water: Mass::from_kg(mix.water_kg),
        }
    }

    fn mix(self) -> Mix {
        Mix {
            extract_kg: self.extract.kg(),
            water_kg: self.water.kg(),
        }
    }

    /// The volume that it has at another temperature.
    #[must_use]
    pub fn volume_at(&self, temperature: Temperature) -> Volume {
        Volume::from_l(self.mix().volume_at(temperature.c()))
    }
}

/// One line of the ledger.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// What it is.
    pub name: &'static str,
    /// How much.
    pub mass: Mass,
}

/// Where the water and the extract come from and where they go. Starch takes up
/// some water as it becomes sugar; the laboratory extract already counts that, so
/// it is on neither side.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ledger {
    /// Water in.
    pub water_in: Vec<Entry>,
    /// Water out.
    pub water_out: Vec<Entry>,
    /// Extract in.
    pub extract_in: Vec<Entry>,
    /// Extract out.
    pub extract_out: Vec<Entry>,
}

impl Ledger {
    /// Water in less water out \[kg\]; zero but for rounding.
    #[must_use]
    pub fn water_gap_kg(&self) -> f64 {
        sum(&self.water_in) - sum(&self.water_out)
    }

    /// Extract in less extract out \[kg\]; zero but for rounding.
    #[must_use]
    pub fn extract_gap_kg(&self) -> f64 {
        sum(&self.extract_in) - sum(&self.extract_out)
    }
}

fn sum(entries: &[Entry]) -> f64 {
    entries.iter().map(|e| e.mass.kg()).sum()
}

/// Shares of what the two liquors carry in solution that reach the kettle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solutes {
    /// Of the mash liquor, and of what dissolves from the grain.
    pub mash: Fraction,
    /// Of the sparge liquor.
    pub sparge: Fraction,
}

/// The volumes of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Volumes {
    /// All mash liquor, infusions too; without grain, the water for the kettle.
    pub mash_liquor: Volume,
    /// All sparge liquor.
    pub sparge_liquor: Volume,
    /// Sparge liquor at its temperature.
    pub sparge_liquor_hot: Volume,
    /// Water to draw, top-up water too.
    pub total_water: Volume,
    /// Mash liquor per mass of grain; zero without grain.
    pub thickness: VolumePerMass,
    /// Volume of the whole mash, grain too, at 66 °C.
    pub mash_volume_hot: Volume,
    /// Run-offs in order. Of a continuous sparge: first wort, what the sparge
    /// drives out, and what drains at last.
    pub run_offs: Vec<WortAmount>,
    /// Extract of the last runnings.
    pub last_runnings: Gravity,
    /// Wort that stays with the grain and in the dead space.
    pub left_in_tun: WortAmount,
    /// Shares of the dissolved that reach the kettle.
    pub solutes: Solutes,
    /// Kettle full, sugars in it.
    pub pre_boil: WortAmount,
    /// Kettle full at the boiling point.
    pub pre_boil_hot: Volume,
    /// Steam.
    pub evaporated: Mass,
    /// After the boil.
    pub post_boil: WortAmount,
    /// After the boil at the boiling point.
    pub post_boil_hot: Volume,
    /// Left in the kettle.
    pub kettle_loss: WortAmount,
    /// Held back by hops.
    pub hop_loss: WortAmount,
    /// Left in chiller and hoses.
    pub transfer_loss: WortAmount,
    /// In the fermenter, top-up water in it; its gravity is the original gravity.
    pub into_fermenter: WortAmount,
    /// Extract in the kettle from the grain, of what the mash dissolved.
    pub lauter_efficiency: Fraction,
    /// Extract in the fermenter, of the laboratory extract of all that was used.
    pub brewhouse_efficiency: Fraction,
    /// The books.
    pub ledger: Ledger,
    /// Remarks.
    pub notes: Vec<Note>,
}

//! The pH of the mash: a balance of protons between malt, water and acid.

mod constants;

use quantity::{
    Alkalinity, Buffering, Calcium, Magnesium, Mass, Measured, Note, Ph, Quantity,
    TitratableAcidity, Volume,
};

use crate::acids::{Acid, AcidAmount, AcidProduct, protons_per_mole};
use crate::check;
use crate::error::WaterError;
use crate::state::BrewingWater;

pub use constants::{Constant, Constants, constants};

/// A malt, or several alike, in the mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MaltAcidity {
    /// Its mass.
    pub mass: Mass,
    /// The pH of its mash in distilled water, as a cooled sample reads.
    pub ph_di: Measured<Ph>,
    /// Its buffering about mash pH.
    pub buffer: Measured<Buffering>,
}

/// Acidulated malt: counted as its acid alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidMalt {
    /// Its mass.
    pub mass: Mass,
    /// Its acid, titrated to about mash pH.
    pub acidity: Measured<TitratableAcidity>,
}

impl AcidMalt {
    /// Acidulated malt whose acid was not measured: 300 ± 40 mEq/kg (from
    /// memory).
    #[must_use]
    pub fn unmeasured(mass: Mass) -> Self {
        let c = constants();
        Self {
            mass,
            acidity: Measured::with_sd(
                TitratableAcidity::from_meq_per_kg(c.acidulated_malt_meq_per_kg.value),
                c.acidulated_malt_sd_meq_per_kg.value,
            ),
        }
    }
}

/// An acid in the mash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MashAcid {
    /// The acid.
    pub product: &'static AcidProduct,
    /// How much.
    pub amount: AcidAmount,
}

/// The liquor that meets the malt.
#[derive(Debug, Clone, PartialEq)]
pub struct MashLiquor {
    /// How much.
    pub volume: Volume,
    /// Its alkalinity, without the acids named below.
    pub alkalinity: Alkalinity,
    /// Its calcium.
    pub calcium: Calcium,
    /// Its magnesium.
    pub magnesium: Magnesium,
    /// Acids in it or in the mash that its alkalinity does not count.
    pub acids: Vec<MashAcid>,
}

impl From<&BrewingWater> for MashLiquor {
    /// A treated water whose acids are already counted in its alkalinity, as they
    /// act at pH 5.4. [`TreatedWater::mash_liquor`](crate::TreatedWater) keeps
    /// them apart, which is closer where the mash lands elsewhere.
    fn from(water: &BrewingWater) -> Self {
        Self {
            volume: water.volume,
            alkalinity: water.alkalinity,
            calcium: water.ions.calcium,
            magnesium: water.ions.magnesium,
            acids: vec![],
        }
    }
}

/// A mash pH with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct MashPh {
    /// The pH, as a cooled sample reads, with its standard deviation.
    pub ph: Measured<Ph>,
    /// Where the standard deviation comes from.
    pub spread: MashPhSpread,
    /// The residual alkalinity of the liquor, its acids not counted.
    pub residual_alkalinity: Alkalinity,
    /// Base that the mash takes to rise by one pH \[mEq/pH\].
    pub buffering_meq_per_ph: f64,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// Standard deviations of the mash pH by origin \[pH\]; they add in quadrature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MashPhSpread {
    /// From the distilled-water pH of the malts.
    pub malt_ph: f64,
    /// From the buffering of the malts, as stated and by the doubt common to all.
    pub buffering: f64,
    /// From the acid of acidulated malt.
    pub acid_malt: f64,
    /// From what the model leaves out.
    pub model: f64,
}

impl MashPhSpread {
    fn sd(&self) -> f64 {
        [self.malt_ph, self.buffering, self.acid_malt, self.model]
            .iter()
            .map(|sd| sd * sd)
            .sum::<f64>()
            .sqrt()
    }
}

/// The pH of a mash, as a cooled sample reads.
///
/// Solves Σ mᵢ Bᵢ (pH − pH_DI,i) − V·RA + a + Σ n z(pH) = 0, with RA =
/// Alk − Ca/3.5 − Mg/7 (Kolbach 1953), a the acid of acidulated malt and z the
/// protons an acid gives ([`protons_per_mole`]). The form follows A. J. deLange,
/// *Estimating Mash pH* (opening text read), with the linear term alone.
///
/// All carbonate is taken to leave as CO₂. In a closed mash about a tenth of it
/// stays as bicarbonate at pH 5.4, so that about 0.1 of the alkalinity acts less.
///
/// The spread is of first order: pH_DI of each malt, its buffering, a doubt in
/// all buffering of a factor 1.5 (two standard deviations), and 0.05 to 0.1 for
/// the model, by how dark the grist is (judgement; no validation data were read).
/// Best between pH 5 and 6, where buffering is about constant.
///
/// # Errors
/// [`WaterError::OutOfBounds`], [`WaterError::NoMalt`], and
/// [`WaterError::MashOutOfReach`] where water and acid swamp the malt.
pub fn mash_ph(
    malts: &[MaltAcidity],
    acid_malts: &[AcidMalt],
    liquor: &MashLiquor,
) -> Result<MashPh, WaterError> {
    let balance = Balance::of(malts, acid_malts, liquor)?;
    let ph = balance.solve()?;
    let slope = balance.slope(ph);
    let spread = MashPhSpread {
        malt_ph: root_sum(malts.iter().map(|m| meq_per_ph(m) * m.ph_di.sd())) / slope,
        buffering: buffering_spread(malts, ph, slope),
        acid_malt: root_sum(acid_malts.iter().map(|a| a.mass.kg() * a.acidity.sd())) / slope,
        model: model_sd(malts, acid_malts),
    };
    Ok(MashPh {
        ph: Measured::with_sd(Ph::from_ph(ph), spread.sd()),
        spread,
        residual_alkalinity: residual(liquor),
        buffering_meq_per_ph: slope,
        notes: notes(ph, spread.sd(), liquor, slope),
    })
}

/// The balance of protons.
struct Balance {
    /// Σ m B \[mEq/pH\].
    malt_meq_per_ph: f64,
    /// Σ m B pH_DI \[mEq\].
    malt_meq: f64,
    /// V·RA less the acid of acidulated malt \[mEq\].
    base_meq: f64,
    /// Each acid \[mmol\].
    acids: Vec<(&'static Acid, f64)>,
}

impl Balance {
    fn of(
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
            base_meq: liquor.volume.l() * residual(liquor).meq_per_l() - acid_malt_meq,
            acids: acids.collect::<Result<_, WaterError>>()?,
        })
    }

    /// Base still wanted at a pH \[mEq\]; rises with the pH throughout.
    fn deficit(&self, ph: f64) -> f64 {
        let acid: f64 = self
            .acids
            .iter()
            .map(|(acid, mmol)| mmol * protons_per_mole(acid, Ph::from_ph(ph)))
            .sum();
        self.malt_meq_per_ph * ph - self.malt_meq - self.base_meq + acid
    }

    /// d deficit/d pH \[mEq/pH\].
    fn slope(&self, ph: f64) -> f64 {
        const STEP: f64 = 1e-4;
        let acid: f64 = self
            .acids
            .iter()
            .map(|(acid, mmol)| {
                let z = |at| protons_per_mole(acid, Ph::from_ph(at));
                mmol * (z(ph + STEP) - z(ph - STEP)) / (2.0 * STEP)
            })
            .sum();
        self.malt_meq_per_ph + acid
    }

    /// The pH at which nothing is wanting. Bisection: the deficit is monotone,
    /// and the answer is the same on every machine.
    fn solve(&self) -> Result<f64, WaterError> {
        let (mut low, mut high) = (Ph::MIN, Ph::MAX);
        let reachable = self.deficit(low) <= 0.0 && self.deficit(high) >= 0.0;
        if !reachable {
            let buffering_meq_per_ph = self.malt_meq_per_ph;
            return Err(WaterError::MashOutOfReach {
                buffering_meq_per_ph,
            });
        }
        for _ in 0..52 {
            let middle = f64::midpoint(low, high);
            if self.deficit(middle) < 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(f64::midpoint(low, high))
    }
}

fn meq_per_ph(malt: &MaltAcidity) -> f64 {
    malt.mass.kg() * malt.buffer.value.meq_per_kg_ph()
}

fn residual(liquor: &MashLiquor) -> Alkalinity {
    let c = constants();
    Alkalinity::from_meq_per_l(
        liquor.alkalinity.meq_per_l()
            - liquor.calcium.meq_per_l() / c.calcium_divisor.value
            - liquor.magnesium.meq_per_l() / c.magnesium_divisor.value,
    )
}

/// What malts state one by one, and the doubt that they share.
fn buffering_spread(malts: &[MaltAcidity], ph: f64, slope: f64) -> f64 {
    let off = |m: &MaltAcidity| ph - m.ph_di.value.ph();
    let own = root_sum(malts.iter().map(|m| m.mass.kg() * off(m) * m.buffer.sd()));
    let shared: f64 = malts.iter().map(|m| meq_per_ph(m) * off(m)).sum();
    own.hypot(shared * constants().ln_buffering_sd.value) / slope
}

fn model_sd(malts: &[MaltAcidity], acid_malts: &[AcidMalt]) -> f64 {
    let c = constants();
    let kg = |pick: &dyn Fn(&MaltAcidity) -> bool| -> f64 {
        malts.iter().filter(|m| pick(m)).map(|m| m.mass.kg()).sum()
    };
    let all = kg(&|_| true) + acid_malts.iter().map(|a| a.mass.kg()).sum::<f64>();
    let dark = kg(&|m| m.ph_di.value.ph() < c.dark_malt_ph.value) / all;
    let how_dark = (dark / c.dark_share.value).min(1.0);
    c.model_sd_pale.value + how_dark * (c.model_sd_dark.value - c.model_sd_pale.value)
}

fn root_sum(terms: impl Iterator<Item = f64>) -> f64 {
    terms.map(|x| x * x).sum::<f64>().sqrt()
}

fn notes(ph: f64, sd: f64, liquor: &MashLiquor, slope: f64) -> Vec<Note> {
    let c = constants();
    let mut notes = vec![Note::fine(format!(
        "Within {:.2} pH at two standard deviations: read a meter on a cooled sample after 10 to \
         15 min. At mash temperature the meter would read 0.2 to 0.35 lower.",
        2.0 * sd
    ))];
    let within = |low: &Constant, high: &Constant| (low.value..=high.value).contains(&ph);
    let (low, high) = (c.preferred_low.value, c.preferred_high.value);
    if !within(&c.workable_low, &c.workable_high) {
        let (from, to) = (c.workable_low.value, c.workable_high.value);
        let way = if ph > to {
            "acid, calcium or less alkalinity"
        } else {
            "less acid"
        };
        notes.push(Note::act(format!(
            "A mash pH of {ph:.2} is outside {from}-{to}, where mashes work: it wants {way}."
        )));
    } else if !within(&c.preferred_low, &c.preferred_high) {
        notes.push(Note::look(format!(
            "A mash pH of {ph:.2} works; {low}-{high} is preferred."
        )));
    }
    // About a tenth of the bicarbonate stays in a closed mash at pH 5.4.
    let closed = 0.1 * liquor.alkalinity.meq_per_l().max(0.0) * liquor.volume.l() / slope;
    if closed > 0.02 {
        notes.push(Note::fine(format!(
            "All carbon dioxide is taken to leave the mash; in a closed one the pH would be lower \
             by about {closed:.2}."
        )));
    }
    notes
}

fn check_malts(malts: &[MaltAcidity], acid_malts: &[AcidMalt]) -> Result<(), WaterError> {
    for malt in malts {
        check::within("mass of malt", malt.mass)?;
        check::measured("distilled-water pH of malt", &malt.ph_di)?;
        check::measured("buffering of malt", &malt.buffer)?;
    }
    for malt in acid_malts {
        check::within("mass of acidulated malt", malt.mass)?;
        check::measured("acidity of acidulated malt", &malt.acidity)?;
    }
    Ok(())
}

fn check_liquor(liquor: &MashLiquor) -> Result<(), WaterError> {
    check::within("mash volume", liquor.volume)?;
    check::within("alkalinity of the mash liquor", liquor.alkalinity)?;
    check::within("calcium of the mash liquor", liquor.calcium)?;
    check::within("magnesium of the mash liquor", liquor.magnesium)?;
    Ok(())
}

#[cfg(test)]
mod tests;

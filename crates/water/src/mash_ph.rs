//! The pH of the mash: a balance of protons between malt, water and acid.

mod balance;
mod constants;
mod titration;

use quantity::{
    Alkalinity, Buffering, Calcium, Magnesium, Mass, Measured, Note, Ph, TitratableAcidity, Volume,
};

use crate::acids::{AcidAmount, AcidProduct};
use crate::check;
use crate::error::WaterError;
use crate::state::BrewingWater;

pub(crate) use balance::Balance;
use balance::{meq_per_ph, residual};
pub use constants::{Constant, Constants, constants};
pub use titration::{Added, MaltTitration, TitrationPoint, titrated};

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

/// What becomes of the carbon dioxide that the mash drives out of bicarbonate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Tun {
    /// It leaves, all of it: a mash that is stirred or stands open.
    #[default]
    Open,
    /// It stays, all of it: a closed tun. At pH 5.4 about a tenth of the carbonate
    /// is still bicarbonate, so that about 0.1 of the alkalinity acts less.
    Closed,
}

/// A mash pH with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct MashPh {
    /// The pH, as a cooled sample reads, with its standard deviation.
    pub ph: Measured<Ph>,
    /// Where the standard deviation comes from.
    pub spread: MashPhSpread,
    /// What of it each malt answers for, in the order given.
    pub by_malt: Vec<MaltSpread>,
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

/// What of the spread a malt answers for \[pH\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MaltSpread {
    /// By how much the mash pH moves for one of the malt's distilled-water pH.
    pub weight: f64,
    /// Standard deviation from its distilled-water pH.
    pub malt_ph: f64,
    /// Standard deviation from its own buffering.
    pub buffering: f64,
}

impl MashPh {
    /// Which malt to measure next, and what that buys: a remark where measuring the
    /// distilled-water pH of the malt that counts most would make the band narrower
    /// by a tenth or more. `names` are those of the malts, in the order given.
    #[must_use]
    pub fn measure_next(&self, names: &[&str]) -> Option<Note> {
        let most = self
            .by_malt
            .iter()
            .zip(names)
            .max_by(|(a, _), (b, _)| a.malt_ph.total_cmp(&b.malt_ph));
        let (malt, name) = most?;
        let sd = self.spread.sd();
        let measured = (malt.weight * constants().own_ph_sd.value).min(malt.malt_ph);
        let left = (sd * sd - malt.malt_ph * malt.malt_ph + measured * measured)
            .max(0.0)
            .sqrt();
        (left < 0.9 * sd).then(|| {
            Note::fine(format!(
                "Most of what is not known of the mash pH is the {name}: measure its pH in \
                 distilled water (a cooled sample of a small mash), and the band goes from ± {:.2} \
                 to ± {:.2}.",
                2.0 * sd,
                2.0 * left
            ))
        })
    }
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
/// protons an acid gives ([`protons_per_mole`](crate::acids::protons_per_mole)). The
/// form follows A. J. deLange, *Estimating Mash pH* (opening text read), with the
/// linear term alone; [`titrated`] makes it exact at one pH for a malt that bends.
///
/// All carbonate is taken to leave as CO₂; [`mash_ph_in`] reckons a closed tun.
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
    mash_ph_in(Tun::Open, malts, acid_malts, liquor)
}

/// As [`mash_ph`], for an open or a closed tun.
///
/// In a closed one the alkalinity that acts is Alk − C_T·α(pH), with α =
/// 1/(1 + 10^(pK₁ − pH)) the share of carbonate that stays bicarbonate, pK₁ 6.38 at
/// 20 °C (Plummer & Busenberg 1982). C_T is taken as the alkalinity of the liquor
/// before acid: the carbon dioxide that the water itself brought is left out.
///
/// # Errors
/// As [`mash_ph`].
pub fn mash_ph_in(
    tun: Tun,
    malts: &[MaltAcidity],
    acid_malts: &[AcidMalt],
    liquor: &MashLiquor,
) -> Result<MashPh, WaterError> {
    let balance = Balance::of(tun, malts, acid_malts, liquor)?;
    let ph = balance.solve()?;
    let slope = balance.slope(ph);
    let by_malt: Vec<MaltSpread> = malts.iter().map(|m| spread_of(m, ph, slope)).collect();
    let spread = MashPhSpread {
        malt_ph: root_sum(by_malt.iter().map(|m| m.malt_ph)),
        buffering: buffering_spread(malts, ph, slope),
        acid_malt: root_sum(acid_malts.iter().map(|a| a.mass.kg() * a.acidity.sd())) / slope,
        model: model_sd(malts, acid_malts),
    };
    let other = match tun {
        Tun::Open => Tun::Closed,
        Tun::Closed => Tun::Open,
    };
    let otherwise = Balance::of(other, malts, acid_malts, liquor)?.solve()?;
    let mut notes = notes(ph, spread.sd());
    notes.extend(tun_note(tun, (otherwise - ph).abs()));
    Ok(MashPh {
        ph: Measured::with_sd(Ph::from_ph(ph), spread.sd()),
        spread,
        by_malt,
        residual_alkalinity: residual(liquor),
        buffering_meq_per_ph: slope,
        notes,
    })
}

fn spread_of(malt: &MaltAcidity, ph: f64, slope: f64) -> MaltSpread {
    let weight = meq_per_ph(malt) / slope;
    let off = ph - malt.ph_di.value.ph();
    MaltSpread {
        weight,
        malt_ph: weight * malt.ph_di.sd(),
        buffering: malt.mass.kg() * off.abs() * malt.buffer.sd() / slope,
    }
}

/// What malts state one by one, and the doubt that they share.
fn buffering_spread(malts: &[MaltAcidity], ph: f64, slope: f64) -> f64 {
    let off = |m: &MaltAcidity| ph - m.ph_di.value.ph();
    let own = root_sum(malts.iter().map(|m| m.mass.kg() * off(m) * m.buffer.sd()));
    let shared: f64 = malts.iter().map(|m| meq_per_ph(m) * off(m)).sum();
    own.hypot(shared * constants().ln_buffering_sd.value) / slope
}

pub(crate) fn model_sd(malts: &[MaltAcidity], acid_malts: &[AcidMalt]) -> f64 {
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

fn notes(ph: f64, sd: f64) -> Vec<Note> {
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
    notes
}

/// What the other kind of tun would make of it, where that is worth a word.
fn tun_note(tun: Tun, lower_when_closed: f64) -> Option<Note> {
    (lower_when_closed > 0.02).then(|| {
        Note::fine(match tun {
            Tun::Open => format!(
                "All carbon dioxide is taken to leave the mash; in a closed one the pH would be \
                 lower by about {lower_when_closed:.2}."
            ),
            Tun::Closed => format!(
                "All carbon dioxide is taken to stay in the mash; stirred open, the pH would be \
                 higher by about {lower_when_closed:.2}."
            ),
        })
    })
}

pub(crate) fn check_malts(
    malts: &[MaltAcidity],
    acid_malts: &[AcidMalt],
) -> Result<(), WaterError> {
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

pub(crate) fn check_liquor(liquor: &MashLiquor) -> Result<(), WaterError> {
    check::within("mash volume", liquor.volume)?;
    check::within("alkalinity of the mash liquor", liquor.alkalinity)?;
    check::within("calcium of the mash liquor", liquor.calcium)?;
    check::within("magnesium of the mash liquor", liquor.magnesium)?;
    Ok(())
}

#[cfg(test)]
mod tests;

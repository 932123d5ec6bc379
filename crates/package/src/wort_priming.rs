//! Priming with wort: unfermented wort kept from the brew day, or wort in full
//! fermentation.

use quantity::{CarbonDioxide, Caution, Fraction, Gravity, Measured, Note, Spread, Volume};

use crate::error::{PackageError, sound, within};
use crate::priming::{LEAST_VOLUME_L, REAL_PER_APPARENT, beer_kg_per_l};

/// CO₂ from a gram of extract \[g\]: with the yeast's share by Balling (from memory, in
/// De Clerck), and without it (computed from the molar masses, as disaccharide).
const WITH_GROWTH: f64 = 0.9565 / 2.0665;
const WITHOUT_GROWTH: f64 = 0.5143;

/// Wort to prime with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PrimingWort {
    /// What it was before any fermentation.
    pub original: Gravity,
    /// What it is now: the same, or less where it ferments already.
    pub now: Gravity,
    /// Apparent limit of its attenuation.
    pub limit: Fraction,
    /// CO₂ that it holds now.
    pub held: CarbonDioxide,
}

/// How much of it, and what comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct WortDose {
    /// How much wort.
    pub volume: Volume,
    /// CO₂ of the beer with it, by the share that yeast takes.
    pub carbon_dioxide: Measured<CarbonDioxide>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

impl PrimingWort {
    /// How much wort brings beer to an aim.
    ///
    /// V_w = V (c − c₀)/(y + c_w − c), y the CO₂ of a litre: extract that still
    /// ferments (by 0.8192 of the apparent) times 0.463 g/g with the yeast's share or
    /// 0.514 without. The dose is reckoned without it, so that the aim is not overshot.
    ///
    /// # Errors
    /// [`PackageError::WeakWort`] where no amount suffices; [`PackageError::Impossible`]
    /// for gravities outside 0 to 35 °P or of the wrong order, or without beer.
    pub fn dose(
        &self,
        beer: Volume,
        held: CarbonDioxide,
        aim: CarbonDioxide,
    ) -> Result<WortDose, PackageError> {
        let beer_l = within("volume", beer, LEAST_VOLUME_L, 1e5)?.l();
        let held = sound("carbon dioxide in the beer", held)?.g_per_l();
        let aim_g_per_l = sound("carbon dioxide aimed at", aim)?.g_per_l();
        let extract_g_per_l = self.ferments_g_per_l()?;
        let own = sound("carbon dioxide in the wort", self.held)?.g_per_l();
        let brings = extract_g_per_l * WITHOUT_GROWTH + own;
        if brings <= aim_g_per_l {
            return Err(PackageError::WeakWort {
                brings_g_per_l: brings,
                aim_g_per_l,
            });
        }
        let wort_l = (beer_l * (aim_g_per_l - held) / (brings - aim_g_per_l)).max(0.0);
        let blended = |yield_g: f64| {
            (beer_l * held + wort_l * (own + extract_g_per_l * yield_g)) / (beer_l + wort_l)
        };
        let (low, high) = (blended(WITH_GROWTH), blended(WITHOUT_GROWTH));
        Ok(WortDose {
            volume: Volume::from_l(wort_l),
            carbon_dioxide: Measured {
                value: CarbonDioxide::from_g_per_l(f64::midpoint(low, high)),
                spread: Spread::Range { low, high },
            },
            notes: vec![Note::look(
                "the limit of attenuation decides: measure it on this wort, or the dose is a guess",
            )],
            cautions: vec![Caution::StoredWort],
        })
    }

    /// Real extract that still ferments \[g/L\].
    fn ferments_g_per_l(&self) -> Result<f64, PackageError> {
        let original = within("gravity of the wort", self.original, 0.1, 35.0)?;
        let now = within("gravity of the wort now", self.now, -5.0, original.plato())?;
        let limit = within("limit of attenuation", self.limit, 0.0, 1.0)?.ratio();
        let end_plato = original.plato() * (1.0 - limit);
        let apparent = (now.plato() - end_plato).max(0.0);
        Ok(apparent * REAL_PER_APPARENT * 10.0 * beer_kg_per_l(now))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn wort(original: f64, now: f64, limit: f64) -> PrimingWort {
        PrimingWort {
            original: Gravity::from_plato(original),
            now: Gravity::from_plato(now),
            limit: Fraction::from_ratio(limit),
            held: CarbonDioxide::from_g_per_l(0.0),
        }
    }

    fn dose(wort: &PrimingWort, held: f64, aim: f64) -> WortDose {
        let volumes = CarbonDioxide::from_volumes;
        wort.dose(Volume::from_l(20.0), volumes(held), volumes(aim))
            .unwrap()
    }

    /// By hand: 12 °P is 125.57 g/L (ICUMSA); at 80 % apparent 65.5 % of it ferment,
    /// 82.3 g/L, and give 42.3 g/L of CO2; from 0.85 to 2.5 volumes 20 L lack 65.2 g,
    /// and a litre brings 42.3 − 4.9 = 37.4 g above the aim: 1.74 L.
    #[test]
    fn wort_of_the_brew_day_primes_as_by_hand() {
        let found = dose(&wort(12.0, 12.0, 0.80), 0.85, 2.5);
        assert!((found.volume.l() - 1.74).abs() < 0.01, "{:?}", found.volume);
        let Spread::Range { low, high } = found.carbon_dioxide.spread else {
            panic!("a range");
        };
        let aim = CarbonDioxide::from_volumes(2.5).g_per_l();
        assert!((high - aim).abs() < 1e-9 && low < high);
        assert!(found.cautions.contains(&Caution::StoredWort));
    }

    #[test]
    fn weak_or_turned_wort_is_refused() {
        let volumes = CarbonDioxide::from_volumes;
        let weak = wort(12.0, 2.6, 0.80);
        let error = weak
            .dose(Volume::from_l(20.0), volumes(0.8), volumes(2.5))
            .unwrap_err()
            .to_string();
        assert!(error.contains("take stronger"), "{error}");
        let turned = wort(10.0, 12.0, 0.8);
        assert!(
            turned
                .dose(Volume::from_l(20.0), volumes(0.8), volumes(2.5))
                .is_err()
        );
    }

    proptest! {
        #[test]
        fn carbon_dioxide_is_conserved(
            original in 8.0..20.0f64, gone in 0.0..0.5f64, limit in 0.7..0.85f64,
            held in 0.5..1.2f64, more in 0.5..2.0f64,
        ) {
            let wort = wort(original, original * (1.0 - gone * limit), limit);
            let found = dose(&wort, held, held + more);
            let Spread::Range { high, .. } = found.carbon_dioxide.spread else { panic!("a range") };
            let all = 20.0 * CarbonDioxide::from_volumes(held).g_per_l()
                + found.volume.l() * wort.ferments_g_per_l().unwrap() * WITHOUT_GROWTH;
            prop_assert!((high * (20.0 + found.volume.l()) - all).abs() < 1e-9 * all);
            let more_fermented = PrimingWort { now: Gravity::from_plato(wort.now.plato() * 0.98), ..wort };
            prop_assert!(dose(&more_fermented, held, held + more).volume > found.volume);
        }
    }
}

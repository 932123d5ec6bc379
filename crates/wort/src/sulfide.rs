//! Dimethyl sulfide: made from S-methylmethionine by heat, driven off by the boil.

use quantity::{Duration, Ph, Temperature};

use crate::error::{WortError, check};

/// Half-life of S-methylmethionine at 100 °C and pH 5.2 \[min\]; Dickenson 1979
/// (read as quoted), who has 32.5 min at pH 5.5.
const HALF_LIFE_MIN: f64 = 38.0;
const HALF_LIFE_PH_5_5_MIN: f64 = 32.5;
/// Activation energy \[J/mol\], equivalent to a half-life that doubles for each
/// 6 °C of cooling near the boil (rule read as quoted; energy computed).
const ACTIVATION_J_PER_MOL: f64 = 131_600.0;
const GAS_CONSTANT: f64 = 8.314_462;
/// Rate of stripping \[1/min\] when 17 % of the wort evaporates in an hour; Wilson
/// & Booer, *J. Inst. Brew.* 85, 144, 1979 (abstract read).
const STRIPPING_PER_MIN: f64 = 0.18;
const STRIPPING_AT_PER_H: f64 = 0.17;

/// Half-life of S-methylmethionine in wort \[min\], as it becomes dimethyl sulfide.
///
/// 38 min at 100 °C and pH 5.2, by Arrhenius with 131.6 kJ/mol; in pH, the logarithm
/// is linear through 38 min at 5.2 and 32.5 min at 5.5. Good at the boil, fair below.
///
/// # Errors
/// [`WortError::Impossible`] outside −5 to 150 °C or pH 3 to 8.
pub fn smm_half_life(temperature: Temperature, ph: Ph) -> Result<Duration, WortError> {
    let temp_c = check("temperature", temperature.c(), "°C", -5.0, 150.0)?;
    let ph = check("pH", ph.ph(), "", 3.0, 8.0)?;
    Ok(Duration::from_min(
        std::f64::consts::LN_2 / conversion(temp_c, ph),
    ))
}

/// Rate at which the boil drives off dimethyl sulfide \[1/min\]: 0.18 at 17 %/h of
/// evaporation, in proportion to it (judgement). Laboratory boils of low power
/// (Desobgo et al., *J. Am. Soc. Brew. Chem.* 73, 84, 2015, abstract) have 0.014
/// to 0.044.
pub(crate) fn stripping(evaporation_kg_per_h: f64, wort_kg: f64) -> f64 {
    STRIPPING_PER_MIN * evaporation_kg_per_h / wort_kg / STRIPPING_AT_PER_H
}

/// Rate at which S-methylmethionine becomes dimethyl sulfide \[1/min\].
pub(crate) fn conversion(temp_c: f64, ph: f64) -> f64 {
    let inverse = |c: f64| 1.0 / (c + quantity::ZERO_CELSIUS_K);
    let heat = ACTIVATION_J_PER_MOL / GAS_CONSTANT * (inverse(temp_c) - inverse(100.0));
    let per_ph = (HALF_LIFE_MIN / HALF_LIFE_PH_5_5_MIN).ln() / 0.3;
    std::f64::consts::LN_2 / HALF_LIFE_MIN * (per_ph * (ph - 5.2) - heat).exp()
}

/// S-methylmethionine and dimethyl sulfide, all counted as dimethyl sulfide, in
/// any unit of mass.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Sulfide {
    /// Still S-methylmethionine.
    pub(crate) smm: f64,
    /// Dimethyl sulfide in the wort.
    pub(crate) dms: f64,
    /// Dimethyl sulfide gone with the steam.
    pub(crate) stripped: f64,
}

impl Sulfide {
    /// After a time at constant rates.
    ///
    /// S = S₀e^(−k₁t); D = D₀e^(−k₂t) + k₁S₀/(k₂ − k₁)·(e^(−k₁t) − e^(−k₂t)); stripped by
    /// ∫k₂D dt = D₀(1 − e^(−k₂t)) + S₀/(k₂ − k₁)·(k₂(1 − e^(−k₁t)) − k₁(1 − e^(−k₂t))).
    pub(crate) fn after(self, conversion_per_min: f64, stripping_per_min: f64, min: f64) -> Self {
        let k1 = conversion_per_min;
        // Where the two rates meet the formula is 0/0; a billionth apart it is not.
        let k2 = if (stripping_per_min - k1).abs() < 1e-7 * k1 {
            k1 * (1.0 + 1e-7)
        } else {
            stripping_per_min
        };
        let (gone1, gone2) = (-(-k1 * min).exp_m1(), -(-k2 * min).exp_m1());
        let apart = k2 - k1;
        Self {
            smm: self.smm * (1.0 - gone1),
            dms: self.dms * (1.0 - gone2) + k1 * self.smm / apart * (gone2 - gone1),
            stripped: self.stripped
                + self.dms * gone2
                + self.smm / apart * (k2 * gone1 - k1 * gone2),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn near(ours: f64, printed: f64, tolerance: f64) {
        assert!(
            (ours - printed).abs() <= tolerance,
            "{ours} against {printed}"
        );
    }

    /// Half-lives: 38 min at pH 5.2 and 32.5 at 5.5 (Dickenson 1979); the others
    /// computed by Arrhenius with 131.6 kJ/mol.
    #[test]
    fn half_lives() {
        for (temp_c, printed, tolerance) in [
            (100.0, 38.0, 1e-9),
            (98.0, 47.8, 0.06),
            (95.0, 67.6, 0.06),
            (94.0, 76.0, 0.6),
            (90.0, 122.0, 0.6),
            (88.0, 156.0, 0.6),
            (85.0, 225.0, 0.6),
            (82.0, 326.0, 0.6),
            (80.0, 420.0, 1.0),
            (75.0, 799.0, 1.5),
            (70.0, 1550.0, 8.0),
        ] {
            let ours = smm_half_life(Temperature::from_c(temp_c), Ph::from_ph(5.2)).unwrap();
            near(ours.min(), printed, tolerance);
        }
        near(std::f64::consts::LN_2 / conversion(100.0, 5.5), 32.5, 1e-9);
        // 5.2 % more for each tenth of pH.
        near(conversion(100.0, 5.3) / conversion(100.0, 5.2), 1.052, 2e-3);
        near(conversion(100.0, 5.2), 0.018_24, 6e-6);
        near(conversion(100.0, 5.5), 0.021_33, 6e-6);
    }

    /// The rule that the half-life doubles for each 6 °C of cooling (read as quoted, its
    /// column computed): Arrhenius with its energy near the boil keeps to it within a
    /// tenth as far as 80 °C, and within 28 % at 70.
    #[test]
    fn the_rule_of_six_degrees_is_kept_near_the_boil() {
        for (temp_c, rule, apart) in [
            (100.0, 38.0, 0.001),
            (98.0, 47.9, 0.01),
            (95.0, 67.7, 0.01),
            (94.0, 76.0, 0.01),
            (90.0, 120.6, 0.02),
            (88.0, 152.0, 0.03),
            (85.0, 215.0, 0.05),
            (82.0, 304.0, 0.08),
            (80.0, 383.0, 0.10),
            (75.0, 683.0, 0.18),
            (70.0, 1216.0, 0.28),
        ] {
            let ours = std::f64::consts::LN_2 / conversion(temp_c, 5.2);
            near(ours / rule, 1.0, apart);
        }
    }

    /// The two equations of Wilson & Booer 1979 with the rates of three papers,
    /// computed with NumPy.
    #[test]
    fn boils_with_stripping() {
        for (k1, k2, min, smm, dms) in [
            (0.02, 0.18, 60.0, 30.12, 3.77),
            (0.02, 0.18, 90.0, 16.53, 2.07),
            (0.018_24, 0.18, 60.0, 33.47, 3.77),
            (0.018_24, 0.036, 60.0, 33.47, 22.5),
            (0.018_24, 0.0143, 60.0, 33.47, 41.3),
        ] {
            let out = Sulfide {
                smm: 100.0,
                dms: 0.0,
                stripped: 0.0,
            }
            .after(k1, k2, min);
            near(out.smm, smm, 6e-3);
            near(out.dms, dms, if dms > 10.0 { 0.06 } else { 6e-3 });
        }
    }

    #[test]
    fn stripping_is_that_of_wilson_and_booer_at_their_evaporation() {
        near(stripping(17.0, 100.0), 0.18, 1e-12);
    }

    proptest! {
        #[test]
        fn sulfur_is_conserved(
            smm in 0.0..1000.0f64, dms in 0.0..1000.0f64,
            k1 in 1e-6..0.1f64, ratio in 0.0..20.0f64, min in 0.0..1000.0f64,
        ) {
            let start = Sulfide { smm, dms, stripped: 0.0 };
            for k2 in [k1 * ratio, k1, k1 * (1.0 + 1e-8)] {
                let end = start.after(k1, k2, min);
                let total = end.smm + end.dms + end.stripped;
                prop_assert!((total - smm - dms).abs() < 1e-5 * (1.0 + smm + dms), "{end:?}");
                prop_assert!(end.smm >= 0.0 && end.dms >= -1e-9 && end.stripped >= -1e-5 * (1.0 + smm));
            }
        }
    }
}

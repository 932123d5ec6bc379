//! Hardness and what alkalinity it leaves.

use quantity::{Alkalinity, Hardness};

use crate::mash_ph::constants;
use crate::state::Ions;

/// Calcium and magnesium together \[mEq/L\].
///
/// The same as Standard Methods 2340 B, 2.497 Ca + 4.118 Mg in mg/L as CaCO₃.
#[must_use]
pub fn total_hardness(ions: &Ions) -> Hardness {
    Hardness::from_meq_per_l(ions.calcium.meq_per_l() + ions.magnesium.meq_per_l())
}

/// The part of the hardness that goes with bicarbonate and can fall out on
/// boiling \[mEq/L\]: the smaller of hardness and alkalinity, at least nought.
#[must_use]
pub fn temporary_hardness(ions: &Ions, alkalinity: Alkalinity) -> Hardness {
    let hardness = total_hardness(ions).meq_per_l();
    Hardness::from_meq_per_l(hardness.min(alkalinity.meq_per_l()).max(0.0))
}

/// Alkalinity left after calcium and magnesium act \[mEq/L\]:
/// Alk − Ca/3.5 − Mg/7.
///
/// Source: Kolbach 1953, Monatsschr. Brau. 6, 49 (factors from memory). It was
/// found for wort; in the mash the factors may differ with the malt
/// (J. Am. Soc. Brew. Chem. 2015, 73, abstract).
#[must_use]
pub fn residual_alkalinity(ions: &Ions, alkalinity: Alkalinity) -> Alkalinity {
    let c = constants();
    Alkalinity::from_meq_per_l(
        alkalinity.meq_per_l()
            - ions.calcium.meq_per_l() / c.calcium_divisor.value
            - ions.magnesium.meq_per_l() / c.magnesium_divisor.value,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{CACO3_MG_PER_MEQ, Calcium, Magnesium};

    fn ions(calcium_mmol: f64, magnesium_mmol: f64) -> Ions {
        Ions {
            calcium: Calcium::from_mg_per_l(calcium_mmol * Calcium::MOLAR_MASS),
            magnesium: Magnesium::from_mg_per_l(magnesium_mmol * Magnesium::MOLAR_MASS),
            ..Ions::default()
        }
    }

    /// Four charge-balanced waters (soft, hard, gypsum, soda), residual
    /// alkalinity computed by hand from Kolbach's formula to four decimals.
    #[test]
    fn residual_alkalinity_of_four_waters() {
        for (ca, mg, alkalinity, printed) in [
            (0.20, 0.10, 0.45, 0.3071),
            (2.75, 0.75, 5.70, 3.9143),
            (7.00, 1.50, 4.00, -0.4286),
            (0.50, 0.25, 5.30, 4.9429),
        ] {
            let alkalinity = Alkalinity::from_meq_per_l(alkalinity);
            let ours = residual_alkalinity(&ions(ca, mg), alkalinity).meq_per_l();
            assert!((ours - printed).abs() < 5e-5, "{ours} against {printed}");
        }
    }

    /// Standard Methods 2340 B: 2.497 Ca + 4.118 Mg, mg/L as CaCO₃.
    #[test]
    fn hardness_follows_standard_methods() {
        let one = |ca, mg| {
            let ions = Ions {
                calcium: Calcium::from_mg_per_l(ca),
                magnesium: Magnesium::from_mg_per_l(mg),
                ..Ions::default()
            };
            total_hardness(&ions).meq_per_l() * CACO3_MG_PER_MEQ
        };
        assert!((one(1.0, 0.0) - 2.497).abs() < 5e-4);
        assert!((one(0.0, 1.0) - 4.118).abs() < 5e-4);
    }

    #[test]
    fn temporary_hardness_is_the_smaller() {
        for (ca, mg, alkalinity, expected) in [
            (2.75, 0.75, 5.7, 5.7),
            (0.5, 0.25, 5.3, 1.5),
            (1.0, 0.0, -0.4, 0.0),
        ] {
            let ours = temporary_hardness(&ions(ca, mg), Alkalinity::from_meq_per_l(alkalinity));
            assert!((ours.meq_per_l() - expected).abs() < 1e-12);
        }
    }
}

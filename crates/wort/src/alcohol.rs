//! Original, apparent and real extract, alcohol and attenuation.
//!
//! The recommended route joins two relations: Balling's masses (1865; constants
//! read in Speers, *Brewing Calculations*, 2015), 2.0665 g of extract giving 1 g
//! of ethanol with 0.9565 g of CO₂ and 0.11 g of yeast, and Tabarié's sum of
//! densities, SG of beer = SG of its extract in water + SG of its alcohol in
//! water − 1, each at the same grams per litre.

mod analysis;

pub(crate) use analysis::analysis_of;
pub use analysis::{Analysis, analysis};

use quantity::density::{beer_specific_gravity, pure_ethanol_density, sucrose_density};
use quantity::{AlcoholByVolume, Fraction, Gravity};

use crate::error::{WortError, check};
use crate::numeric::root;

/// Extract that gives one part of ethanol, by mass (Balling). The proportions
/// were measured on wort extract, mostly maltose: the water that maltose takes up
/// on splitting (5 %) is inside them, so the mass closes with no water taken up.
pub const EXTRACT_PER_ETHANOL: f64 = 2.0665;
/// CO₂ beside one part of ethanol, by mass (Balling).
pub const CO2_PER_ETHANOL: f64 = 0.9565;
/// Yeast beside one part of ethanol, by mass (Balling).
pub const YEAST_PER_ETHANOL: f64 = 0.11;
/// What leaves the beer for one part of ethanol.
const LOST_PER_ETHANOL: f64 = CO2_PER_ETHANOL + YEAST_PER_ETHANOL;

/// A beer's extract and alcohol.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beer {
    /// Extract before fermentation.
    pub original: Gravity,
    /// What the hydrometer says.
    pub apparent: Gravity,
    /// Extract that is there.
    pub real: Gravity,
    /// Ethanol by mass.
    pub alcohol_by_mass: Fraction,
    /// Ethanol by volume at 20 °C.
    pub alcohol: AlcoholByVolume,
}

impl Beer {
    /// Share of the original extract that seems gone \[–\]; above 1 for beers
    /// lighter than water.
    #[must_use]
    pub fn apparent_attenuation(&self) -> Fraction {
        let original = self.original.plato();
        Fraction::from_ratio((original - self.apparent.plato()) / original)
    }

    /// Real degree of fermentation \[–\]: (OE − RE)/OE/(1 − 0.005161·RE), ASBC
    /// method Beer-6 (constant and form read in Speers 2015).
    #[must_use]
    pub fn real_attenuation(&self) -> Fraction {
        let (original, real) = (self.original.plato(), self.real.plato());
        Fraction::from_ratio((original - real) / original / (1.0 - 0.005_161 * real))
    }

    /// Share of the extract that was fermented, yeast grown on it included \[–\].
    #[must_use]
    pub fn fermented(&self) -> Fraction {
        let gone = EXTRACT_PER_ETHANOL * self.alcohol_by_mass.ratio() * 100.0;
        Fraction::from_ratio(gone / (gone + self.real.plato()))
    }
}

/// Extract and alcohol from original and apparent extract, by Balling and
/// Tabarié.
///
/// Agrees with the means of 257 commercial beers (Cutaia, Reid & Speers, *J.
/// Inst. Brew.* 115, 318–327, 2009) within 0.1 % of alcohol by mass.
///
/// # Errors
/// [`WortError::ApparentAboveOriginal`]; [`WortError::Impossible`] for an original
/// extract outside 0.1 to 40 °P or an apparent extract that no fermentation
/// reaches.
pub fn beer(original: Gravity, apparent: Gravity) -> Result<Beer, WortError> {
    let (oe, ae) = check_pair(original, apparent)?;
    let sg = apparent.sg();
    let least = sg_by_tabarie(oe, 0.0);
    if sg < least {
        let least_plato = Gravity::from_sg(least).plato();
        check("apparent extract", ae, "°P", least_plato, oe)?;
    }
    let real = root(0.0, oe, |re| sg_by_tabarie(oe, re) - sg);
    Ok(assembled(
        original,
        apparent,
        real,
        balling_alcohol(oe, real),
    ))
}

/// Extract and alcohol by the classical quotient: RE = 0.1808·OE + 0.8192·AE
/// (from memory), alcohol by Balling. Its two errors cancel in the alcohol; its
/// real extract is about 0.15 °P low.
///
/// # Errors
/// As [`beer`].
pub fn beer_by_classical_quotient(original: Gravity, apparent: Gravity) -> Result<Beer, WortError> {
    let (oe, ae) = check_pair(original, apparent)?;
    let real = 0.1808 * oe + 0.8192 * ae;
    Ok(assembled(
        original,
        apparent,
        real,
        balling_alcohol(oe, real),
    ))
}

/// The beer that a share of fermented extract makes.
///
/// With f the share, T the extract that a hundred grams of beer came from:
/// T = 100·OE/(100 − 1.0665·f·OE/2.0665), A = f·T/2.0665, RE = (1 − f)·T.
///
/// # Errors
/// [`WortError::Impossible`] for a share outside 0 to 100 % or an original extract
/// outside 0.1 to 40 °P.
pub fn beer_from_fermented(original: Gravity, fermented: Fraction) -> Result<Beer, WortError> {
    let oe = check("original extract", original.plato(), "°P", 0.1, 40.0)?;
    let f = check(
        "share of extract fermented",
        fermented.ratio() * 100.0,
        "%",
        0.0,
        100.0,
    )? / 100.0;
    let from = 100.0 * oe / (100.0 - LOST_PER_ETHANOL * f * oe / EXTRACT_PER_ETHANOL);
    let (real, alcohol) = ((1.0 - f) * from, f * from / EXTRACT_PER_ETHANOL);
    let apparent = Gravity::from_sg(sg_by_tabarie(oe, real));
    Ok(assembled(original, apparent, real, alcohol))
}

/// Real extract \[°P\] from original and apparent extract; see [`beer`].
///
/// # Errors
/// As [`beer`].
pub fn real_extract(original: Gravity, apparent: Gravity) -> Result<Gravity, WortError> {
    Ok(beer(original, apparent)?.real)
}

/// Alcohol by volume from original and apparent extract; see [`beer`].
///
/// # Errors
/// As [`beer`].
pub fn alcohol_by_volume(
    original: Gravity,
    apparent: Gravity,
) -> Result<AlcoholByVolume, WortError> {
    Ok(beer(original, apparent)?.alcohol)
}

/// Original extract \[°P\] from what is in the beer (Balling):
/// OE = 100(2.0665·A + RE)/(100 + 1.0665·A), A in per cent by mass.
#[must_use]
pub fn original_extract(alcohol_by_mass: Fraction, real: Gravity) -> Gravity {
    let a = alcohol_by_mass.ratio() * 100.0;
    Gravity::from_plato(
        100.0 * (EXTRACT_PER_ETHANOL * a + real.plato()) / (100.0 + LOST_PER_ETHANOL * a),
    )
}

fn check_pair(original: Gravity, apparent: Gravity) -> Result<(f64, f64), WortError> {
    let oe = check("original extract", original.plato(), "°P", 0.1, 40.0)?;
    let ae = check("apparent extract", apparent.plato(), "°P", -20.0, 40.0)?;
    if ae > oe {
        Err(WortError::ApparentAboveOriginal { original, apparent })
    } else {
        Ok((oe, ae))
    }
}

/// Alcohol \[mass %\] by Balling.
pub(crate) fn balling_alcohol(original: f64, real: f64) -> f64 {
    (original - real) / (EXTRACT_PER_ETHANOL - LOST_PER_ETHANOL / 100.0 * original)
}

fn assembled(original: Gravity, apparent: Gravity, real: f64, alcohol: f64) -> Beer {
    let beer_kg_per_m3 = apparent.sg() * sucrose_density(0.0, 20.0);
    let by_volume = alcohol / 100.0 * beer_kg_per_m3 / pure_ethanol_density();
    Beer {
        original,
        apparent,
        real: Gravity::from_plato(real),
        alcohol_by_mass: Fraction::from_ratio(alcohol / 100.0),
        alcohol: AlcoholByVolume::from_ratio(by_volume),
    }
}

/// Specific gravity of the beer that has come from an original extract to a real
/// extract \[°P\].
fn sg_by_tabarie(original: f64, real: f64) -> f64 {
    beer_specific_gravity(real / 100.0, balling_alcohol(original, real) / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(ours: f64, printed: f64, tolerance: f64) {
        assert!(
            (ours - printed).abs() <= tolerance,
            "{ours} against {printed}"
        );
    }

    fn p(x: f64) -> Gravity {
        Gravity::from_plato(x)
    }

    /// Computed with NumPy: original and final specific gravity, the same by the
    /// ASBC polynomial \[°P\], then real extract and alcohol by mass and volume, the
    /// classical way from the ASBC figures and by Tabarié from the ICUMSA table,
    /// then RDF and ADF.
    const TABLE: [[f64; 12]; 7] = [
        [
            1.036, 1.008, 9.024, 2.052, 3.312, 2.899, 3.696, 3.421, 2.850, 3.633, 64.40, 77.27,
        ],
        [
            1.040, 1.010, 9.994, 2.561, 3.905, 3.107, 3.969, 4.023, 3.052, 3.898, 62.18, 74.38,
        ],
        [
            1.048, 1.012, 11.912, 3.068, 4.667, 3.736, 4.781, 4.809, 3.668, 4.695, 62.32, 74.24,
        ],
        [
            1.050, 1.010, 12.388, 2.561, 4.337, 4.162, 5.316, 4.487, 4.090, 5.224, 66.47, 79.33,
        ],
        [
            1.060, 1.012, 14.741, 3.068, 5.179, 5.008, 6.410, 5.357, 4.920, 6.298, 66.65, 79.19,
        ],
        [
            1.080, 1.016, 19.331, 4.078, 6.836, 6.717, 8.631, 7.071, 6.596, 8.476, 67.00, 78.90,
        ],
        [
            1.100, 1.024, 23.769, 6.077, 9.276, 7.994, 10.353, 9.574, 7.840, 10.153, 64.04, 74.43,
        ],
    ];

    #[test]
    fn both_routes_agree_with_the_computed_table() {
        for [
            og,
            fg,
            oe,
            ae,
            re_c,
            abw_c,
            abv_c,
            re_t,
            abw_t,
            abv_t,
            rdf,
            adf,
        ] in TABLE
        {
            let classical = beer_by_classical_quotient(p(oe), p(ae)).unwrap();
            near(classical.real.plato(), re_c, 1.1e-3);
            near(classical.alcohol_by_mass.ratio() * 100.0, abw_c, 1.1e-3);
            near(classical.alcohol.percent(), abv_c, 1.6e-3);
            near(classical.real_attenuation().ratio() * 100.0, rdf, 0.011);
            near(classical.apparent_attenuation().ratio() * 100.0, adf, 0.011);
            let ours = beer(Gravity::from_sg(og), Gravity::from_sg(fg)).unwrap();
            near(ours.real.plato(), re_t, 1.1e-3);
            near(ours.alcohol_by_mass.ratio() * 100.0, abw_t, 1.1e-3);
            near(ours.alcohol.percent(), abv_t, 1.6e-3);
        }
    }

    /// Balling's factor 1/(2.0665 − 0.010665·OE), computed.
    #[test]
    fn balling_factor_agrees_with_its_table() {
        for (oe, factor) in [
            (8.0, 0.5047),
            (12.0, 0.5159),
            (16.0, 0.5275),
            (20.0, 0.5396),
        ] {
            near(balling_alcohol(oe, 0.0) / oe, factor, 6e-5);
        }
    }

    /// Means of measured beers, Cutaia, Reid & Speers 2009 (read): alcohol by
    /// mass within 0.1 %, real extract within 0.1 °P, Balling's original extract
    /// within 0.2 °P.
    #[test]
    fn means_of_measured_beers_are_met() {
        for (oe, ae, alcohol, real) in [(11.34, 2.01, 3.82, 3.80), (12.75, 2.79, 4.21, 4.74)] {
            let ours = beer(p(oe), p(ae)).unwrap();
            near(ours.alcohol_by_mass.ratio() * 100.0, alcohol, 0.1);
            near(ours.real.plato(), real, 0.1);
            let back = original_extract(Fraction::from_ratio(alcohol / 100.0), p(real));
            near(back.plato(), oe, 0.2);
        }
    }

    /// Tolman & Riley, USDA Bulletin 493 (1917): alcohol and extract of two
    /// beers; Balling's original extract of them computed.
    #[test]
    fn original_extract_of_old_analyses() {
        for (alcohol, real, balling) in [(3.16, 5.13, 11.28), (3.32, 5.50, 11.94)] {
            let ours = original_extract(Fraction::from_ratio(alcohol / 100.0), p(real));
            near(ours.plato(), balling, 6e-3);
        }
    }

    #[test]
    fn the_way_back_from_the_fermented_share_closes() {
        for (oe, ae) in [(12.0, 2.5), (20.0, 5.0), (8.0, -1.0)] {
            let there = beer(p(oe), p(ae)).unwrap();
            let back = beer_from_fermented(p(oe), there.fermented()).unwrap();
            near(back.apparent.plato(), ae, 1e-8);
            near(back.real.plato(), there.real.plato(), 1e-8);
            near(
                original_extract(back.alcohol_by_mass, back.real).plato(),
                oe,
                1e-9,
            );
        }
        assert!(matches!(
            beer(p(10.0), p(11.0)),
            Err(WortError::ApparentAboveOriginal { .. })
        ));
        assert!(matches!(
            beer(p(10.0), p(-6.0)),
            Err(WortError::Impossible { .. })
        ));
    }
}

//! Colour of wort from the grist, and of the glass from the wort.

use std::sync::LazyLock;

use quantity::{Colour, EBC_PER_SRM, Fraction, Length, Measured, Note, Volume};

use crate::error::{WortError, check};
use crate::plan::GristItem;

/// Relative standard deviation of a colour reckoned from a grist: published fits
/// scatter by 20 to 30 %, taken as two standard deviations (judgement).
const RELATIVE_SD: f64 = 0.125;

/// Morey's fit was made below this \[SRM\].
const CALIBRATED_TO_SRM: f64 = 50.0;

/// Malt colour units \[lb·°L/gal\]: Σ 8.3454·kg·°L/L, a malt's °L being taken as
/// its SRM.
pub(crate) fn malt_colour_units(grist: &[GristItem], volume: Volume) -> f64 {
    let total: f64 = grist
        .iter()
        .map(|g| g.mass.kg() * g.fermentable.colour.value.srm())
        .sum();
    total * 2.204_62 / (volume.l() / 3.785_41)
}

/// Exponent of Morey's formula: colour against malt colour units.
const MOREY_POWER: f64 = 0.6859;

/// Colour of the wort by malt colour units: 1.4922·MCU^0.6859 SRM. Source: Morey
/// 1995, *Brewing Techniques*, "Beer's Law" letter (read). Fitted below 50 SRM.
pub(crate) fn morey(malt_colour_units: f64) -> Colour {
    Colour::from_ebc(1.4922 * malt_colour_units.max(0.0).powf(MOREY_POWER) * EBC_PER_SRM)
}

/// The colour if the malt in a litre were so many times as much, by the same formula.
pub(crate) fn concentrated(colour: Colour, factor: f64) -> Colour {
    Colour::from_ebc(colour.ebc() * factor.max(0.0).powf(MOREY_POWER))
}

/// Colour of the wort that a grist makes, with its spread.
#[must_use]
pub fn wort_colour(grist: &[GristItem], volume: Volume) -> Measured<Colour> {
    with_spread(morey(malt_colour_units(grist, volume)))
}

/// Colour of a wort by two older fits, as second opinions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColourOpinions {
    /// Daniels: 0.2·MCU + 8.4 SRM, above 11 MCU (validity read, constants from
    /// memory).
    pub daniels: Option<Colour>,
    /// Mosher: 0.3·MCU + 4.7 SRM, above 7 MCU (slope from memory).
    pub mosher: Option<Colour>,
}

/// What two older fits make of a grist; none of them below where it holds.
#[must_use]
pub fn opinions(grist: &[GristItem], volume: Volume) -> ColourOpinions {
    let mcu = malt_colour_units(grist, volume);
    let line = |slope: f64, base: f64, from: f64| {
        (mcu > from).then(|| Colour::from_ebc((slope * mcu + base) * EBC_PER_SRM))
    };
    ColourOpinions {
        daniels: line(0.2, 8.4, 11.0),
        mosher: line(0.3, 4.7, 7.0),
    }
}

/// A reckoned colour with the spread that reckoning it has.
#[must_use]
pub fn with_spread(colour: Colour) -> Measured<Colour> {
    Measured::with_sd(colour, colour.ebc() * RELATIVE_SD)
}

pub(crate) fn note_beyond_fit(colour: Colour) -> Option<Note> {
    (colour.srm() > CALIBRATED_TO_SRM).then(|| {
        Note::fine(format!(
            "a colour of {colour} is beyond the fit (Morey 1995, up to 50 SRM): take it as black"
        ))
    })
}

/// Colour of clear beer in daylight through a depth, as 8-bit sRGB.
///
/// Transmission T(λ) = 10^(−(SRM/12.7)·L·a(λ)) with the average spectrum of 99
/// beers, a(λ) = 0.02465·e^(−(λ−430)/17.591) + 0.97535·e^(−(λ−430)/82.122): deLange
/// in Bamforth (ed.), *Brewing Materials and Processes*, 2016 (read as quoted).
/// Summed with CIE 1931 and D65 from 380 to 780 nm. Hazy and fruit beers depart
/// from the average spectrum.
///
/// # Errors
/// [`WortError::Impossible`] for a negative or endless colour or depth.
pub fn glass_colour(colour: Colour, depth: Length) -> Result<[u8; 3], WortError> {
    through(colour, depth).map(srgb)
}

/// Share of daylight that comes through clear beer of a depth, as bright as the eye sees it
/// \[–\]: Y of the sums of [`glass_colour`].
///
/// # Errors
/// As [`glass_colour`].
pub fn glass_light(colour: Colour, depth: Length) -> Result<Fraction, WortError> {
    through(colour, depth).map(|[_, light, _]| Fraction::from_ratio(light))
}

/// Tristimulus values of daylight through beer; that of white has Y 1.
fn through(colour: Colour, depth: Length) -> Result<[f64; 3], WortError> {
    let srm = check("colour", colour.srm(), "SRM", 0.0, 5000.0)?;
    let depth_cm = check("depth of the glass", depth.cm(), "cm", 0.0, 1e4)?;
    let absorbance = srm / 12.7 * depth_cm;
    let mut xyz = [0.0; 3];
    for line in OBSERVER.iter() {
        let light = 10f64.powf(-absorbance * line.absorption);
        for (sum, weight) in xyz.iter_mut().zip(line.weights) {
            *sum += light * weight;
        }
    }
    Ok(xyz)
}

fn srgb([x, y, z]: [f64; 3]) -> [u8; 3] {
    [
        3.240_454_2 * x - 1.537_138_5 * y - 0.498_531_4 * z,
        -0.969_266_0 * x + 1.876_010_8 * y + 0.041_556_0 * z,
        0.055_643_4 * x - 0.204_025_9 * y + 1.057_225_2 * z,
    ]
    .map(|linear| {
        let c = linear.clamp(0.0, 1.0);
        let coded = if c <= 0.003_130_8 {
            12.92 * c
        } else {
            1.055 * c.powf(1.0 / 2.4) - 0.055
        };
        (coded * 255.0).round() as u8
    })
}

struct Line {
    absorption: f64,
    /// Illuminant times observer over the sum for Y.
    weights: [f64; 3],
}

static OBSERVER: LazyLock<Vec<Line>> = LazyLock::new(|| {
    let file: File = quantity::data::builtin("cie1931.toml", include_str!("../data/cie1931.toml"));
    let white: f64 = file.rows.iter().map(|[_, _, y, _, power]| y * power).sum();
    file.rows
        .iter()
        .map(|[nm, x, y, z, power]| Line {
            absorption: average_beer(*nm),
            weights: [x, y, z].map(|bar| bar * power / white),
        })
        .collect()
});

fn average_beer(nm: f64) -> f64 {
    0.024_65 * (-(nm - 430.0) / 17.591).exp() + 0.975_35 * (-(nm - 430.0) / 82.122).exp()
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "mark")]
    _mark: String,
    rows: Vec<[f64; 5]>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::malts;
    use quantity::Mass;

    /// Morey's formula, computed.
    #[test]
    fn morey_agrees_with_its_table() {
        for (mcu, srm) in [
            (1.0, 1.492),
            (2.0, 2.401),
            (5.0, 4.500),
            (10.0, 7.240),
            (15.0, 9.561),
            (20.0, 11.647),
            (30.0, 15.381),
            (50.0, 21.835),
            (80.0, 30.141),
        ] {
            assert!((morey(mcu).srm() - srm).abs() < 6e-4, "{mcu}");
        }
    }

    fn item(kg: f64, ebc: f64) -> GristItem {
        let mut fermentable = malts::find("pale ale malt").unwrap();
        fermentable.colour = Measured::exactly(Colour::from_ebc(ebc));
        GristItem {
            fermentable,
            mass: Mass::from_kg(kg),
        }
    }

    /// Computed by the same two formulas from kilograms and EBC.
    #[test]
    fn grists_have_the_colours_worked_out() {
        for (grist, litres, mcu, ebc) in [
            (vec![item(4.5, 3.5), item(0.25, 120.0)], 20.0, 9.698, 13.95),
            (
                vec![item(5.0, 5.0), item(0.4, 150.0), item(0.25, 900.0)],
                23.0,
                57.14,
                47.1,
            ),
            (vec![item(5.0, 3.0)], 20.0, 3.180, 6.5),
        ] {
            let volume = Volume::from_l(litres);
            assert!((malt_colour_units(&grist, volume) - mcu).abs() < 6e-3);
            let colour = wort_colour(&grist, volume);
            assert!((colour.value.ebc() - ebc).abs() < 0.06);
            assert!((colour.sd() / colour.value.ebc() - 0.125).abs() < 1e-12);
        }
        assert!(note_beyond_fit(Colour::from_ebc(120.0)).is_some());
        assert!(note_beyond_fit(Colour::from_ebc(90.0)).is_none());
    }

    /// The two older lines, computed where they hold.
    #[test]
    fn second_opinions_agree_with_their_table() {
        for (mcu, daniels, mosher) in [
            (5.0, None, None),
            (10.0, None, Some(7.70)),
            (15.0, Some(11.40), Some(9.20)),
            (20.0, Some(12.40), Some(10.70)),
            (30.0, Some(14.40), Some(13.70)),
            (50.0, Some(18.40), Some(19.70)),
            (80.0, Some(24.40), Some(28.70)),
        ] {
            // One kilogram of 1 SRM in 8.3454 L is one unit.
            let grist = [item(mcu, EBC_PER_SRM)];
            let ours = opinions(&grist, Volume::from_l(2.204_62 * 3.785_41));
            for (ours, printed) in [(ours.daniels, daniels), (ours.mosher, mosher)] {
                assert_eq!(ours.is_some(), printed.is_some(), "{mcu}");
                if let (Some(ours), Some(printed)) = (ours, printed) {
                    assert!((ours.srm() - printed).abs() < 6e-3, "{mcu}");
                }
            }
        }
    }

    /// a(λ) of the average beer, computed.
    #[test]
    fn average_beer_spectrum() {
        for (nm, a) in [
            (430.0, 1.0),
            (450.0, 0.772_43),
            (500.0, 0.416_34),
            (550.0, 0.226_26),
            (600.0, 0.123_07),
            (650.0, 0.066_94),
            (700.0, 0.036_42),
        ] {
            assert!((average_beer(nm) - a).abs() < 6e-6, "{nm}");
        }
    }

    /// Computed with colour-science 0.4.7; 2 in 255 for the rounding of its
    /// matrices.
    #[test]
    fn glasses_have_the_colours_of_colour_science() {
        for (ebc, five, seven, one) in [
            (4.0, [244, 209, 126], [238, 188, 83], [253, 245, 223]),
            (6.0, [238, 188, 83], [227, 161, 27], [252, 241, 208]),
            (8.0, [231, 169, 46], [216, 137, 0], [251, 236, 194]),
            (12.0, [216, 137, 0], [193, 100, 0], [249, 227, 169]),
            (16.0, [200, 111, 0], [171, 72, 0], [246, 218, 146]),
            (20.0, [185, 89, 0], [151, 50, 0], [244, 209, 126]),
            (30.0, [151, 50, 0], [112, 12, 0], [238, 188, 83]),
            (40.0, [123, 23, 0], [83, 0, 0], [231, 169, 46]),
            (60.0, [83, 0, 0], [46, 0, 0], [216, 137, 0]),
            (80.0, [56, 0, 0], [25, 0, 0], [200, 111, 0]),
        ] {
            for (cm, printed) in [(5.0, five), (7.5, seven), (1.0, one)] {
                let ours = glass_colour(Colour::from_ebc(ebc), Length::from_cm(cm)).unwrap();
                for (a, b) in ours.into_iter().zip(printed) {
                    assert!(
                        (i32::from(a) - b).abs() <= 2,
                        "{ebc} EBC, {cm} cm: {ours:?}"
                    );
                }
            }
        }
        for (ebc, light) in [
            (4.0, 0.6626),
            (6.0, 0.5476),
            (8.0, 0.4563),
            (12.0, 0.3237),
            (16.0, 0.2352),
            (20.0, 0.1743),
            (30.0, 0.0884),
            (40.0, 0.0484),
            (60.0, 0.0170),
            (80.0, 0.0069),
        ] {
            let ours = glass_light(Colour::from_ebc(ebc), Length::from_cm(5.0)).unwrap();
            assert!((ours.ratio() - light).abs() < 2e-4, "{ebc} EBC: {ours}");
        }
        assert_eq!(
            glass_colour(Colour::from_ebc(0.0), Length::from_cm(5.0)).unwrap(),
            [255; 3]
        );
    }
}

//! A hydrometer read away from the temperature that it was calibrated at.

use quantity::density::{beer_density, sucrose_density, water_density};
use quantity::{Gravity, Measured, Note, Temperature};

use super::extract::plato_at_density;
use super::figures::{FIGURES, gravity_with_spread, temperature_with_spread};
use super::propagated;
use crate::alcohol::balling_alcohol;
use crate::error::{WortError, check};
use crate::numeric::root;

/// Above this \[°C\] the reading itself is poor.
const POOR_ABOVE_C: f64 = 40.0;
/// What a hydrometer shows, and in what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HydrometerReading {
    /// The mark at the surface.
    pub reading: Measured<Gravity>,
    /// Temperature of the sample.
    pub at: Measured<Temperature>,
    /// Temperature printed on the stem.
    pub calibrated_at: Temperature,
    /// Gravity before fermentation, where the sample has fermented: its alcohol
    /// expands more than water does.
    pub original: Option<Gravity>,
}

/// A gravity that no longer depends on the temperature of the sample.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectedGravity {
    /// At 20 °C/20 °C.
    pub gravity: Measured<Gravity>,
    /// What to know about it.
    pub notes: Vec<Note>,
}

/// Gravity \[°P, SG 20 °C/20 °C\] from a reading at the temperature of the sample.
///
/// The glass floats where R·ρ_w(T₀) = ρ(t)·(1 + β(t − T₀)), R the mark, T₀ the
/// calibration temperature, β the cubic expansion of soda glass (ISO 1768:1975);
/// ρ(t) is solved for the extract of a sucrose solution (ICUMSA SPS-4) or, where the
/// original gravity is known, of a beer (Balling and Tabarié). Range: 0 to 80 °C,
/// with alcohol to 40 °C; above 40 °C the result carries a note.
///
/// # Errors
/// [`WortError::Impossible`] outside the range, or for a reading that the original
/// gravity cannot come to.
///
/// ```
/// use quantity::Temperature;
/// use wort::instruments::{HydrometerReading, read_hydrometer};
/// let warm = read_hydrometer(&HydrometerReading {
///     reading: "1.048".parse()?,
///     at: "28 °C".parse()?,
///     calibrated_at: Temperature::from_c(20.0),
///     original: None,
/// })?;
/// assert!((warm.gravity.value.sg() - 1.0502).abs() < 1e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read_hydrometer(h: &HydrometerReading) -> Result<CorrectedGravity, WortError> {
    let mut notes = Vec::new();
    let reading = gravity_with_spread(h.reading, &mut notes);
    let at = temperature_with_spread(h.at, &mut notes);
    let stem_c = check(
        "calibration temperature",
        h.calibrated_at.c(),
        "°C",
        4.0,
        30.0,
    )?;
    let ([plato], [sd]) = propagated(
        &[reading.canonical(), at.canonical()],
        &[reading.sd(), at.sd()],
        |x| corrected(x[0], x[1], stem_c, h.original).map(|p| [p]),
    )?;
    if at.canonical() > POOR_ABOVE_C {
        notes.push(Note::look(
            "above 40 °C the reading itself is off by more than a point (steam, streaks, a warm stem): cool the sample and read again",
        ));
    }
    Ok(CorrectedGravity {
        gravity: Measured::with_sd(Gravity::from_plato(plato), sd),
        notes,
    })
}

/// A reading of a sample whose gas was left in, as it would be without: bubbles on the
/// glass lift it by 1 to 6 points (common practice), so that the middle is taken off and
/// the width stands with the spread.
#[must_use]
pub fn without_gas(reading: Measured<Gravity>) -> Measured<Gravity> {
    let (middle, width) = (
        FIGURES.gas_in_sample.value,
        FIGURES.gas_in_sample_width.value,
    );
    let less = |points: f64| Gravity::from_sg(reading.value.sg() - points / 1000.0);
    let half = less(middle - width).plato() - less(middle).plato();
    Measured::with_sd(less(middle), reading.sd().hypot(half / 3.0_f64.sqrt()))
}

fn corrected(
    reading_plato: f64,
    temp_c: f64,
    stem_c: f64,
    original: Option<Gravity>,
) -> Result<f64, WortError> {
    let warmest = if original.is_some() { 40.0 } else { 80.0 };
    check("temperature of the sample", temp_c, "°C", 0.0, warmest)?;
    let glass = 1.0 + FIGURES.glass_expansion.value * (temp_c - stem_c);
    let mark = Gravity::from_plato(reading_plato).sg() * water_density(stem_c);
    let kg_per_m3 = mark / glass;
    match original {
        None => plato_at_density("density of the sample", kg_per_m3, temp_c),
        Some(original) => beer_at_density(original, kg_per_m3, temp_c),
    }
}

/// Apparent extract \[°P\] of the beer that has a density at a temperature.
fn beer_at_density(original: Gravity, kg_per_m3: f64, temp_c: f64) -> Result<f64, WortError> {
    let oe = check("original extract", original.plato(), "°P", 0.1, 35.0)?;
    let density = |real: f64, temp_c: f64| {
        beer_density(real / 100.0, balling_alcohol(oe, real) / 100.0, temp_c)
    };
    let (least, most) = (density(0.0, temp_c), sucrose_density(oe / 100.0, temp_c));
    check("density of the sample", kg_per_m3, "kg/m³", least, most)?;
    let real = root(0.0, oe, |re| density(re, temp_c) - kg_per_m3);
    Ok(Gravity::from_sg(density(real, 20.0) / water_density(20.0)).plato())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1.020 among bubbles is 1.014 to 1.019: the middle, and half of that over √3.
    #[test]
    fn gas_that_was_left_in_is_taken_off() {
        let read = Measured::with_sd(Gravity::from_sg(1.020), 0.1);
        let without = without_gas(read);
        assert!((without.value.sg() - 1.0165).abs() < 1e-6);
        let points = 0.0025 / 3.0_f64.sqrt();
        let plato = Gravity::from_sg(1.0165 + points).plato() - without.value.plato();
        assert!(
            (without.sd() - plato.hypot(0.1)).abs() < 2e-3,
            "{}",
            without.sd()
        );
    }
    use proptest::prelude::*;

    fn read(reading: Gravity, c: f64, stem_c: f64, original: Option<Gravity>) -> CorrectedGravity {
        read_hydrometer(&HydrometerReading {
            reading: Measured::exactly(reading),
            at: Measured::exactly(Temperature::from_c(c)),
            calibrated_at: Temperature::from_c(stem_c),
            original,
        })
        .unwrap()
    }

    /// Points to add to the reading of a glass of 20 °C, computed with NumPy from
    /// ICUMSA densities and the glass of ISO 1768:1975.
    #[test]
    fn corrections_agree_with_the_computed_table() {
        let temperatures = [4.0, 10.0, 15.0, 25.0, 30.0, 40.0, 60.0];
        for (plato, points) in [
            (2.5, [-1.60, -1.38, -0.83, 1.09, 2.41, 5.68, 14.33]),
            (12.0, [-2.47, -1.88, -1.07, 1.30, 2.80, 6.37, 15.42]),
            (20.0, [-3.22, -2.31, -1.27, 1.47, 3.13, 6.95, 16.36]),
        ] {
            let truly = Gravity::from_plato(plato).sg();
            for (c, points) in temperatures.into_iter().zip(points) {
                let shown = Gravity::from_sg(truly - points / 1e3);
                let ours = read(shown, c, 20.0, None).gravity.value.sg();
                assert!((ours - truly).abs() < 6e-6, "{plato} {c}: {ours}");
            }
        }
    }

    /// In water at t a glass of 59 °F shows too little by 2.06, 3.46 and 6.89 points at
    /// 25, 30 and 40 °C: a list that C. Lyons published in 1992 from CRC data, without
    /// the glass, whose expansion is put to it here.
    #[test]
    fn corrections_in_water_agree_with_a_printed_list() {
        for (c, points) in [(25.0, 2.06), (30.0, 3.46), (40.0, 6.89)] {
            let glass = FIGURES.glass_expansion.value * (c - 15.0);
            let shown = Gravity::from_sg((1.0 - points / 1e3) * (1.0 + glass));
            let ours = read(shown, c, 15.0, None).gravity.value.sg();
            assert!((ours - 1.0).abs() < 1.2e-5, "{c}: {ours}");
        }
    }

    /// From 20 to 30 °C a mixture of 10 % mass of ethanol loses 0.56 kg/m³ more than
    /// water does (OIML R 22); a beer of 4.1 % less than its share of that, the excess
    /// growing faster than the strength.
    #[test]
    fn alcohol_asks_for_more_correction() {
        let original = Gravity::from_sg(1.050);
        let wort = read(Gravity::from_sg(1.010), 30.0, 20.0, None)
            .gravity
            .value
            .sg();
        let beer = read(Gravity::from_sg(1.010), 30.0, 20.0, Some(original));
        let more = (beer.gravity.value.sg() - wort) * 1e3;
        assert!((0.1..0.23).contains(&more), "{more}");
    }

    #[test]
    fn what_cannot_be_is_refused_and_what_is_poor_is_noted() {
        let hot = |c: f64, original| {
            read_hydrometer(&HydrometerReading {
                reading: "1.020".parse().unwrap(),
                at: Measured::exactly(Temperature::from_c(c)),
                calibrated_at: Temperature::from_c(20.0),
                original,
            })
        };
        assert_eq!(
            hot(95.0, None).unwrap_err().to_string(),
            "temperature of the sample cannot be 95 °C; between 0 and 80 °C would work"
        );
        assert!(hot(50.0, Some(Gravity::from_sg(1.05))).is_err());
        let above = hot(20.0, Some(Gravity::from_sg(1.010))).unwrap_err();
        assert!(
            above.to_string().starts_with("density of the sample"),
            "{above}"
        );
        let poor = hot(60.0, None).unwrap();
        assert!(
            poor.notes
                .iter()
                .any(|n| n.text.contains("cool the sample"))
        );
    }

    proptest! {
        #[test]
        fn at_its_own_temperature_a_hydrometer_is_right(p in 0.0..30.0f64) {
            let ours = read(Gravity::from_plato(p), 20.0, 20.0, None);
            prop_assert!((ours.gravity.canonical() - p).abs() < 1e-8);
            prop_assert!(ours.gravity.sd() > 0.2);
        }

        #[test]
        fn warmer_means_more_correction(p in 0.0..26.0f64, c in 8.0..79.0f64) {
            let at = |c| read(Gravity::from_plato(p), c, 20.0, None).gravity.canonical();
            prop_assert!(at(c + 1.0) > at(c));
        }
    }
}

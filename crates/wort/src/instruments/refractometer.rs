//! A refractometer with a sugar scale, in wort and in beer.

use quantity::{Brix, Gravity, Measured, Note, Temperature, WortFactor};

use super::figures::{FIGURES, Regression, with_usual_spread};
use super::propagated;
use super::refraction::{beer_index, reading_of, sucrose_index, temperature_correction};
use crate::alcohol::{self, Analysis, balling_alcohol};
use crate::error::{WortError, check};
use crate::numeric::root;

/// What a refractometer shows, and how it came to that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RefractometerReading {
    /// The mark.
    pub reading: Measured<Brix>,
    /// Temperature of the sample, for an instrument that does not compensate.
    pub uncompensated_at: Option<Temperature>,
}

/// A wort by its refractometer reading.
#[derive(Debug, Clone, PartialEq)]
pub struct RefractometerWort {
    /// At 20 °C/20 °C.
    pub gravity: Measured<Gravity>,
    /// The reading at 20 °C.
    pub reading: Measured<Brix>,
    /// What to know about it.
    pub notes: Vec<Note>,
}

/// A beer by the readings before and after its fermentation.
#[derive(Debug, Clone, PartialEq)]
pub struct RefractometerWortAndBeer {
    /// What the two gravities say, their shared errors counted once.
    pub analysis: Analysis,
    /// Final gravity by the cubic regression, where it is valid.
    pub by_cubic: Option<Gravity>,
    /// Final gravity by the sum of refractive indices, where it is reached.
    pub by_index: Option<Gravity>,
}

/// How much more strongly wort refracts than sucrose, where nobody has compared the
/// instrument with a hydrometer \[–\] (common practice).
#[must_use]
pub fn usual_wort_factor() -> Measured<WortFactor> {
    Measured::with_sd(
        WortFactor::from_ratio(FIGURES.wort_factor.value),
        FIGURES.wort_factor_sd.value,
    )
}

/// Gravity \[°P, SG 20 °C/20 °C\] of unfermented wort: °P = °Bx / factor.
///
/// The factor belongs to the instrument and the wort: 1.00 to 1.06 are met. A
/// reading of an instrument that does not compensate is first brought to 20 °C by
/// table I of OIV-MA-AS2-02, which is meant for 15 to 25 °C.
///
/// # Errors
/// [`WortError::Impossible`] for more extract than 35 °P, or a sample outside 5 to
/// 35 °C.
///
/// ```
/// use wort::instruments::{RefractometerReading, read_refractometer, usual_wort_factor};
/// let reading = RefractometerReading { reading: "12.4 °Bx".parse()?, uncompensated_at: None };
/// let wort = read_refractometer(&reading, usual_wort_factor())?;
/// assert!((wort.gravity.value.plato() - 11.92).abs() < 0.01);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read_refractometer(
    r: &RefractometerReading,
    factor: Measured<WortFactor>,
) -> Result<RefractometerWort, WortError> {
    let mut notes = Vec::new();
    let reading = at_20(r, &mut notes)?;
    let factor = with_spread(factor, &mut notes);
    let ([plato], [sd]) = propagated(
        &[reading.canonical(), factor.canonical()],
        &[reading.sd(), factor.sd()],
        |x| check("extract", x[0] / x[1], "°P", 0.0, 35.0).map(|p| [p]),
    )?;
    Ok(RefractometerWort {
        gravity: Measured::with_sd(Gravity::from_plato(plato), sd),
        reading,
        notes,
    })
}

/// What two readings, before and after fermentation, say of a beer.
///
/// Final gravity by the linear regression of Terrill (2011): 1 − 0.00085683·Bᵢ +
/// 0.0034941·B_f with both readings divided by the wort factor. It stands first
/// because it was tried on 68 beers that it had not been fitted to and cannot swing
/// out; the cubic regression and the sum of refractive indices stand beside it. Each
/// is within about 0.0025 of a hydrometer (judgement), which is in the spread.
///
/// # Errors
/// As [`read_refractometer`]; and [`WortError::Impossible`] for a reading after
/// fermentation above the one before or below what a full fermentation leaves.
pub fn read_refractometer_in_beer(
    before: &RefractometerReading,
    after: &RefractometerReading,
    factor: Measured<WortFactor>,
) -> Result<RefractometerWortAndBeer, WortError> {
    let mut notes = Vec::new();
    let (initial, last) = (at_20(before, &mut notes)?, at_20(after, &mut notes)?);
    let factor = with_spread(factor, &mut notes);
    let (bi, bf, f) = (initial.canonical(), last.canonical(), factor.canonical());
    let oe = check("extract before fermentation", bi / f, "°P", 0.1, 35.0)?;
    let least = reading_of(beer_index(oe, 0.0, f)).max(0.0);
    check("reading after fermentation", bf, "°Bx", least, bi)?;
    let model_sd = FIGURES.final_by_refractometer.value;
    let mut analysis = alcohol::analysis_of(
        &[bi, bf, f, 0.0],
        &[initial.sd(), last.sd(), factor.sd(), model_sd],
        |x| {
            let sg = FIGURES.final_gravity_linear.at(x[0] / x[2], x[1] / x[2]) + x[3];
            (x[0] / x[2], Gravity::from_sg(sg).plato())
        },
    )?;
    notes.push(Note::look(
        "alcohol bends what a refractometer shows: expect the final gravity within 0.0025 (judgement), and read a hydrometer where it matters",
    ));
    notes.append(&mut analysis.notes);
    analysis.notes = notes;
    Ok(RefractometerWortAndBeer {
        by_cubic: by_cubic(oe, bf / f),
        by_index: by_index(oe, bf, f),
        analysis,
    })
}

/// Gravity \[°P\] of a beer on its way, by the readings of its wort and of now.
///
/// The regressions were fitted to beers that had ended, and say of a wort that has hardly
/// begun that it lost a third. While less than four tenths of the real extract are gone
/// the sum of refractive indices counts, which begins at the wort; from six tenths on the
/// regression of [`read_refractometer_in_beer`]; between them the two are blended
/// (judgement). The spread is that of the regression.
///
/// # Errors
/// As [`read_refractometer_in_beer`].
pub fn read_refractometer_on_the_way(
    before: &RefractometerReading,
    now: &RefractometerReading,
    factor: Measured<WortFactor>,
) -> Result<Measured<Gravity>, WortError> {
    let both = read_refractometer_in_beer(before, now, factor)?;
    let (original, ended) = (both.analysis.original.value, both.analysis.apparent);
    let Some(index) = both.by_index else {
        return Ok(ended);
    };
    let gone = alcohol::beer(original, index).map_or(1.0, |beer| beer.real_attenuation().ratio());
    let share = ((gone - 0.4) / 0.2).clamp(0.0, 1.0);
    let plato = share * ended.value.plato() + (1.0 - share) * index.plato();
    Ok(Measured::with_sd(Gravity::from_plato(plato), ended.sd()))
}

/// The cubic regression, down to half of the extract fermented as its author asks.
fn by_cubic(oe: f64, bf: f64) -> Option<Gravity> {
    let gravity = Gravity::from_sg(FIGURES.final_gravity_cubic.at(oe, bf));
    let beer = alcohol::beer(Gravity::from_plato(oe), gravity).ok()?;
    (beer.real_attenuation().ratio() >= 0.5).then_some(gravity)
}

/// The gravity at which extract and alcohol together refract as was read.
fn by_index(oe: f64, bf: f64, factor: f64) -> Option<Gravity> {
    let index = sucrose_index(bf);
    let excess = |real: f64| beer_index(oe, real, factor) - index;
    if excess(0.0) > 0.0 || excess(oe) < 0.0 {
        return None;
    }
    let real = root(0.0, oe, excess);
    let ethanol = balling_alcohol(oe, real) / 100.0;
    let sg = quantity::density::beer_specific_gravity(real / 100.0, ethanol);
    Some(Gravity::from_sg(sg))
}

fn at_20(r: &RefractometerReading, notes: &mut Vec<Note>) -> Result<Measured<Brix>, WortError> {
    let instrument = &FIGURES.refractometer_reading;
    let reading = with_usual_spread(r.reading, instrument.value, instrument, notes);
    let Some(at) = r.uncompensated_at else {
        return Ok(reading);
    };
    let temp_c = check("temperature of the sample", at.c(), "°C", 5.0, 35.0)?;
    if (temp_c - 20.0).abs() > 5.0 {
        notes.push(Note::look(
            "the correction for temperature is meant for 15 to 25 °C: let the sample come to 20 °C",
        ));
    }
    let bx = reading.canonical() + temperature_correction(reading.canonical(), temp_c);
    Ok(Measured::with_sd(Brix::from_bx(bx.max(0.0)), reading.sd()))
}

fn with_spread(factor: Measured<WortFactor>, notes: &mut Vec<Note>) -> Measured<WortFactor> {
    let figure = &FIGURES.wort_factor_sd;
    with_usual_spread(factor, figure.value, figure, notes)
}

impl Regression {
    fn at(&self, initial: f64, last: f64) -> f64 {
        // Σ cₖ xᵏ from the first power on.
        let powers = |c: &[f64], x: f64| c.iter().rev().fold(0.0, |sum, c| (sum + c) * x);
        1.0 + powers(&self.initial, initial) + powers(&self.last, last)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instruments::figures::plato_of_sg;
    use proptest::prelude::*;

    fn bx(x: f64) -> RefractometerReading {
        RefractometerReading {
            reading: Measured::exactly(Brix::from_bx(x)),
            uncompensated_at: None,
        }
    }

    fn one() -> Measured<WortFactor> {
        Measured::with_sd(WortFactor::from_ratio(1.0), 0.0)
    }

    /// The regressions of Terrill (2011), computed with NumPy for readings of 6.29, 7.36
    /// and 9.78 °Bx.
    #[test]
    fn final_gravities_agree_with_the_computed_regressions() {
        for (og, bf, linear, cubic) in [
            (1.048, 6.29, 1.0118, 1.0127),
            (1.060, 7.36, 1.0131, 1.0133),
            (1.080, 9.78, 1.0176, 1.0162),
        ] {
            let bi = Gravity::from_sg(og).plato();
            let ours = read_refractometer_in_beer(&bx(bi), &bx(bf), one()).unwrap();
            assert!((ours.analysis.apparent.value.sg() - linear).abs() < 6e-5);
            assert!((ours.by_cubic.unwrap().sg() - cubic).abs() < 6e-5);
        }
    }

    /// °P = °Bx/factor, with the two spreads squared and summed: 12.4 ± 0.15 °Bx and
    /// 1.04 ± 0.02 give 11.923 ± √(0.1442² + 0.2293²) = 0.271 °P, by hand.
    #[test]
    fn the_factor_and_both_spreads_carry_through() {
        let ours = read_refractometer(&bx(12.4), usual_wort_factor()).unwrap();
        assert!((ours.gravity.canonical() - 11.923).abs() < 1e-3);
        assert!((ours.gravity.sd() - 0.2709).abs() < 1e-3);
        assert!(ours.notes[0].text.contains("refractometer"));
    }

    /// OIV-MA-AS2-02, table I: 15 °Bx read at 15 °C is 14.67.
    #[test]
    fn an_instrument_that_does_not_compensate_is_corrected() {
        let cold = RefractometerReading {
            uncompensated_at: Some(Temperature::from_c(15.0)),
            ..bx(15.0)
        };
        let ours = read_refractometer(&cold, one()).unwrap();
        assert!((ours.reading.canonical() - 14.67).abs() < 1e-9);
        let colder = RefractometerReading {
            uncompensated_at: Some(Temperature::from_c(8.0)),
            ..bx(15.0)
        };
        let noted = read_refractometer(&colder, one()).unwrap().notes;
        assert!(
            noted.iter().any(|n| n.text.contains("15 to 25 °C")),
            "{noted:?}"
        );
    }

    /// A wort that has just begun stands near its own gravity, an ended beer where the
    /// regression has it, and on the way it never rises.
    #[test]
    fn a_beer_on_its_way_goes_from_its_wort_to_its_end() {
        let on_the_way = |now: f64| {
            let found = read_refractometer_on_the_way(&bx(12.48), &bx(now), usual_wort_factor());
            found.unwrap().value.plato()
        };
        assert!(
            (on_the_way(12.4) - 12.0).abs() < 0.3,
            "{}",
            on_the_way(12.4)
        );
        let ended = read_refractometer_in_beer(&bx(12.48), &bx(6.3), usual_wort_factor()).unwrap();
        assert!((on_the_way(6.3) - ended.analysis.apparent.value.plato()).abs() < 1e-12);
        let course: Vec<f64> = (0..60)
            .map(|n| on_the_way(12.4 - 0.1 * f64::from(n)))
            .collect();
        assert!(
            course.windows(2).all(|pair| pair[1] < pair[0]),
            "{course:?}"
        );
    }

    #[test]
    fn the_error_of_the_factor_is_counted_once() {
        let sure = read_refractometer_in_beer(&bx(12.4), &bx(6.3), one()).unwrap();
        let unsure = read_refractometer_in_beer(&bx(12.4), &bx(6.3), usual_wort_factor()).unwrap();
        let model = plato_of_sg(FIGURES.final_by_refractometer.value, 3.0);
        assert!(sure.analysis.apparent.sd() > model);
        assert!(unsure.analysis.original.sd() > sure.analysis.original.sd());
        assert!(unsure.analysis.alcohol.sd() > 0.001);
    }

    #[test]
    fn readings_that_no_fermentation_gives_are_refused() {
        let more = read_refractometer_in_beer(&bx(12.0), &bx(13.0), one()).unwrap_err();
        assert!(
            more.to_string()
                .starts_with("reading after fermentation cannot be 13 °Bx; between 2."),
            "{more}"
        );
        assert!(read_refractometer_in_beer(&bx(12.0), &bx(1.0), one()).is_err());
        assert!(read_refractometer(&bx(39.0), one()).is_err());
    }

    proptest! {
        #[test]
        fn a_lower_reading_means_more_alcohol(bi in 6.0..24.0f64, part in 0.35..0.9f64) {
            let alcohol = |part: f64| {
                let got = read_refractometer_in_beer(&bx(bi), &bx(bi * part), one());
                got.map(|g| g.analysis.alcohol.canonical())
            };
            if let (Ok(less), Ok(more)) = (alcohol(part + 0.02), alcohol(part)) {
                prop_assert!(more > less);
            }
        }
    }
}

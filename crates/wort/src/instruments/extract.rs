//! Extract, gravity and density: one thing said three ways.

use quantity::density::{plato_by_asbc_polynomial, sucrose_density};
use quantity::{Density, Gravity, MassConcentration, Measured, Note, Quantity, Temperature};

use super::propagated;
use crate::error::{WortError, check};
use crate::numeric::root;

/// What is known of a wort.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WortReading {
    /// Its gravity, on either scale: it holds at 20 °C, whatever the wort has now.
    Gravity(Measured<Gravity>),
    /// Its density at the temperature that it has.
    Density(Measured<Density>),
}

/// A wort's extract, said in every way.
#[derive(Debug, Clone, PartialEq)]
pub struct Extract {
    /// Gravity; °P is the mass per cent of extract.
    pub gravity: Measured<Gravity>,
    /// Extract by the polynomial through the older ASBC tables, to compare with
    /// tables in print: about 0.01 °P lower.
    pub by_asbc: Gravity,
    /// Density at the temperature asked for.
    pub density: Measured<Density>,
    /// Density at 20 °C.
    pub density_at_20: Measured<Density>,
    /// Extract in a litre at 20 °C.
    pub extract_per_litre: Measured<MassConcentration>,
    /// What to know about it.
    pub notes: Vec<Note>,
}

/// Extract, gravity and density \[°P, SG 20 °C/20 °C, kg/m³\] of wort at a
/// temperature, its extract counted as sucrose, as the Plato scale does.
///
/// ρ(w, t) by ICUMSA SPS-4 (1998), see
/// [`sucrose_density`](quantity::density::sucrose_density); a density is solved for
/// w. What is said of the reading's spread is carried through, and nothing is taken
/// for it: this turns one scale into another. Range: 0 to 80 °C; up to 35 °P.
///
/// # Errors
/// [`WortError::Impossible`] outside that range.
///
/// ```
/// use quantity::Temperature;
/// use wort::instruments::{WortReading, extract_of};
/// let wort = WortReading::Gravity("12.0 °P".parse()?);
/// let warm = extract_of(wort, Temperature::from_c(30.0))?;
/// assert!((warm.density.value.kg_per_m3() - 1043.388).abs() < 0.001);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn extract_of(reading: WortReading, at: Temperature) -> Result<Extract, WortError> {
    let temp_c = check("temperature of the wort", at.c(), "°C", 0.0, 80.0)?;
    let (x, sd) = match reading {
        WortReading::Gravity(g) => (g.canonical(), g.sd()),
        WortReading::Density(d) => (d.canonical(), d.sd()),
    };
    let plato = |x: f64| match reading {
        WortReading::Gravity(_) => check("extract", x, "°P", Gravity::MIN, Gravity::MAX),
        WortReading::Density(_) => plato_at_density("density", x, temp_c),
    };
    let ([p, rho, at_20, per_l], [p_sd, rho_sd, at_20_sd, per_l_sd]) =
        propagated(&[x], &[sd], |x| {
            let p = plato(x[0])?;
            let at_20 = sucrose_density(p / 100.0, 20.0);
            let rho = sucrose_density(p / 100.0, temp_c);
            Ok::<_, WortError>([p, rho, at_20, p / 100.0 * at_20])
        })?;
    let mut notes = Vec::new();
    if p < 0.0 {
        notes.push(Note::look(
            "lighter than water, so it holds alcohol: extract and grams per litre are apparent ones",
        ));
    }
    let gravity = Measured::with_sd(Gravity::from_plato(p), p_sd);
    let grams = |x: f64| MassConcentration::from_mg_per_l(x * 1e3);
    Ok(Extract {
        by_asbc: Gravity::from_plato(plato_by_asbc_polynomial(gravity.value.sg())),
        gravity,
        density: Measured::with_sd(Density::from_kg_per_m3(rho), rho_sd),
        density_at_20: Measured::with_sd(Density::from_kg_per_m3(at_20), at_20_sd),
        extract_per_litre: Measured::with_sd(grams(per_l), per_l_sd * 1e3),
        notes,
    })
}

/// Extract \[°P\] of the sucrose solution of a density \[kg/m³\] at a temperature.
pub(super) fn plato_at_density(
    what: &'static str,
    kg_per_m3: f64,
    temp_c: f64,
) -> Result<f64, WortError> {
    let density = |plato: f64| sucrose_density(plato / 100.0, temp_c);
    let (least, most) = (density(Gravity::MIN), density(Gravity::MAX));
    check(what, kg_per_m3, "kg/m³", least, most)?;
    Ok(root(Gravity::MIN, Gravity::MAX, |p| density(p) - kg_per_m3))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn of(reading: WortReading, c: f64) -> Extract {
        extract_of(reading, Temperature::from_c(c)).unwrap()
    }

    /// ICUMSA SPS-4 (1998), densities recomputed independently with NumPy.
    #[test]
    fn densities_and_extract_follow_icumsa_both_ways() {
        for (plato, c, rho) in [
            (10.0, 15.0, 1039.262),
            (12.0, 4.0, 1049.330),
            (12.0, 30.0, 1043.388),
            (20.0, 60.0, 1063.584),
        ] {
            let there = of(
                WortReading::Gravity(Measured::exactly(Gravity::from_plato(plato))),
                c,
            );
            assert!((there.density.canonical() - rho).abs() < 6e-4);
            let back = of(
                WortReading::Density(Measured::exactly(Density::from_kg_per_m3(rho))),
                c,
            );
            assert!((back.gravity.canonical() - plato).abs() < 2e-4);
        }
    }

    /// 100 g/L is 9.646 °P and SG 1.038521 (ICUMSA, recomputed with NumPy), and the
    /// ASBC polynomial gives 9.994 °P for 1.040.
    #[test]
    fn grams_per_litre_and_the_older_table_agree_with_their_figures() {
        let reading = WortReading::Gravity("9.646 °P".parse().unwrap());
        let wort = of(reading, 20.0);
        assert!((wort.extract_per_litre.canonical() - 1e5).abs() < 6.0);
        assert!((wort.gravity.value.sg() - 1.038_521).abs() < 2e-6);
        let older = of(WortReading::Gravity("1.040".parse().unwrap()), 20.0).by_asbc;
        assert!((older.plato() - 9.994).abs() < 6e-4);
    }

    #[test]
    fn what_is_no_wort_is_refused_with_what_would_work() {
        let heavy = WortReading::Density("1.4 g/mL".parse().unwrap());
        let said = extract_of(heavy, Temperature::from_c(20.0)).unwrap_err();
        assert_eq!(
            said.to_string(),
            "density cannot be 1400 kg/m³; between 968.2 and 1151 kg/m³ would work"
        );
        let wort = WortReading::Gravity("1.050".parse().unwrap());
        assert!(extract_of(wort, Temperature::from_c(95.0)).is_err());
        let light = of(WortReading::Gravity("0.998".parse().unwrap()), 20.0);
        assert!(light.notes.iter().any(|n| n.text.contains("alcohol")));
    }

    proptest! {
        #[test]
        fn density_and_extract_are_each_others_way_back(p in -5.0..34.0f64, c in 0.0..80.0f64) {
            let there = of(WortReading::Gravity(Measured::with_sd(Gravity::from_plato(p), 0.1)), c);
            let back = of(WortReading::Density(there.density), c);
            prop_assert!((back.gravity.canonical() - p).abs() < 1e-8);
            prop_assert!((back.gravity.sd() - there.gravity.sd()).abs() < 1e-5 * there.gravity.sd());
        }
    }
}

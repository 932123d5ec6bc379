//! Alcoholic strength by density: plain mixtures of ethanol and water, such as a
//! distillate of beer made up to the volume that was distilled.

use quantity::density::{ethanol_density, pure_ethanol_density};
use quantity::{AlcoholByVolume, Caution, Density, Fraction, Measured, Note, Temperature};

use super::figures::{FIGURES, temperature_with_spread, with_usual_spread};
use super::propagated;
use crate::error::{WortError, check};
use crate::numeric::root;

/// What is known of a mixture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpiritReading {
    /// Its density at the temperature that it has.
    Density(Measured<Density>),
    /// Its strength at 20 °C.
    Strength(Measured<AlcoholByVolume>),
}

/// A mixture of ethanol and water.
#[derive(Debug, Clone, PartialEq)]
pub struct Spirit {
    /// Ethanol by volume at 20 °C.
    pub alcohol: Measured<AlcoholByVolume>,
    /// Ethanol by mass.
    pub alcohol_by_mass: Measured<Fraction>,
    /// Density at the temperature asked for.
    pub density: Measured<Density>,
    /// Density at 20 °C.
    pub density_at_20: Measured<Density>,
    /// What to know about it.
    pub notes: Vec<Note>,
    /// What can hurt or break the law.
    pub cautions: Vec<Caution>,
}

/// Strength and density \[% vol at 20 °C, % mass, kg/m³\] of a mixture of ethanol and
/// water at a temperature, from either.
///
/// ρ(p, t) by OIML R 22 (1975), see
/// [`ethanol_density`](quantity::density::ethanol_density), solved for the mass
/// fraction p; % vol = 100·p·ρ(p, 20)/ρ(1, 20). Range: 0 to 40 °C. Anything dissolved
/// beside ethanol makes it read low: beer must be distilled first.
///
/// # Errors
/// [`WortError::Impossible`] outside the range, or for a density that no mixture has
/// at that temperature.
///
/// ```
/// use wort::instruments::{SpiritReading, strength};
/// let spirit = strength(SpiritReading::Density("956.42 kg/m³".parse()?), "13 °C".parse()?)?;
/// assert!((spirit.alcohol_by_mass.value.ratio() - 0.31).abs() < 1e-5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn strength(reading: SpiritReading, at: Measured<Temperature>) -> Result<Spirit, WortError> {
    let mut notes = Vec::new();
    let (x, sd) = match reading {
        SpiritReading::Density(d) => {
            let meter = &FIGURES.density_meter;
            let d = with_usual_spread(d, meter.value, meter, &mut notes);
            (d.canonical(), d.sd())
        }
        SpiritReading::Strength(s) => {
            let figure = &FIGURES.spirit_strength;
            let s = with_usual_spread(s, figure.value / 100.0, figure, &mut notes);
            (s.canonical(), s.sd())
        }
    };
    let at = temperature_with_spread(at, &mut notes);
    let ([mass, volume, rho, at_20], sds) =
        propagated(&[x, at.canonical()], &[sd, at.sd()], |x| {
            let temp_c = check("temperature of the mixture", x[1], "°C", 0.0, 40.0)?;
            let p = match reading {
                SpiritReading::Density(_) => mass_at_density(x[0], temp_c)?,
                SpiritReading::Strength(_) => mass_at_strength(x[0])?,
            };
            let at_20 = ethanol_density(p, 20.0);
            Ok::<_, WortError>([p, by_volume(p), ethanol_density(p, temp_c), at_20])
        })?;
    let [mass_sd, volume_sd, rho_sd, at_20_sd] = sds;
    notes.push(Note::fine(
        "holds for ethanol and water alone: anything dissolved makes the strength read low, so beer is distilled and made up to its volume first",
    ));
    Ok(Spirit {
        alcohol: Measured::with_sd(AlcoholByVolume::from_ratio(volume), volume_sd),
        alcohol_by_mass: Measured::with_sd(Fraction::from_ratio(mass), mass_sd),
        density: Measured::with_sd(Density::from_kg_per_m3(rho), rho_sd),
        density_at_20: Measured::with_sd(Density::from_kg_per_m3(at_20), at_20_sd),
        notes,
        cautions: vec![Caution::Distilling],
    })
}

fn by_volume(mass_fraction: f64) -> f64 {
    mass_fraction * ethanol_density(mass_fraction, 20.0) / pure_ethanol_density()
}

fn mass_at_density(kg_per_m3: f64, temp_c: f64) -> Result<f64, WortError> {
    let density = |p: f64| ethanol_density(p, temp_c);
    check("density", kg_per_m3, "kg/m³", density(1.0), density(0.0))?;
    Ok(root(0.0, 1.0, |p| kg_per_m3 - density(p)))
}

fn mass_at_strength(by_volume_ratio: f64) -> Result<f64, WortError> {
    let strength = check("strength", by_volume_ratio * 100.0, "% vol", 0.0, 100.0)? / 100.0;
    Ok(root(0.0, 1.0, |p| by_volume(p) - strength))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn by_density(rho: f64, c: f64) -> Spirit {
        let reading = SpiritReading::Density(Measured::exactly(Density::from_kg_per_m3(rho)));
        strength(reading, Measured::exactly(Temperature::from_c(c))).unwrap()
    }

    /// OIML R 22 (1975): the printed table has 956.42 kg/m³ at 31 % mass and 13 °C;
    /// the others are its formula computed independently with NumPy.
    #[test]
    fn strength_by_density_agrees_with_oiml_r_22() {
        for (mass, c, rho) in [
            (31.0, 13.0, 956.42),
            (4.0, 15.56, 991.860),
            (10.0, 30.0, 978.731),
            (50.0, 20.0, 913.771),
        ] {
            let ours = by_density(rho, c).alcohol_by_mass.value.ratio() * 100.0;
            assert!((ours - mass).abs() < 0.006, "{ours} against {mass}");
        }
        for (rho, volume) in [(989.378, 6.268), (981.848, 12.440), (913.771, 57.889)] {
            let ours = by_density(rho, 20.0).alcohol.value.percent();
            assert!((ours - volume).abs() < 1e-3, "{ours} against {volume}");
        }
    }

    #[test]
    fn a_density_of_no_mixture_is_refused_and_distilling_is_cautioned() {
        let heavy = SpiritReading::Density("1.01 g/mL".parse().unwrap());
        let said = strength(heavy, "20 °C".parse().unwrap()).unwrap_err();
        assert_eq!(
            said.to_string(),
            "density cannot be 1010 kg/m³; between 789.2 and 998.2 kg/m³ would work"
        );
        assert_eq!(by_density(970.0, 20.0).cautions, [Caution::Distilling]);
        let strong = SpiritReading::Strength("40 % vol".parse().unwrap());
        assert!(strength(strong, "60 °C".parse().unwrap()).is_err());
    }

    proptest! {
        #[test]
        fn strength_and_density_are_each_others_way_back(v in 0.1..99.5f64, c in 0.5..39.5f64) {
            let at = Measured::exactly(Temperature::from_c(c));
            let given = Measured::exactly(AlcoholByVolume::from_ratio(v / 100.0));
            let there = strength(SpiritReading::Strength(given), at).unwrap();
            let back = by_density(there.density.canonical(), c);
            prop_assert!((back.alcohol.canonical() * 100.0 - v).abs() < 1e-6);
        }

        #[test]
        fn more_alcohol_is_lighter_at_every_temperature(p in 0.0..0.999f64, c in 0.0..40.0f64) {
            prop_assert!(ethanol_density(p + 1e-3, c) < ethanol_density(p, c));
        }
    }
}

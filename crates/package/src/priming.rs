//! Sugar for the bottle: what it gives, and how much is needed.

use std::sync::LazyLock;

use quantity::density::{pure_ethanol_density, water_density};
use quantity::molar_mass as m;
use quantity::{
    AlcoholByVolume, CarbonDioxide, Fraction, Gravity, Mark, Mass, Measured, Source, Spread, Volume,
};

use crate::error::{PackageError, find, sound, within};

/// Real extract lost per apparent extract lost, Balling's simple form
/// RE = 0.1808 OE + 0.8192 AE (De Clerck, from memory).
pub(crate) const REAL_PER_APPARENT: f64 = 0.8192;

/// A priming sugar: a row of `data/sugars.toml`.
#[derive(Debug, Clone, PartialEq)]
pub struct Sugar {
    /// The key that documents use.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Mass of CO₂ per mass of sugar that a dose is reckoned with \[–\].
    pub dose_yield: Fraction,
    /// The least it gives, where yeast takes its share for growth \[–\].
    pub low_yield: Fraction,
    /// The most it can give \[–\].
    pub high_yield: Fraction,
    /// The part that counts as extract \[–\].
    pub extract: Fraction,
    /// The part of that extract that ferments \[–\].
    pub fermented: Fraction,
    /// Where the row comes from.
    pub source: Source,
}

impl Sugar {
    /// All sugars of the table.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &SUGARS
    }

    /// The sugar with a key.
    ///
    /// # Errors
    /// [`PackageError::UnknownKey`] with the nearest key.
    pub fn find(key: &str) -> Result<&'static Self, PackageError> {
        find("sugar", &SUGARS, |sugar| &sugar.key, key)
    }
}

/// Sugar \[kg\] that lifts beer from the CO₂ it holds to the aim:
/// (aim − held) · volume / yield. Nothing where it already holds the aim.
///
/// For pure sugars the yield is that of theory, without growth of yeast, so
/// the aim is not overshot. The gas that goes into the head space is left out,
/// as the tables of the trade do.
///
/// # Errors
/// [`PackageError::Impossible`] where a quantity is outside its bounds.
pub fn sugar_for(
    sugar: &Sugar,
    target: CarbonDioxide,
    held: CarbonDioxide,
    volume: Volume,
) -> Result<Mass, PackageError> {
    let wanted = sound("carbon dioxide aimed at", target)?.g_per_l();
    let missing = (wanted - sound("carbon dioxide in the beer", held)?.g_per_l()).max(0.0);
    let grams = missing * sound("volume", volume)?.l() / yield_of(sugar)?;
    sound("priming sugar", Mass::from_g(grams))
}

/// CO₂ \[g/L\] that sugar adds to a volume of beer: the middle of what it can
/// give, with the ends of its yield.
///
/// # Errors
/// [`PackageError::Impossible`] where the mass is out of bounds or there is no
/// beer.
pub fn carbon_dioxide_from(
    sugar: &Sugar,
    mass: Mass,
    volume: Volume,
) -> Result<Measured<CarbonDioxide>, PackageError> {
    let dose = g_per_l(mass, volume)?;
    let low = dose * sugar.low_yield.ratio();
    let high = dose * sugar.high_yield.ratio();
    Ok(Measured {
        value: CarbonDioxide::from_g_per_l((low + high) / 2.0),
        spread: Spread::Range { low, high },
    })
}

/// Alcohol \[–\] that comes with CO₂ from sugar: one mole with each mole.
///
/// # Errors
/// [`PackageError::Impossible`] where the CO₂ is out of bounds.
pub fn alcohol_with(made: CarbonDioxide) -> Result<AlcoholByVolume, PackageError> {
    let g_per_l = sound("carbon dioxide", made)?.g_per_l() * m::ETHANOL / m::CO2;
    Ok(AlcoholByVolume::from_ratio(
        g_per_l / pure_ethanol_density(),
    ))
}

/// Apparent extract \[°P\] once the sugar has fermented out.
///
/// The dose raises the original extract by ΔOE and leaves ΔRE unfermented;
/// with Balling's simple form AE rises by (ΔRE − 0.1808 ΔOE)/0.8192. Sugar that
/// goes wholly therefore lowers it a little, as alcohol is lighter than water.
///
/// # Errors
/// [`PackageError::Impossible`] as [`carbon_dioxide_from`].
pub fn gravity_after(
    gravity: Gravity,
    sugar: &Sugar,
    mass: Mass,
    volume: Volume,
) -> Result<Gravity, PackageError> {
    let beer = sound("gravity", gravity)?;
    let extract_g_per_l = g_per_l(mass, volume)? * sugar.extract.ratio();
    let original_rise = extract_g_per_l / (10.0 * beer_kg_per_l(beer));
    let left = original_rise * (1.0 - sugar.fermented.ratio());
    let rise = (left - (1.0 - REAL_PER_APPARENT) * original_rise) / REAL_PER_APPARENT;
    sound("gravity", Gravity::from_plato(beer.plato() + rise))
}

/// Density of beer at 20 °C \[kg/L\].
pub(crate) fn beer_kg_per_l(gravity: Gravity) -> f64 {
    gravity.sg() * water_density(20.0) / 1000.0
}

fn g_per_l(mass: Mass, volume: Volume) -> Result<f64, PackageError> {
    let beer = within("volume", volume, LEAST_VOLUME_L, 1e5)?;
    Ok(sound("priming sugar", mass)?.g() / beer.l())
}

/// Less beer than this \[L\] is none.
pub(crate) const LEAST_VOLUME_L: f64 = 1e-3;

fn yield_of(sugar: &Sugar) -> Result<f64, PackageError> {
    Ok(within("yield of the sugar", sugar.dose_yield, 0.01, 1.0)?.ratio())
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    sugar: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    name: String,
    dose: f64,
    low: f64,
    high: f64,
    extract: f64,
    fermented: f64,
    source: String,
    mark: String,
}

static SUGARS: LazyLock<Vec<Sugar>> = LazyLock::new(|| {
    let file: File = quantity::data::builtin("sugars.toml", include_str!("../data/sugars.toml"));
    file.sugar.into_iter().map(sugar).collect()
});

fn sugar(row: Row) -> Sugar {
    let mark: Mark = quantity::data::mark("sugars.toml", &row.key, &row.mark);
    Sugar {
        dose_yield: Fraction::from_ratio(row.dose),
        low_yield: Fraction::from_ratio(row.low),
        high_yield: Fraction::from_ratio(row.high),
        extract: Fraction::from_ratio(row.extract),
        fermented: Fraction::from_ratio(row.fermented),
        source: Source {
            text: row.source,
            mark,
        },
        key: row.key,
        name: row.name,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carbonation::residual;
    use proptest::prelude::*;
    use quantity::{Altitude, Temperature};

    fn near(ours: f64, printed: f64, tolerance: f64) {
        assert!(
            (ours - printed).abs() <= tolerance,
            "{ours} against {printed}"
        );
    }

    fn vol(x: f64) -> CarbonDioxide {
        CarbonDioxide::from_volumes(x)
    }

    #[test]
    fn every_row_is_sound_and_has_its_own_key() {
        for (i, sugar) in Sugar::all().iter().enumerate() {
            assert!(!sugar.source.text.is_empty() && !sugar.name.is_empty());
            assert!(sugar.low_yield <= sugar.dose_yield && sugar.dose_yield <= sugar.high_yield);
            assert!(sugar.low_yield.ratio() > 0.0 && sugar.extract.ratio() <= 1.0);
            assert!(
                Sugar::all()
                    .iter()
                    .skip(i + 1)
                    .all(|other| other.key != sugar.key)
            );
        }
    }

    /// Stoichiometry from molar masses of Prohaska et al. 2022; the share that
    /// growth leaves is 0.9565 of 2.0665/2 · 2·CO2/hexose (Balling's figures,
    /// De Clerck, from memory).
    #[test]
    fn yields_of_pure_sugars_are_their_stoichiometry() {
        let glucose = 2.0 * m::CO2 / m::HEXOSE;
        let growth = (0.9565 / 2.0665) / glucose;
        for (key, theory) in [
            ("sucrose", 4.0 * m::CO2 / m::DISACCHARIDE),
            ("glucose", glucose),
            ("glucose-monohydrate", 2.0 * m::CO2 / (m::HEXOSE + m::H2O)),
        ] {
            let sugar = Sugar::find(key).unwrap();
            near(sugar.high_yield.ratio(), theory, 6e-5);
            near(sugar.low_yield.ratio(), theory * growth, 2e-4);
        }
        let monohydrate = Sugar::find("glucose-monohydrate").unwrap();
        near(
            monohydrate.extract.ratio(),
            m::HEXOSE / (m::HEXOSE + m::H2O),
            6e-5,
        );
    }

    /// Grams of sugar for a litre and a volume, without and with the yeast's share
    /// (Balling), computed from the molar masses.
    #[test]
    fn a_volume_takes_its_grams() {
        for (key, theory, balling) in [
            ("sucrose", 3.84, 4.06),
            ("glucose", 4.05, 4.27),
            ("fructose", 4.05, 4.27),
            ("glucose-monohydrate", 4.45, 4.70),
        ] {
            let sugar = Sugar::find(key).unwrap();
            near(vol(1.0).g_per_l() / sugar.high_yield.ratio(), theory, 0.006);
            near(vol(1.0).g_per_l() / sugar.low_yield.ratio(), balling, 0.006);
        }
        let (dry, honey) = (
            Sugar::find("dry-malt-extract").unwrap(),
            Sugar::find("honey").unwrap(),
        );
        near(vol(1.0).g_per_l() / dry.dose_yield.ratio(), 6.8, 0.06);
        near(vol(1.0).g_per_l() / honey.dose_yield.ratio(), 5.1, 0.06);
    }

    /// 19 L from 0.85 vol \[g\], computed by hand from the stoichiometry; corn
    /// sugar within 4 % of Kaiser's rule of 0.455 g CO2 per gram (read).
    #[test]
    fn nineteen_litres_take_the_worked_amounts() {
        for (target, sucrose, monohydrate, anhydrous, extract) in [
            (1.8, 69.0, 80.0, 73.0, 123.0),
            (2.7, 135.0, 156.0, 142.0, 240.0),
            (3.5, 194.0, 224.0, 204.0, 343.0),
        ] {
            for (key, printed) in [
                ("sucrose", sucrose),
                ("glucose-monohydrate", monohydrate),
                ("glucose", anhydrous),
                ("dry-malt-extract", extract),
            ] {
                let sugar = Sugar::find(key).unwrap();
                let mass = sugar_for(sugar, vol(target), vol(0.85), Volume::from_l(19.0)).unwrap();
                near(mass.g(), printed, 0.6);
            }
        }
        let corn = Sugar::find("glucose-monohydrate").unwrap();
        near(corn.dose_yield.ratio() / (0.5 * 0.91), 1.0, 0.04);
    }

    /// 113 g of sucrose in 19.0 L that was 20 °C: 2.35 vol, with shares of
    /// 0.038 (1.5 °C), 0.032 (0.4 L), 0.024 (yield) and 0.013 vol (1 g);
    /// Monte Carlo with NumPy 2.4.
    #[test]
    fn the_worked_carbonation_is_met_with_its_shares() {
        let sucrose = Sugar::find("sucrose").unwrap();
        let total = |g: f64, l: f64, c: f64| {
            let held = residual(Temperature::from_c(c), Altitude::from_m(0.0)).unwrap();
            let made = carbon_dioxide_from(sucrose, Mass::from_g(g), Volume::from_l(l)).unwrap();
            held.value.volumes() + made.value.volumes()
        };
        let made = carbon_dioxide_from(sucrose, Mass::from_g(113.0), Volume::from_l(19.0)).unwrap();
        near(total(113.0, 19.0, 20.0), 2.35, 0.006);
        near(
            (total(113.0, 19.0, 18.5) - total(113.0, 19.0, 21.5)) / 2.0,
            0.038,
            0.001,
        );
        near(
            (total(113.0, 18.6, 20.0) - total(113.0, 19.4, 20.0)) / 2.0,
            0.032,
            0.001,
        );
        near(
            (total(114.0, 19.0, 20.0) - total(112.0, 19.0, 20.0)) / 2.0,
            0.013,
            0.001,
        );
        near(
            vol(1.0).g_per_l() * 0.024,
            made.sd(),
            0.001 * vol(1.0).g_per_l(),
        );
    }

    /// 4 g/L of sucrose adds about 0.27 % vol (0.538 g ethanol per gram); the
    /// same alcohol lowers the density of water by 0.0004 (OIML R 22).
    #[test]
    fn priming_adds_alcohol_and_lowers_the_gravity() {
        let sucrose = Sugar::find("sucrose").unwrap();
        let (mass, volume) = (Mass::from_g(4.0), Volume::from_l(1.0));
        let made = CarbonDioxide::from_g_per_l(4.0 * sucrose.high_yield.ratio());
        near(alcohol_with(made).unwrap().percent(), 0.27, 0.006);
        let before = Gravity::from_sg(1.010);
        let after = gravity_after(before, sucrose, mass, volume).unwrap();
        near(after.sg() - before.sg(), -0.0004, 0.0001);
        let malt = Sugar::find("dry-malt-extract").unwrap();
        let malty = gravity_after(before, malt, mass, volume).unwrap();
        assert!(malty > before, "what malt extract leaves stays in the beer");
    }

    #[test]
    fn unknown_sugars_name_the_nearest() {
        let error = Sugar::find("sucrse").unwrap_err();
        assert!(error.to_string().contains("perhaps \"sucrose\""), "{error}");
        assert!(error.to_string().contains("honey"), "{error}");
    }

    #[test]
    fn no_beer_and_nonsense_are_refused() {
        let sucrose = Sugar::find("sucrose").unwrap();
        assert!(carbon_dioxide_from(sucrose, Mass::from_g(5.0), Volume::from_l(0.0)).is_err());
        assert!(sugar_for(sucrose, vol(f64::NAN), vol(0.8), Volume::from_l(19.0)).is_err());
    }

    proptest! {
        /// Mass balance: the dose gives back the CO₂ it was reckoned for, and
        /// carbon dioxide and ethanol together weigh no more than sugar and the
        /// water that splits it.
        #[test]
        fn a_dose_gives_what_it_was_reckoned_for(
            index in 0..Sugar::all().len(), target in 1.0..6.0f64, held in 0.3..1.8f64, litres in 0.5..500.0f64,
        ) {
            let sugar = &Sugar::all()[index];
            let volume = Volume::from_l(litres);
            let mass = sugar_for(sugar, vol(target), vol(held), volume).unwrap();
            let missing = (target - held).max(0.0);
            let back = mass.g() * sugar.dose_yield.ratio() / litres;
            prop_assert!((back - vol(missing).g_per_l()).abs() < 1e-9);
            let made = CarbonDioxide::from_g_per_l(mass.g() * sugar.high_yield.ratio() / litres);
            let ethanol = alcohol_with(made).unwrap().ratio() * pure_ethanol_density();
            let products = made.g_per_l() + ethanol;
            prop_assert!(products <= mass.g() / litres * (1.0 + m::H2O / m::DISACCHARIDE) * 1.0001);
        }
    }
}

//! From the stock to the solution that is used.

use std::fmt;

use quantity::{Density, Dilution, Fraction, Mass, MassConcentration, Units, Volume, show};

use crate::error::{PackageError, sound, within};

/// How strong a solution is in use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Strength {
    /// Of the active substance.
    Active(MassConcentration),
    /// Of the liquid as it is sold, or of alcohol.
    Mixed(Dilution),
}

/// How strong a stock is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StockStrength {
    /// A solid, so much of it active.
    Solid(Fraction),
    /// A liquid with so much active substance in a litre.
    Liquid(MassConcentration),
    /// A liquid of so much alcohol.
    OfVolume(Dilution),
    /// A liquid that is dosed as it is sold.
    AsSold,
}

/// How much of a stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// By weight.
    Mass(Mass),
    /// By volume.
    Volume(Volume),
}

/// A working solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Working {
    /// How much of the stock.
    pub amount: Amount,
    /// Into how much cold water; the solution is then as much as was wanted.
    pub water: Volume,
    /// The strength that it has.
    pub strength: Strength,
}

impl Strength {
    /// Whether it is stronger than another of its kind, by more than a hair.
    #[must_use]
    pub fn is_above(self, other: Self) -> bool {
        match (self, other) {
            (Self::Active(a), Self::Active(b)) => a.mg_per_l() > b.mg_per_l() * (1.0 + 1e-9),
            (Self::Mixed(a), Self::Mixed(b)) => a.ml_per_l() > b.ml_per_l() * (1.0 + 1e-9),
            _ => false,
        }
    }

    /// Ready to read.
    #[must_use]
    pub fn show(self, units: Units) -> String {
        match self {
            // 12.5 mg/L of iodine is not 12.
            Self::Active(c) if c.mg_per_l() < 100.0 && c.mg_per_l().fract() > 0.05 => {
                format!("{:.1} mg/L", c.mg_per_l())
            }
            Self::Active(c) => show(c, units),
            Self::Mixed(d) => show(d, units),
        }
    }
}

impl StockStrength {
    /// A liquid of so much in a hundred grams, with its density.
    #[must_use]
    pub fn by_mass(part: Fraction, density: Density) -> Self {
        Self::Liquid(MassConcentration::from_mg_per_l(
            part.ratio() * density.kg_per_m3() * 1e3,
        ))
    }

    /// A liquid of so many grams in 100 mL.
    #[must_use]
    pub fn by_volume(part: Fraction) -> Self {
        Self::Liquid(MassConcentration::from_mg_per_l(part.ratio() * 1e6))
    }
}

impl Amount {
    /// Ready to read.
    #[must_use]
    pub fn show(self, units: Units) -> String {
        match self {
            Self::Mass(mass) => show(mass, units),
            Self::Volume(volume) => show(volume, units),
        }
    }
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.show(Units::Metric))
    }
}

/// How much of a stock makes a volume of a strength.
///
/// V_stock = V c/c_stock, or m = V c/purity for a solid; volumes are taken to add,
/// which is within 1 % for all that is dilute. Spirit shrinks on mixing by up to 4 %:
/// fill up to the volume.
///
/// # Errors
/// [`PackageError::WeakStock`] where the stock is not stronger than the solution;
/// [`PackageError::OtherStrength`] where the two are counted differently;
/// [`PackageError::Impossible`] for a quantity that cannot be.
pub fn working_solution(
    stock: &StockStrength,
    aim: Strength,
    volume: Volume,
) -> Result<Working, PackageError> {
    let litres = within("volume of the solution", volume, 1e-3, 1e5)?.l();
    let (amount, taken_l) = match (stock, aim) {
        (StockStrength::Solid(purity), Strength::Active(aim)) => {
            let purity = within("purity of the stock", *purity, 0.01, 1.0)?.ratio();
            let aim = aimed_mg_per_l(aim)?;
            (Amount::Mass(Mass::from_g(aim * litres / 1e3 / purity)), 0.0)
        }
        (StockStrength::Liquid(stock), Strength::Active(aim)) => {
            let stock = within("strength of the stock", *stock, 1.0, 2e6)?.mg_per_l();
            part_of(litres, aimed_mg_per_l(aim)? / stock)?
        }
        (StockStrength::OfVolume(stock), Strength::Mixed(aim)) => {
            let stock = within("strength of the stock", *stock, 1.0, 1e3)?.ml_per_l();
            part_of(litres, sound("strength wanted", aim)?.ml_per_l() / stock)?
        }
        (StockStrength::AsSold, Strength::Mixed(aim)) => {
            part_of(litres, sound("strength wanted", aim)?.ml_per_l() / 1e3)?
        }
        _ => return Err(PackageError::OtherStrength),
    };
    Ok(Working {
        amount,
        water: Volume::from_l(litres - taken_l),
        strength: aim,
    })
}

fn aimed_mg_per_l(aim: MassConcentration) -> Result<f64, PackageError> {
    // Above a tenth of a litre's weight nothing here is a working solution.
    Ok(within("strength wanted", aim, 0.0, 1e5)?.mg_per_l())
}

fn part_of(litres: f64, part: f64) -> Result<(Amount, f64), PackageError> {
    if part >= 1.0 {
        return Err(PackageError::WeakStock);
    }
    Ok((Amount::Volume(Volume::from_l(litres * part)), litres * part))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cleaning::Agent;
    use proptest::prelude::*;

    fn mg(x: f64) -> Strength {
        Strength::Active(MassConcentration::from_mg_per_l(x))
    }

    fn ml_for_a_litre(agent: &str, aim: Strength) -> f64 {
        let stock = Agent::find(agent).unwrap().stocks[0].strength;
        match working_solution(&stock, aim, Volume::from_l(1.0))
            .unwrap()
            .amount
        {
            Amount::Volume(volume) => volume.l() * 1e3,
            Amount::Mass(_) => panic!("a liquid"),
        }
    }

    /// By hand: 5.25 % bleach, 3.8 mL/L for 200 mg/L and 1.9 for 100; iodophor of 1.6 %,
    /// 0.78 mL/L for 12.5 mg/L; 15 % peracetic acid of 1.13 g/mL, 0.9 mL/L for 150 mg/L.
    #[test]
    fn stocks_are_diluted_as_by_hand() {
        for (agent, aim, ml) in [
            ("hypochlorite", 200.0, 3.81),
            ("hypochlorite", 100.0, 1.90),
            ("iodophor", 12.5, 0.78),
            ("peracetic-acid", 150.0, 0.885),
        ] {
            let ours = ml_for_a_litre(agent, mg(aim));
            assert!((ours - ml).abs() < 0.006, "{agent}: {ours}");
        }
        let acid = Strength::Mixed(Dilution::from_ml_per_l(1.5));
        assert!((ml_for_a_litre("acid-anionic", acid) - 1.5).abs() < 1e-12);
        let pellets = Agent::find("caustic").unwrap().stocks[0].strength;
        let made = working_solution(&pellets, mg(2e4), Volume::from_l(10.0)).unwrap();
        assert_eq!(made.amount, Amount::Mass(Mass::from_g(200.0 / 0.98)));
    }

    /// 96 % spirit to 70 %: 729 mL in a litre, before it shrinks.
    #[test]
    fn spirit_is_let_down() {
        let seventy = Strength::Mixed(Dilution::from_ml_per_l(700.0));
        assert!((ml_for_a_litre("spirit", seventy) - 729.17).abs() < 0.01);
    }

    #[test]
    fn a_weak_stock_and_a_mix_of_bases_are_refused() {
        let weak = StockStrength::by_volume(Fraction::from_ratio(0.01));
        let litre = Volume::from_l(1.0);
        let error = working_solution(&weak, mg(2e4), litre)
            .unwrap_err()
            .to_string();
        assert!(error.contains("stronger stock"), "{error}");
        let other = working_solution(&weak, Strength::Mixed(Dilution::from_ml_per_l(2.0)), litre);
        assert_eq!(other.unwrap_err(), PackageError::OtherStrength);
        assert!(working_solution(&weak, mg(f64::NAN), litre).is_err());
        assert!(working_solution(&weak, mg(100.0), Volume::from_l(0.0)).is_err());
    }

    proptest! {
        /// What is in the stock is in the solution.
        #[test]
        fn the_active_substance_is_conserved(
            percent in 1.0..60.0f64, kg_per_m3 in 900.0..1600.0f64, aim in 1.0..5000.0f64, litres in 0.1..500.0f64,
        ) {
            let stock = StockStrength::by_mass(
                Fraction::from_ratio(percent / 100.0),
                Density::from_kg_per_m3(kg_per_m3),
            );
            let made = working_solution(&stock, mg(aim), Volume::from_l(litres)).unwrap();
            let Amount::Volume(taken) = made.amount else { panic!("a liquid") };
            let active_mg = taken.l() * kg_per_m3 * 1e3 * percent / 100.0;
            prop_assert!((active_mg / (aim * litres) - 1.0).abs() < 1e-9);
            prop_assert!((made.water.l() + taken.l() - litres).abs() < 1e-9);
        }
    }
}

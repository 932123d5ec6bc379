//! Wort as so much extract and so much water: what is conserved, and the
//! volumes that follow from it.

use quantity::density::sucrose_density;
use quantity::density::water_density;

/// An amount of wort. Extract counts as sucrose for its density, as the Plato
/// scale does.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Mix {
    pub(crate) extract_kg: f64,
    pub(crate) water_kg: f64,
}

impl Mix {
    pub(crate) fn water(water_kg: f64) -> Self {
        Self {
            extract_kg: 0.0,
            water_kg,
        }
    }

    pub(crate) fn from_volume(volume_l: f64, plato: f64) -> Self {
        let mass_kg = volume_l * density_kg_per_l(plato, 20.0);
        let extract_kg = mass_kg * plato / 100.0;
        Self {
            extract_kg,
            water_kg: mass_kg - extract_kg,
        }
    }

    pub(crate) fn mass_kg(self) -> f64 {
        self.extract_kg + self.water_kg
    }

    pub(crate) fn plato(self) -> f64 {
        if self.mass_kg() > 0.0 {
            100.0 * self.extract_kg / self.mass_kg()
        } else {
            0.0
        }
    }

    pub(crate) fn volume_l(self) -> f64 {
        self.volume_at(20.0)
    }

    pub(crate) fn volume_at(self, temp_c: f64) -> f64 {
        self.mass_kg() / density_kg_per_l(self.plato(), temp_c)
    }

    pub(crate) fn share(self, ratio: f64) -> Self {
        Self {
            extract_kg: self.extract_kg * ratio,
            water_kg: self.water_kg * ratio,
        }
    }

    pub(crate) fn plus(self, other: Self) -> Self {
        Self {
            extract_kg: self.extract_kg + other.extract_kg,
            water_kg: self.water_kg + other.water_kg,
        }
    }

    pub(crate) fn minus(self, other: Self) -> Self {
        self.plus(other.share(-1.0))
    }
}

/// Density of wort \[kg/L\] at a strength \[°P\] and a temperature \[°C\].
///
/// The sucrose table ends at 80 °C; above, wort is taken to expand as water
/// does, which keeps the two forms equal at 80 °C.
pub(crate) fn density_kg_per_l(plato: f64, temp_c: f64) -> f64 {
    const TABLE_END_C: f64 = 80.0;
    let w = plato / 100.0;
    let kg_per_m3 = if temp_c <= TABLE_END_C {
        sucrose_density(w, temp_c)
    } else {
        sucrose_density(w, TABLE_END_C) * water_density(temp_c) / water_density(TABLE_END_C)
    };
    kg_per_m3 / 1000.0
}

/// Litres of water at 20 °C that weigh so many kilograms.
pub(crate) fn water_l(mass_kg: f64) -> f64 {
    mass_kg / density_kg_per_l(0.0, 20.0)
}

/// Kilograms of so many litres of water at 20 °C.
pub(crate) fn water_kg(volume_l: f64) -> f64 {
    volume_l * density_kg_per_l(0.0, 20.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 27.0 L of 11.00 °P (28.141 kg, 3.0955 kg of extract) less 3.5 kg of steam:
    /// 24.641 kg, 12.562 °P, 23.494 L; computed with NumPy from ICUMSA SPS-4.
    #[test]
    fn evaporation_keeps_extract() {
        let before = Mix::from_volume(27.0, 11.0);
        assert!((before.mass_kg() - 28.141).abs() < 6e-4);
        assert!((before.extract_kg - 3.0955).abs() < 6e-5);
        let after = before.minus(Mix::water(3.5));
        assert!((after.mass_kg() - 24.641).abs() < 6e-4);
        assert!((after.plato() - 12.562).abs() < 6e-4);
        assert!((after.volume_l() - 23.494).abs() < 6e-4);
    }

    /// Water shrinks 4.2 % from 100 to 20 °C: 998.2/958.4, IAPWS by CoolProp 8.0.
    #[test]
    fn boiling_water_shrinks_as_iapws_says() {
        let ratio = density_kg_per_l(0.0, 20.0) / density_kg_per_l(0.0, 100.0);
        assert!((ratio - 998.2 / 958.4).abs() < 2e-4);
    }

    #[test]
    fn density_is_continuous_where_the_table_ends() {
        let step = density_kg_per_l(12.0, 80.0) - density_kg_per_l(12.0, 80.000_1);
        assert!(step.abs() < 1e-6);
    }

    /// 10 °P holds 26.89 lb of extract in a barrel of 31 gal at 60 °F (The
    /// Practical Brewer, 1946, table, as quoted in a trade article; read). The
    /// older base table has 10 °P denser by 4e-5, which is 0.001 lb here.
    #[test]
    fn extract_of_a_barrel_agrees_with_the_practical_brewer() {
        let barrel_l = 31.0 * 3.785_411_784;
        let pounds = barrel_l * density_kg_per_l(10.0, 15.56) * 0.10 / 0.453_592_37;
        assert!((pounds - 26.89).abs() < 0.007, "{pounds}");
    }
}

//! From extract that has fermented to what a hydrometer and a still would read.
//!
//! The masses follow Balling, the densities the sucrose and ethanol tables.

use quantity::density::{
    beer_specific_gravity, plato_from_specific_gravity, pure_ethanol_density,
    specific_gravity_from_plato, sucrose_density,
};
use quantity::numeric::root;
use wort::alcohol::{CO2_PER_ETHANOL, EXTRACT_PER_ETHANOL, YEAST_PER_ETHANOL};

/// One wort, as a base for beers that come of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Balance {
    original_plato: f64,
    wort_g_per_l: f64,
}

/// A beer that came of a wort, per what it was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct BeerFigures {
    /// Real extract \[mass %\].
    pub(crate) real_plato: f64,
    /// Apparent extract \[°P\].
    pub(crate) apparent_plato: f64,
    /// Ethanol \[mass fraction\].
    pub(crate) ethanol_mass_fraction: f64,
    /// Ethanol \[volume fraction at 20 °C\].
    pub(crate) ethanol_volume_fraction: f64,
}

impl Balance {
    pub(crate) fn new(original_plato: f64) -> Self {
        Self {
            original_plato,
            wort_g_per_l: sucrose_density(original_plato / 100.0, 20.0),
        }
    }

    /// Extract in a litre of the wort \[g/L\].
    pub(crate) fn extract_g_per_l(&self) -> f64 {
        self.wort_g_per_l * self.original_plato / 100.0
    }

    /// The beer after so much extract \[g per L of wort\] has fermented.
    ///
    /// Apparent extract by the sum of densities (Tabarié): what sugar adds to
    /// the specific gravity of water and what alcohol takes off it, at the grams
    /// per litre of the beer.
    pub(crate) fn beer_after(&self, fermented_g_per_l: f64) -> BeerFigures {
        let (real_plato, ethanol) = self.contents(fermented_g_per_l);
        let sg = beer_specific_gravity(real_plato / 100.0, ethanol);
        let density = sg * sucrose_density(0.0, 20.0);
        BeerFigures {
            real_plato,
            apparent_plato: plato_from_specific_gravity(sg),
            ethanol_mass_fraction: ethanol,
            ethanol_volume_fraction: ethanol * density / pure_ethanol_density(),
        }
    }

    /// Extract that has fermented \[g per L of wort\] when the apparent extract
    /// reads so much; between none and all.
    pub(crate) fn fermented_at(&self, apparent_plato: f64) -> f64 {
        let aim = specific_gravity_from_plato(apparent_plato);
        root(0.0, self.extract_g_per_l(), |fermented| {
            let (real_plato, ethanol) = self.contents(fermented);
            aim - beer_specific_gravity(real_plato / 100.0, ethanol)
        })
    }

    /// Real extract \[mass %\] and ethanol \[mass fraction\]: Balling's balance,
    /// CO₂ gone and yeast settled.
    fn contents(&self, fermented_g_per_l: f64) -> (f64, f64) {
        let per_100_g = fermented_g_per_l / self.wort_g_per_l * 100.0;
        let ethanol = per_100_g / EXTRACT_PER_ETHANOL;
        let mass = 100.0 - ethanol * (CO2_PER_ETHANOL + YEAST_PER_ETHANOL);
        (
            (self.original_plato - per_100_g) / mass * 100.0,
            ethanol / mass,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Balling's alcohol formula A = (OE − RE)/(2.0665 − 0.010665 OE), worked
    /// rows computed with NumPy. The gravity sum differs from Balling's
    /// attenuation quotient by up to 0.1 °P, so RE is compared at that.
    #[test]
    fn beer_agrees_with_balling() {
        for (oe, ae, re, a) in [
            (12.0, 2.5, 4.2890, 3.9778),
            (12.0, 3.0, 4.6948, 3.7684),
            (15.0, 3.5, 5.6883, 4.8841),
            (10.0, 2.0, 3.4959, 3.3187),
        ] {
            let wort = Balance::new(oe);
            let beer = wort.beer_after(wort.fermented_at(ae));
            assert!((beer.apparent_plato - ae).abs() < 1e-6);
            assert!((beer.real_plato - re).abs() < 0.1, "{beer:?} against {re}");
            assert!(
                (beer.ethanol_mass_fraction * 100.0 - a).abs() < 0.05,
                "{beer:?} {a}"
            );
            let by_formula = (oe - beer.real_plato) / (2.0665 - 0.010_665 * oe) / 100.0;
            assert!((beer.ethanol_mass_fraction - by_formula).abs() < 1e-12);
        }
    }

    proptest! {
        #[test]
        fn mass_closes_and_gravity_falls(oe in 1.0..35.0f64, part in 0.0..0.95f64) {
            let wort = Balance::new(oe);
            let f = part * wort.extract_g_per_l();
            let beer = wort.beer_after(f);
            let ethanol = f / EXTRACT_PER_ETHANOL;
            let gone = ethanol * (CO2_PER_ETHANOL + YEAST_PER_ETHANOL);
            let beer_g = wort.wort_g_per_l - gone;
            prop_assert!((beer.ethanol_mass_fraction * beer_g - ethanol).abs() < 1e-9);
            prop_assert!((beer.real_plato / 100.0 * beer_g + f - wort.extract_g_per_l()).abs() < 1e-9);
            prop_assert!(wort.beer_after(f + 0.1).apparent_plato < beer.apparent_plato);
            prop_assert!((wort.fermented_at(beer.apparent_plato) - f).abs() < 1e-6);
        }
    }
}

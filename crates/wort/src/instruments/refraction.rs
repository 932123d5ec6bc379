//! Refractive index of wort and beer, the physics under a refractometer.

use quantity::density::{beer_density, ethanol_density, sucrose_density};

use super::figures::{FIGURES, Polynomial};
use crate::alcohol::balling_alcohol;
use crate::numeric::{interpolate, root};

/// Refractive index of a sucrose solution at 20 °C, by its reading \[°Bx\].
pub(super) fn sucrose_index(bx: f64) -> f64 {
    FIGURES.sucrose_index.at(bx)
}

/// Refractive index at 20 °C of the beer that has come from an original to a real
/// extract \[°P\]: that of water, and what extract and ethanol add to it, each alone
/// in water at the grams per litre of the beer. Extract refracts `factor` times as
/// much as sucrose.
pub(super) fn beer_index(original: f64, real: f64, factor: f64) -> f64 {
    let alcohol = balling_alcohol(original, real);
    let rho = beer_density(real / 100.0, alcohol / 100.0, 20.0);
    let extract = alone(real * rho, sucrose_density);
    let ethanol = alone(alcohol * rho, ethanol_density);
    let water = sucrose_index(0.0);
    let of_extract = sucrose_index(extract) - water;
    let of_ethanol = FIGURES.ethanol_index.at(ethanol) - FIGURES.ethanol_index.at(0.0);
    water + factor * of_extract + of_ethanol
}

/// What a refractometer shows \[°Bx\] in a liquid of a refractive index.
pub(super) fn reading_of(index: f64) -> f64 {
    root(-1.0, 45.0, |bx| sucrose_index(bx) - index)
}

/// What to add to a reading \[°Bx\] of an instrument that does not compensate, in a
/// sample at a temperature \[°C\]; above 20 °C the mirror image of what is below.
pub(super) fn temperature_correction(bx: f64, temp_c: f64) -> f64 {
    let table = &FIGURES.temperature_correction;
    let below = 20.0 - (temp_c - 20.0).abs();
    let column = |pick: fn(&(f64, f64, f64, f64)) -> f64| {
        let rows: Vec<(f64, f64)> = table.rows.iter().map(|r| (r.0, pick(r))).collect();
        interpolate(&rows, below)
    };
    let (low_bx, middle_bx, high_bx) = table.at_bx;
    let middle = column(|r| r.2);
    // Straight on beyond the readings of the table.
    let (other, other_bx) = if bx < middle_bx {
        (column(|r| r.1), low_bx)
    } else {
        (column(|r| r.3), high_bx)
    };
    let at_reading = middle + (other - middle) * (bx - middle_bx) / (other_bx - middle_bx);
    if temp_c > 20.0 {
        -at_reading
    } else {
        at_reading
    }
}

/// Mass per cent of the solution in water with so much in it, in per cent of the
/// density of the beer.
fn alone(percent_of_rho: f64, density: fn(f64, f64) -> f64) -> f64 {
    let mut rho = density(0.0, 20.0);
    for _ in 0..40 {
        let next = density(percent_of_rho / 100.0 / rho, 20.0);
        let moved = (next - rho).abs();
        rho = next;
        if moved < 1e-9 {
            break;
        }
    }
    percent_of_rho / rho
}

impl Polynomial {
    fn at(&self, x: f64) -> f64 {
        let terms = self.polynomial.iter().rev();
        terms.fold(0.0, |sum, c| sum * x + c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// OIV-MA-AS2-02, table II, as the French order of 14 September 2011 prints it.
    #[test]
    fn the_index_of_sucrose_agrees_with_the_printed_table() {
        for (bx, index) in [
            (10.0, 1.34782),
            (11.0, 1.34937),
            (12.0, 1.35093),
            (13.0, 1.35250),
            (14.0, 1.35408),
            (15.0, 1.35568),
            (20.0, 1.36384),
            (22.0, 1.36720),
            (24.0, 1.37060),
            (25.0, 1.37233),
        ] {
            assert!((sucrose_index(bx) - index).abs() < 1.1e-5, "{bx}");
            assert!((reading_of(sucrose_index(bx)) - bx).abs() < 1e-8);
        }
    }

    /// OIV-MA-AS2-02, table I, at the readings and temperatures of its print.
    #[test]
    fn the_correction_for_temperature_agrees_with_the_printed_table() {
        for (bx, c, correction) in [
            (10.0, 5.0, -0.82),
            (10.0, 10.0, -0.59),
            (10.0, 15.0, -0.32),
            (10.0, 17.0, -0.20),
            (15.0, 5.0, -0.87),
            (15.0, 15.0, -0.33),
            (15.0, 17.0, -0.20),
            (15.0, 10.0, -0.62),
            (20.0, 10.0, -0.65),
            (20.0, 12.0, -0.53),
            (20.0, 15.0, -0.34),
            (20.0, 5.0, -0.92),
            (20.0, 17.0, -0.21),
        ] {
            assert!(
                (temperature_correction(bx, c) - correction).abs() < 0.006,
                "{bx} {c}"
            );
        }
        assert!((temperature_correction(10.0, 30.0) - 0.59).abs() < 1e-12);
    }

    #[test]
    fn wort_reads_what_its_factor_says() {
        let index = beer_index(12.0, 12.0, 1.0);
        assert!((reading_of(index) - 12.0).abs() < 1e-6);
    }
}

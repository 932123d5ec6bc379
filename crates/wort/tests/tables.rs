//! Printed and recomputed tables, the rows that stand beside no model of their own.

use quantity::density::{
    plato_by_asbc_polynomial, plato_from_specific_gravity, specific_gravity_from_plato,
    sucrose_density, water_density,
};
use quantity::{Colour, Fraction, Gravity};
use wort::alcohol::original_extract;
use wort::malts;

fn near(ours: f64, printed: f64, tolerance: f64) {
    assert!(
        (ours - printed).abs() <= tolerance,
        "{ours} against {printed}"
    );
}

/// ICUMSA SPS-4 (1998) and Kell (1975), recomputed with NumPy: kg/m³ at 4, 15, 25, 40 °C.
#[test]
fn densities_of_sucrose_between_the_rows() {
    for (plato, row) in [
        (0.0, [999.972, 999.099, 997.043, 992.212]),
        (10.0, [1040.812, 1039.262, 1036.735, 1031.391]),
        (12.0, [1049.330, 1047.641, 1045.019, 1039.570]),
        (20.0, [1084.628, 1082.381, 1079.371, 1073.500]),
    ] {
        for (temp_c, printed) in [4.0, 15.0, 25.0, 40.0].into_iter().zip(row) {
            near(sucrose_density(plato / 100.0, temp_c), printed, 6e-4);
        }
    }
}

/// The same table by gravity, and the ASBC polynomial; recomputed with NumPy.
#[test]
fn gravities_between_the_rows() {
    for (plato, sg) in [
        (2.0, 1.007_772),
        (5.0, 1.019_638),
        (8.0, 1.031_758),
        (10.0, 1.039_984),
        (12.5, 1.050_432),
        (15.0, 1.061_069),
        (18.0, 1.074_087),
        (20.0, 1.082_923),
    ] {
        near(specific_gravity_from_plato(plato), sg, 6e-7);
    }
    for (sg, icumsa, asbc) in [
        (1.008, 2.058, 2.052),
        (1.010, 2.568, 2.561),
        (1.016, 4.087, 4.078),
        (1.030, 7.569, 7.558),
        (1.048, 11.922, 11.912),
        (1.060, 14.751, 14.741),
    ] {
        near(plato_from_specific_gravity(sg), icumsa, 6e-4);
        near(plato_by_asbc_polynomial(sg), asbc, 6e-4);
    }
}

/// Gravity points for a gram in a litre, by ICUMSA SPS-4 with NumPy: 385.9, 385.2, 384.5
/// and 382.3 per kg/L at 50, 100, 150 and 300 g/L.
#[test]
fn points_for_a_kilogram_in_a_litre() {
    for (grams_per_l, points) in [
        (50.0, 385.9),
        (100.0, 385.2),
        (150.0, 384.5),
        (300.0, 382.3),
    ] {
        let (mut low, mut high) = (0.0, 40.0);
        while high - low > 1e-10 {
            let plato = f64::midpoint(low, high);
            if sucrose_density(plato / 100.0, 20.0) * plato / 100.0 < grams_per_l {
                low = plato;
            } else {
                high = plato;
            }
        }
        let sg = specific_gravity_from_plato(low);
        near((sg - 1.0) * 1e6 / grams_per_l, points, 0.06);
    }
}

/// Water of 100 °C shrinks by 4.2 % to 20 °C (998.2 and 958.4 kg/m³).
#[test]
fn wort_shrinks_as_it_cools() {
    let per_cent = 100.0 * (water_density(20.0) / water_density(100.0) - 1.0);
    near(per_cent, 4.2, 0.05);
}

/// Balling's factor 1/(2.0665 − 0.010665·OE) at 10, 14 and 18 °P, computed: all of it
/// fermented gives OE times as much alcohol.
#[test]
fn balling_factors_between_the_rows() {
    for (oe, factor) in [(10.0, 0.5102), (14.0, 0.5216), (18.0, 0.5335)] {
        let all = Fraction::from_ratio(oe * factor / 100.0);
        near(
            original_extract(all, Gravity::from_plato(0.0)).plato(),
            oe,
            2e-3,
        );
    }
}

/// EBC = 25·A and SRM = 12.7·A of the absorbance in 1 cm at 430 nm: A of 2 is 50 EBC and
/// 25.4 SRM.
#[test]
fn colour_scales_are_each_others_multiple() {
    near(Colour::from_ebc(50.0).srm(), 25.4, 0.01);
}

/// TGL 17756 (1966), as quoted (read): the least extracts of its malts \[% of dry matter\].
/// Brown malt 110 to 130 EBC: a maltster's sheet (read). Dextrose monohydrate 180/198.
#[test]
fn the_malts_keep_the_limits_that_were_read() {
    let low = |name: &str| {
        let quantity::Spread::Range { low, .. } = malts::find(name).unwrap().extract.spread else {
            panic!("a range");
        };
        100.0 * low
    };
    for (name, least) in [
        ("pilsner malt", 79.5),
        ("Munich malt, light", 77.5),
        ("wheat malt", 83.5),
        ("dextrin malt", 74.5),
        ("crystal malt 100 to 160 EBC", 69.5),
        ("black malt", 59.5),
    ] {
        near(low(name), least, 0.51);
    }
    let dextrose = malts::find("dextrose monohydrate").unwrap();
    near(
        100.0 * dextrose.extract_as_is().ratio(),
        100.0 * 180.0 / 198.0,
        0.2,
    );
}

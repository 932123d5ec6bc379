//! Printed and recomputed tables, the rows that stand beside no model of their own.

use quantity::{Colour, Fraction, Gravity};
use wort::alcohol::original_extract;
use wort::malts;

fn near(ours: f64, printed: f64, tolerance: f64) {
    assert!(
        (ours - printed).abs() <= tolerance,
        "{ours} against {printed}"
    );
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
/// Brown malt of 110 to 130 EBC: a maltster's sheet (read). Dextrose monohydrate: 180/198.
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
    let brown = malts::find("brown malt").unwrap().colour;
    for ebc in [110.0, 130.0] {
        let within = brown.lower().ebc() <= ebc && ebc <= brown.upper().ebc();
        assert!(within, "{brown:?}");
    }
    let dextrose = malts::find("dextrose monohydrate").unwrap();
    near(
        100.0 * dextrose.extract_as_is().ratio(),
        100.0 * 180.0 / 198.0,
        0.2,
    );
}

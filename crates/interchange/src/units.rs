//! The units of the standard as ours. A factor stands where we have no such unit; all are
//! exact. What no exact factor turns into ours is a row of `data/figures.toml`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use quantity::data;
use serde::Deserialize;

/// A unit of the standard: its word, our symbol, and how many of ours it is.
pub(crate) type Unit = (&'static str, &'static str, f64);

/// Volumes. Those without "i" are US customary, as those with it are imperial.
pub(crate) const VOLUME: &[Unit] = &[
    ("ml", "mL", 1.0),
    ("l", "L", 1.0),
    ("tsp", "mL", 3_785.411_784 / 768.0),
    ("tbsp", "mL", 3_785.411_784 / 256.0),
    ("floz", "fl oz", 1.0),
    ("cup", "fl oz", 8.0),
    ("pt", "pt", 1.0),
    ("qt", "qt", 1.0),
    ("gal", "gal", 1.0),
    ("bbl", "bbl", 1.0),
    ("ifloz", "mL", 4_546.09 / 160.0),
    ("ipt", "imp pt", 1.0),
    ("iqt", "imp pt", 2.0),
    ("igal", "imp gal", 1.0),
    ("ibbl", "imp gal", 36.0),
];

/// Masses.
pub(crate) const MASS: &[Unit] = &[
    ("mg", "mg", 1.0),
    ("g", "g", 1.0),
    ("kg", "kg", 1.0),
    ("lb", "lb", 1.0),
    ("oz", "oz", 1.0),
];

/// Temperatures.
pub(crate) const TEMPERATURE: &[Unit] = &[("C", "°C", 1.0), ("F", "°F", 1.0)];

/// Times.
pub(crate) const TIME: &[Unit] = &[
    ("sec", "s", 1.0),
    ("min", "min", 1.0),
    ("hr", "h", 1.0),
    ("day", "d", 1.0),
    ("week", "week", 1.0),
];

/// Shares.
pub(crate) const PERCENT: &[Unit] = &[("%", "%", 1.0)];

/// Alcohol, which the standard calls by volume where it stands.
pub(crate) const ALCOHOL: &[Unit] = &[("%", "% vol", 1.0)];

/// pH.
pub(crate) const ACIDITY: &[Unit] = &[("pH", "", 1.0)];

/// Gravities; °Bx of a recipe are a mass per cent of sugar, as °P are.
pub(crate) const GRAVITY: &[Unit] = &[("sg", "", 1.0), ("plato", "°P", 1.0), ("brix", "°P", 1.0)];

/// Colours that need no judgement.
pub(crate) const COLOUR: &[Unit] = &[("EBC", "EBC", 1.0), ("SRM", "SRM", 1.0)];

/// Ions in water; in fresh water a part in a million is a milligram in a litre.
pub(crate) const ION: &[Unit] = &[
    ("ppm", "mg/L", 1.0),
    ("mg/l", "mg/L", 1.0),
    ("ppb", "ug/L", 1.0),
];

/// What is in a solid.
pub(crate) const CONTENT: &[Unit] = &[("ppm", "mg/kg", 1.0), ("ppb", "mg/kg", 1e-3)];

/// Enzymes.
pub(crate) const DIASTATIC: &[Unit] = &[("Lintner", "°Lintner", 1.0)];

/// Liquor to grain.
pub(crate) const PER_MASS: &[Unit] = &[
    ("l/kg", "L/kg", 1.0),
    ("l/g", "L/kg", 1e3),
    ("m^3/kg", "L/kg", 1e3),
    ("qt/lb", "qt/lb", 1.0),
    ("gal/lb", "gal/lb", 1.0),
    ("gal/oz", "gal/lb", 16.0),
    // 16 oz in a pound, 128 fl oz in a gallon.
    ("floz/oz", "gal/lb", 0.125),
    // 1728 cubic inches in a cubic foot, 231 in a gallon.
    ("ft^3/lb", "gal/lb", 1728.0 / 231.0),
];

/// Litres in the volumes by which the standard tells what a kettle gives off in an hour.
pub(crate) const PER_HOUR: &[(&str, f64)] = &[
    ("ml", 1e-3),
    ("l", 1.0),
    ("floz", 3.785_411_784 / 128.0),
    ("pt", 3.785_411_784 / 8.0),
    ("qt", 3.785_411_784 / 4.0),
    ("gal", 3.785_411_784),
    ("ipt", 4.546_09 / 8.0),
    ("iqt", 4.546_09 / 4.0),
    ("igal", 4.546_09),
];

/// Litre degrees in a kilogram that one point (0.001) of a pound in a US gallon is.
pub(crate) const LITRE_DEGREES_PER_POINT: f64 = 3.785_411_784 / 0.453_592_37;

/// A number as documents write it, without the noise of a conversion beyond what any
/// reading has.
pub(crate) fn number(x: f64) -> f64 {
    format!("{x:.13e}").parse().unwrap_or(x)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Figures {
    figure: Vec<Figure>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Figure {
    key: String,
    value: f64,
    source: String,
    mark: String,
}

static FIGURES: LazyLock<BTreeMap<String, f64>> = LazyLock::new(|| {
    const NAME: &str = "figures.toml";
    let file: Figures = data::builtin(NAME, include_str!("../data/figures.toml"));
    let rows = file.figure.into_iter().map(|row| {
        let _ = data::mark(NAME, &row.key, &row.mark);
        debug_assert!(!row.source.is_empty(), "{}", row.key);
        (row.key, row.value)
    });
    rows.collect()
});

/// A figure of `data/figures.toml`.
pub(crate) fn figure(key: &str) -> f64 {
    match FIGURES.get(key) {
        Some(value) => *value,
        #[expect(
            clippy::panic,
            reason = "a missing row is a defect of the program, and tests use every key"
        )]
        None => panic!("no figure {key}"),
    }
}

/// SRM units of a malt's laboratory wort from degrees Lovibond, no less than nought.
pub(crate) fn srm_of_lovibond(lovibond: f64) -> f64 {
    (figure("srm_per_lovibond") * lovibond + figure("srm_at_no_lovibond")).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 60 °L: 1.3546 × 60 − 0.76 = 80.516 SRM, reckoned by hand from the rows.
    #[test]
    fn degrees_lovibond_become_srm() {
        assert!((srm_of_lovibond(60.0) - 80.516).abs() < 1e-9);
        assert!(srm_of_lovibond(0.0).abs() < 1e-12);
        assert!(figure("water_j_per_kg_k") > 4000.0);
    }

    /// NIST Handbook 44: a US gallon is 231 cubic inches of 2.54 cm, an imperial one
    /// 4.54609 L; each holds 8 pints.
    #[test]
    fn factors_are_those_of_the_gallons() {
        let cubic_inch_ml = 2.54f64.powi(3);
        let factor = |word: &str| VOLUME.iter().find(|(w, ..)| *w == word).unwrap().2;
        assert!((factor("tsp") * 768.0 - 231.0 * cubic_inch_ml).abs() < 1e-9);
        assert!((factor("tbsp") / factor("tsp") - 3.0).abs() < 1e-12);
        assert!((factor("ifloz") * 160.0 - 4546.09).abs() < 1e-9);
        // Points of a pound in a gallon: 0.1198264 L°/kg the other way, as 1/8.345404.
        assert!((LITRE_DEGREES_PER_POINT - 8.345_404).abs() < 1e-6);
    }
}

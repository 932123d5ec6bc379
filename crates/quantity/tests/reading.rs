//! What brewers write is read for what it means, and what is wrong is pointed at.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use quantity::*;

fn value<Q: Quantity + std::str::FromStr<Err = QuantityError>>(text: &str) -> f64 {
    text.parse::<Q>()
        .unwrap_or_else(|e| panic!("{e}"))
        .canonical()
}

fn error<Q: Quantity + std::str::FromStr<Err = QuantityError> + std::fmt::Debug>(
    text: &str,
) -> QuantityError {
    text.parse::<Q>().unwrap_err()
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} against {b}");
}

#[test]
fn the_forms_that_brewers_write() {
    near(value::<Volume>("20 L"), 20.0);
    near(value::<Volume>("20 l"), 20.0);
    near(value::<Volume>("5.5 gal"), 5.5 * 3.785_411_784);
    near(value::<Volume>("1 imp gal"), 4.546_09);
    near(value::<Volume>("1 bbl"), 31.0 * 3.785_411_784);
    near(value::<Volume>("500ml"), 0.5);
    near(value::<Gravity>("12.9 °P"), 12.9);
    near(value::<Gravity>("12.9 P"), 12.9);
    near(value::<Gravity>("1.052"), Gravity::from_sg(1.052).plato());
    near(value::<Temperature>("68 F"), 20.0);
    near(value::<Temperature>("68 °F"), 20.0);
    near(value::<Temperature>("-1 °C"), -1.0);
    near(value::<Duration>("60 min"), 1.0);
    near(value::<Duration>("1 h 30 min"), 1.5);
    near(value::<Duration>("9 d"), 216.0);
    near(value::<Mass>("4 lb 6 oz"), 4.375 * 0.453_592_37);
    near(value::<Mass>("106 mg"), 1.06e-4);
    near(value::<CarbonDioxide>("2.4 vol"), 2.4 * 1.976_81);
    near(value::<Fraction>("60 %"), 0.6);
    near(value::<Ph>("5.4"), 5.4);
    near(value::<Ph>("pH 5.4"), 5.4);
    near(value::<Cells>("200 billion cells"), 200.0);
    near(value::<MassConcentration>("0.15 mg/L"), 0.15);
    near(value::<MassConcentration>("50 µg/L"), 0.05);
}

#[test]
fn micrograms_are_read_in_every_spelling_and_printed_in_one() {
    // With the micro sign, the Greek letter, and a plain u.
    for text in ["50 µg/L", "50 μg/L", "50 ug/L", "50 ug/l"] {
        near(value::<MassConcentration>(text), 0.05);
    }
    let little = MassConcentration::from_mg_per_l(0.05);
    assert_eq!(show(little, Units::Metric), "50.0 µg/L");
    assert_eq!(show(little, Units::Us), "50.0 µg/L");
}

#[test]
fn few_cells_are_not_printed_as_none() {
    let few = CellDensity::from_millions_per_ml(1e-3);
    assert_eq!(show(few, Units::Metric), "1000 cells/mL");
    let usual = CellDensity::from_millions_per_ml(9.5);
    assert_eq!(show(usual, Units::Metric), "9.5 million/mL");
}

#[test]
fn the_basis_is_part_of_the_quantity() {
    // One milliequivalent is 50.04 mg of CaCO3 and 61.02 mg of bicarbonate.
    near(
        value::<Alkalinity>("100.0869 mg/L as CaCO3"),
        100.0869 / (100.086_0 / 2.0),
    );
    let as_caco3 = value::<Alkalinity>("50.04 mg/L as CaCO3");
    let as_hco3 = value::<Alkalinity>("61.02 mg/L as HCO3");
    assert!((as_caco3 - 1.0).abs() < 1e-3 && (as_hco3 - 1.0).abs() < 1e-3);
    // 1 °dH is 0.3566 mEq/L, 17.85 mg/L as CaCO3 (periodictable 2.1.0).
    assert!((value::<Hardness>("14 °dH") / 14.0 - 0.3566).abs() < 1e-4);
    assert!((value::<Hardness>("1 °e") - 14.254 / 50.043).abs() < 1e-4);
    assert!((value::<Hardness>("1 gr/gal") - 17.118 / 50.043).abs() < 1e-4);
    near(value::<Hardness>("1 mmol/L"), 2.0);
    assert!((value::<Nitrate>("10 mg/L as N") - 44.27).abs() < 0.01);
    assert!((value::<Sulfate>("10 mg/L as S") - 29.96).abs() < 0.01);
    near(value::<Calcium>("1 mEq/L"), 40.078 / 2.0);
    assert!((value::<Chlorine>("1 mg/L as NH2Cl") - 70.90 / 51.473).abs() < 1e-3);
    for text in ["238 mg/L", "238 ppm"] {
        let problem = error::<Alkalinity>(text);
        assert!(
            matches!(problem.problem, Problem::Ambiguous { .. }),
            "{problem}"
        );
    }
    assert!(
        error::<Volume>("1 barrel")
            .to_string()
            .contains("36 imp gal")
    );
}

#[test]
fn spreads_are_read_in_every_form() {
    for text in [
        "1.8 ± 0.3 mg/L",
        "1.8 +- 0.3 mg/L",
        "1.8+/-0.3 mg/L",
        "1.8 mg/L ± 0.3 mg/L",
        "1.8±0.3mg/L",
    ] {
        let read: Measured<Chlorine> = text.parse().unwrap_or_else(|e| panic!("{e}"));
        near(read.canonical(), 1.8);
        near(read.sd(), 0.3);
    }
    let relative: Measured<Volume> = "20 L ± 5 %".parse().unwrap();
    near(relative.sd(), 1.0);
    let room: Measured<Temperature> = "68 ± 2 F".parse().unwrap();
    near(room.sd(), 2.0 / 1.8);
    let og: Measured<Gravity> = "1.052 ± 0.001".parse().unwrap();
    assert!(
        (og.sd() - 0.237).abs() < 0.002,
        "a point is 0.237 °P here, not {}",
        og.sd()
    );
    for text in [
        "12-18 mg/L",
        "12–18 mg/L",
        "12 to 18 mg/L",
        "12..18 mg/L",
        "12 mg/L - 18 mg/L",
    ] {
        let read: Measured<Calcium> = text.parse().unwrap_or_else(|e| panic!("{text}: {e}"));
        assert_eq!(
            read.spread,
            Spread::Range {
                low: 12.0,
                high: 18.0
            }
        );
        near(read.sd(), 3.0 / 3f64.sqrt());
    }
    let below: Measured<Chlorine> = "<0.05 mg/L".parse().unwrap();
    assert_eq!(
        below.spread,
        Spread::Range {
            low: 0.0,
            high: 0.05
        }
    );
    let share: Measured<Fraction> = "60 ± 5 %".parse().unwrap();
    near(share.sd(), 0.05);
}

#[test]
fn errors_point_at_the_character_and_say_what_would_work() {
    for (text, character, says) in [
        ("20 galz", 4, "did you mean"),
        ("20", 3, "the unit is missing"),
        ("20,5 L", 1, "20.5"),
        ("abc L", 1, "not a number"),
        ("", 1, "nothing is written"),
        ("-3 L", 1, "between 0 L"),
        ("1e300 L", 1, "out of bounds"),
        ("20 L of beer", 4, "unknown unit"),
        ("NaN L", 1, "not a number"),
        ("inf L", 1, "not a number"),
        ("18-12 L", 1, "runs backwards"),
        ("20 ± -3 L", 6, "cannot be a spread"),
    ] {
        let problem = text.parse::<Measured<Volume>>().unwrap_err();
        assert_eq!(problem.character(), character, "{text:?}: {problem}");
        assert!(problem.to_string().contains(says), "{text:?}: {problem}");
    }
    assert!(
        error::<Temperature>("20 degrees")
            .to_string()
            .contains("°C or °F")
    );
    assert!(
        error::<Gravity>("13 Brix")
            .to_string()
            .contains("refractometer")
    );
}

#[test]
fn printing_follows_the_customary_units_and_the_spread() {
    assert_eq!(show(Temperature::from_c(65.0), Units::Us), "149 °F");
    assert_eq!(show(Mass::from_g(3.26), Units::Metric), "3.26 g");
    assert_eq!(show(Mass::from_g(0.106), Units::Metric), "106 mg");
    assert_eq!(show(Colour::from_ebc(14.0), Units::Us), "7.1 SRM");
    assert_eq!(
        show(CarbonDioxide::from_volumes(2.4), Units::Us),
        "2.40 vol"
    );
    let tap: Measured<Chlorine> = "1.8 ± 0.3 mg/L".parse().unwrap();
    assert_eq!(show_measured(&tap, Units::Metric), "1.8 ± 0.3 mg/L as Cl2");
    let cold: Measured<Temperature> = "4 ± 0.15 °C".parse().unwrap();
    assert_eq!(show_measured(&cold, Units::Metric), "4.00 ± 0.15 °C");
}

mod round_trips {
    use super::*;
    use proptest::prelude::*;

    fn back<Q>(x: f64)
    where
        Q: Quantity + std::str::FromStr<Err = QuantityError>,
    {
        for unit in Q::UNITS {
            let written = format!("{} {}", (unit.from_canonical)(x), unit.symbol);
            let read = written
                .parse::<Q>()
                .unwrap_or_else(|e| panic!("{e}"))
                .canonical();
            assert!(
                (read - x).abs() <= 1e-9 * x.abs().max(1e-3),
                "{written}: {read} against {x}"
            );
        }
    }

    proptest! {
        #[test]
        fn every_unit_reads_back(x in 0.001..30.0f64) {
            back::<Volume>(x);
            back::<Mass>(x);
            back::<Temperature>(x);
            back::<Duration>(x);
            back::<Alkalinity>(x);
            back::<Hardness>(x);
            back::<Calcium>(x);
            back::<Nitrate>(x);
            back::<Colour>(x);
            back::<CarbonDioxide>(x);
            back::<Gravity>(x);
            back::<VolumePerMass>(x);
            back::<GaugePressure>(x);
        }

        #[test]
        fn no_text_brings_the_reader_down(text in "\\PC{0,40}") {
            let _ = text.parse::<Measured<Volume>>();
            let _ = text.parse::<Measured<Alkalinity>>();
            let _ = text.parse::<Measured<Gravity>>();
            let _ = text.parse::<Measured<Temperature>>();
            let _ = text.parse::<Measured<Duration>>();
        }

        #[test]
        fn near_misses_say_where(text in "[0-9.,]{1,6} ?[±+-]{0,2} ?[0-9.]{0,4} ?(L|gal|lb|mg/L|%|)") {
            if let Err(error) = text.parse::<Measured<Volume>>() {
                prop_assert!(error.at.end <= text.len());
                prop_assert!(error.at.start <= error.at.end);
                prop_assert!(!error.help().is_empty());
            }
        }
    }
}

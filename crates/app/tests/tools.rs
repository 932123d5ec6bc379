//! The small tools beside the kettle, from text to text.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

use app::{Line, Measurement, Tool, Typed, tools};
use batch::Fault;
use quantity::{Caution, Units};

fn ask(tool: &str, readings: &[(&str, &str)]) -> Result<Measurement, Vec<Fault>> {
    let typed: Typed = readings
        .iter()
        .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
        .collect();
    Tool::find(tool).unwrap().measure(&typed, Units::Metric)
}

fn line<'m>(found: &'m Measurement, key: &str) -> &'m Line {
    found.lines.iter().find(|l| l.key == key).unwrap()
}

/// The examples that the fields show can be read, all together.
#[test]
fn every_tool_takes_its_own_examples() {
    assert!(tools().len() >= 12, "none is left out");
    for tool in tools() {
        let typed: Vec<(&str, &str)> = tool.fields.iter().map(|f| (f.name, f.example)).collect();
        // Wort and beer have the same example reading; beer reads lower.
        let typed = match tool.key {
            "refractometer" => [&typed[1..], &[("reading", "6.3 °Bx")]].concat(),
            "hydrometer" => [&typed[1..], &[("reading", "1.010")]].concat(),
            _ => typed,
        };
        let found = ask(tool.key, &typed).unwrap_or_else(|f| panic!("{}: {f:?}", tool.key));
        assert!(found.lines[0].main, "{}", tool.key);
        for line in &found.lines {
            assert!(line.value.is_finite() && !line.text.is_empty(), "{line:?}");
        }
    }
}

/// OIML R 22 (1975) prints 956.42 kg/m³ for 31 % mass at 13 °C.
#[test]
fn a_printed_density_gives_its_strength_and_its_caution() {
    let found = ask("spirit", &[("reading", "956.42 kg/m3"), ("at", "13 °C")]).unwrap();
    assert!((line(&found, "alcohol_by_mass").value - 31.0).abs() < 0.003);
    assert_eq!(line(&found, "alcohol_by_mass").unit, "%");
    assert_eq!(found.cautions, [Caution::Distilling]);
    let back = ask("spirit", &[("reading", "31 %"), ("at", "13 °C")]).unwrap();
    assert_eq!(back.lines[0].key, "density");
}

/// NumPy, ICUMSA densities: 1.050 to 1.010 is 4.487 °P of real extract and 5.224 % vol
/// by Tabarié, 4.337 °P and 5.316 % vol by the classical quotient of ASBC figures.
#[test]
fn both_routes_are_shown_and_one_is_recommended() {
    let found = ask("alcohol", &[("original", "1.050"), ("now", "1.010")]).unwrap();
    assert!((line(&found, "alcohol").value - 5.224).abs() < 2e-3);
    assert!(
        line(&found, "alcohol")
            .remark
            .unwrap()
            .contains("recommended")
    );
    assert!((line(&found, "real_extract").value - 4.487).abs() < 2e-3);
    assert!((line(&found, "alcohol_classical").value - 5.316).abs() < 6e-3);
    assert!((line(&found, "real_extract_classical").value - 4.337).abs() < 1.1e-2);
}

#[test]
fn every_fault_is_told_at_its_own_reading() {
    let faults = ask("dilute", &[("volume", "20"), ("gravity", "12 °Bx")]).unwrap_err();
    let at: Vec<&str> = faults.iter().map(|f| f.path.as_str()).collect();
    assert_eq!(at, ["volume", "gravity", "to"]);
    assert_eq!(faults[0].help, "write it as in 20 L");
    assert!(faults[1].help.contains("refractometer"), "{}", faults[1]);
    let faults = ask("hydrometer", &[("reading", "1.05"), ("at", "95 °C")]).unwrap_err();
    assert_eq!(faults[0].path, "at");
    assert!(faults[0].help.contains("between 0 and 80 °C would work"));
    let faults = ask("extract", &[("reading", "12 °P"), ("colour", "8 EBC")]).unwrap_err();
    assert_eq!(faults[0].path, "colour");
    let faults = ask(
        "refractometer",
        &[("reading", "x"), ("factor", "y"), ("at", "z")],
    );
    assert_eq!(faults.unwrap_err().len(), 3);
}

#[test]
fn a_reading_of_two_kinds_is_told_apart_by_its_unit() {
    let by_gravity = ask("extract", &[("reading", "12 °P")]).unwrap();
    let by_density = ask("extract", &[("reading", "1046.444 g/L")]).unwrap();
    for found in [&by_gravity, &by_density] {
        assert!((line(found, "gravity").value - 12.0).abs() < 1e-3);
    }
    let gallons = ask(
        "dilute",
        &[("volume", "20 L"), ("gravity", "1.060"), ("to", "6.5 gal")],
    );
    assert!((line(&gallons.unwrap(), "volume").value - 24.605).abs() < 1e-3);
    let neither = ask("extract", &[("reading", "12 parsecs")]).unwrap_err();
    assert!(
        neither[0].message.contains("unknown unit"),
        "{}",
        neither[0]
    );
}

/// Kaiser's equation: 2.4 volumes at 4 °C and sea level need 0.72 bar; first-order law
/// with 3 and 8 days: 0.85 volumes become 2.0 to 2.5 g/L in a day.
#[test]
fn a_keg_is_set_and_waited_for() {
    let found = ask("keg", &[("aim", "2.4 vol"), ("at", "4 °C")]).unwrap();
    assert!((line(&found, "pressure").value - 0.72).abs() < 0.006);
    assert_eq!(line(&found, "after_1_d").text, "2.0–2.5 g/L");
    assert!(found.lines.iter().all(|l| l.key != "time"));
    let pushed = [("aim", "2.4 vol"), ("at", "4 °C"), ("pressure", "2 bar")];
    let found = ask("keg", &pushed).unwrap();
    assert!(line(&found, "time").text.ends_with(" d"));
    assert!(found.cautions.contains(&Caution::KegPressure));
}

#[test]
fn a_word_that_is_no_choice_names_those_that_are() {
    let faults = ask("line", &[("pressure", "0.8 bar"), ("tube", "hose")]).unwrap_err();
    assert_eq!(faults[0].path, "tube");
    assert!(faults[0].help.contains("vinyl-3/16"), "{faults:?}");
}

#[test]
fn what_the_cellar_refuses_stands_at_its_field() {
    let high = [("pressure", "0.1 bar"), ("rise", "3 m")];
    assert_eq!(ask("line", &high).unwrap_err()[0].path, "pressure");
    let weak = [
        ("beer", "19 L"),
        ("original", "1.048"),
        ("now", "1.010"),
        ("limit", "80 %"),
    ];
    let faults = ask("priming-wort", &weak).unwrap_err();
    assert_eq!(faults[0].path, "original");
    assert!(faults[0].help.contains("stronger"), "{faults:?}");
    let big = [("beer", "330 mL"), ("head_space", "1 L")];
    assert_eq!(
        ask("bottle-oxygen", &big).unwrap_err()[0].path,
        "head_space"
    );
}

/// Geometry of the improved Neubauer chamber; intervals by SciPy 1.17.1 (chi2.ppf and
/// binomtest), as in crates/ferment/tests/reference/pitch.py.
#[test]
fn a_count_tells_how_surely_it_is_known() {
    let found = ask(
        "cells",
        &[
            ("cells", "187"),
            ("squares", "5"),
            ("dilution", "100"),
            ("dead", "12"),
            ("of", "200"),
        ],
    )
    .unwrap();
    assert!((line(&found, "all").value - 935.0).abs() < 1e-9);
    assert!(line(&found, "all").text.contains("805.8–1079.0 million/mL"));
    assert!((line(&found, "viability").value - 94.0).abs() < 1e-9);
    assert!(line(&found, "viability").text.contains("89.8–96.5 %"));
    assert!((found.lines[0].value - 935.0 * 0.94).abs() < 1e-9);
    let half = ask(
        "cells",
        &[("cells", "18.5"), ("squares", "5"), ("dead", "3")],
    )
    .unwrap_err();
    let places: Vec<&str> = half.iter().map(|f| f.path.as_str()).collect();
    assert_eq!(places, ["cells", "of"]);
}

/// White & Zainasheff 2010 (read): 100 billion cells in 1 L of 9 °P become 152.
#[test]
fn a_starter_is_reckoned_forwards_and_backwards() {
    let grown = ask("starter", &[("cells", "100 billion"), ("volume", "1 L")]).unwrap();
    assert!((grown.lines[0].value / 152.0 - 1.0).abs() < 0.02);
    assert!(grown.cautions.contains(&Caution::Starter));
    let sought = ask(
        "starter",
        &[
            ("cells", "60 billion"),
            ("wanted", "180 billion"),
            ("way", "stirred"),
        ],
    )
    .unwrap();
    assert!(sought.lines[0].value >= 180.0);
    let neither = ask("starter", &[("cells", "60 billion")]).unwrap_err();
    assert_eq!(neither[0].path, "wanted");
    let enough = ask(
        "starter",
        &[("cells", "200 billion"), ("wanted", "180 billion")],
    )
    .unwrap();
    assert!(enough.notes[0].text.contains("enough already"));
}

/// colour-science 0.4.7: 20 EBC through 5 cm has Y 0.1743 and is drawn as 185 89 0; only
/// colour times depth counts, so 1 cm of it looks as 5 cm of 4 EBC, 244 209 126.
#[test]
fn a_glass_of_any_depth_is_drawn() {
    let found = ask("glass", &[("colour", "20 EBC"), ("depth", "5 cm")]).unwrap();
    assert!((found.lines[0].value - 17.43).abs() < 0.02, "{found:?}");
    let near = |found: &Measurement, printed: [i64; 3]| {
        let hex = found.lines[0].colour.as_deref().unwrap();
        let channel = |n: usize| i64::from_str_radix(&hex[1 + 2 * n..3 + 2 * n], 16).unwrap();
        printed
            .iter()
            .enumerate()
            .all(|(n, p)| (channel(n) - p).abs() <= 2)
    };
    assert!(near(&found, [185, 89, 0]), "{found:?}");
    let thin = ask("glass", &[("colour", "20 EBC"), ("depth", "1 cm")]).unwrap();
    assert!(near(&thin, [244, 209, 126]), "{thin:?}");
    let faults = ask("glass", &[("colour", "20"), ("depth", "5 cm")]).unwrap_err();
    assert_eq!(faults[0].path, "colour");
}

/// Bubbles lift a hydrometer: the middle of what is met is taken off, and the width told.
#[test]
fn gas_in_the_sample_of_a_hydrometer_is_taken_off() {
    let read = |gas: &str| {
        let typed = [("reading", "1.020 ± 0.0005"), ("at", "20 °C"), ("gas", gas)];
        ask("hydrometer", &typed).unwrap()
    };
    let (still, lively) = (read("shaken out"), read("left in"));
    let (before, after) = (line(&still, "gravity"), line(&lively, "gravity"));
    assert!(
        after.text.starts_with("1.016") || after.text.starts_with("1.017"),
        "{}",
        after.text
    );
    assert!(after.sd.unwrap() > 2.0 * before.sd.unwrap());
    assert!(
        lively
            .notes
            .iter()
            .any(|n| n.text.contains("shake the gas out"))
    );
    let wrong = ask(
        "hydrometer",
        &[("reading", "1.020"), ("at", "20 °C"), ("gas", "some")],
    );
    assert_eq!(wrong.unwrap_err()[0].path, "gas");
}

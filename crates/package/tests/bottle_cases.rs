//! Invented bottlings judged as the physics says, each with its reason: the table is
//! `reference/bottle_cases.toml`, its gas and pressure are computed beside it.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail the test")]

mod beer;

use beer::green;
use ferment::GreenBeer;
use package::{
    Carbonation, Container, Fill, PackagePlan, Packaging, Proof, Sugar, Vessel, package,
};
use quantity::{
    Altitude, CarbonDioxide, Duration, Gravity, Measured, Spread, Temperature, Units, Volume,
};

#[derive(serde::Deserialize)]
struct File {
    case: Vec<Case>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    name: String,
    bottle: String,
    target: f64,
    sugar: String,
    gravity: Option<String>,
    forced: Option<String>,
    days: Option<f64>,
    left: f64,
    diastatic: bool,
    warmest: f64,
    head_ml: f64,
    altitude_m: f64,
    worst_vol: f64,
    worst_bar: f64,
    high_bar: f64,
    verdict: String,
    because: String,
}

fn packed(case: &Case) -> Packaging {
    let read = |text: &Option<String>| -> Option<Measured<Gravity>> {
        text.as_deref().map(|t| t.parse().unwrap())
    };
    let beer = GreenBeer {
        fermentable_left_at_most: Gravity::from_plato(case.left),
        diastatic: case.diastatic,
        ..green()
    };
    let head_space = Volume::from_l(case.head_ml / 1000.0);
    let plan = PackagePlan {
        vessel: Vessel::Bottles {
            class: Container::find(&case.bottle).unwrap(),
            fill: Fill::with_air(Volume::from_l(0.330), head_space),
        },
        target: CarbonDioxide::from_volumes(case.target),
        carbonation: Carbonation::Priming(Sugar::find(&case.sugar).unwrap()),
        loss: Volume::from_l(2.0),
        conditioning: Temperature::from_c(20.0),
        warmest_storage: Temperature::from_c(case.warmest),
        altitude: Altitude::from_m(case.altitude_m),
        proof: Proof {
            gravity: read(&case.gravity),
            forced: read(&case.forced),
            forced_for: case.days.map(|d| Duration::from_h(24.0 * d)),
        },
    };
    package(&plan, &beer).unwrap()
}

#[test]
fn every_bottling_is_judged_as_the_physics_says() {
    let text = include_str!("reference/bottle_cases.toml");
    let file: File = toml::from_str(text).unwrap();
    assert!(file.case.len() >= 20);
    for case in &file.case {
        let found = packed(case).worst;
        let Spread::Range { low, high } = found.interval.spread else {
            panic!("a range");
        };
        let name = &case.name;
        let near = |ours: f64, theirs: f64, what: &str| {
            assert!(
                (ours - theirs).abs() < 0.01 + 0.003 * theirs,
                "{name}: {what} {ours}, {theirs}"
            );
        };
        near(found.carbon_dioxide.volumes(), case.worst_vol, "gas");
        near(found.pressure.bar(), case.worst_bar, "pressure");
        near(high, case.high_bar, "highest pressure");
        assert!(
            low < found.interval.value.bar() && found.interval.value.bar() < high,
            "{name}"
        );
        let reason = found.reason.text(Units::Metric);
        assert_eq!(found.safety.word(), case.verdict, "{name}: {reason}");
        assert!(reason.contains(&case.because), "{name}: {reason}");
    }
}

/// A stop says what to do instead, and never gives a dose as if nothing were wrong.
#[test]
fn a_stop_says_do_not_package() {
    let text = include_str!("reference/bottle_cases.toml");
    let file: File = toml::from_str(text).unwrap();
    for case in file.case.iter().filter(|c| c.verdict == "stop") {
        let found = packed(case);
        assert!(
            found.worst.remedy.starts_with("do not package"),
            "{}",
            case.name
        );
        let act = found
            .notes
            .iter()
            .find(|n| n.weight == quantity::Weight::Act);
        assert!(act.is_some(), "{}", case.name);
    }
}

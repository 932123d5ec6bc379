//! The whole stage, from green beer to a packed one.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail the test")]

mod beer;

use beer::green;
use ferment::GreenBeer;
use package::{
    Carbonation, Container, Fill, PackageError, PackagePlan, Packaging, Proof, Safety, Sugar,
    Vessel, package,
};
use proptest::prelude::*;
use quantity::{
    Altitude, CarbonDioxide, Caution, GaugePressure, Gravity, Quantity, Temperature, Volume, Weight,
};

fn vol(x: f64) -> CarbonDioxide {
    CarbonDioxide::from_volumes(x)
}

fn celsius(x: f64) -> Temperature {
    Temperature::from_c(x)
}

fn bottles(key: &str) -> Vessel {
    Vessel::Bottles {
        class: Container::find(key).unwrap(),
        fill: Fill::with_air(Volume::from_l(0.330), Volume::from_l(0.015)),
    }
}

fn keg() -> Vessel {
    Vessel::Keg {
        class: Container::find("keg").unwrap(),
        stamped: None,
        serving: celsius(4.0),
    }
}

fn plan(vessel: Vessel) -> PackagePlan {
    PackagePlan {
        vessel,
        target: vol(2.5),
        carbonation: Carbonation::Priming(Sugar::find("sucrose").unwrap()),
        loss: Volume::from_l(2.0),
        conditioning: celsius(20.0),
        warmest_storage: celsius(25.0),
        altitude: Altitude::from_m(0.0),
        proof: Proof::default(),
    }
}

fn has_note(packaging: &Packaging, weight: Weight, words: &str) -> bool {
    packaging
        .notes
        .iter()
        .any(|n| n.weight == weight && n.text.contains(words))
}

/// Sugar: 3.84 g/L per volume of theory; pressure: 2.5 vol at 25 °C over 330 mL
/// with 15 mL of air, 3.34 bar with CoolProp 8.0.
#[test]
fn a_dry_ale_goes_into_bottles() {
    let packed = package(&plan(bottles("standard-crown")), &green()).unwrap();
    let priming = packed.priming.as_ref().unwrap();
    assert!((priming.mass.g() - (2.5 - 0.84) * 3.84 * 19.0).abs() < 0.5);
    let per_bottle = priming.per_bottle.unwrap().g();
    assert!((per_bottle - priming.mass.g() * 0.330 / 19.0).abs() < 1e-9);
    let count = packed.bottles.unwrap();
    assert_eq!(count.full, 57);
    assert!((count.left_over.l() - (19.0 - 57.0 * 0.330)).abs() < 1e-9);
    assert!((packed.worst.pressure.bar() - 3.34).abs() < 0.02);
    assert_eq!(packed.worst.safety, Safety::Safe);
    assert_eq!(packed.cautions, [Caution::BottlePressure]);
    assert!(packed.keg.is_none());
}

/// What the dose for an aim weighs, weighed, comes to the same; in less beer it comes to
/// more gas.
#[test]
fn sugar_that_is_weighed_comes_to_what_it_comes_to() {
    let aimed = package(&plan(bottles("standard-crown")), &green()).unwrap();
    let dose = aimed.priming.as_ref().unwrap();
    let weighed = PackagePlan {
        carbonation: Carbonation::Weighed(dose.sugar, dose.mass),
        ..plan(bottles("standard-crown"))
    };
    assert_eq!(package(&weighed, &green()).unwrap(), aimed);
    let less = GreenBeer {
        volume: Volume::from_l(18.0),
        ..green()
    };
    let stronger = package(&weighed, &less).unwrap();
    assert_eq!(stronger.priming.unwrap().mass, dose.mass);
    let made = |p: &Packaging| p.held.value.g_per_l() - p.residual.value.g_per_l();
    let beer = |from: f64| from - 2.0;
    let ratio = beer(21.0) / beer(18.0);
    let held = stronger.held.value.g_per_l() - stronger.residual.value.g_per_l();
    assert!((held / made(&aimed) - ratio).abs() < 1e-9);
}

#[test]
fn priming_changes_gas_alcohol_and_gravity_and_nothing_else() {
    let (before, packed) = (
        green(),
        package(&plan(bottles("standard-crown")), &green()).unwrap(),
    );
    let beer = &packed.beer;
    assert!((beer.volume.l() - 19.0).abs() < 1e-12);
    let added = beer.alcohol.ratio() - before.alcohol.ratio();
    assert!((added - packed.priming.unwrap().alcohol_added.ratio()).abs() < 1e-15);
    assert!(
        (0.004..0.0045).contains(&added),
        "6.4 g/L add about 0.42 % vol: {added}"
    );
    assert!(beer.gravity < before.gravity);
    assert!(beer.carbon_dioxide < packed.held.value && packed.held.value < vol(2.5));
    assert_eq!(
        (beer.ph, beer.colour, beer.bitterness),
        (before.ph, before.colour, before.bitterness)
    );
    assert_eq!(
        (beer.ions, beer.flavour, beer.halogen_met),
        (before.ions, before.flavour, before.halogen_met)
    );
    assert_eq!(beer.sulfur_dioxide_at_most, before.sulfur_dioxide_at_most);
}

#[test]
fn extract_that_still_ferments_decides_the_verdict() {
    let with = |plato: f64| {
        let beer = GreenBeer {
            fermentable_left_at_most: Gravity::from_plato(plato),
            ..green()
        };
        package(&plan(bottles("standard-crown")), &beer).unwrap()
    };
    assert_eq!(with(0.1).worst.safety, Safety::Safe);
    let some = with(0.4);
    assert_eq!(some.worst.safety, Safety::Look);
    assert!(has_note(&some, Weight::Look, "forced fermentation"));
    let much = with(0.8);
    assert_eq!(much.worst.safety, Safety::Stop);
    assert!(
        much.worst.remedy.contains("ferment out"),
        "{}",
        much.worst.remedy
    );
    assert!(has_note(&much, Weight::Act, "do not bottle"));
    // 2.5 vol and 0.8 °P · 0.8192 · 10.08 g/L · 0.5144 in all.
    assert!(
        (much.worst.carbon_dioxide.volumes() - 2.5 - 0.8 * 0.8192 * 10.08 * 0.5144 / 1.9768).abs()
            < 0.01
    );
}

#[test]
fn aims_above_the_class_are_stopped_and_a_stronger_bottle_helps() {
    let strong = |key: &str| {
        let plan = PackagePlan {
            target: vol(3.8),
            ..plan(bottles(key))
        };
        package(&plan, &green()).unwrap().worst
    };
    let weak = strong("standard-crown");
    assert_eq!(weak.safety, Safety::Stop);
    let reason = weak.reason.text(quantity::Units::Metric);
    assert!(reason.contains("3.0 vol"), "{reason}");
    assert_eq!(strong("heavy-ale").safety, Safety::Look);
    assert_eq!(strong("champagne").safety, Safety::Safe);
}

#[test]
fn an_aim_that_is_just_the_limit_is_not_above_it() {
    let plan = PackagePlan {
        target: vol(3.0),
        ..plan(bottles("standard-crown"))
    };
    assert_eq!(package(&plan, &green()).unwrap().worst.safety, Safety::Look);
}

#[test]
fn a_hot_car_and_a_brimful_bottle_are_seen() {
    let hot = PackagePlan {
        target: vol(3.0),
        warmest_storage: celsius(55.0),
        ..plan(bottles("standard-crown"))
    };
    let packed = package(&hot, &green()).unwrap();
    assert_eq!(packed.worst.safety, Safety::Stop);
    assert!(has_note(&packed, Weight::Look, "beyond the 40 °C"));

    let brimful = |head_l: f64| {
        let vessel = Vessel::Bottles {
            class: Container::find("standard-crown").unwrap(),
            fill: Fill::with_air(Volume::from_l(0.345), Volume::from_l(head_l)),
        };
        package(&plan(vessel), &green()).unwrap().worst
    };
    assert_eq!(brimful(0.0).safety, Safety::Stop);
    assert!(
        brimful(0.0)
            .reason
            .text(quantity::Units::Us)
            .contains("expands")
    );
    assert_eq!(brimful(0.004).safety, Safety::Look);
}

#[test]
fn what_is_no_pressure_vessel_gets_no_dose() {
    for key in ["growler", "preserving-jar", "wine-bottle", "carboy"] {
        let error = package(&plan(bottles(key)), &green()).unwrap_err();
        assert!(
            matches!(error, PackageError::NotForPressure { .. }),
            "{error}"
        );
    }
    let error = package(&plan(bottles("keg")), &green()).unwrap_err();
    assert!(error.to_string().contains("pack it as a keg"), "{error}");
}

#[test]
fn diastatic_yeast_is_never_called_safe() {
    let beer = GreenBeer {
        diastatic: true,
        ..green()
    };
    let packed = package(&plan(bottles("champagne")), &beer).unwrap();
    assert_eq!(packed.worst.safety, Safety::Look);
    assert!(has_note(&packed, Weight::Act, "dextrins"));
}

#[test]
fn beer_with_gas_enough_gets_no_sugar() {
    let spunded = GreenBeer {
        carbon_dioxide: vol(2.7),
        ..green()
    };
    let packed = package(&plan(bottles("standard-crown")), &spunded).unwrap();
    assert!(packed.priming.is_none());
    assert!(has_note(&packed, Weight::Look, "no sugar"));
    assert!(has_note(&packed, Weight::Look, "closed fermenter"));
    assert!((packed.held.value.volumes() - 2.7).abs() < 1e-12);
    assert_eq!(packed.beer.gravity, spunded.gravity);
}

/// Beer that was warm after its end keeps the gas of the warm beer: 0.84 vol of
/// 20 °C, not the 1.50 vol of 2 °C.
#[test]
fn a_cold_crash_does_not_bring_gas_back() {
    let crashed = GreenBeer {
        temperature: celsius(2.0),
        carbon_dioxide: vol(0.5),
        ..green()
    };
    let packed = package(&plan(bottles("standard-crown")), &crashed).unwrap();
    assert!((packed.residual.value.volumes() - 0.84).abs() < 0.006);
}

/// Kaiser's equation at 4 °C, 2.5 vol: 0.79 bar at sea level; 9 bar stamp.
#[test]
fn a_keg_is_set_to_its_pressure() {
    let by_gas = PackagePlan {
        carbonation: Carbonation::Gas,
        ..plan(keg())
    };
    let packed = package(&by_gas, &green()).unwrap();
    let setting = packed.keg.as_ref().unwrap();
    assert!((setting.pressure.value.bar() - (2.5 * 1.9768 / 2.740 - 1.01325)).abs() < 0.002);
    assert!(
        (setting.pressure.sd() - 0.018).abs() < 0.001,
        "1 % of the absolute pressure"
    );
    assert_eq!(packed.worst.safety, Safety::Safe);
    assert_eq!(
        packed.cautions,
        [Caution::KegPressure, Caution::CarbonDioxide]
    );
    assert!(packed.priming.is_none() && packed.bottles.is_none());
    assert_eq!(packed.beer.alcohol, green().alcohol);
    assert!((packed.beer.carbon_dioxide.volumes() - 2.5).abs() < 1e-12);
}

#[test]
fn the_stamp_of_the_keg_decides() {
    let vessel = Vessel::Keg {
        class: Container::find("keg").unwrap(),
        stamped: Some(GaugePressure::from_bar(2.0)),
        serving: celsius(4.0),
    };
    let packed = package(&plan(vessel), &green()).unwrap();
    assert_eq!(packed.worst.safety, Safety::Stop);
    let reason = |units| packed.worst.reason.text(units).to_owned();
    let (metric, us) = (reason(quantity::Units::Metric), reason(quantity::Units::Us));
    assert!(metric.contains("2.0 bar"), "{metric}");
    // 2 bar over 0.0689476 bar a psi is 29.0 psi.
    assert!(us.contains("29.0 psi") && us.contains("°F"), "{us}");
}

#[test]
fn impossible_plans_are_refused() {
    let all_lost = PackagePlan {
        loss: Volume::from_l(21.0),
        ..plan(keg())
    };
    let error = package(&all_lost, &green()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "packaging would lose 21 L of 21 L of beer; name a loss that is less than the beer"
    );
    for broken in [
        PackagePlan {
            target: vol(f64::NAN),
            ..plan(keg())
        },
        PackagePlan {
            warmest_storage: celsius(200.0),
            ..plan(keg())
        },
        PackagePlan {
            altitude: Altitude::from_m(f64::INFINITY),
            ..plan(keg())
        },
        PackagePlan {
            loss: Volume::from_l(-1.0),
            ..plan(keg())
        },
    ] {
        assert!(matches!(
            package(&broken, &green()),
            Err(PackageError::Impossible { .. })
        ));
    }
    let nonsense = GreenBeer {
        gravity: Gravity::from_plato(f64::NAN),
        ..green()
    };
    assert!(package(&plan(keg()), &nonsense).is_err());
}

fn any_plan() -> impl Strategy<Value = PackagePlan> {
    let vessels = prop_oneof![
        Just(bottles("standard-crown")),
        Just(bottles("champagne")),
        Just(bottles("can")),
        Just(keg()),
    ];
    (
        vessels,
        0..Sugar::all().len(),
        any::<bool>(),
        1.0..5.0f64,
        0.0..5.0f64,
        2.0..28.0f64,
        0.0..40.0f64,
        0.0..3000.0f64,
    )
        .prop_map(
            |(vessel, sugar, gas, target, loss, conditioning, warmest, altitude)| PackagePlan {
                vessel,
                target: vol(target),
                carbonation: if gas {
                    Carbonation::Gas
                } else {
                    Carbonation::Priming(&Sugar::all()[sugar])
                },
                loss: Volume::from_l(loss),
                conditioning: celsius(conditioning),
                warmest_storage: celsius(warmest),
                altitude: Altitude::from_m(altitude),
                proof: Proof::default(),
            },
        )
}

fn any_green() -> impl Strategy<Value = GreenBeer> {
    (
        10.0..50.0f64,
        0.5..8.0f64,
        0.0..1.5f64,
        0.0..28.0f64,
        0.3..3.0f64,
        any::<bool>(),
    )
        .prop_map(|(litres, plato, left, warmest, gas, diastatic)| GreenBeer {
            volume: Volume::from_l(litres),
            gravity: Gravity::from_plato(plato),
            fermentable_left_at_most: Gravity::from_plato(left),
            warmest_after_end: celsius(warmest),
            carbon_dioxide: vol(gas),
            diastatic,
            ..green()
        })
}

proptest! {
    /// Nothing leaves the stage that is not a number or out of bounds, and the
    /// gas balance closes: what is held is what was there and what sugar gives.
    #[test]
    fn every_plan_gives_sound_numbers(plan in any_plan(), green in any_green()) {
        let packed = package(&plan, &green).unwrap();
        let beer = &packed.beer;
        prop_assert!(beer.carbon_dioxide.within_bounds() && beer.alcohol.within_bounds());
        prop_assert!(beer.gravity.within_bounds() && beer.volume.within_bounds());
        prop_assert!(beer.carbon_dioxide <= packed.held.value);
        prop_assert!(packed.worst.carbon_dioxide.g_per_l() >= packed.held.value.g_per_l() - 1e-9);
        prop_assert!(packed.worst.carbon_dioxide.g_per_l() >= plan.target.g_per_l() - 1e-9);
        if let Some(priming) = &packed.priming {
            let sugar = priming.sugar;
            let middle = (sugar.low_yield.ratio() + sugar.high_yield.ratio()) / 2.0;
            let made = priming.mass.g() * middle / beer.volume.l();
            let balance = packed.held.value.g_per_l() - packed.residual.value.g_per_l() - made;
            prop_assert!(balance.abs() < 1e-9);
        }
    }

    /// A warmer store or a livelier aim never looks safer.
    #[test]
    fn the_verdict_never_softens_as_pressure_rises(
        plan in any_plan(), green in any_green(), warmer in 0.0..15.0f64, livelier in 0.0..1.5f64,
    ) {
        let here = package(&plan, &green).unwrap().worst;
        let there = package(
            &PackagePlan {
                warmest_storage: celsius(plan.warmest_storage.c() + warmer),
                target: vol(plan.target.volumes() + livelier),
                ..plan.clone()
            },
            &green,
        ).unwrap().worst;
        prop_assert!(there.pressure.bar() >= here.pressure.bar() - 1e-9);
        prop_assert!(there.safety >= here.safety);
    }
}

use super::*;

fn acid(key: &str) -> &'static Acid {
    acids().iter().find(|acid| acid.key == key).unwrap()
}

/// Protons given, computed independently from the same pKa, three decimals.
#[test]
fn protons_follow_the_constants() {
    let keys = [
        "phosphoric",
        "lactic",
        "citric",
        "sulfuric",
        "hydrochloric",
        "ascorbic",
    ];
    for (ph, row) in [
        (5.0, [1.005, 0.932, 1.660, 1.999, 1.0, 0.871]),
        (5.2, [1.009, 0.956, 1.786, 1.999, 1.0, 0.915]),
        (5.4, [1.015, 0.972, 1.901, 2.000, 1.0, 0.944]),
        (5.6, [1.024, 0.982, 2.010, 2.000, 1.0, 0.964]),
        (5.8, [1.038, 0.989, 2.119, 2.000, 1.0, 0.977]),
        (6.0, [1.059, 0.993, 2.234, 2.000, 1.0, 0.985]),
    ] {
        for (key, printed) in keys.into_iter().zip(row) {
            let ours = protons_per_mole(acid(key), Ph::from_ph(ph));
            assert!((ours - printed).abs() <= 5.1e-4, "{key} at {ph}: {ours}");
        }
    }
}

/// At a pKa far from the others half a proton is given.
#[test]
fn half_is_given_at_the_pka() {
    let z = protons_per_mole(acid("phosphoric"), Ph::from_ph(7.20));
    assert!((z - 1.5).abs() < 1e-4);
}

/// mol/L worked by hand from strength, density and the molar masses of
/// periodictable 2.1.0, four digits.
#[test]
fn molarities_follow_strength_and_density() {
    for (name, printed) in [
        ("phosphoric acid 10 %", 1.075),
        ("phosphoric acid 75 %", 12.08),
        ("phosphoric acid 85 %", 14.61),
        ("lactic acid 80 %", 10.53),
        ("lactic acid 88 %", 11.81),
        ("sulfuric acid 10 %", 1.087),
        ("sulfuric acid 96 %", 17.97),
        ("hydrochloric acid 10 %", 2.872),
        ("hydrochloric acid 37 %", 12.02),
    ] {
        let ours = AcidProduct::named(name).unwrap().mol_per_l().unwrap();
        let last_digit = if printed < 10.0 { 1e-3 } else { 1e-2 };
        assert!((ours - printed).abs() <= last_digit / 2.0, "{name}: {ours}");
    }
}

/// 48.0 mg sulfate and 35.45 mg chloride per mEq (periodictable 2.1.0).
#[test]
fn strong_acids_leave_their_anion() {
    let per_meq = |name: &str, get: fn(&Ions) -> f64| {
        let amount = AcidAmount::Volume(Volume::from_l(0.01));
        let done = AcidProduct::named(name)
            .unwrap()
            .acidified(amount, Volume::from_l(10.0));
        let done = done.unwrap();
        -get(&done.ions) / done.alkalinity.meq_per_l()
    };
    let sulfate = per_meq("sulfuric acid 10 %", |ions| ions.sulfate.mg_per_l());
    let chloride = per_meq("hydrochloric acid 10 %", |ions| ions.chloride.mg_per_l());
    assert!((sulfate - 48.03).abs() < 0.05, "{sulfate}");
    assert!((chloride - 35.45).abs() < 1e-9, "{chloride}");
}

#[test]
fn a_solid_is_weighed() {
    let citric = AcidProduct::named("citric acid").unwrap();
    let moles = citric.mol(AcidAmount::Mass(Mass::from_g(192.12))).unwrap();
    assert!((moles - 1.0).abs() < 1e-4);
    let error = citric
        .mol(AcidAmount::Volume(Volume::from_l(0.1)))
        .unwrap_err();
    assert!(matches!(error, WaterError::SolidByVolume { .. }));
    let mono = AcidProduct::named("citric acid monohydrate").unwrap();
    assert!((mono.mol(AcidAmount::Mass(Mass::from_g(210.14))).unwrap() - 1.0).abs() < 1e-4);
}

#[test]
fn the_strength_must_be_said() {
    let message = AcidProduct::named("lactic acid").unwrap_err().to_string();
    assert!(
        message.contains("80 %") && message.contains("88 %"),
        "{message}"
    );
    assert!(AcidProduct::named("lactic acid 88%").is_ok());
}

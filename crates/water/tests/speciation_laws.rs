//! What must hold of every water, whatever is in it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use proptest::prelude::*;
use quantity::{
    Alkalinity, Calcium, Chloride, Magnesium, MassConcentration, Molality, PartialPressure, Ph,
    Potassium, Sodium, Sulfate, Temperature,
};
use water::acids::{AcidProduct, acids};
use water::salts::{Salt, salts};
use water::speciation::{
    Air, Anchor, Available, Mineral, Solid, Solution, Speciated, SpeciationError, WATER_KG_PER_L,
    acid_to, acid_to_alkalinity, boil, lime, lime_dose, titration,
};
use water::{Ions, SourceWater};

fn celsius(t: f64) -> Temperature {
    Temperature::from_c(t)
}

/// From traces to several times seawater, by orders of magnitude \[mmol/L\].
fn amount(most: f64) -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 6 => (-5.0..most.log10()).prop_map(|x| 10f64.powf(x))]
}

fn any_ions() -> impl Strategy<Value = Ions> {
    (
        amount(150.0),
        amount(150.0),
        amount(700.0),
        amount(100.0),
        amount(800.0),
        amount(150.0),
    )
        .prop_map(|(ca, mg, na, k, cl, so4)| Ions {
            calcium: Calcium::from_mg_per_l(ca * Calcium::MOLAR_MASS),
            magnesium: Magnesium::from_mg_per_l(mg * Magnesium::MOLAR_MASS),
            sodium: Sodium::from_mg_per_l(na * Sodium::MOLAR_MASS),
            potassium: Potassium::from_mg_per_l(k * Potassium::MOLAR_MASS),
            chloride: Chloride::from_mg_per_l(cl * Chloride::MOLAR_MASS),
            sulfate: Sulfate::from_mg_per_l(so4 * Sulfate::MOLAR_MASS),
            ..Ions::default()
        })
}

fn any_pressure() -> impl Strategy<Value = PartialPressure> {
    (-7.0..0.3).prop_map(|x| PartialPressure::from_atm(10f64.powf(x)))
}

/// Water as it may come from anywhere, under some carbon dioxide.
fn any_water() -> impl Strategy<Value = Solution> {
    (any_ions(), -5.0..100.0, any_pressure(), 0.0..=100.0).prop_map(
        |(ions, alkalinity, over, t)| {
            let alkalinity = Alkalinity::from_meq_per_l(alkalinity);
            Solution::new(&ions, alkalinity, Anchor::CarbonDioxide(over), celsius(t)).unwrap()
        },
    )
}

/// Water that someone would drink.
fn tap_water() -> impl Strategy<Value = Solution> {
    let amount = |low: f64, high: f64| (low.ln()..high.ln()).prop_map(f64::exp);
    (
        amount(0.05, 6.0),
        amount(0.02, 3.0),
        amount(0.1, 10.0),
        amount(0.02, 4.0),
        amount(0.1, 8.0),
        6.2..8.4,
        5.0..30.0,
    )
        .prop_map(|(ca, mg, na, so4, alkalinity, ph, t)| {
            let ions = Ions {
                calcium: Calcium::from_mg_per_l(ca * Calcium::MOLAR_MASS),
                magnesium: Magnesium::from_mg_per_l(mg * Magnesium::MOLAR_MASS),
                sodium: Sodium::from_mg_per_l(na * Sodium::MOLAR_MASS),
                sulfate: Sulfate::from_mg_per_l(so4 * Sulfate::MOLAR_MASS),
                ..Ions::default()
            };
            let anchor = Anchor::Ph(Ph::from_ph(ph));
            Solution::new(
                &ions,
                Alkalinity::from_meq_per_l(alkalinity),
                anchor,
                celsius(t),
            )
            .unwrap()
        })
}

/// The charge that a name ends in.
fn charge(name: &str) -> f64 {
    let Some(at) = name.rfind(['+', '-']) else {
        return 0.0;
    };
    let size = name[at + 1..].parse().unwrap_or(1.0);
    if name[at..].starts_with('+') {
        size
    } else {
        -size
    }
}

/// How many of an element or group a name holds: "Ca", "SO4", "CO".
fn count(name: &str, part: &str) -> f64 {
    if name == "(CO2)2" && part == "CO" {
        2.0
    } else {
        f64::from(u8::from(name.contains(part)))
    }
}

fn sum(found: &Speciated, weight: impl Fn(&str) -> f64) -> f64 {
    found
        .species
        .iter()
        .map(|s| weight(s.name) * s.molality.mmol_per_kg())
        .sum()
}

fn finite(found: &Speciated) -> bool {
    found.ph.ph().is_finite()
        && found.alkalinity.meq_per_l().is_finite()
        && found.log_carbon_dioxide_pressure.is_finite()
        && found.saturation.iter().all(|(_, index)| index.is_finite())
        && found
            .species
            .iter()
            .all(|s| s.molality.mmol_per_kg().is_finite() && s.activity_coefficient.is_finite())
}

fn near(ours: f64, theirs: f64, part: f64) -> bool {
    (ours - theirs).abs() <= part * (1.0 + theirs.abs())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn charge_and_mass_close(water in any_water(), t in 0.0..=100.0, over in any_pressure()) {
        let settled = water
            .equilibrated(celsius(t), Air::Open(over), &Mineral::ALL.map(Mineral::forming))
            .unwrap();
        for water in [&water, &settled] {
            let found = water.speciated();
            prop_assert!(finite(&found), "{found:?}");
            let charges = sum(&found, charge);
            let size = sum(&found, |name| charge(name).abs());
            let off = (charges - water.imbalance_meq_per_kg()).abs();
            prop_assert!(off < 1e-8 * (1.0 + size), "{off} of {size}");
            for (part, total) in [
                ("Ca", found.ions.calcium.mmol_per_l() / WATER_KG_PER_L),
                ("Mg", found.ions.magnesium.mmol_per_l() / WATER_KG_PER_L),
                ("Na", found.ions.sodium.mmol_per_l() / WATER_KG_PER_L),
                ("SO4", found.ions.sulfate.mmol_per_l() / WATER_KG_PER_L),
                ("CO", found.inorganic_carbon.mmol_per_kg()),
            ] {
                prop_assert!(near(sum(&found, |name| count(name, part)), total, 1e-8), "{part}");
            }
        }
        // What formed is what the water lost, up to the water that came and went.
        let formed = |mineral| settled.formed_mmol_per_kg(mineral);
        let magnesium = |water: &Solution| water.ions().magnesium.mmol_per_l() / WATER_KG_PER_L;
        let (before, after) = (magnesium(&water), magnesium(&settled));
        prop_assert!((before - after - formed(Mineral::Brucite)).abs() < 0.05 * before + 1e-9);
        for mineral in Mineral::ALL {
            prop_assert!(formed(mineral) >= -1e-9);
            let index = settled.saturation(mineral);
            prop_assert!(index.is_none_or(|index| index < 1e-8), "{mineral}: {index:?}");
            prop_assert!(formed(mineral) < 1e-9 || index.is_some_and(|index| index > -1e-8));
        }
    }

    #[test]
    fn solids_dissolve_no_further_than_there_is(
        water in any_water(), amount in 0.0..20.0, over in any_pressure(),
    ) {
        let solids = [Mineral::Calcite, Mineral::Gypsum, Mineral::Portlandite].map(|mineral| Solid {
            mineral,
            available: Available::Amount(Molality::from_mmol_per_kg(amount)),
        });
        let settled = water.equilibrated(water.temperature(), Air::Open(over), &solids).unwrap();
        for solid in solids {
            let left = amount + settled.formed_mmol_per_kg(solid.mineral);
            prop_assert!(left >= -1e-9);
            let index = settled.saturation(solid.mineral).unwrap_or(f64::NEG_INFINITY);
            prop_assert!(index < 1e-8 && (left < 1e-9 || index > -1e-8), "{left} {index}");
        }
    }

    #[test]
    fn what_is_given_is_what_is_found(ions in any_ions(), alkalinity in 0.5..60.0, ph in 6.3..9.0, t in 0.0..50.0) {
        let alkalinity = Alkalinity::from_meq_per_l(alkalinity);
        let given = match Solution::new(&ions, alkalinity, Anchor::Ph(Ph::from_ph(ph)), celsius(t)) {
            // What ammonia and hydroxide pairs carry alone can pass so little.
            Err(SpeciationError::Contradiction { .. }) if ph > 8.0 && alkalinity.meq_per_l() < 1.5 => return Ok(()),
            given => given.unwrap(),
        };
        prop_assert!(near(given.ph().ph(), ph, 1e-9));
        prop_assert!(near(given.alkalinity().meq_per_l(), alkalinity.meq_per_l(), 1e-9));
        prop_assert!(near(given.ions().calcium.mg_per_l(), ions.calcium.mg_per_l(), 1e-9));
        // Its carbon, and its carbon dioxide, lead back to its pH.
        let carbon = Anchor::InorganicCarbon(given.inorganic_carbon());
        let again = Solution::new(&ions, alkalinity, carbon, celsius(t)).unwrap();
        prop_assert!(near(again.ph().ph(), ph, 1e-6), "{}", again.ph().ph());
        let over = PartialPressure::from_atm(10f64.powf(given.log_carbon_dioxide_pressure()));
        if over.atm() < 0.01 {
            let again = Solution::new(&ions, alkalinity, Anchor::CarbonDioxide(over), celsius(t)).unwrap();
            prop_assert!(near(again.ph().ph(), ph, 1e-4), "{}", again.ph().ph());
        }
    }

    #[test]
    fn a_blend_with_itself_is_itself(water in any_water(), share in 0.01..0.99) {
        let blend = Solution::blend(&[(&water, share), (&water, 1.0 - share)], water.temperature()).unwrap();
        prop_assert!(near(blend.ph().ph(), water.ph().ph(), 1e-9));
        prop_assert!(near(blend.alkalinity().meq_per_l(), water.alkalinity().meq_per_l(), 1e-9));
    }

    #[test]
    fn heating_and_cooling_lead_back(water in any_water(), t in 0.0..=100.0) {
        let back = water.heated(celsius(t)).unwrap().heated(water.temperature()).unwrap();
        prop_assert!(near(back.ph().ph(), water.ph().ph(), 1e-8), "{:?} {:?}", back.ph(), water.ph());
        prop_assert!(near(back.log_carbon_dioxide_pressure(), water.log_carbon_dioxide_pressure(), 1e-7));
    }

    #[test]
    fn more_acid_means_a_lower_ph(water in any_water(), n in 0usize..6, step in 0.01..10.0) {
        let acid = &acids()[n];
        let mut last = water.ph();
        for dose in [step, 2.0 * step, 3.0 * step] {
            let mixed = water.with_acid(acid, Molality::from_mmol_per_kg(dose)).unwrap();
            prop_assert!(mixed.ph() < last, "{}: {:?} after {last:?}", acid.name, mixed.ph());
            last = mixed.ph();
        }
    }

    #[test]
    fn acid_to_a_ph_gets_there(water in tap_water(), target in 4.0..6.0, open in any::<bool>()) {
        let air = if open { Air::Open(PartialPressure::from_atm(4e-4)) } else { Air::Closed };
        for name in ["lactic acid 80 %", "phosphoric acid 10 %", "citric acid", "sulfuric acid 10 %"] {
            let product = AcidProduct::named(name).unwrap();
            let need = acid_to(&water, product, Ph::from_ph(target), air).unwrap();
            let point = titration(&water, product, &[need.dose], air).unwrap();
            prop_assert!(near(point[0].ph.ph(), target, 1e-6), "{name}: {point:?}");
            let more = acid_to(&water, product, Ph::from_ph(target - 0.3), air).unwrap();
            prop_assert!(more.dose > need.dose);
        }
    }

    #[test]
    fn acid_to_an_alkalinity_gets_there_closed_or_open(water in tap_water(), part in 0.0..0.95) {
        let target = Alkalinity::from_meq_per_l(part * water.alkalinity().meq_per_l());
        for name in ["lactic acid 80 %", "phosphoric acid 10 %", "citric acid", "sulfuric acid 10 %"] {
            let product = AcidProduct::named(name).unwrap();
            let need = acid_to_alkalinity(&water, product, target).unwrap();
            for air in [Air::Closed, Air::Open(PartialPressure::from_atm(4e-4))] {
                let point = titration(&water, product, &[need.dose], air).unwrap();
                let reached = point[0].alkalinity.meq_per_l();
                // Water that the reactions set free thins it a little.
                let off = (reached - target.meq_per_l()).abs();
                prop_assert!(off < 1e-4 * water.alkalinity().meq_per_l(), "{name}: {reached} for {target:?}");
            }
        }
    }

    #[test]
    fn a_metal_is_free_or_paired(water in any_water()) {
        let found = water.speciated();
        for (ion, of) in [("Ca+2", "calcium"), ("Mg+2", "magnesium"), ("Na+", "sodium"), ("K+", "potassium")] {
            let ions = found.ions;
            let all = match of {
                "calcium" => ions.calcium.mmol_per_l(),
                "magnesium" => ions.magnesium.mmol_per_l(),
                "sodium" => ions.sodium.mmol_per_l(),
                _ => ions.potassium.mmol_per_l(),
            } / WATER_KG_PER_L;
            let paired: f64 = found.pairs().iter().filter(|p| p.of == of).map(|p| p.share.ratio()).sum();
            let free = found.molality_of(ion).mmol_per_kg();
            prop_assert!(all < 1e-9 || near(free + paired * all, all, 1e-6), "{of}: {free} {paired} {all}");
        }
    }

    #[test]
    fn boiling_and_lime_never_raise_what_they_take_out(water in tap_water()) {
        let boiled = boil(&water, PartialPressure::from_atm(4e-4)).unwrap();
        let before = water.alkalinity().meq_per_l();
        prop_assert!(boiled.alkalinity.meq_per_l() <= before + 1e-6);
        prop_assert!(boiled.end_point.alkalinity().meq_per_l() <= boiled.alkalinity.meq_per_l() + 1e-6);
        let dose = lime_dose(&water).unwrap();
        prop_assert!(dose.recommended_low < dose.recommended_high);
        prop_assert!(dose.recommended_high < dose.stoichiometric);
        let limed = lime(&water, dose.recommended_low).unwrap();
        // Chalk alone, from a water that holds too much of it, lowers the pH.
        prop_assert!(limed.ph() > water.allowing(&[Mineral::Calcite]).unwrap().ph());
    }
}

fn pure() -> Solution {
    let none = Anchor::InorganicCarbon(Molality::from_mmol_per_kg(0.0));
    Solution::new(&Ions::default(), Alkalinity::default(), none, celsius(25.0)).unwrap()
}

#[test]
fn water_with_nothing_in_it_is_neutral() {
    // Half of pKw, 13.9948 at 25 °C.
    assert!((pure().ph().ph() - 6.9974).abs() < 1e-4);
    assert_eq!(pure().saturation(Mineral::Calcite), None);
    assert!(pure().speciated().saturation.is_empty());
}

/// What a salt brings is what the salt table says, and no charge is left over.
#[test]
fn every_salt_and_acid_brings_what_it_is_made_of() {
    for salt in salts() {
        let with = pure()
            .with_salt(salt, MassConcentration::from_mg_per_l(100.0))
            .unwrap();
        assert!(with.imbalance_meq_per_kg().abs() < 1e-9, "{}", salt.name);
        let alkalinity = 0.1 * salt.alkalinity_per_g_per_l.meq_per_l();
        assert!(
            (with.alkalinity().meq_per_l() - alkalinity).abs() < 1e-3 * (1e-3 + alkalinity),
            "{}",
            salt.name
        );
        let calcium = 0.1 * salt.ions_per_g_per_l.calcium.mg_per_l();
        assert!(
            (with.ions().calcium.mg_per_l() - calcium).abs() < 1e-3 * (1e-3 + calcium),
            "{}",
            salt.name
        );
    }
    for acid in acids() {
        let with = pure()
            .with_acid(acid, Molality::from_mmol_per_kg(1.0))
            .unwrap();
        assert!(with.imbalance_meq_per_kg().abs() < 1e-9, "{}", acid.name);
        assert!(with.ph().ph() < 3.9, "{}: {:?}", acid.name, with.ph());
    }
}

#[test]
fn an_analysis_without_ph_says_what_was_taken_for_it() {
    let mut tap = SourceWater {
        ions: Ions {
            calcium: Calcium::from_mg_per_l(80.0),
            ..Ions::default()
        },
        alkalinity: Alkalinity::from_meq_per_l(3.0),
        ..SourceWater::named("well")
    };
    let over = water::speciation::TYPICAL_TAP;
    let without = Solution::of(&tap, celsius(12.0), over).unwrap().speciated();
    assert!((without.log_carbon_dioxide_pressure - over.atm().log10()).abs() < 1e-4);
    assert!(
        without
            .notes
            .iter()
            .any(|note| note.text.contains("pH of well is not known"))
    );
    // 4 mEq/L of calcium beside 3 of alkalinity.
    assert!(
        without
            .notes
            .iter()
            .any(|note| note.text.contains("do not add up"))
    );
    tap.ph = Some(Ph::from_ph(7.5));
    let with = Solution::of(&tap, celsius(12.0), over).unwrap();
    assert!((with.ph().ph() - 7.5).abs() < 1e-9);
    assert!((with.imbalance_meq_per_kg() * WATER_KG_PER_L - 0.992).abs() < 1e-2);
}

fn message<T: std::fmt::Debug>(result: Result<T, SpeciationError>) -> String {
    result.unwrap_err().to_string()
}

#[test]
fn bad_input_says_what_would_work() {
    let new = |alkalinity: f64, ph: f64, t: f64| {
        let alkalinity = Alkalinity::from_meq_per_l(alkalinity);
        Solution::new(
            &Ions::default(),
            alkalinity,
            Anchor::Ph(Ph::from_ph(ph)),
            celsius(t),
        )
    };
    let said = message(new(2.0, 7.0, 120.0));
    assert!(
        said.contains("120 °C") && said.contains("0 to 100 °C"),
        "{said}"
    );
    let said = message(new(0.05, 11.5, 20.0));
    assert!(
        said.contains("0.05 mEq/L")
            && said.contains("pH 11.5")
            && said.contains("leave the pH out"),
        "{said}"
    );
    let said = message(new(f64::NAN, 7.0, 20.0));
    assert!(said.starts_with("water: alkalinity is"), "{said}");
    let said = message(new(2.0, 15.0, 20.0));
    assert!(said.starts_with("water: pH is 15"), "{said}");
    let said = message(pure().with_acid(&acids()[0], Molality::from_mmol_per_kg(9000.0)));
    assert!(said.contains("up to 4 mol/kg"), "{said}");
    let lactic = AcidProduct::named("lactic acid 80 %").unwrap();
    for target in [9.0, 0.1] {
        let said = message(acid_to(&pure(), lactic, Ph::from_ph(target), Air::Closed));
        assert!(said.contains("lactic acid cannot bring"), "{said}");
    }
    let said = message(pure().open_to(PartialPressure::from_atm(0.0)));
    assert!(said.contains("partial pressure is 0 atm"), "{said}");
    let said = message(Solution::blend(&[(&pure(), 0.0)], celsius(20.0)));
    assert!(said.contains("share above 0"), "{said}");
    let gypsum = Salt::named("gypsum").unwrap();
    let said = message(pure().with_salt(gypsum, MassConcentration::from_mg_per_l(-1.0)));
    assert!(said.starts_with("gypsum: dose is -1"), "{said}");
}

use super::*;
use quantity::Weight;

fn water(total: &str, free: Option<&str>) -> SourceWater {
    SourceWater {
        alkalinity: Alkalinity::from_meq_per_l(1.0),
        total_chlorine: total.parse().unwrap(),
        free_chlorine: free.map(|f| f.parse().unwrap()),
        ..SourceWater::named("tap")
    }
}

fn volumes(mash: f64, sparge: f64) -> Volumes {
    Volumes {
        mash: Volume::from_l(mash),
        sparge: Volume::from_l(sparge),
    }
}

fn with(reagent: Reagent, purity: f64, excess: f64, dose: Dose) -> Dechlorination {
    Dechlorination::Reagent {
        reagent,
        purity: Fraction::from_ratio(purity),
        excess: Fraction::from_ratio(excess),
        dose,
    }
}

fn near(ours: f64, printed: f64, tolerance: f64) {
    assert!(
        (ours - printed).abs() <= tolerance,
        "{ours} against {printed}"
    );
}

/// One tablet of 0.44 g K₂S₂O₅ in 20 US gal: 5.81 mg/L, reduces 3.71 mg/L,
/// leaves 3.35 mg/L of SO₂ at most (computed with periodictable 2.1.0).
#[test]
fn one_tablet_in_twenty_gallons() {
    let tablet = Dose::Tablets {
        count: 1.0,
        tablet_mass: Mass::from_g(0.44),
    };
    let how = with(Reagent::PotassiumMetabisulfite, 1.0, 0.0, tablet);
    let done = dechlorinate(&water("0-3 mg/L", None), volumes(40.0, 35.7), &how).unwrap();
    let dose = done.dose.unwrap();
    near(dose.per_litre.mg_per_l(), 5.81, 5e-3);
    near(dose.capacity.mg_per_l(), 3.71, 5e-3);
    near(done.sulfur_dioxide_at_most.mg_per_l(), 3.35, 5e-3);
    near(dose.mash.g() + dose.sparge.g(), 0.44, 1e-9);
    near(dose.mash.g() / 0.44, 40.0 / 75.7, 1e-9);
    assert!(done.cautions.contains(&Caution::SulfiteLabel));
}

/// The label of a tablet gives active salt, whatever the purity of loose powder.
#[test]
fn purity_is_not_taken_off_a_tablet() {
    let tablet = Dose::Tablets {
        count: 1.0,
        tablet_mass: Mass::from_g(0.44),
    };
    let with_purity = |purity| {
        let how = with(Reagent::PotassiumMetabisulfite, purity, 0.0, tablet);
        dechlorinate(&water("0-3 mg/L", None), volumes(40.0, 35.7), &how).unwrap()
    };
    assert_eq!(with_purity(0.95), with_purity(1.0));
}

/// By-products of 1 mg/L of chlorine in mg/L, alkalinity in mEq/L: computed with
/// periodictable 2.1.0.
#[test]
fn by_products_of_one_milligram() {
    let one = |reagent, free: &str| {
        let how = with(reagent, 1.0, 0.0, Dose::Matched);
        dechlorinate(&water("1 mg/L", Some(free)), volumes(10.0, 0.0), &how).unwrap()
    };
    let free = one(Reagent::PotassiumMetabisulfite, "1 mg/L");
    near(free.added.sulfate.mg_per_l(), 1.355, 5e-4);
    near(free.added.chloride.mg_per_l(), 0.500, 5e-4);
    near(free.added.potassium.mg_per_l(), 0.551, 5.1e-4);
    near(free.added.ammonium.mg_per_l(), 0.0, 1e-12);
    near(free.alkalinity_change.meq_per_l(), -0.0282, 5e-5);
    near(free.alkalinity_change.mg_per_l_as_caco3(), -1.412, 5e-4);

    let combined = one(Reagent::SodiumMetabisulfite, "0 mg/L");
    near(combined.added.ammonium.mg_per_l(), 0.254, 5e-4);
    near(combined.added.sodium.mg_per_l(), 0.324, 5e-4);
    near(combined.alkalinity_change.meq_per_l(), -0.0141, 5e-5);

    near(
        one(Reagent::SodiumBisulfite, "0 mg/L")
            .added
            .sodium
            .mg_per_l(),
        0.324,
        5e-4,
    );
    near(
        one(Reagent::SodiumAscorbate, "0 mg/L")
            .added
            .sodium
            .mg_per_l(),
        0.324,
        5e-4,
    );
    let ascorbic = one(Reagent::AscorbicAcid, "1 mg/L");
    near(ascorbic.alkalinity_change.mg_per_l_as_caco3(), -0.706, 5e-4);
    near(ascorbic.added.sulfate.mg_per_l(), 0.0, 1e-12);
    near(
        one(Reagent::AscorbicAcid, "0 mg/L")
            .alkalinity_change
            .meq_per_l(),
        0.0,
        1e-12,
    );
}

#[test]
fn the_matched_dose_with_a_fifth_more_leaves_none() {
    let how = with(Reagent::PotassiumMetabisulfite, 0.95, 0.2, Dose::Matched);
    let done = dechlorinate(&water("1.8 ± 0.15 mg/L", None), volumes(20.0, 10.0), &how).unwrap();
    assert!(done.residual.total().mg_per_l() < 1e-12);
    assert!(done.residual.at_most.mg_per_l() < 1e-12);
    near(
        done.dose.unwrap().total.g(),
        0.03 * 1.8 * 1.5678 * 1.2 / 0.95,
        1e-5,
    );
    assert!(
        done.notes.iter().all(|n| n.weight == Weight::Fine),
        "{:?}",
        done.notes
    );
}

#[test]
fn the_excess_that_is_named_is_enough() {
    let poorly_known = water("1.8 ± 0.3 mg/L", None);
    let treat = |excess| {
        let how = with(Reagent::PotassiumMetabisulfite, 1.0, excess, Dose::Matched);
        dechlorinate(&poorly_known, volumes(20.0, 10.0), &how).unwrap()
    };
    let done = treat(0.2);
    near(done.residual.total().mg_per_l(), 0.0, 1e-12);
    near(done.residual.at_most.mg_per_l(), 2.4 - 2.16, 1e-9);
    let named = done
        .notes
        .iter()
        .any(|n| n.text.contains("an excess of 34 % would cover it"));
    assert!(named, "{:?}", done.notes);
    near(treat(0.34).residual.at_most.mg_per_l(), 0.0, 1e-12);
}

#[test]
fn free_chlorine_goes_first() {
    let half = Dose::Mass(Mass::from_g(
        Reagent::SodiumSulfite.mg_per_mg_chlorine() * 0.01,
    ));
    let how = with(Reagent::SodiumSulfite, 1.0, 0.0, half);
    let done = dechlorinate(&water("2 mg/L", Some("0.6 mg/L")), volumes(5.0, 5.0), &how).unwrap();
    near(done.residual.free.mg_per_l(), 0.0, 1e-12);
    near(done.residual.combined.mg_per_l(), 1.0, 1e-9);
    assert!(done.notes.iter().any(|n| n.weight == Weight::Act));
}

#[test]
fn untreated_chlorine_asks_for_action() {
    let chlorinated = water("1.5 mg/L", None);
    let done = dechlorinate(&chlorinated, volumes(10.0, 0.0), &Dechlorination::None).unwrap();
    near(done.residual.at_most.mg_per_l(), 1.5, 1e-12);
    assert_eq!(done.notes[0].weight, Weight::Act);
    assert!(done.cautions.is_empty());
    let pure = water("0 mg/L", None);
    let done = dechlorinate(&pure, volumes(10.0, 0.0), &Dechlorination::None).unwrap();
    assert!(done.notes.is_empty());
}

#[test]
fn standing_and_boiling_bound_what_stays() {
    let tap = water("1.0 ± 0.1 mg/L", Some("1.0 mg/L"));
    let stand = Dechlorination::Stand {
        time: Duration::from_h(24.0),
    };
    let stood = dechlorinate(&tap, volumes(10.0, 0.0), &stand).unwrap();
    near(stood.residual.free.mg_per_l(), 0.5, 1e-9);
    assert!(stood.residual.at_most.mg_per_l() > 1.0);
    assert!(stood.notes[0].text.contains("no chlorine gas"));

    let boil = Dechlorination::BoilLiquor {
        time: Duration::from_min(20.0),
    };
    let free = dechlorinate(&tap, volumes(10.0, 0.0), &boil).unwrap();
    let combined = dechlorinate(&water("1.0 ± 0.1 mg/L", None), volumes(10.0, 0.0), &boil).unwrap();
    near(combined.residual.combined.mg_per_l(), 0.5, 1e-9);
    assert!(free.residual.at_most < combined.residual.at_most);
    assert!(free.cautions.contains(&Caution::HotLiquor));
    assert!(combined.notes.iter().any(|n| n.weight == Weight::Act));
}

#[test]
fn air_and_carbon_are_treatments_too() {
    let tap = water("1.0 ± 0.1 mg/L", None);
    let aerate = Dechlorination::Aerate {
        time: Duration::from_h(24.0),
    };
    let blown = dechlorinate(&tap, volumes(10.0, 0.0), &aerate).unwrap();
    // exp(−0.35) of 1 mg/L expected, exp(−0.08) of 1.2 mg/L at most (Garcia &
    // Anderson 2017, abstract).
    near(blown.residual.combined.mg_per_l(), 0.705, 5e-3);
    near(blown.residual.at_most.mg_per_l(), 1.108, 5e-3);

    let carbon = Dechlorination::Carbon {
        bed: household_block(),
        flow: FlowRate::from_l_per_min(3.8),
    };
    let run = dechlorinate(&tap, volumes(10.0, 0.0), &carbon).unwrap();
    assert!(run.residual.total().mg_per_l() > 0.9);
    assert!(run.notes[0].text.contains("stays 10 s in the carbon"));
    assert_eq!(run.cautions, [Caution::TreatedWater]);
    assert!(run.notes.iter().any(|n| n.weight == Weight::Act));
}

#[test]
fn water_without_chlorine_gets_no_reagent_and_no_caution() {
    let how = with(Reagent::PotassiumMetabisulfite, 1.0, 0.2, Dose::Matched);
    let done = dechlorinate(&water("0 mg/L", None), volumes(10.0, 0.0), &how).unwrap();
    near(done.dose.unwrap().total.g(), 0.0, 1e-12);
    assert!(done.cautions.is_empty());
}

#[test]
fn ascorbate_leaves_no_sulfite() {
    let how = with(Reagent::AscorbicAcid, 1.0, 0.5, Dose::Matched);
    let done = dechlorinate(&water("2 mg/L", None), volumes(10.0, 0.0), &how).unwrap();
    near(done.sulfur_dioxide_at_most.mg_per_l(), 0.0, 1e-12);
    assert_eq!(done.cautions, [Caution::TreatedWater]);
    // Spare ascorbic acid is an acid: half of 2 mg/L.
    near(done.alkalinity_change.meq_per_l(), -1.0 / 70.90, 1e-6);
}

#[test]
fn much_sulfite_is_held_to_the_label_limit() {
    let dose = Dose::Mass(Mass::from_g(0.5));
    let how = with(Reagent::SodiumMetabisulfite, 1.0, 0.0, dose);
    let done = dechlorinate(&water("1 mg/L", None), volumes(10.0, 0.0), &how).unwrap();
    assert!(done.sulfur_dioxide_at_most.mg_per_l() > 10.0);
    let act = done
        .notes
        .iter()
        .any(|n| n.weight == Weight::Act && n.text.contains("at or above"));
    assert!(act, "{:?}", done.notes);
}

#[test]
fn impossible_treatments_are_errors() {
    let tap = water("1 mg/L", None);
    let some = volumes(10.0, 0.0);
    let none = dechlorinate(&tap, volumes(0.0, 0.0), &Dechlorination::None);
    assert_eq!(none.unwrap_err(), WaterError::NoLiquor);
    let tablets = |count| Dose::Tablets {
        count,
        tablet_mass: Mass::from_g(0.44),
    };
    for how in [
        with(Reagent::SodiumSulfite, 0.0, 0.0, Dose::Matched),
        with(Reagent::SodiumSulfite, 1.0, -0.1, Dose::Matched),
        with(Reagent::SodiumSulfite, 1.0, f64::NAN, Dose::Matched),
        with(Reagent::SodiumSulfite, 1.0, 0.0, tablets(-1.0)),
        with(Reagent::SodiumSulfite, 1.0, 0.0, tablets(f64::NAN)),
        Dechlorination::Stand {
            time: Duration::from_h(-1.0),
        },
        Dechlorination::BoilLiquor {
            time: Duration::from_h(f64::NAN),
        },
    ] {
        let error = dechlorinate(&tap, some, &how).unwrap_err();
        assert!(matches!(error, WaterError::OutOfBounds { .. }), "{how:?}");
    }
}

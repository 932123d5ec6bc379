//! The design of additions: answers worked by hand, laws, and what is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod design_support;

use design_support::*;
use quantity::{Alkalinity, Caution, Measured, Ph, Quantity, Volume};
use water::acids::{AcidAmount, AcidProduct, protons_per_mole};
use water::design::*;
use water::mash_ph::mash_ph;
use water::salts::Salt;
use water::treat;

#[test]
fn gypsum_alone_lifts_calcium_as_reckoned_by_hand() {
    // (100 − 20) mg/L · 20 L / 232.78 mg/g = 6.873 g (M 172.16, Ca 40.078).
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(water("soft", 20.0, 0.0, 0.5))];
    task.salts = salts(&["gypsum"], 0.1);
    task.mash.aims.calcium = Some(Aim::near(mg(100.0), mg(5.0)));
    let found = design(&task).unwrap();
    let dose: Vec<f64> = found.salts().map(|dose| dose.mass.g()).collect();
    assert_eq!(dose.len(), 1);
    assert!((dose[0] - 6.9).abs() < 1e-9, "{dose:?}");
    // A tenth of a gram is 1.16 mg/L: 6.9 g brings 80.31.
    assert!((found.lines[0].reached.canonical() - 100.31).abs() < 0.01);
    assert!(found.misfit.unrounded < 1e-6 && found.misfit.weighed > found.misfit.unrounded);
}

#[test]
fn a_blend_of_two_waters_hits_an_alkalinity() {
    // 4.2 s + 0.2 (1 − s) = 1.2 at s = 0.25.
    let mut task = task(20.0, 0.0);
    task.sources = vec![
        plain(water("tap", 60.0, 20.0, 4.2)),
        plain(water("soft", 5.0, 2.0, 0.2)),
    ];
    task.mash.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(1.2),
        Alkalinity::from_meq_per_l(0.2),
    ));
    let found = design(&task).unwrap();
    let litres: Vec<f64> = found.liquors[0]
        .blend
        .iter()
        .map(|p| p.volume.l())
        .collect();
    assert!((litres[0] - 5.0).abs() < 1e-9 && (litres[1] - 15.0).abs() < 1e-9);
    assert!((found.lines[0].reached.canonical() - 1.2).abs() < 1e-9);
}

#[test]
fn soft_water_that_runs_out_is_made_the_most_of() {
    let mut task = task(20.0, 10.0);
    task.sources = vec![
        plain(water("tap", 60.0, 20.0, 4.0)),
        plain(water("soft", 5.0, 2.0, 0.0)),
    ];
    task.sources[1].at_hand = Some(Volume::from_l(15.0));
    let aim = Aim::near(
        Alkalinity::from_meq_per_l(0.5),
        Alkalinity::from_meq_per_l(0.2),
    );
    task.mash.aims.alkalinity = Some(aim);
    task.sparge.aims.alkalinity = Some(aim);
    let found = design(&task).unwrap();
    let soft: f64 = found
        .liquors
        .iter()
        .flat_map(|l| &l.blend)
        .filter(|p| p.name == "soft")
        .map(|p| p.volume.l())
        .sum();
    assert!((soft - 15.0).abs() < 1e-9, "{soft}");
    let binds = &found.binding[0];
    assert_eq!(binds.what, "soft at hand");
    assert!(binds.misfit_then < found.misfit.unrounded);
    assert!(
        binds
            .to_string()
            .contains("soft at hand: at most 15.0 L binds"),
        "{binds}"
    );
}

#[test]
fn acid_takes_sparge_alkalinity_to_its_aim() {
    // (2.0 − 0.5) mEq/L · 10 L = 15 mEq; lactic acid gives 0.972 protons at pH 5.4
    // (pKa 3.86): 15.43 mmol, at 10.53 mol/L 1.465 mL.
    let lactic = AcidProduct::named("lactic acid 80 %").unwrap();
    let mut task = task(20.0, 10.0);
    task.sources = vec![plain(water("tap", 60.0, 20.0, 2.0))];
    task.acids = vec![AcidAtHand::plenty(
        lactic,
        AcidAmount::Volume(Volume::from_l(1e-5)),
    )];
    task.sparge.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(0.5),
        Alkalinity::from_meq_per_l(0.1),
    ));
    let found = design(&task).unwrap();
    let doses: Vec<_> = found.acids().collect();
    assert_eq!(doses.len(), 1);
    let AcidAmount::Volume(volume) = doses[0].amount else {
        panic!("{doses:?}")
    };
    assert!((1000.0 * volume.l() - 1.465).abs() < 0.01, "{volume:?}");
    assert!((protons_per_mole(lactic.acid, Ph::from_ph(5.4)) - 0.972).abs() < 5e-4);
    assert!(found.cautions.contains(&Caution::Acid));
}

#[test]
fn mash_ph_is_brought_to_its_aim_by_acid() {
    let mut task = task(16.0, 0.0);
    task.sources = vec![plain(water("tap", 60.0, 20.0, 2.0))];
    task.acids = acid(&["phosphoric acid 10 %"]);
    task.grist = Some(pale_grist(Some(Aim::near(
        Ph::from_ph(5.4),
        Ph::from_ph(0.05),
    ))));
    let found = design(&task).unwrap();
    let ph = found.mash_ph.as_ref().unwrap().ph.value.ph();
    assert!((ph - 5.4).abs() < 0.005, "{ph}");
    // What is shown is what the mash itself says of the plan.
    let treated = treat(&found.plans[0]).unwrap();
    let again = mash_ph(&pale_grist(None).malts, &[], &treated.mash_liquor).unwrap();
    assert!((again.ph.value.ph() - ph).abs() < 1e-12);
    assert!((found.lines[0].reached.canonical() - ph).abs() < 1e-9);
}

#[test]
fn acidulated_malt_is_held_to_its_share() {
    let mut task = task(16.0, 0.0);
    task.sources = vec![plain(water("tap", 40.0, 20.0, 4.0))];
    task.grist = Some(pale_grist(Some(Aim::near(
        Ph::from_ph(5.3),
        Ph::from_ph(0.05),
    ))));
    task.acid_malt = Some(acid_malt(0.03));
    let found = design(&task).unwrap();
    let kg = found.acid_malt.unwrap().mass.kg();
    // 3 % of 4.8 kg is 144 g, and the scale shows 10 g.
    assert!((kg - 0.14).abs() < 1e-9, "{kg}");
    assert!(
        found
            .binding
            .iter()
            .any(|b| b.what.contains("acidulated malt"))
    );
    let line = &found.lines[0];
    assert!(!line.met());
    assert!(
        line.held_by.as_ref().unwrap().contains("acidulated malt"),
        "{line:?}"
    );
}

#[test]
fn a_limit_that_binds_is_told_with_what_it_costs() {
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(water("soft", 5.0, 2.0, 0.3))];
    task.salts = salts(&["table salt"], 0.1);
    task.mash.aims.chloride = Some(Aim::near(mg(120.0), mg(10.0)));
    task.mash.limits.sodium = Bounds::at_most(mg(50.0));
    let found = design(&task).unwrap();
    let binds = &found.binding[0];
    assert_eq!(binds.what, "sodium in the mash liquor");
    // Chloride off by d tolerances: the misfit falls by 2 d (dCl/dNa)/tolerance
    // for a mg/L of sodium, with dCl/dNa = 35.45/22.99.
    let off = (120.0 - 2.0 - 50.0 * 35.45 / 22.99) / 10.0;
    assert!(
        (binds.price - 2.0 * off * 35.45 / 22.99 / 10.0).abs() < 0.01,
        "{binds:?}"
    );
    // Ten more mg/L of sodium (one unit of relaxation) are 15.4 of chloride.
    let nearer = binds.nearer.as_ref().unwrap();
    assert!((nearer.by.canonical() - 15.42).abs() < 0.01, "{nearer:?}");
    assert_eq!(
        binds.to_string(),
        "sodium in the mash liquor: at most 50 mg/L binds; letting it to 60 mg/L would bring \
         chloride in the mash liquor nearer by 15 mg/L"
    );
    assert!(!found.lines[0].met());
    assert!(found.lines[0].held_by.as_ref().unwrap().contains("sodium"));
    let sodium = found.liquors[0].water.ions.sodium.mg_per_l();
    assert!(sodium <= 50.0 && sodium > 47.9, "{sodium}");
}

#[test]
fn what_an_aim_is_held_back_by_is_told() {
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(water("soft", 5.0, 2.0, 0.3))];
    task.salts = salts(&["gypsum"], 0.1);
    task.mash.aims.calcium = Some(Aim::near(mg(100.0), mg(5.0)));
    task.mash.aims.sulfate = Some(Aim::near(mg(50.0), mg(5.0)));
    task.mash.aims.magnesium = Some(Aim::near(mg(20.0), mg(5.0)));
    let found = design(&task).unwrap();
    let held = |figure| {
        let line = found.lines.iter().find(|line| line.figure == figure);
        line.unwrap().held_by.clone().unwrap()
    };
    assert_eq!(
        held(Figure::Calcium),
        "the aim for sulfate in the mash liquor"
    );
    assert_eq!(
        held(Figure::Sulfate),
        "the aim for calcium in the mash liquor"
    );
    assert_eq!(held(Figure::Magnesium), "nothing at hand raises it");
}

#[test]
fn contradictions_name_the_smallest_change_that_would_do() {
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(water("soft", 0.0, 0.0, 0.0))];
    task.salts = salts(&["gypsum"], 0.1);
    task.mash.limits.calcium = Bounds::at_least(mg(100.0));
    task.mash.limits.sulfate = Bounds::at_most(mg(150.0));
    let error = design(&task).unwrap_err();
    let DesignError::Contradiction { relax } = &error else {
        panic!("{error}")
    };
    // 150 mg/L of sulfate go with 62.6 of calcium: 37.4 mg/L of calcium are less to
    // let go than the 89.7 of sulfate that 100 mg/L would bring.
    assert_eq!(relax.len(), 1);
    assert_eq!(relax[0].what, "calcium in the mash liquor");
    assert!((relax[0].to.canonical() - 62.58).abs() < 0.01, "{relax:?}");
    assert_eq!(
        error.to_string(),
        "not every limit can be kept; it would do to let calcium in the mash liquor go from at \
         least 100 mg/L to 63 mg/L"
    );
    // And it does, on a scale that is fine enough.
    task.salts = salts(&["gypsum"], 1e-6);
    task.mash.limits.calcium = Bounds::at_least(mg(relax[0].to.canonical()));
    assert!(design(&task).is_ok(), "{:?}", design(&task));
}

#[test]
fn a_firm_aim_out_of_reach_is_named() {
    let mut task = task(16.0, 0.0);
    task.sources = vec![plain(water("tap", 40.0, 20.0, 4.0))];
    task.grist = Some(pale_grist(Some(Aim::firm(
        Ph::from_ph(5.3),
        Ph::from_ph(0.05),
    ))));
    let message = design(&task).unwrap_err().to_string();
    assert!(
        message.contains("the firm aim for mash pH go from at most 5.35 to 5."),
        "{message}"
    );
    task.acids = acid(&["lactic acid 80 %"]);
    let found = design(&task).unwrap();
    assert!(found.lines[0].met());
}

#[test]
fn water_above_a_health_limit_is_refused_or_left_out() {
    let mut bad = water("well", 60.0, 20.0, 2.0);
    bad.ions.nitrate = mg(60.0);
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(bad)];
    let message = design(&task).unwrap_err().to_string();
    assert!(
        message.contains("health limit for nitrate") && message.contains("60 mg/L"),
        "{message}"
    );
    task.sources.push(plain(water("tap", 5.0, 2.0, 0.2)));
    task.mash.aims.calcium = Some(Aim::near(mg(60.0), mg(5.0)));
    let found = design(&task).unwrap();
    assert!(found.liquors[0].water.ions.nitrate.mg_per_l() <= 44.3);
    assert!(found.liquors[0].blend.len() == 2);
}

#[test]
fn nothing_at_hand_still_gives_an_answer() {
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(water("reverse osmosis", 0.0, 0.0, 0.0))];
    task.mash.aims.calcium = Some(Aim::near(mg(50.0), mg(5.0)));
    let found = design(&task).unwrap();
    assert_eq!(found.salts().count(), 0);
    assert!((found.misfit.weighed - 100.0).abs() < 1e-9);
    assert_eq!(
        found.lines[0].held_by.as_deref(),
        Some("nothing at hand raises it")
    );
    assert!(
        found
            .notes
            .iter()
            .any(|n| n.text.contains("Nothing is at hand"))
    );
}

#[test]
fn alkalinity_may_be_below_nought_and_is_mended() {
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(water("sour", 20.0, 2.0, -0.5))];
    task.salts = salts(&["baking soda"], 0.1);
    task.mash.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(1.0),
        Alkalinity::from_meq_per_l(0.1),
    ));
    let found = design(&task).unwrap();
    // 1.5 mEq/L · 20 L / 11.90 mEq/g = 2.52 g.
    let g = found.salts().next().unwrap().mass.g();
    assert!((g - 2.5).abs() < 1e-9, "{g}");
}

#[test]
fn pre_treated_water_is_chosen_where_it_serves() {
    let mut task = task(20.0, 10.0);
    let mut source = plain(water("hard", 110.0, 20.0, 5.7));
    source.variants.push(Variant {
        how: "boiled".to_owned(),
        water: water("hard", 20.0, 20.0, 1.2),
        price_per_litre: Some(Money::from_amount(0.1)),
    });
    task.sources = vec![source];
    task.blends = Together::Apart;
    task.mash.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(1.0),
        Alkalinity::from_meq_per_l(0.2),
    ));
    task.sparge.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(5.0),
        Alkalinity::from_meq_per_l(0.2),
    ));
    let found = design(&task).unwrap();
    assert_eq!(found.liquors[0].blend[0].how, "boiled");
    assert_eq!(found.liquors[1].blend[0].how, "as it is");
    assert!((found.cost.amount() - 2.0).abs() < 1e-9);
    assert_eq!(found.plans.len(), 2);
}

#[test]
fn the_same_additions_for_both_are_the_same_in_each_litre() {
    let mut task = rich_task();
    task.additions = Together::Alike;
    let found = design(&task).unwrap();
    let grams = |liquor| -> f64 {
        let into = found.salts().filter(|dose| dose.into == liquor);
        into.map(|dose| dose.mass.g()).sum()
    };
    let (mash, sparge) = (grams(water::Liquor::Mash), grams(water::Liquor::Sparge));
    assert!(
        mash > 1.0 && (mash / 15.0 - sparge / 12.0).abs() < 1e-9,
        "{mash} {sparge}"
    );
}

#[test]
fn the_cupboard_is_not_overdrawn() {
    let mut task = rich_task();
    for salt in &mut task.salts {
        salt.at_hand = Some(quantity::Mass::from_g(1.05));
    }
    let found = design(&task).unwrap();
    for salt in &task.salts {
        let used: f64 = found
            .salts()
            .filter(|dose| dose.salt.name == salt.salt.name)
            .map(|dose| dose.mass.g())
            .sum();
        assert!(used <= 1.05 + 1e-9, "{}: {used} g", salt.salt);
    }
}

#[test]
fn each_rung_of_the_ladder_is_no_worse_than_the_one_below() {
    let mut task = rich_task();
    task.ladder = true;
    let found = design(&task).unwrap();
    assert!(found.ladder.len() > 3, "{:?}", found.ladder);
    assert_eq!(found.ladder[0].kinds, 0);
    for pair in found.ladder.windows(2) {
        assert!(pair[1].misfit.unrounded <= pair[0].misfit.unrounded + 1e-9);
    }
    let last = found.ladder.last().unwrap();
    assert!((last.misfit.unrounded - found.misfit.unrounded).abs() < 1e-4);
    task.ladder = false;
    task.at_most_kinds = Some(2);
    let two = design(&task).unwrap();
    let rung = &found.ladder[2];
    assert!((two.misfit.unrounded - rung.misfit.unrounded).abs() < 1e-12);
    let mut names: Vec<_> = two.salts().map(|d| d.salt.name.clone()).collect();
    names.extend(two.acids().map(|d| d.product.name.clone()));
    names.sort();
    names.dedup();
    assert!(names.len() + usize::from(two.acid_malt.is_some()) <= 2);
}

/// Branch and bound against trying every pair.
#[test]
fn the_best_two_kinds_are_the_best_of_all_pairs() {
    let mut task = rich_task();
    task.at_most_kinds = Some(2);
    let found = design(&task).unwrap().misfit.unrounded;
    let mut best = f64::INFINITY;
    let salts = task.salts.clone();
    let acids = task.acids.clone();
    let malt = task.acid_malt;
    let all = salts.len() + acids.len() + 1;
    for a in 0..all {
        for b in a..all {
            let has = |k: usize| k == a || k == b;
            let mut pair = task.clone();
            pair.at_most_kinds = None;
            pair.salts = (0..salts.len())
                .filter(|k| has(*k))
                .map(|k| salts[k])
                .collect();
            let offset = salts.len();
            pair.acids = (0..acids.len())
                .filter(|k| has(k + offset))
                .map(|k| acids[k])
                .collect();
            pair.acid_malt = malt.filter(|_| has(all - 1));
            best = best.min(design(&pair).unwrap().misfit.unrounded);
        }
    }
    assert!((found - best).abs() < 1e-6 * best, "{found} against {best}");
}

#[test]
fn cost_tips_the_scale_between_two_ways() {
    let mut task = task(20.0, 0.0);
    task.sources = vec![
        plain(water("tap", 60.0, 20.0, 4.0)),
        plain(water("bought", 5.0, 2.0, 0.0)),
    ];
    task.sources[1].variants[0].price_per_litre = Some(Money::from_amount(0.5));
    task.mash.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(1.0),
        Alkalinity::from_meq_per_l(0.5),
    ));
    let dear = design(&task).unwrap();
    assert!((dear.cost.amount() - 7.5).abs() < 1e-9);
    task.worth_of_a_tolerance = Some(Money::from_amount(1.0));
    let cheap = design(&task).unwrap();
    assert!(cheap.cost < dear.cost && cheap.misfit.weighed > dear.misfit.weighed);
}

#[test]
fn sulfate_to_chloride_is_brought_to_its_ratio() {
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(water("soft", 5.0, 5.0, 0.3))];
    task.salts = salts(&["gypsum", "calcium chloride dihydrate"], 0.1);
    task.mash.aims.calcium = Some(Aim::near(mg(80.0), mg(5.0)));
    task.mash.aims.sulfate_to_chloride = Some(RatioAim {
        mass_ratio: 2.0,
        tolerance: mg(10.0),
        weight: 1.0,
        firm: true,
    });
    let found = design(&task).unwrap();
    let ions = found.liquors[0].water.ions;
    let ratio = ions.sulfate.mg_per_l() / ions.chloride.mg_per_l();
    assert!((ratio - 2.0).abs() < 0.05, "{ratio}");
    let line = &found.lines[1];
    assert!((line.reached.canonical() - ratio).abs() < 1e-9 && line.met());
}

#[test]
fn impossible_tasks_are_refused_with_what_would_work() {
    let good = rich_task();
    let message = |change: &dyn Fn(&mut Task)| {
        let mut task = good.clone();
        change(&mut task);
        design(&task).unwrap_err().to_string()
    };
    for (change, expected) in [
        (
            &(|t: &mut Task| t.mash.volume = Volume::from_l(0.0)) as &dyn Fn(&mut Task),
            "the mash liquor is 0 L",
        ),
        (
            &|t| t.mash.volume = Volume::from_l(f64::NAN),
            "mash volume is NaN L",
        ),
        (&|t| t.sources.clear(), "no source of water"),
        (&|t| t.sources[0].variants.clear(), "source 1 has no water"),
        (
            &|t| t.mash.aims.calcium = Some(Aim::near(mg(80.0), mg(0.0))),
            "tolerance of calcium in the mash liquor is 0 mg/L; 0.1 to",
        ),
        (
            &|t| t.mash.aims.calcium = Some(Aim::near(mg(f64::NAN), mg(1.0))),
            "aim for calcium in the mash liquor is NaN mg/L",
        ),
        (
            &|t| {
                t.mash.limits.sodium = Bounds {
                    at_least: Some(mg(50.0)),
                    at_most: Some(mg(40.0)),
                };
            },
            "sodium in the mash liquor: at least 50 mg/L and at most 40 mg/L leave nothing",
        ),
        (
            &|t| t.salts[0].resolution = quantity::Mass::from_g(0.0),
            "scale for gypsum is 0 kg; above 0",
        ),
        (
            &|t| t.acids[0].at_hand = Some(AcidAmount::Mass(quantity::Mass::from_g(5.0))),
            "are a mass and a volume",
        ),
        (
            &|t| {
                t.acids[0] = AcidAtHand::plenty(
                    AcidProduct::named("citric acid").unwrap(),
                    AcidAmount::Volume(Volume::from_l(1e-3)),
                );
            },
            "citric acid is a solid",
        ),
    ] {
        let message = message(change);
        assert!(message.contains(expected), "{message}");
    }
}

#[test]
fn a_scale_too_coarse_for_the_limits_is_told() {
    let mut task = task(5.0, 0.0);
    task.sources = vec![plain(water("soft", 5.0, 2.0, 0.3))];
    task.salts = salts(&["gypsum"], 5.0);
    task.mash.limits.calcium = Bounds {
        at_least: Some(mg(60.0)),
        at_most: Some(mg(70.0)),
    };
    let message = design(&task).unwrap_err().to_string();
    assert!(
        message.contains("finer scale") && message.contains("calcium"),
        "{message}"
    );
}

#[test]
fn what_is_shown_is_what_treatment_says() {
    let mut task = rich_task();
    task.dechlorination = matched_metabisulfite();
    task.sources[0].variants[0].water.total_chlorine =
        Measured::exactly(quantity::Chlorine::from_mg_per_l(2.0));
    let found = design(&task).unwrap();
    let treated = treat(&found.plans[0]).unwrap();
    assert_eq!(found.liquors[0].water, treated.mash);
    let line = found
        .lines
        .iter()
        .find(|l| l.figure == Figure::Sulfate)
        .unwrap();
    let sulfate = treated.mash.ions.sulfate.mg_per_l();
    assert!(
        (line.reached.canonical() - sulfate).abs() < 1e-6,
        "{line:?} {sulfate}"
    );
}

#[test]
fn limits_of_taste_come_from_the_table() {
    let limits = Limits::of_taste();
    let most = limits.sodium.at_most.unwrap();
    assert!((most.mg_per_l() - 100.0).abs() < 1e-9);
    assert!((limits.sulfate.at_most.unwrap().canonical() - 350.0).abs() < 1e-9);
    assert_eq!(limits.potassium.at_most, None);
}

#[test]
fn salt_beyond_its_solubility_is_not_dosed() {
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(water("soft", 5.0, 2.0, 0.3))];
    task.salts = vec![SaltAtHand::plenty(
        Salt::named("chalk").unwrap(),
        quantity::Mass::from_g(0.1),
    )];
    task.mash.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(3.0),
        Alkalinity::from_meq_per_l(0.1),
    ));
    let found = design(&task).unwrap();
    let g: f64 = found.salts().map(|dose| dose.mass.g()).sum();
    assert!(g <= 0.014 * 20.0, "{g}");
}

/// An alkalinity of 3 mEq/L and a mash pH of 5.4 in one mash.
fn two_aims_for_one_thing() -> Task {
    let mut tap = water("tap", 40.0, 20.0, 2.0);
    tap.ions.magnesium = mg(10.0);
    let mut task = task(16.0, 0.0);
    task.sources = vec![plain(tap)];
    task.salts = salts(&["baking soda"], 0.1);
    task.acids = acid(&["lactic acid 80 %"]);
    task.mash.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(3.0),
        Alkalinity::from_meq_per_l(0.1),
    ));
    task.grist = Some(pale_grist(Some(Aim::near(
        Ph::from_ph(5.4),
        Ph::from_ph(0.05),
    ))));
    task
}

#[test]
fn of_two_aims_for_one_thing_the_alkalinity_is_to_be_dropped() {
    let task = two_aims_for_one_thing();
    let found = practical(&task).unwrap();
    assert!(!pours_both(&found.design));
    let conflict = conflict(&task, &found.design).unwrap().unwrap();
    assert_eq!(
        (conflict.drop, conflict.keep),
        (Figure::Alkalinity, Figure::MashPh)
    );
    // By hand: 4.5·40 + 0.3·50 = 195 mEq/pH about (180·5.75 + 15·4.9)/195 = 5.6846;
    // 5.4 is −55.5 mEq, −3.469 in each of 16 L; Ca 1.996/3.5 and Mg 0.823/7 of it are
    // there, so the alkalinity is −2.781 mEq/L. A syringe's mark is 0.066 of it.
    let Level::Alkalinity(alkalinity) = conflict.comes_to else {
        panic!("{:?}", conflict.comes_to)
    };
    let off = alkalinity.meq_per_l() + 2.781;
    assert!(off.abs() < 0.04, "{alkalinity:?}");
}

#[test]
fn two_aims_that_agree_are_no_conflict() {
    let mut task = two_aims_for_one_thing();
    task.mash.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(-2.8),
        Alkalinity::from_meq_per_l(0.1),
    ));
    let found = practical(&task).unwrap();
    assert!(found.design.lines.iter().all(Line::met));
    assert_eq!(conflict(&task, &found.design).unwrap(), None);
    let mut alone = two_aims_for_one_thing();
    alone.mash.aims.alkalinity = None;
    let found = practical(&alone).unwrap();
    assert_eq!(conflict(&alone, &found.design).unwrap(), None);
}

#[test]
fn an_acid_that_is_not_there_makes_the_ph_the_aim_to_drop() {
    let mut task = two_aims_for_one_thing();
    task.acids = vec![];
    let found = practical(&task).unwrap();
    let conflict = conflict(&task, &found.design).unwrap().unwrap();
    assert_eq!(
        (conflict.drop, conflict.keep),
        (Figure::MashPh, Figure::Alkalinity)
    );
}

#[test]
fn too_few_additions_say_how_many_would_do_and_what_to_let_go() {
    let mut task = task(20.0, 0.0);
    task.sources = vec![plain(water("soft", 5.0, 5.0, 0.2))];
    task.salts = salts(&["gypsum", "table salt"], 0.1);
    task.mash.aims.calcium = Some(Aim::near(mg(60.0), mg(5.0)));
    // Chloride needs the table salt, sulfate the gypsum.
    task.mash.limits.chloride = Bounds {
        at_least: Some(mg(20.0)),
        at_most: None,
    };
    task.mash.limits.sulfate = Bounds {
        at_least: Some(mg(40.0)),
        at_most: None,
    };
    task.at_most_kinds = Some(1);
    let error = design(&task).unwrap_err();
    let message = error.to_string();
    assert!(message.contains("no 1 of the 2 additions"), "{message}");
    assert!(message.contains("allow 2, or let go of"), "{message}");
    assert!(
        message.contains("chloride in the mash liquor: at least 20 mg/L"),
        "{message}"
    );
    assert!(
        message.contains("or of sulfate in the mash liquor: at least 40 mg/L"),
        "{message}"
    );
    task.at_most_kinds = Some(2);
    assert!(design(&task).is_ok());
}

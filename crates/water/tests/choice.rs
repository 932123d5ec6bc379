//! Which water for which beer. The waters are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod design_support;

use design_support::*;
use quantity::{Alkalinity, Ph, Volume};
use water::choice::*;
use water::design::*;
use water::{Amount, WaterError};

/// Calcium 60, alkalinity 1.0: neither of the two waters, half of each.
fn between() -> Task {
    let mut task = task(20.0, 0.0);
    task.mash.aims.calcium = Some(Aim::near(mg(60.0), mg(5.0)));
    task.mash.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(1.0),
        Alkalinity::from_meq_per_l(0.1),
    ));
    task
}

fn two() -> [Candidate; 2] {
    [
        Candidate::steady(water("tap", 110.0, 20.0, 1.9)),
        Candidate::steady(water("spring", 10.0, 5.0, 0.1)).bought(Some(Money::from_amount(0.3))),
    ]
}

#[test]
fn a_blend_that_meets_the_aim_comes_before_either_water() {
    let choice = choose(&two(), &between()).unwrap();
    let names: Vec<&str> = choice.ranked.iter().map(|r| r.name.as_str()).collect();
    assert_eq!(names[0], "tap and spring");
    assert_eq!(names.len(), 3);
    let blend = &choice.ranked[0];
    // 10 L of each by hand: (110 + 10)/2 = 60, (1.9 + 0.1)/2 = 1.0.
    assert!((blend.bought.l() - 10.0).abs() < 1e-9);
    assert!((blend.cost.amount() - 3.0).abs() < 1e-9);
    assert_eq!((blend.unmet, blend.additions), (0, 0));
    assert!(choice.ranked[1].unmet == 2 && choice.ranked[2].unmet == 2);
}

#[test]
fn what_costs_less_wins_where_both_serve() {
    let mut task = between();
    task.mash.aims.alkalinity = None;
    task.salts = salts(&["gypsum"], 0.1);
    task.mash.aims.calcium = Some(Aim::near(mg(110.0), mg(5.0)));
    let choice = choose(&two(), &task).unwrap();
    assert_eq!(choice.ranked[0].name, "tap");
    // 100 mg/L · 20 L / 0.2328 = 8.6 g of gypsum brings the spring there too.
    let spring = choice.ranked.iter().find(|r| r.name == "spring").unwrap();
    assert_eq!((spring.unmet, spring.additions), (0, 1));
    // The blend with the spring is the tap alone, or no better: never first.
    assert!(choice.ranked.iter().position(|r| r.name == "tap") == Some(0));
}

#[test]
fn seasons_tell_what_to_change_and_when() {
    let mut tap = Candidate::steady(water("tap", 20.0, 10.0, 0.5));
    tap.seasons = vec![
        Season {
            from: "2023-11".to_owned(),
            water: water("tap", 40.0, 10.0, 0.5),
        },
        Season {
            from: "2024-04".to_owned(),
            water: water("tap", 20.0, 10.0, 0.5),
        },
        Season {
            from: "2024-06".to_owned(),
            water: water("tap", 20.0, 10.0, 0.5),
        },
    ];
    let mut task = task(20.0, 0.0);
    task.salts = salts(&["gypsum"], 0.1);
    task.mash.aims.calcium = Some(Aim::near(mg(80.0), mg(5.0)));
    let choice = choose(&[tap], &task).unwrap();
    let ranked = &choice.ranked[0];
    assert_eq!(ranked.seasons.len(), 3);
    // 40 and 60 mg/L · 20 L / 0.23278 = 3.44 and 5.16 g.
    assert_eq!(ranked.changes.len(), 1, "{:?}", ranked.changes);
    let change = &ranked.changes[0];
    assert_eq!(
        (change.from.as_str(), change.what.as_str()),
        ("2024-04", "gypsum")
    );
    let grams = |amount: Option<Amount>| match amount {
        Some(Amount::Mass(mass)) => mass.g(),
        other => panic!("{other:?}"),
    };
    assert!((grams(change.before) - 3.4).abs() < 1e-9);
    assert!((grams(change.after) - 5.2).abs() < 1e-9);
}

#[test]
fn an_earlier_date_takes_the_first_analysis() {
    let mut tap = Candidate::steady(water("tap", 20.0, 10.0, 0.5));
    tap.seasons[0].from = "2024-05".to_owned();
    let mut well = Candidate::steady(water("well", 90.0, 10.0, 3.0));
    well.seasons[0].from = "2024-02".to_owned();
    let choice = choose(&[tap, well], &between()).unwrap();
    let blend = choice.ranked.iter().find(|r| r.waters.len() == 2).unwrap();
    let from: Vec<&str> = blend.seasons.iter().map(|s| s.from.as_str()).collect();
    // Both hold all the time, so that no season turns.
    assert_eq!(from, [""]);
    assert!(blend.changes.is_empty());
}

#[test]
fn a_water_that_is_unfit_is_refused_with_its_reason() {
    let mut bad = water("well", 60.0, 20.0, 1.0);
    bad.ions.nitrate = mg(80.0);
    let candidates = [
        Candidate::steady(bad),
        Candidate::steady(water("tap", 50.0, 20.0, 1.0)),
    ];
    let choice = choose(&candidates, &between()).unwrap();
    assert_eq!(choice.refused.len(), 1);
    assert_eq!(choice.refused[0].name, "well");
    assert!(matches!(choice.refused[0].error, DesignError::Unfit { .. }));
    assert!(choice.ranked.iter().any(|r| r.name == "tap"));
}

#[test]
fn the_mash_ph_is_told_over_the_seasons() {
    let mut tap = Candidate::steady(water("tap", 40.0, 10.0, 1.0));
    tap.seasons[0].from = "2024-01".to_owned();
    tap.seasons.push(Season {
        from: "2024-07".to_owned(),
        water: water("tap", 40.0, 10.0, 3.0),
    });
    let mut task = task(16.0, 0.0);
    task.grist = Some(pale_grist(Some(Aim::near(
        Ph::from_ph(5.4),
        Ph::from_ph(0.1),
    ))));
    let choice = choose(&[tap], &task).unwrap();
    let (low, high) = choice.ranked[0].mash_ph.unwrap();
    // 2 mEq/L · 16 L over 195 mEq/pH are 0.164 (buffering by hand: 4.5·40 + 0.3·50).
    assert!((high.ph() - low.ph() - 0.1641).abs() < 1e-4, "{low} {high}");
}

#[test]
fn nothing_to_choose_from_is_refused() {
    let error = choose(&[], &between()).unwrap_err();
    assert_eq!(error, DesignError::Water(WaterError::NoSource));
    let mut empty = two();
    empty[1].seasons.clear();
    let message = choose(&empty, &between()).unwrap_err().to_string();
    assert!(message.contains("source 2 has no water"), "{message}");
    let mut task = between();
    task.mash.volume = Volume::from_l(0.0);
    assert_eq!(choose(&two(), &task).unwrap_err(), DesignError::NoMash);
}

#[test]
fn what_puts_one_before_the_next_is_told() {
    let choice = choose(&two(), &between()).unwrap();
    // The blend misses no aim, the waters by themselves miss two each.
    assert_eq!(choice.ahead(0), Some(Ahead::Aims));
    assert_eq!(choice.ahead(2), None);
    let mut task = between();
    task.mash.aims.alkalinity = None;
    task.mash.aims.calcium = Some(Aim::near(mg(110.0), mg(5.0)));
    task.salts = salts(&["gypsum"], 0.1);
    let choice = choose(&two(), &task).unwrap();
    // Both reach 110 mg/L of calcium; only the spring's water costs anything.
    assert_eq!(choice.ranked[0].name, "tap");
    assert_eq!(choice.ahead(0), Some(Ahead::Cost));
}

#[test]
fn the_season_that_serves_best_is_known() {
    let mut tap = Candidate::steady(water("tap", 40.0, 10.0, 1.0));
    tap.seasons[0].from = "2024-01".to_owned();
    tap.seasons.push(Season {
        from: "2024-07".to_owned(),
        water: water("tap", 60.0, 10.0, 1.0),
    });
    let choice = choose(&[tap], &between()).unwrap();
    let ranked = &choice.ranked[0];
    // Calcium 60 is what is aimed at; with nothing to add, 40 misses it.
    assert_eq!(ranked.best().unwrap().from, "2024-07");
    assert_eq!(ranked.worst().unwrap().from, "2024-01");
    assert_eq!(ranked.worst().unwrap().unmet(), 1);
}

#[test]
fn no_acid_is_poured_against_soda_in_any_water() {
    let mut task = task(16.0, 0.0);
    task.salts = salts(&["baking soda"], 0.1);
    task.acids = acid(&["lactic acid 80 %"]);
    task.mash.aims.alkalinity = Some(Aim::near(
        Alkalinity::from_meq_per_l(3.0),
        Alkalinity::from_meq_per_l(0.2),
    ));
    task.grist = Some(pale_grist(Some(Aim::near(
        Ph::from_ph(5.4),
        Ph::from_ph(0.05),
    ))));
    for ranked in choose(&two(), &task).unwrap().ranked {
        assert!(!pours_both(&ranked.seasons[0].design), "{}", ranked.name);
    }
}

#[test]
fn one_water_comes_before_a_blend_that_is_as_near() {
    let candidates = [
        Candidate::steady(water("tap", 60.0, 20.0, 1.0)),
        Candidate::steady(water("well", 61.0, 20.0, 1.02)),
    ];
    let choice = choose(&candidates, &between()).unwrap();
    assert_eq!(choice.ranked[0].waters.len(), 1);
}

//! What the pitch does to a whole fermentation.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod common;

use common::{plan, wort};
use ferment::{
    FermentPlan, PitchCase, Starter, StarterStep, Stirring, Yeast, ferment, pitch_cases,
};
use quantity::{Cells, Gravity, Temperature, Volume};

fn case<'c>(all: &'c [PitchCase], key: &str) -> &'c PitchCase {
    all.iter().find(|c| c.key == key).unwrap()
}

fn short(of: f64) -> (FermentPlan, wort::PitchingWort) {
    let wort = wort(12.0, 0.815);
    let mut plan = plan("neutral ale", 19.0, 14.0, &wort);
    let Yeast::Counted { cells } = plan.yeast else {
        unreachable!("the shared plan counts its yeast");
    };
    plan.yeast = Yeast::Counted {
        cells: Cells::from_billions(cells.billions() * of),
    };
    (plan, wort)
}

/// Directions and sizes: fusel alcohols 10 to 30 % a halving (Verbelen et al. 2008-09,
/// from memory; Kucharczyk et al. 2020, abstract read), a later start, no change of
/// 4-vinylguaiacol (Schwarz, Boitz, Methner about 2012, abstract read).
#[test]
fn half_the_cells_start_later_and_make_more_fusels() {
    let (plan, wort) = short(0.5);
    let all = pitch_cases(&plan, &wort).unwrap();
    assert_eq!(all.len(), 5);
    let (needed, half, planned) = (
        case(&all, "needed"),
        case(&all, "half"),
        case(&all, "planned"),
    );
    assert!(half.works_after.unwrap() > needed.works_after.unwrap());
    assert!(half.ninety_percent_at.unwrap() > needed.ninety_percent_at.unwrap());
    assert!(
        (1.05..1.35).contains(&half.fusels.factor),
        "{:?}",
        half.fusels
    );
    assert!((half.phenolics.factor - 1.0).abs() < 0.02);
    // Which way esters go is not known: the interval holds one.
    assert!(
        half.esters.low < 1.0 && half.esters.high > 1.0,
        "{:?}",
        half.esters
    );
    assert!((planned.ratio - 0.5).abs() < 1e-9);
    assert!((planned.fusels.factor / half.fusels.factor - 1.0).abs() < 1e-6);
    let twice = case(&all, "twice");
    assert!(twice.fusels.factor < 1.0 && twice.works_after < needed.works_after);
}

/// Ethyl acetate by 3.6 % a kelvin, fusel alcohols by a Q10 of 1.3 to 1.6, both over
/// the part of the growth that the warm start covers.
#[test]
fn a_warm_start_makes_more_of_both() {
    let (plan, wort) = short(1.0);
    let all = pitch_cases(&plan, &wort).unwrap();
    let warm = case(&all, "warm");
    assert!((warm.start.c() - 23.0).abs() < 1e-9);
    assert!(warm.esters.factor > 1.0 && warm.esters.factor < f64::exp(0.036 * 4.0) * 1.05);
    assert!(warm.fusels.factor > 1.0 && warm.fusels.factor < f64::powf(1.6, 0.4));
    assert!(
        warm.esters.low > 1.0,
        "the direction is known: {:?}",
        warm.esters
    );
    assert!((warm.ratio - 1.0).abs() < 1e-9);
    let needed = case(&all, "needed");
    assert!(warm.works_after < needed.works_after);
    assert!(warm.clears_after.unwrap() < needed.clears_after.unwrap());
}

#[test]
fn a_starter_pitched_whole_is_part_of_the_beer() {
    let (mut plan, wort) = short(0.4);
    let step = StarterStep {
        volume: Volume::from_l(2.0),
        gravity: Gravity::from_plato(9.0),
        stirring: Stirring::Still,
    };
    plan.starter = Some(Starter::of(step));
    let decanted = ferment(&plan, &wort).unwrap();
    plan.starter = Some(Starter {
        whole: true,
        ..Starter::of(step)
    });
    let whole = ferment(&plan, &wort).unwrap();
    assert!((whole.beer.volume.l() - decanted.beer.volume.l() - 2.0).abs() < 0.05);
    // Extract by mass: 20 L of 12 °P (1.0465 kg/L at 20 °C) and 2 L of 9 °P
    // (1.0340): 11.73 °P (Plato's tables).
    assert!(
        (whole.beer.original.plato() - 11.73).abs() < 0.01,
        "{:?}",
        whole.beer.original
    );
    assert!(
        (whole.beer.bitterness.ibu() / decanted.beer.bitterness.ibu() - 20.0 / 22.0).abs() < 1e-6
    );
    assert!(whole.alcohol < decanted.alcohol);
    let cases = pitch_cases(&plan, &wort).unwrap();
    let planned = case(&cases, "planned");
    assert!((planned.final_gravity.value.plato() - whole.beer.gravity.plato()).abs() < 1e-9);
}

#[test]
fn a_case_that_cannot_be_reckoned_is_left_out_and_such_a_plan_refused() {
    let (_, wort) = short(1.0);
    // Four kelvin more are above the 40 °C up to which wort is aerated.
    let kveik = plan("kveik", 38.0, 8.0, &wort);
    let all = pitch_cases(&kveik, &wort).unwrap();
    assert!(all.len() == 4 && all.iter().all(|c| c.key != "warm"));
    let (mut plan, wort) = short(1.0);
    plan.pitch_temperature = Temperature::from_c(60.0);
    assert!(pitch_cases(&plan, &wort).is_err());
}

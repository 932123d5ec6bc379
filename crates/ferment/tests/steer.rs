//! Steering of a batch on the course model.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

mod common;

use common::{plan, wort};
use ferment::steer::{Effort, Figure, Goal, Range, Wish, steer, trade_off};
use ferment::{FermentPlan, Yeast, ferment};
use quantity::{Cells, Duration, Temperature, TemperatureDifference};

const EFFORT: Effort = Effort { starts: 3, seed: 3 };

fn lager() -> (FermentPlan, wort::PitchingWort) {
    let wort = wort(12.0, 0.815);
    (plan("lager", 10.0, 12.0, &wort), wort)
}

fn wish(days: f64) -> Wish {
    Wish {
        aim: (Figure::Diacetyl, Goal::Least),
        at_most: vec![(Figure::LeftToFerment, 2.0), (Figure::EthylAcetate, 18.0)],
        end: Duration::from_h(24.0 * days),
        range: Range {
            coldest: Temperature::from_c(8.0),
            warmest: Temperature::from_c(16.0),
            steepest: Some(TemperatureDifference::from_k(0.25)),
        },
        pitch_factor: 1.0,
    }
}

/// The course found, put through the stage itself, gives the figures that it was
/// found for, and less diacetyl than a course held at 10 °C.
#[test]
fn a_steered_course_does_what_it_was_found_for() {
    let (plan, wort) = lager();
    let found = steer(&plan, &wort, &wish(14.0), EFFORT).unwrap().unwrap();
    let mut steered = plan.clone();
    steered.course = found.course.clone();
    steered.pitch_temperature = found.course[0].temperature;
    steered.length = Duration::from_h(24.0 * 14.0);
    let beer = ferment(&steered, &wort).unwrap().beer;
    let diacetyl = |f: &ferment::Flavour| f.diacetyl.mg_per_l() + f.diacetyl_to_come.mg_per_l();
    let ours = diacetyl(&beer.flavour);
    assert!(
        (ours - found.aim).abs() < 0.01 * found.aim + 1e-3,
        "{ours} {}",
        found.aim
    );
    assert!(beer.flavour.ethyl_acetate.mg_per_l() < 18.0 * 1.005);
    let mut level = plan.clone();
    level.length = steered.length;
    let level = ferment(&level, &wort).unwrap().beer;
    assert!(
        ours < 0.7 * diacetyl(&level.flavour),
        "{ours} {}",
        diacetyl(&level.flavour)
    );
    assert!((found.pitch - 1.0).abs() < 1e-6 && found.validity.contains("calibrated"));
    for pair in found.course.windows(2) {
        let hours = pair[1].at.h() - pair[0].at.h();
        let change = pair[1].temperature.c() - pair[0].temperature.c();
        assert!(change.abs() <= 0.25 * hours + 1e-4);
    }
}

/// More days never make it worse, and too few cannot meet the limits.
#[test]
fn days_are_traded_for_diacetyl() {
    let (plan, wort) = lager();
    let ends = [3.0, 8.0, 11.0, 14.0].map(|d| Duration::from_h(24.0 * d));
    let curve = trade_off(&plan, &wort, &wish(1.0), &ends, EFFORT).unwrap();
    assert!(curve[0].1.is_none(), "a lager is not done in three days");
    let aims: Vec<f64> = curve
        .iter()
        .filter_map(|(_, s)| s.as_ref().map(|s| s.aim))
        .collect();
    assert!(aims.len() >= 2, "{aims:?}");
    for pair in aims.windows(2) {
        assert!(pair[1] < pair[0] * 1.001, "{aims:?}");
    }
}

/// With the pitch set free fewer fusel alcohols come with more cells.
#[test]
fn the_pitch_is_steered_too() {
    let (mut plan, wort) = lager();
    plan.yeast = Yeast::Counted {
        cells: Cells::from_billions(300.0),
    };
    let mut wish = wish(16.0);
    wish.aim = (Figure::IsoamylAlcohol, Goal::Least);
    let fixed = steer(&plan, &wort, &wish, EFFORT).unwrap().unwrap();
    wish.pitch_factor = 1.5;
    let free = steer(&plan, &wort, &wish, EFFORT).unwrap().unwrap();
    assert!(free.aim < fixed.aim * 0.99, "{} {}", free.aim, fixed.aim);
    assert!(free.pitch > 1.3 && free.pitch < 1.5001, "{}", free.pitch);
}

#[test]
fn what_cannot_be_wished_is_refused() {
    let (plan, wort) = lager();
    let mut odd = wish(10.0);
    odd.pitch_factor = 0.5;
    assert!(
        steer(&plan, &wort, &odd, EFFORT)
            .unwrap_err()
            .to_string()
            .contains("pitch")
    );
    let mut odd = wish(10.0);
    odd.at_most = vec![(Figure::Diacetyl, f64::NAN)];
    assert!(steer(&plan, &wort, &odd, EFFORT).is_err());
    assert!(steer(&plan, &wort, &wish(f64::NAN), EFFORT).is_err());
}

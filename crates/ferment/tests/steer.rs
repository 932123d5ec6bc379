//! Steering of a batch on the course model.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

mod common;

use common::{plan, point, wort};
use ferment::steer::{
    Aim, Block, Effort, Figure, Goal, Limit, Range, Steered, Steering, Wish, sources, standing,
    usual_steepest,
};
use ferment::watch::{Expectation, GravityReading, Instrument, Log, Watching, watch};
use ferment::{FermentPlan, Yeast, ferment};
use proptest::prelude::*;
use quantity::{Cells, Duration, Gravity, Measured, Temperature, TemperatureDifference};

const EFFORT: Effort = Effort { starts: 3, seed: 3 };

fn lager() -> (FermentPlan, wort::PitchingWort) {
    let wort = wort(12.0, 0.815);
    (plan("lager", 10.0, 12.0, &wort), wort)
}

fn days(d: f64) -> Duration {
    Duration::from_h(24.0 * d)
}

fn least(figure: Figure) -> Vec<Aim> {
    vec![Aim {
        figure,
        goal: Goal::Least,
        weight: 1.0,
    }]
}

/// Least diacetyl at the end of so many days.
fn wish(end: f64) -> Wish {
    Wish {
        aims: least(Figure::Diacetyl),
        limits: vec![
            Limit::at_most(Figure::LeftToFerment, 2.0),
            Limit::at_most(Figure::EthylAcetate, 18.0),
        ],
        end: (days(end), days(end)),
        range: Range {
            coldest: Temperature::from_c(8.0),
            warmest: Temperature::from_c(16.0),
            steepest: Some(TemperatureDifference::from_k(0.25)),
        },
        pitch: (1.0, 1.0),
        from: None,
    }
}

fn steering(wish: Wish) -> Steering {
    let (plan, wort) = lager();
    Steering::new(&plan, &wort, wish, days(12.0)).unwrap()
}

fn follows(plan: &FermentPlan, found: &Steered) -> FermentPlan {
    FermentPlan {
        course: found.course.clone(),
        length: found.end,
        ..plan.clone()
    }
}

/// The course found, put through the stage itself, gives the figures that it was
/// found for, and less diacetyl than a course held at 10 °C.
#[test]
fn a_steered_course_does_what_it_was_found_for() {
    let (plan, wort) = lager();
    let best = steering(wish(14.0)).best(EFFORT).unwrap();
    let found = &best.steered;
    assert!(best.kept && best.blocks.is_empty() && found.unmet.is_empty());
    let fermented = ferment(&follows(&plan, found), &wort).unwrap();
    let flavour = &fermented.beer.flavour;
    let butter = |f: &ferment::Flavour| f.diacetyl.mg_per_l() + f.diacetyl_to_come.mg_per_l();
    let ours = butter(flavour);
    let f = &found.figures;
    assert!(
        (ours - f.diacetyl).abs() < 0.01 * f.diacetyl + 1e-3,
        "{ours} {f:?}"
    );
    assert!(flavour.ethyl_acetate.mg_per_l() < 18.0 * 1.005);
    for (stage, steered) in [
        (flavour.ethyl_acetate.mg_per_l(), f.ethyl_acetate),
        (flavour.isoamyl_acetate.mg_per_l(), f.isoamyl_acetate),
        (flavour.isoamyl_alcohol.mg_per_l(), f.isoamyl_alcohol),
        (flavour.vinylguaiacol.mg_per_l(), f.vinylguaiacol),
        (flavour.acetaldehyde.mg_per_l(), f.acetaldehyde),
        (fermented.final_gravity.value.plato(), f.gravity_plato),
    ] {
        assert!(
            (stage - steered).abs() < 0.005 * stage + 5e-3,
            "{stage} {steered}"
        );
    }
    let level = FermentPlan {
        length: found.end,
        ..plan.clone()
    };
    let level = butter(&ferment(&level, &wort).unwrap().beer.flavour);
    assert!(ours < 0.7 * level, "{ours} {level}");
    assert!((found.pitch - 1.0).abs() < 1e-6 && best.validity.contains("calibrated"));
    assert!((found.course[0].temperature.c() - 10.0).abs() < 1e-9);
    for pair in found.course.windows(2) {
        let hours = pair[1].at.h() - pair[0].at.h();
        let change = pair[1].temperature.c() - pair[0].temperature.c();
        assert!(change.abs() <= 0.25 * hours + 1e-4);
        assert!((7.99..=16.01).contains(&pair[1].temperature.c()));
    }
}

/// The end is free too: the fewest days that keep the limits are fewer than the plan
/// takes, half a day less cannot keep them, and a fixed end of as many days can.
#[test]
fn the_fewest_days_are_found() {
    let mut soon = wish(1.0);
    soon.aims = Vec::new();
    soon.limits.push(Limit::at_most(Figure::Diacetyl, 0.1));
    soon.end = (days(1.0), days(30.0));
    let best = steering(soon.clone()).best(EFFORT).unwrap();
    assert!(best.kept);
    let fewest = best.steered.figures.days;
    assert!((4.0..25.0).contains(&fewest), "{fewest}");
    let fixed = |end: f64| {
        let wish = Wish {
            end: (days(end), days(end)),
            ..soon.clone()
        };
        steering(wish).best(EFFORT).unwrap()
    };
    assert!(fixed(fewest * 1.002).kept);
    let short = fixed(fewest - 0.5);
    assert!(!short.kept && !short.steered.unmet.is_empty());
    assert!(short.blocks.contains(&Block::Days), "{:?}", short.blocks);
}

/// More days never make it worse, and too few cannot keep the limits.
#[test]
fn days_are_traded_for_diacetyl() {
    let mut open = wish(14.0);
    open.end.0 = days(1.0);
    let curve = steering(open).curve((Figure::Diacetyl, Goal::Least), 6, days(16.0), EFFORT);
    assert!(curve.len() >= 4, "{}", curve.len());
    assert!(
        curve[0].figures.days > 3.0,
        "a lager is not done in three days"
    );
    for pair in curve.windows(2) {
        assert!(pair[1].figures.days > pair[0].figures.days);
        assert!(pair[1].figures.diacetyl < pair[0].figures.diacetyl * 1.02 + 1e-3);
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
    wish.aims = least(Figure::IsoamylAlcohol);
    let of = |wish: &Wish| {
        let steering = Steering::new(&plan, &wort, wish.clone(), days(16.0)).unwrap();
        steering.best(EFFORT).unwrap().steered
    };
    let fixed = of(&wish);
    wish.pitch = (1.0 / 1.5, 1.5);
    let free = of(&wish);
    let fusels = |s: &Steered| s.figures.isoamyl_alcohol;
    assert!(fusels(&free) < fusels(&fixed) * 0.99);
    assert!(free.pitch > 1.3 && free.pitch < 1.5001, "{}", free.pitch);
}

/// What stands against a wish is named: clove from a yeast that makes none.
#[test]
fn what_cannot_be_kept_comes_nearest_and_is_named() {
    let mut odd = wish(14.0);
    odd.limits.push(Limit::at_least(Figure::Vinylguaiacol, 3.0));
    let best = steering(odd).best(EFFORT).unwrap();
    assert!(!best.kept);
    assert_eq!(best.steered.unmet, [2]);
    assert_eq!(best.blocks, [Block::Limit(2)]);
}

/// Cooler is slower with fewer esters, warmer the other way; more yeast is faster.
#[test]
fn small_changes_go_the_way_they_should() {
    let steering = steering(wish(9.0));
    let best = steering.best(EFFORT).unwrap().steered;
    let changes = steering.changes(&best);
    let of = |key: &str| changes.iter().find(|c| c.key == key).unwrap().figures;
    let (cooler, warmer, here) = (of("cooler"), of("warmer"), best.figures);
    assert!(cooler.ethyl_acetate < here.ethyl_acetate && here.ethyl_acetate < warmer.ethyl_acetate);
    assert!(cooler.left > here.left && here.left > warmer.left);
    assert!(of("more").left < here.left && of("less").left > here.left);
    assert!(of("longer").diacetyl < here.diacetyl && of("shorter").diacetyl > here.diacetyl);
}

/// A course that is guarded against bad cases keeps the limits more often.
#[test]
fn the_guarded_course_is_the_safer() {
    let mut soon = wish(1.0);
    soon.aims = Vec::new();
    soon.limits = vec![
        Limit::at_most(Figure::LeftToFerment, 2.0),
        Limit::at_most(Figure::Diacetyl, 0.1),
    ];
    soon.end = (days(1.0), days(40.0));
    let steering = steering(soon);
    let best = steering.best(EFFORT).unwrap().steered;
    let guarded = steering.guarded(&best).unwrap();
    let chances = steering.chances(&[&best, &guarded]);
    assert!(guarded.figures.days > best.figures.days);
    assert!(chances[0].keeps.ratio() < 0.7 && chances[1].keeps.ratio() > 0.8);
    assert_eq!(steering.safest(&chances), Some(1));
    let surely = chances[0].surely_ready.unwrap();
    assert!(surely > best.end && chances[1].surely_ready.unwrap().h() <= guarded.end.h() + 12.0);
    assert!(chances[0].low.ethyl_acetate < best.figures.ethyl_acetate);
}

/// Readings of a batch that runs at half the speed of its class: the model takes the
/// speed from them, and only the rest of the course is free.
#[test]
fn a_running_batch_is_steered_from_where_it_stands() {
    let (plan, wort) = lager();
    let mut slow = plan.clone();
    slow.habits.speed = 0.6;
    let truth = ferment(&slow, &wort).unwrap();
    let now = days(5.0);
    let log = Log {
        instruments: vec![("hydrometer".to_owned(), Instrument::NarrowHydrometer)],
        gravities: (1..=10)
            .map(|i| {
                let at = days(0.5 * f64::from(i));
                let near = truth.course.iter().min_by(|a, b| {
                    let off = |m: &&ferment::CourseMoment| (m.at.h() - at.h()).abs();
                    off(a).total_cmp(&off(b))
                });
                GravityReading {
                    at: near.unwrap().at,
                    gravity: near.unwrap().gravity,
                    instrument: 0,
                }
            })
            .collect(),
        ..Log::default()
    };
    let as_planned = ferment(&plan, &wort).unwrap();
    let original = Measured::with_sd(Gravity::from_plato(12.0), 0.1);
    let expectation = Expectation::planned(
        &plan.strain,
        original,
        &as_planned.course,
        as_planned.expected_gravity,
    );
    let temperatures = plan.temperatures().unwrap();
    let course = watch(Watching {
        expectation: &expectation,
        log: &log,
        planned: Some(&temperatures),
        now,
        seed: 1,
    })
    .unwrap();
    let standing = standing(&plan, &wort, &course).unwrap();
    assert!((0.45..0.8).contains(&standing.speed), "{}", standing.speed);
    let read = truth.course.iter().find(|m| m.at.h() >= now.h()).unwrap();
    let ours = ferment(&standing.plan, &wort).unwrap();
    let here = ours.course.iter().find(|m| m.at.h() >= now.h()).unwrap();
    assert!((here.gravity.plato() - read.gravity.plato()).abs() < 0.4);

    let mut rest = wish(1.0);
    rest.aims = Vec::new();
    rest.end = (days(6.0), days(40.0));
    rest.from = Some(now);
    rest.limits[0].value = 4.0;
    let steering = Steering::new(&standing.plan, &wort, rest, days(12.0)).unwrap();
    let best = steering.best(EFFORT).unwrap();
    assert!(best.kept);
    assert_eq!(best.steered.course[0].at, now);
    assert!((best.steered.course[0].temperature.c() - 10.0).abs() < 0.1);
    assert!((best.steered.pitch - 1.0).abs() < 1e-9);
    assert!(
        !steering
            .changes(&best.steered)
            .iter()
            .any(|c| c.key == "more")
    );
    // The whole course, past and found, gives the same in the stage.
    let mut whole = standing.plan.clone();
    whole.course.retain(|p| p.at < now);
    whole.course.extend(best.steered.course.iter().copied());
    whole.length = best.steered.end;
    let stage = ferment(&whole, &wort).unwrap();
    let gravity = stage.final_gravity.value.plato();
    assert!((gravity - best.steered.figures.gravity_plato).abs() < 0.02);
}

#[test]
fn what_cannot_be_wished_is_refused() {
    let (plan, wort) = lager();
    let of = |change: &dyn Fn(&mut Wish)| {
        let mut odd = wish(10.0);
        change(&mut odd);
        Steering::new(&plan, &wort, odd, days(10.0))
            .err()
            .map(|e| e.to_string())
    };
    assert!(of(&|w| w.pitch = (0.5, 0.2)).unwrap().contains("pitch"));
    assert!(of(&|w| w.limits = vec![Limit::at_most(Figure::Diacetyl, f64::NAN)]).is_some());
    assert!(of(&|w| w.end = (days(f64::NAN), days(3.0))).is_some());
    assert!(of(&|w| w.end = (days(5.0), days(3.0))).is_some());
    assert!(of(&|w| w.aims[0].weight = -1.0).unwrap().contains("weight"));
    assert!(of(&|w| w.range.coldest = Temperature::from_c(20.0)).is_some());
    assert!(of(&|w| w.from = Some(days(300.0))).is_some());
    assert_eq!(of(&|_| ()), None);
}

#[test]
fn rows_have_their_sources() {
    assert!(usual_steepest().k() > 0.0);
    assert_eq!(sources().len(), 3);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Odd wishes have an answer or a refusal, and every number of it is finite.
    #[test]
    fn odd_wishes_are_answered(
        end in 0.1..60.0f64,
        span in 0.0..40.0f64,
        coldest in -1.0..30.0f64,
        wide in 0.0..15.0f64,
        steepest in prop::option::of(0.001..2.0f64),
        butter in 1e-6..10.0f64,
        clove in 1e-6..10.0f64,
        start in 2.0..30.0f64,
    ) {
        let wort = wort(12.0, 0.815);
        let plan = plan("wheat", start, 12.0, &wort);
        let wish = Wish {
            aims: least(Figure::IsoamylAcetate),
            limits: vec![
                Limit::at_most(Figure::Diacetyl, butter),
                Limit::at_least(Figure::Vinylguaiacol, clove),
            ],
            end: (days(end), days(end + span)),
            range: Range {
                coldest: Temperature::from_c(coldest),
                warmest: Temperature::from_c(coldest + wide),
                steepest: steepest.map(TemperatureDifference::from_k),
            },
            pitch: (0.5, 2.0),
            from: None,
        };
        if let Ok(steering) = Steering::new(&plan, &wort, wish, days(8.0)) {
            let best = steering.best(Effort { starts: 1, seed: 1 });
            if let Ok(best) = best {
                let f = best.steered.figures;
                for x in [f.days, f.ethyl_acetate, f.diacetyl, f.vinylguaiacol, f.left, f.gravity_plato] {
                    prop_assert!(x.is_finite());
                }
            }
        }
    }
}

/// A jump at the start of a plan is not lost: the first temperature is the pitching one.
#[test]
fn the_first_temperature_is_that_of_the_wort() {
    let (mut plan, wort) = lager();
    plan.pitch_temperature = Temperature::from_c(14.0);
    plan.course = vec![point(0.0, 14.0), point(48.0, 10.0)];
    let steering = Steering::new(&plan, &wort, wish(14.0), days(12.0)).unwrap();
    let best = steering.best(EFFORT).unwrap().steered;
    assert!((best.course[0].temperature.c() - 14.0).abs() < 1e-9);
}

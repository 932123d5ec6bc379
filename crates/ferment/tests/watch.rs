//! Watching: real courses, simulated ones, alarms, and whatever a log may hold.

use ferment::watch::{
    AlarmKind, Course, Expectation, GravityReading, Instrument, Log, Sampling, Verdict, Watching,
    posterior, watch,
};
use ferment::{FermentPlan, Fermentation, ferment};
use proptest::prelude::*;
use quantity::{Duration, Gravity, Measured, Ph, Temperature, Weight};

mod common;
mod pilots;

use common::{plan, point, wort};

/// A stream of numbers for noise, apart from the one under test.
struct Noise(u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as f64 + 0.5) / (1u64 << 31) as f64
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

/// A course that the stage reckons, and how it was planned.
struct Simulated {
    plan: FermentPlan,
    planned: Fermentation,
    truth: Fermentation,
}

impl Simulated {
    /// A yeast that is known in its brewhouse, whose batches are slower or faster than
    /// planned, later or sooner, and go further or less far (sd 0.02, as batches of one
    /// yeast in the pilot plant).
    fn new(noise: &mut Noise) -> Self {
        let plato = 10.0 + 6.0 * noise.uniform();
        let warm_c = 18.0 + 4.0 * noise.uniform();
        let liquor = wort(plato, 0.815);
        let mut plan = plan("neutral ale", warm_c, 20.0, &liquor);
        plan.course = vec![
            point(0.0, warm_c),
            point(48.0, warm_c),
            point(96.0, warm_c + 1.0),
        ];
        let planned = ferment(&plan, &liquor).unwrap();
        let mut real = plan.clone();
        real.habits.speed = (0.3 * noise.normal()).exp();
        real.habits.lag = Some(Duration::from_h(10.0 * (0.4 * noise.normal()).exp()));
        let limit = 0.815 + 0.02 * noise.normal();
        let truth = ferment(&real, &wort(plato, limit.clamp(0.7, 0.9))).unwrap();
        Self {
            plan,
            planned,
            truth,
        }
    }

    fn true_plato(&self, h: f64) -> f64 {
        let course = &self.truth.course;
        let after = course
            .partition_point(|m| m.at.h() <= h)
            .clamp(1, course.len() - 1);
        let (a, b) = (&course[after - 1], &course[after]);
        let share = (h - a.at.h()) / (b.at.h() - a.at.h());
        a.gravity.plato() + share * (b.gravity.plato() - a.gravity.plato())
    }

    fn expectation(&self) -> Expectation {
        let original = self.planned.course[0].gravity;
        Expectation::planned(
            &self.plan.strain,
            Measured::with_sd(original, 0.15),
            &self.planned.course,
            self.planned.expected_gravity,
        )
    }

    /// As an instrument would have it up to a time.
    fn log(&self, kind: Instrument, until_h: f64, noise: &mut Noise) -> Log {
        let (step_h, sd, bias) = match kind {
            Instrument::Float => (0.5, 0.18, 0.4 * noise.normal()),
            Instrument::Inline => (1.0, 0.05, 0.05 * noise.normal()),
            _ => (12.0, 0.19, 0.2 * noise.normal()),
        };
        let mut log = Log {
            instruments: vec![("it".to_owned(), kind)],
            ..Log::default()
        };
        let mut h = 0.0;
        while h <= until_h {
            let spike = if kind == Instrument::Float && noise.uniform() < 0.03 {
                3.0 * noise.normal()
            } else {
                0.0
            };
            let read = self.true_plato(h) + bias + sd * noise.normal() + spike;
            log.gravities.push(reading(h, read));
            let temp = self
                .plan
                .temperatures()
                .unwrap()
                .at(Duration::from_h(h))
                .c();
            log.temperatures.push((
                Duration::from_h(h),
                Temperature::from_c(temp + 0.2 * noise.normal()),
            ));
            h += step_h;
        }
        log
    }
}

fn reading(h: f64, plato: f64) -> GravityReading {
    GravityReading {
        at: Duration::from_h(h),
        gravity: Gravity::from_plato(plato),
        instrument: 0,
    }
}

fn at(expectation: &Expectation, log: &Log, now_h: f64) -> Course {
    watch(Watching {
        expectation,
        log,
        planned: None,
        now: Duration::from_h(now_h),
        seed: 3,
    })
    .unwrap()
}

/// 200 courses of the stage's differential equations, which are not the fitted curve,
/// read by hydrometer, float and meter.
#[test]
fn simulated_courses_lie_in_their_intervals() {
    let mut noise = Noise(2027);
    let kinds = [
        Instrument::Hydrometer,
        Instrument::Float,
        Instrument::Inline,
    ];
    let (mut held, mut asked, mut near, mut ends_held) = (0, 0, 0, 0);
    let mut errors = Vec::new();
    for n in 0..200 {
        let course = Simulated::new(&mut noise);
        let log = course.log(kinds[n % 3], 48.0, &mut noise);
        let temperatures = course.plan.temperatures().unwrap();
        let watched = watch(Watching {
            expectation: &course.expectation().of_known_yeast(),
            log: &log,
            planned: Some(&temperatures),
            now: Duration::from_h(48.0),
            seed: n as u64,
        })
        .unwrap();
        for h in [60.0, 72.0, 96.0, 144.0] {
            let [low, _, high] = pilots::band(&watched, h);
            asked += 1;
            held += usize::from((low..=high).contains(&course.true_plato(h)));
        }
        let end = course.truth.final_gravity.value.plato();
        ends_held += usize::from(watched.end.low.plato() <= end && end <= watched.end.high.plato());
        let points = 4.0 * (watched.end.middle.plato() - end).abs();
        near += usize::from(points <= 2.0);
        errors.push(points);
    }
    errors.sort_by(f64::total_cmp);
    let share = held as f64 / f64::from(asked);
    println!(
        "bands {share:.3}, ends {ends_held} of 200, within two points {near} of 200, median {:.2}, nine in ten {:.2} points",
        errors[100], errors[179]
    );
    // Meant for nine in ten. They hold more here (0.973 when this was written): these
    // courses are smoother than real ones, for whose wander the bands leave room.
    assert!((0.85..=0.985).contains(&share), "bands hold {share:.3}");
    assert!((170..=192).contains(&ends_held), "ends {ends_held}");
    assert!(near >= 180, "within two points: {near} of 200");
}

#[test]
fn pilot_courses_are_what_the_docs_say() {
    let lines = pilots::table();
    let page = pilots::page(&lines);
    let kept = include_str!("../../../docs/pilot-courses.md");
    // The last digit may differ between machines: figures, each with its unit in the
    // last place, whole numbers with a fifth.
    let figures = |text: &str| -> Vec<(f64, f64)> {
        let spaced: String = text
            .chars()
            .map(|c| {
                if c.is_ascii_digit() || c == '.' {
                    c
                } else {
                    ' '
                }
            })
            .collect();
        spaced
            .split_whitespace()
            .filter_map(|x| {
                let x = x.trim_end_matches('.');
                let decimals = x.split_once('.').map_or(1, |(_, part)| part.len());
                Some((x.parse().ok()?, 0.1_f64.powi(decimals as i32)))
            })
            .collect()
    };
    let (ours, theirs) = (figures(&page), figures(kept));
    assert_eq!(
        ours.len(),
        theirs.len(),
        "docs/pilot-courses.md is stale:\n{page}"
    );
    for ((a, digit), (b, _)) in ours.iter().zip(&theirs) {
        assert!(
            (a - b).abs() <= 2.0 * digit + 0.02 * b.abs(),
            "docs/pilot-courses.md is stale: {a} for {b}\n{page}"
        );
    }
    // Better than the logistic of five parameters from the same original gravity, which
    // has fewer numbers to fit and no bias of the meter.
    assert!(pilots::median_rms(&lines) < 0.141);
    // From the first day on the end is a guess; what is left of that error tells.
    for (k, most) in [0.6, 0.3, 0.3].into_iter().enumerate() {
        let (ends, of, _, _, errors) = pilots::sum(&lines, |line| line.class[k]);
        assert!(ends * 10 >= of * 8, "from {k}: {ends} of {of}");
        assert!(errors[errors.len() / 2] < most, "from {k}: {errors:?}");
    }
}

#[test]
fn a_pilot_batch_that_never_started_says_so() {
    let pilots = pilots::pilots();
    let b01 = &pilots[0];
    let course = b01.watched(&b01.expectation(), 96.0);
    let lag = course
        .alarms
        .iter()
        .find(|a| a.kind == AlarmKind::LongLag)
        .unwrap();
    assert_eq!(lag.weight, Weight::Act);
    assert!(
        lag.evidence.iter().any(|e| e.contains("h after pitching")),
        "{lag:?}"
    );
}

#[test]
fn pilot_batches_chilled_early_are_told_and_are_not_finished() {
    for pilot in pilots::pilots() {
        let unfinished = ["B02", "B04", "B05", "B07", "B13"].contains(&pilot.name);
        let course = pilot.watched(&pilot.expectation(), pilot.rows.last().unwrap().h);
        if unfinished {
            // The lager of B05 bears the cold that it was chilled to; it had stopped before.
            let told = [AlarmKind::CoolingEarly, AlarmKind::Stalled];
            assert!(
                course.alarms.iter().any(|a| told.contains(&a.kind)),
                "{}",
                pilot.name
            );
            assert_ne!(course.finish.verdict, Verdict::Finished, "{}", pilot.name);
        }
        if pilot.ended() && pilot.name != "B28" {
            assert!(
                course
                    .alarms
                    .iter()
                    .all(|a| a.kind != AlarmKind::Stalled && a.kind != AlarmKind::LongLag),
                "{} {:?}",
                pilot.name,
                course.alarms
            );
        }
    }
}

/// A clean course of the stage, read twice a day to a point.
fn usual() -> (Simulated, Expectation) {
    let course = Simulated::new(&mut Noise(5));
    let expectation = course.expectation();
    (course, expectation)
}

#[test]
fn an_ended_course_is_finished_and_quiet() {
    let (course, expectation) = usual();
    let log = course.log(Instrument::Inline, 300.0, &mut Noise(9));
    let watched = at(&expectation, &log, 300.0);
    assert_eq!(
        watched.finish.verdict,
        Verdict::Finished,
        "{:?}",
        watched.finish
    );
    assert!(watched.alarms.is_empty(), "{:?}", watched.alarms);
    let error = watched.end.middle.plato() - course.truth.final_gravity.value.plato();
    assert!(error.abs() < 0.15);
}

#[test]
fn a_course_that_stops_halfway_is_stalled() {
    let (course, expectation) = usual();
    let mut log = course.log(Instrument::Inline, 200.0, &mut Noise(9));
    let half = 0.6 * course.true_plato(0.0);
    for r in &mut log.gravities {
        r.gravity = Gravity::from_plato(r.gravity.plato().max(half));
    }
    let watched = at(&expectation, &log, 200.0);
    let stall = watched.alarms.iter().find(|a| a.kind == AlarmKind::Stalled);
    assert!(
        stall.is_some_and(|a| a.weight == Weight::Act),
        "{:?}",
        watched.alarms
    );
    assert_ne!(watched.finish.verdict, Verdict::Finished);
    // A forced sample that ends where the beer is clears it.
    let forced = expectation.forced(Measured::with_sd(Gravity::from_plato(half), 0.15));
    let cleared = at(&forced, &log, 200.0);
    assert!(
        cleared.alarms.iter().all(|a| a.kind != AlarmKind::Stalled),
        "{:?}",
        cleared.alarms
    );
}

#[test]
fn a_slow_fall_below_the_end_is_told() {
    let (course, expectation) = usual();
    let mut log = course.log(Instrument::Inline, 500.0, &mut Noise(9));
    for r in &mut log.gravities {
        let over = (r.at.h() - 150.0).max(0.0) / 24.0 * 0.12;
        r.gravity = Gravity::from_plato(r.gravity.plato() - over);
    }
    log.ph.push((Duration::from_h(480.0), Ph::from_ph(4.3)));
    let watched = at(&expectation, &log, 500.0);
    let creep = watched
        .alarms
        .iter()
        .find(|a| a.kind == AlarmKind::StillDropping);
    assert!(
        creep.is_some_and(|a| a.evidence.iter().any(|e| e.contains("no souring"))),
        "{:?} {:?}",
        watched.alarms,
        watched.finish
    );
}

#[test]
fn warmth_sour_beer_and_dead_sensors_are_told() {
    let (course, expectation) = usual();
    let mut log = course.log(Instrument::Float, 60.0, &mut Noise(9));
    for (t, temp) in &mut log.temperatures {
        if (20.0..40.0).contains(&t.h()) {
            *temp = Temperature::from_c(27.0);
        }
    }
    log.ph.push((Duration::from_h(58.0), Ph::from_ph(3.5)));
    let kinds = |log: &Log, now: f64| -> Vec<AlarmKind> {
        at(&expectation, log, now)
            .alarms
            .iter()
            .map(|a| a.kind)
            .collect()
    };
    let found = kinds(&log, 60.0);
    assert!(
        found.contains(&AlarmKind::TooWarm) && found.contains(&AlarmKind::Acidity),
        "{found:?}"
    );
    let mut dead = course.log(Instrument::Float, 72.0, &mut Noise(9));
    let stuck = dead
        .gravities
        .iter()
        .find(|r| r.at.h() >= 30.0)
        .unwrap()
        .gravity;
    for r in &mut dead.gravities {
        if r.at.h() >= 30.0 {
            r.gravity = stuck;
        }
    }
    let found = kinds(&dead, 72.0);
    assert!(found.contains(&AlarmKind::Sensor), "{found:?}");
}

#[test]
fn a_plan_that_cools_too_early_is_told_before() {
    let (course, expectation) = usual();
    let log = course.log(Instrument::Hydrometer, 36.0, &mut Noise(9));
    let cold =
        ferment::TemperatureCourse::new(&[point(0.0, 20.0), point(48.0, 20.0), point(52.0, 4.0)])
            .unwrap();
    let watched = watch(Watching {
        expectation: &expectation,
        log: &log,
        planned: Some(&cold),
        now: Duration::from_h(36.0),
        seed: 1,
    })
    .unwrap();
    let early = watched
        .alarms
        .iter()
        .find(|a| a.kind == AlarmKind::CoolingEarly);
    assert!(
        early.is_some_and(|a| a.weight == Weight::Look),
        "{:?}",
        watched.alarms
    );
}

/// The two ways to the posterior agree, and the sampler says how well it went.
#[test]
fn the_sampler_agrees_with_the_weighed_draws() {
    let (course, expectation) = usual();
    let log = course.log(Instrument::Hydrometer, 72.0, &mut Noise(4));
    let watching = Watching {
        expectation: &expectation,
        log: &log,
        planned: None,
        now: Duration::from_h(72.0),
        seed: 5,
    };
    let quick = watch(watching).unwrap();
    let whole = posterior(
        watching,
        Sampling {
            chains: 4,
            warm_up: 300,
            draws: 1000,
        },
    )
    .unwrap();
    println!("{whole:?}");
    assert!(whole.r_hat < 1.02 && whole.effective > 400.0, "{whole:?}");
    assert!(whole.divergences <= 5, "{whole:?}");
    let width = quick.end.high.plato() - quick.end.low.plato();
    for (a, b) in [
        (quick.end.low, whole.end.low),
        (quick.end.middle, whole.end.middle),
        (quick.end.high, whole.end.high),
    ] {
        assert!(
            (a.plato() - b.plato()).abs() < 0.2 * width,
            "{quick:?} {whole:?}"
        );
    }
}

#[test]
fn earlier_batches_narrow_what_is_expected() {
    let (course, expectation) = usual();
    let log = course.log(Instrument::Inline, 200.0, &mut Noise(9));
    let learned = at(&expectation, &log, 200.0).learned.unwrap();
    let after = expectation.clone().after(&[learned; 4]);
    assert!(after.end().sd() < expectation.end().sd());
    assert!((expectation.clone().after(&[]).end().sd() - expectation.end().sd()).abs() < 1e-12);
}

#[test]
fn what_cannot_be_is_refused_and_nothing_is_an_answer_too() {
    let (_, expectation) = usual();
    let log = Log::default();
    let quiet = at(&expectation, &log, 0.0);
    assert!(
        quiet
            .notes
            .iter()
            .any(|n| n.text.contains("no gravity was read yet"))
    );
    assert_eq!(quiet.finish.verdict, Verdict::TooFewReadings);
    assert!((quiet.end.middle.plato() - expectation.end().value.plato()).abs() < 0.2);
    let refused = watch(Watching {
        expectation: &expectation,
        log: &log,
        planned: None,
        now: Duration::from_h(f64::NAN),
        seed: 1,
    });
    assert!(
        refused
            .unwrap_err()
            .to_string()
            .contains("moment to look from")
    );
}

/// Everything that is a number is one that can be.
fn finite(course: &Course) -> bool {
    let gravity = |g: Gravity| g.plato().is_finite() && g.plato() > -10.0;
    course
        .forecast
        .iter()
        .all(|f| gravity(f.gravity.low) && gravity(f.gravity.middle) && gravity(f.gravity.high))
        && gravity(course.end.low)
        && gravity(course.end.high)
        && course.fall_plato_per_day.middle.is_finite()
        && course
            .instruments
            .iter()
            .all(|i| i.bias_plato.0.is_finite())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn whatever_a_log_holds_there_is_an_answer(
        rows in prop::collection::vec((-50.0..2000.0f64, prop_oneof![4 => 0.0..16.0f64, 1 => any::<f64>()], 0usize..3), 0..60),
        temps in prop::collection::vec((prop_oneof![4 => 0.0..500.0f64, 1 => any::<f64>()], any::<f64>()), 0..10),
        now in 0.0..1500.0f64,
    ) {
        let (_, expectation) = usual();
        let h = Duration::from_h;
        let log = Log {
            instruments: vec![("a".to_owned(), Instrument::Float), ("b".to_owned(), Instrument::Hydrometer)],
            gravities: rows.iter().map(|(t, p, i)| GravityReading { at: h(*t), gravity: Gravity::from_plato(*p), instrument: *i }).collect(),
            temperatures: temps.iter().map(|(t, c)| (h(*t), Temperature::from_c(*c))).collect(),
            ph: Vec::new(),
        };
        prop_assert!(finite(&at(&expectation, &log, now)));
    }

    #[test]
    fn order_and_repeats_say_nothing(seed in 0u64..1000) {
        let (course, expectation) = usual();
        let log = course.log(Instrument::Hydrometer, 90.0, &mut Noise(seed));
        let mut shuffled = log.clone();
        shuffled.gravities.reverse();
        shuffled.gravities.extend_from_slice(&log.gravities[..3]);
        shuffled.temperatures.reverse();
        let (a, b) = (at(&expectation, &log, 90.0), at(&expectation, &shuffled, 90.0));
        prop_assert_eq!(a.forecast, b.forecast);
    }
}

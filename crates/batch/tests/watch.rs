//! A batch document and its readings: what is said of them, whatever they are.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use std::sync::atomic::{AtomicUsize, Ordering};

use batch::log::{LogReading, What};
use batch::watch::{Moments, ReadingFate, Watched};
use batch::wire::watch::{FermentationCourse, fermentation_course_schema};
use batch::{Document, Reckoning};
use ferment::watch::{AlarmKind, Instrument, Sampling, Verdict};
use proptest::prelude::*;
use quantity::Units;

const PALE: &str = include_str!("../../../examples/lantern-pale.toml");
const HOUR_MS: f64 = 3_600_000.0;
/// 2026-03-14T15:00:00Z.
const PITCHED_MS: i64 = 1_773_500_400_000;

fn reckoning(more: &str) -> Reckoning {
    let text = PALE.replace("[fermentation]\n", &format!("[fermentation]\n{more}"));
    let (document, assumptions) = Document::read(&text).unwrap();
    Reckoning::of(document, assumptions).unwrap()
}

fn reading(h: f64, what: What, canonical: f64, instrument: &str) -> LogReading {
    LogReading {
        instrument: instrument.to_owned(),
        what,
        at_ms: PITCHED_MS + (h * HOUR_MS) as i64,
        value: canonical,
        unit: what.canonical_unit(),
        canonical,
        raw: canonical.to_string(),
        lapsed_sd: 0.0,
    }
}

/// What a hydrometer reads of the planned course each twelve hours up to a time, and the
/// temperature beside it.
fn followed(r: &Reckoning, until_h: f64) -> Vec<LogReading> {
    let course = &r.fermentation.course;
    let times = (0..)
        .map(|i| f64::from(i) * 12.0)
        .take_while(|h| *h <= until_h);
    times
        .flat_map(|h| {
            let m = course.iter().rev().find(|m| m.at.h() <= h).unwrap();
            [
                reading(h, What::Gravity, m.gravity.plato(), "hydrometer"),
                reading(h, What::Temperature, m.temperature.c(), "probe"),
            ]
        })
        .collect()
}

fn watched(r: &Reckoning, readings: &[LogReading]) -> Watched {
    Watched::of(r, readings, Moments::default()).unwrap()
}

#[test]
fn a_batch_that_follows_its_plan_ends_as_planned_and_is_quiet() {
    let r = reckoning("pitched = \"2026-03-14T15:00:00Z\"\n");
    let w = watched(&r, &followed(&r, 96.0));
    let expected = r.fermentation.expected_gravity.plato();
    let end = w.course.end;
    assert!(
        end.low.plato() < expected && expected < end.high.plato(),
        "{end:?}"
    );
    assert!(w.course.alarms.is_empty(), "{:?}", w.course.alarms);
    assert!(w.pitching.said && w.pitching.dated && w.pitching.at_ms == PITCHED_MS);
    assert!((w.course.now.h() - 96.0).abs() < 1e-9);
    assert!(w.fit.rms_plato.unwrap() < 0.25, "{:?}", w.fit);
    assert!(w.readings.iter().all(|t| t.fate == ReadingFate::Used));
    let said = w.verdict(Units::Metric).join(" ");
    assert!(
        said.contains("nine times in ten") && said.contains("March 2026"),
        "{said}"
    );
    let us = w.verdict(Units::Us).join(" ");
    assert!(us.contains("1.0") && !us.contains("°P"), "{us}");
}

#[test]
fn nothing_read_is_the_plan() {
    let w = watched(&reckoning(""), &[]);
    assert!(w.verdict(Units::Metric)[0].contains("No gravity was read yet"));
    assert_eq!(w.headline(Units::Metric), "not read yet");
    let r = reckoning("");
    let early = watched(&r, &followed(&r, 24.0));
    let said = early.verdict(Units::Metric).join(" ");
    assert!(said.contains("There are too few readings to say"), "{said}");
    assert!(
        early
            .headline(Units::Metric)
            .contains("of the fall is done")
    );
    assert!(w.second.is_none() && w.fit.rms_plato.is_none());
    assert_eq!(w.course.finish.verdict, Verdict::TooFewReadings);
}

/// The spread of the class on one side, that of the sample on the other.
#[test]
fn a_forced_sample_takes_the_place_of_the_class_once_it_was_long_enough() {
    let expected = |more: &str| watched(&reckoning(more), &[]).course.expected_end;
    let class = expected("");
    let forced = expected("forced_gravity = \"1.0150 ± 0.0005\"\nforced_time = \"3 d\"\n");
    assert!((forced.value.sg() - 1.015).abs() < 1e-4 && forced.sd() < class.sd());
    let short = "forced_gravity = \"1.0150\"\nforced_time = \"6 h\"\n";
    assert_eq!(expected(short), class);
    let w = watched(&reckoning(short), &[]);
    assert!(
        w.notes
            .iter()
            .any(|n| n.text.contains("does not count yet"))
    );
}

#[test]
fn one_sample_is_said_in_one_place_and_serves_both() {
    let key = "forced_gravity = \"1.0150\"\nforced_time = \"3 d\"\n";
    let text = PALE.replace("[package]\n", &format!("[package]\n{key}"));
    let (document, assumptions) = Document::read(&text).unwrap();
    let packed = Reckoning::of(document, assumptions).unwrap();
    let fermented = reckoning(key);
    assert_eq!(packed.document.forced(), fermented.document.forced());
    assert_eq!(packed.packaging.left, fermented.packaging.left);
    let twice = text.replace("[fermentation]\n", &format!("[fermentation]\n{key}"));
    let faults = Document::read(&twice).unwrap_err();
    assert!(
        faults.iter().any(|f| f.message.contains("said twice")),
        "{faults:?}"
    );
}

#[test]
fn a_moment_that_is_none_is_told_with_its_shape() {
    let text = PALE.replace(
        "[fermentation]\n",
        "[fermentation]\npitched = \"last Tuesday\"\n",
    );
    let faults = Document::read(&text).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert!(
        faults[0].message.contains("2026-03-14T15:00:00+01:00"),
        "{faults:?}"
    );
}

#[test]
fn order_repeats_and_a_clock_that_jumped_change_nothing() {
    let r = reckoning("");
    let own = followed(&r, 84.0);
    let plain = watched(&r, &own);
    let mut shuffled = own.clone();
    shuffled.reverse();
    shuffled.extend_from_slice(&own[..4]);
    let mut jumped = reading(0.0, What::Gravity, 9.0, "hydrometer");
    jumped.at_ms = 0;
    shuffled.push(jumped.clone());
    jumped.at_ms = PITCHED_MS * 3;
    shuffled.push(jumped);
    let other = watched(&r, &shuffled);
    assert_eq!(plain.course.forecast, other.course.forecast);
    assert_eq!(plain.pitching, other.pitching);
    let out = |why: &str| {
        other
            .readings
            .iter()
            .filter(|t| t.fate.why() == Some(why))
            .count()
    };
    assert_eq!(out("the same reading once more"), 4);
    assert_eq!(out("its clock is more than a month from the others"), 2);
    let told: Vec<&str> = other.notes.iter().map(|n| n.text.as_str()).collect();
    for wanted in ["times went back", "came twice", "more than a month"] {
        assert!(
            told.iter().any(|n| n.contains(wanted)),
            "{wanted}: {told:?}"
        );
    }
}

#[test]
fn absurd_values_are_left_out_each_with_its_reason() {
    let r = reckoning("pitched = \"2026-03-14T15:00:00Z\"\n");
    let mut readings = followed(&r, 72.0);
    readings.extend([
        reading(-5.0, What::Gravity, 12.0, "hydrometer"),
        reading(20.0, What::Gravity, 39.0, "hydrometer"),
        reading(21.0, What::Gravity, -30.0, "hydrometer"),
        reading(22.0, What::Temperature, 99.0, "probe"),
        reading(23.0, What::Ph, 11.0, "meter"),
        reading(24.0, What::Surroundings, 18.0, "probe"),
    ]);
    let w = watched(&r, &readings);
    let whys: Vec<&str> = w.readings.iter().filter_map(|t| t.fate.why()).collect();
    for wanted in [
        "from before the yeast was pitched",
        "far above the wort",
        "no gravity that beer can have",
        "no temperature that beer can have",
        "no pH that beer can have",
        "kept, but the course asks for the beer alone",
    ] {
        assert!(whys.contains(&wanted), "{wanted}: {whys:?}");
    }
    assert_eq!(whys.len(), 6);
}

#[test]
fn a_refractometer_is_corrected_and_a_spike_is_shown_as_odd() {
    let r = reckoning("pitched = \"2026-03-14T15:00:00Z\"\n");
    let mut readings = followed(&r, 96.0);
    readings.push(reading(96.0, What::Gravity, 6.3, "refractometer"));
    // A float each hour of the last day, once lifted by foam.
    for h in 0..24 {
        let lifted = if h == 12 { 4.0 } else { 0.0 };
        let at_h = 72.0 + f64::from(h);
        let m = r
            .fermentation
            .course
            .iter()
            .find(|m| m.at.h() >= at_h)
            .unwrap();
        let plato = m.gravity.plato() + lifted;
        readings.push(reading(at_h, What::Gravity, plato, "float"));
    }
    let w = watched(&r, &readings);
    let corrected = w.readings.iter().find_map(|t| t.corrected).unwrap();
    assert!(corrected.plato() < 4.0, "{corrected:?}");
    let kinds: Vec<Instrument> = w.log.instruments.iter().map(|i| i.1).collect();
    assert_eq!(
        kinds,
        [
            Instrument::Float,
            Instrument::Hydrometer,
            Instrument::Refractometer
        ]
    );
    assert_eq!(
        w.readings
            .iter()
            .filter(|t| t.fate.word() == "used, odd")
            .count(),
        1
    );
}

#[test]
fn a_stall_is_told_with_what_to_do_and_is_no_finish() {
    let r = reckoning("");
    let mut readings = followed(&r, 240.0);
    for x in readings.iter_mut().filter(|x| x.what == What::Gravity) {
        x.canonical = x.canonical.max(6.0);
    }
    let w = watched(&r, &readings);
    let stall = w
        .course
        .alarms
        .iter()
        .find(|a| a.kind == AlarmKind::Stalled)
        .unwrap();
    assert!(!stall.evidence.is_empty() && !stall.advice.is_empty());
    let finish = w
        .tests(Units::Metric)
        .into_iter()
        .find(|t| t.key == "finish")
        .unwrap();
    assert_eq!(finish.outcome.unwrap().passed, Some(false));
}

#[test]
fn tests_show_what_the_document_keeps_of_them() {
    let text = format!(
        "{}\n[[test]]\nwhat = \"forced-diketone\"\nresult = \"positive\"\n",
        PALE.replace(
            "[fermentation]\n",
            "[fermentation]\nforced_gravity = \"1.0080\"\n"
        )
    );
    let (document, assumptions) = Document::read(&text).unwrap();
    let r = Reckoning::of(document, assumptions).unwrap();
    let w = watched(&r, &followed(&r, 60.0));
    let outcome = |key: &str| {
        let tests = w.tests(Units::Metric);
        tests
            .into_iter()
            .find(|t| t.key == key)
            .unwrap()
            .outcome
            .unwrap()
    };
    assert_eq!(outcome("forced-diketone").passed, Some(false));
    assert!(outcome("forced-fermentation").words.contains("can fall"));
    assert!(
        w.tests(Units::Metric)
            .iter()
            .all(|t| t.how.len() > 2 && t.means.len() > 2)
    );
}

#[test]
fn the_whole_posterior_tells_how_far_it_is_and_can_be_broken_off() {
    let r = reckoning("");
    let w = watched(&r, &followed(&r, 72.0));
    let few = Sampling {
        chains: 2,
        warm_up: 60,
        draws: 60,
    };
    let heard = AtomicUsize::new(0);
    let whole = w.posterior(few, &|share| {
        heard.fetch_add(1, Ordering::Relaxed);
        (0.0..1.0).contains(&share.ratio())
    });
    let whole = whole.unwrap().unwrap();
    assert_eq!(heard.into_inner(), 240);
    assert!(whole.end.low.plato() < whole.end.high.plato() && whole.gradients > 240);
    let broken = w.posterior(few, &|share| share.ratio() < 0.4).unwrap();
    assert!(broken.is_none());
}

#[test]
fn the_json_form_is_as_its_schema_says() {
    let r = reckoning("");
    let validator = jsonschema::validator_for(&fermentation_course_schema()).unwrap();
    for readings in [Vec::new(), followed(&r, 200.0)] {
        let value =
            serde_json::to_value(FermentationCourse::from(&watched(&r, &readings))).unwrap();
        assert!(validator.is_valid(&value));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn whatever_was_read_there_is_an_answer(
        rows in prop::collection::vec((any::<i64>(), 0usize..5, any::<f64>(), 0usize..4), 0..40),
        near in prop::collection::vec((0.0..900.0f64, -10.0..60.0f64), 0..40),
    ) {
        let r = reckoning("");
        let names = ["float", "hydrometer", "refractometer", "it"];
        let mut readings: Vec<LogReading> = rows
            .iter()
            .map(|(at_ms, what, x, name)| LogReading {
                at_ms: *at_ms,
                ..reading(0.0, What::ALL[*what], *x, names[*name])
            })
            .collect();
        readings.extend(near.iter().map(|(h, p)| reading(*h, What::Gravity, *p, "refractometer")));
        let w = watched(&r, &readings);
        prop_assert_eq!(w.readings.len(), readings.len());
        prop_assert!(w.course.end.low.plato().is_finite() && w.course.end.high.plato().is_finite());
        prop_assert!(w.verdict(Units::Us).iter().all(|s| !s.contains("NaN")));
    }
}

/// A closed fermenter whose pressure rises by so much a day from hour `from_h` on.
fn under_pressure(r: &Reckoning, rises_bar: f64, from_h: f64) -> Vec<LogReading> {
    let course = &r.fermentation.course;
    let each = (0..=120).map(|i| 4.0 * f64::from(i));
    each.flat_map(|h| {
        let m = course.iter().rev().find(|m| m.at.h() <= h).unwrap();
        let bar = 0.3 + rises_bar * (h - from_h).max(0.0) / 24.0;
        [
            reading(h, What::Gravity, m.gravity.plato(), "hydrometer"),
            reading(h, What::Temperature, 20.0, "probe"),
            reading(h, What::Pressure, bar, "gauge"),
        ]
    })
    .collect()
}

fn kinds_of(w: &Watched) -> Vec<&'static str> {
    let alarms = w.course.alarms.iter();
    alarms.map(|a| a.kind.word()).collect()
}

/// Henry's law by hand: 10 (p + 1.01325) exp(−10.73797 + 2617.25/293.15) g/L (Kaiser 2008).
#[test]
fn what_is_dissolved_under_a_pressure_is_told() {
    let r = reckoning("rating = \"2 bar\"\nhead_space = \"2 L\"\n");
    let w = watched(&r, &under_pressure(&r, 0.0, 0.0));
    let pressure = w.pressure.as_ref().unwrap();
    let expected = 10.0 * (0.3 + 1.013_25) * (-10.737_97f64 + 2_617.25 / 293.15).exp();
    let at_sea = r.document.kit.altitude.value.m().abs() < 1.0;
    let within = if at_sea { 1e-6 } else { 0.1 };
    assert!(
        (pressure.dissolved.g_per_l() - expected).abs() < within,
        "{} {expected}",
        pressure.dissolved.g_per_l()
    );
    assert_eq!(pressure.readings.len(), 121);
    assert!(!pressure.ferments());
    assert_eq!(w.course.finish.verdict, Verdict::Finished);
    assert!(!kinds_of(&w).iter().any(|k| k.starts_with("pressure")));
}

#[test]
fn a_pressure_that_rises_after_the_end_is_an_alarm_and_no_end() {
    let r = reckoning("rating = \"4 bar\"\nhead_space = \"2 L\"\n");
    let readings = under_pressure(&r, 0.3, 440.0);
    let w = watched(&r, &readings);
    let pressure = w.pressure.as_ref().unwrap();
    assert!(pressure.ferments(), "{pressure:?}");
    assert!(kinds_of(&w).contains(&"pressure rises"));
    assert_eq!(w.course.finish.verdict, Verdict::Fermenting);
    // The gas of the rise, by hand: solubility and head space a bar, over that of one °P.
    let (fall, _) = pressure.fall_plato_per_day.unwrap();
    let (rise, _) = pressure.rise_bar_per_day.unwrap();
    let beer_l = r.document.batch.volume.value.l();
    let solubility = 10.0 * (-10.737_97f64 + 2_617.25 / 293.15).exp();
    let in_gas = 44.009 / (0.083_144_626 * 293.15) * 2.0 / beer_l;
    let of_one = package::carbon_dioxide_to_come(
        quantity::Gravity::from_plato(1.0),
        w.course.gravity.middle,
    );
    let expected = rise * (solubility + in_gas) / of_one.unwrap().g_per_l();
    assert!(
        (fall - expected).abs() < 0.01 * expected,
        "{fall} {expected}"
    );
    // A valve that lets gas out says nothing.
    let r = reckoning("rating = \"4 bar\"\nrelief = \"0.3 bar\"\n");
    let vented = watched(&r, &readings);
    let pressure = vented.pressure.as_ref().unwrap();
    assert!(pressure.at_valve && !pressure.ferments());
    assert!(!kinds_of(&vented).contains(&"pressure rises"));
}

#[test]
fn near_and_above_the_rating_are_alarms_with_their_caution() {
    let weights = |rating: &str| {
        let r = reckoning(&format!("rating = \"{rating}\"\n"));
        let w = watched(&r, &under_pressure(&r, 0.0, 0.0));
        let of = w.course.alarms.iter();
        let found = of.clone().find(|a| a.kind.word() == "pressure").cloned();
        found.map(|a| {
            assert!(
                a.advice.iter().any(|x| x.contains("stamped pressure")),
                "{a:?}"
            );
            a.weight
        })
    };
    assert_eq!(weights("0.25 bar"), Some(quantity::Weight::Act));
    assert_eq!(weights("0.35 bar"), Some(quantity::Weight::Look));
    assert_eq!(weights("3 bar"), None);
}

#[test]
fn an_instrument_whose_checks_lapsed_counts_for_less() {
    let r = reckoning("");
    let mut readings = followed(&r, 168.0);
    let held = watched(&r, &readings);
    for one in readings.iter_mut().filter(|x| x.what == What::Gravity) {
        one.lapsed_sd = 0.5;
    }
    let lapsed = watched(&r, &readings);
    let wide = |w: &Watched| w.course.end.high.plato() - w.course.end.low.plato();
    assert!(
        wide(&lapsed) > 1.1 * wide(&held),
        "{} {}",
        wide(&lapsed),
        wide(&held)
    );
    assert!(
        lapsed
            .notes
            .iter()
            .any(|n| n.text.contains("no longer hold"))
    );
}

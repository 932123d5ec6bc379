//! Named cases from the brewhouse, and the pitfalls of weighing evidence.

use std::collections::BTreeMap;

use inquiry::{
    Answer, Dispense, Facts, Finding, Question, Sanitiser, Severity, Side, TestResult, WaterKind, inquire,
};
use quantity::{Chlorine, Fraction, Temperature};
use water::ResidualChlorine;

fn chlorine(mg_per_l: f64) -> Option<ResidualChlorine> {
    let combined = Chlorine::from_mg_per_l(mg_per_l);
    Some(ResidualChlorine { combined, at_most: combined, ..Default::default() })
}

fn asked(facts: &Facts, findings: Vec<Finding>) -> Answer {
    inquire(facts, &Question { findings, ..Question::default() }).unwrap()
}

fn chance(answer: &Answer, key: &str) -> f64 {
    answer.causes.iter().find(|c| c.cause.key == key).unwrap().chance
}

fn first(answer: &Answer) -> &str {
    &answer.causes[0].cause.key
}

/// A pale strong ale on a phenolic yeast, brewed with chloramine left in.
fn untreated() -> Facts {
    Facts {
        water: Some(WaterKind::Mains),
        chlorine: chlorine(1.8),
        sanitiser: Some(Sanitiser::Other),
        phenolic: Some(true),
        pitched: Some(Fraction::from_ratio(1.0)),
        pale: Some(true),
        ..Facts::default()
    }
}

#[test]
fn untreated_water_is_first_and_a_glass_or_another_water_decides() {
    let answer = asked(&untreated(), vec![Finding::present("medicinal")]);
    assert_eq!(first(&answer), "chloramine-in-water");
    let best = &answer.tests[0].test.key;
    assert!(["sulfite-glass", "split-other-water"].contains(&best.as_str()), "{best}");
    assert!(answer.tests[0].test.cautions.iter().any(|c| c.key() == "sulfite"));
    let fact = answer.causes[0].reasons.iter().find(|r| r.side == Side::Fact).unwrap();
    assert!(fact.weight > 1.0 && fact.text.contains("met malt"), "{fact:?}");
    assert!(answer.causes[0].worth_remedy);
}

#[test]
fn a_result_moves_everything() {
    let findings = vec![Finding::present("medicinal")];
    let before = asked(&untreated(), findings.clone());
    for positive in [true, false] {
        let results = vec![TestResult { test: "split-other-water".into(), positive }];
        let after = inquire(&untreated(), &Question { findings: findings.clone(), results, ..Question::default() }).unwrap();
        let (a, b) = (chance(&before, "chloramine-in-water"), chance(&after, "chloramine-in-water"));
        assert_eq!(b > a, positive, "{a} {b}");
        assert!(after.tests.iter().all(|t| t.test.key != "split-other-water"));
        assert_eq!(first(&after) == "chloramine-in-water", positive);
        let yeast = chance(&after, "phenolic-yeast") > chance(&before, "phenolic-yeast");
        assert_eq!(yeast, !positive, "explaining away");
    }
}

#[test]
fn treated_water_a_short_pitch_and_warmth_point_to_the_yeast() {
    let facts = Facts {
        chlorine: chlorine(0.0),
        pitched: Some(Fraction::from_ratio(0.4)),
        warmest: Some((Temperature::from_c(27.0), Temperature::from_c(24.0))),
        ..untreated()
    };
    let answer = asked(&facts, vec![Finding::present("medicinal")]);
    assert_eq!(first(&answer), "phenolic-yeast");
    assert!(chance(&answer, "chloramine-in-water") < 0.05);
    let reasons = &answer.causes[0].reasons;
    assert!(reasons.iter().any(|r| r.text.contains("pitched short") && r.weight > 0.0), "{reasons:?}");
}

#[test]
fn clean_water_and_a_bleached_fermenter_point_to_the_sanitiser() {
    let facts = Facts {
        chlorine: chlorine(0.0),
        phenolic: Some(false),
        sanitiser: Some(Sanitiser::Hypochlorite),
        rinsed: Some(false),
        ..untreated()
    };
    let answer = asked(&facts, vec![Finding::present("medicinal")]);
    assert_eq!(first(&answer), "chlorine-sanitiser");
    assert!(answer.tests[0].if_positive.0 == "chlorine-sanitiser", "{:?}", answer.tests[0]);
    // The same on a phenolic yeast, where no clove was found.
    let facts = Facts { phenolic: Some(true), ..facts };
    let answer = asked(&facts, vec![Finding::present("medicinal"), Finding::absent("clove")]);
    assert_eq!(first(&answer), "chlorine-sanitiser");
}

#[test]
fn clove_that_the_aim_wants_is_no_fault() {
    let question = Question {
        findings: vec![Finding::present("clove")],
        wanted: vec!["clove".into()],
        ..Question::default()
    };
    let answer = inquire(&untreated(), &question).unwrap();
    assert!(!answer.fault && answer.tests.is_empty());
    assert!(answer.notes[0].contains("is what the aim wants"), "{:?}", answer.notes);
    assert!(answer.causes.iter().all(|c| !c.worth_remedy && (c.chance - c.before).abs() < 1e-12));
    let unwanted = inquire(&untreated(), &Question { wanted: Vec::new(), ..question }).unwrap();
    assert_eq!(first(&unwanted), "phenolic-yeast");
}

/// When and where a note shows speaks of the cause that made it: a cause that does not
/// make the note gains nothing by it.
#[test]
fn timing_feeds_no_cause_that_does_not_make_the_note() {
    let plain = vec![Finding::present("medicinal"), Finding::absent("clove")];
    let told = Finding::present("medicinal").shown("after-packaging", true).shown("same-kit", true);
    let before = asked(&Facts::default(), plain);
    let after = asked(&Facts::default(), vec![told, Finding::absent("clove")]);
    assert!(chance(&after, "dirty-tap-line") <= chance(&before, "dirty-tap-line") + 1e-12);
    assert!(chance(&after, "chlorine-sanitiser") > chance(&before, "chlorine-sanitiser"));
    assert_eq!(first(&after), "chlorine-sanitiser");
}

#[test]
fn clean_batches_on_the_same_water_speak_against_the_water() {
    let here = |holds| Finding::present("medicinal").shown("same-water", holds);
    let with = asked(&Facts::default(), vec![here(true)]);
    let without = asked(&Facts::default(), vec![here(false)]);
    assert_eq!(first(&with), "chloramine-in-water");
    assert!(chance(&without, "chloramine-in-water") < 0.3 * chance(&with, "chloramine-in-water"));
}

/// The fact is told apart from a finding: it moves the prior, and the answer to no
/// findings is the prior.
#[test]
fn a_fact_moves_priors_and_is_no_finding() {
    let answer = asked(&untreated(), Vec::new());
    assert!(!answer.fault);
    assert!(answer.causes.iter().all(|c| (c.chance - c.before).abs() < 1e-12));
    let plain = asked(&Facts::default(), Vec::new());
    assert!(chance(&answer, "chloramine-in-water") > 5.0 * chance(&plain, "chloramine-in-water"));
    assert!((chance(&answer, "light-struck") - chance(&plain, "light-struck")).abs() < 1e-12);
}

#[test]
fn near_synonyms_count_once() {
    let one = asked(&Facts::default(), vec![Finding::present("cardboard")]);
    let two = asked(&Facts::default(), vec![Finding::present("cardboard"), Finding::present("sherry")]);
    assert!((chance(&one, "air-at-packaging") - chance(&two, "air-at-packaging")).abs() < 1e-12);
    assert!(two.notes[0].contains("near-synonyms"), "{:?}", two.notes);
    let strong = Finding { severity: Some(Severity::Strong), ..Finding::present("sherry") };
    let two = asked(&Facts::default(), vec![Finding::present("cardboard"), strong]);
    assert!(two.notes[0].ends_with("as sherry"), "{:?}", two.notes);
}

#[test]
fn an_absence_says_less_from_a_blind_taster() {
    let with = |keen: f64| {
        let butter = Finding { keen, ..Finding::absent("butter") };
        chance(&asked(&Facts::default(), vec![butter]), "diketone-left")
    };
    let prior = chance(&asked(&Facts::default(), Vec::new()), "diketone-left");
    assert!(with(1.0) < with(0.5) && with(0.5) < with(0.0));
    assert!((with(0.0) - prior).abs() < 1e-12, "a blind taster's absence says nothing");
}

#[test]
fn a_strong_note_is_less_likely_imagined() {
    let with = |severity| {
        let note = Finding { severity: Some(severity), ..Finding::present("cooked-corn") };
        asked(&Facts::default(), vec![note]).none
    };
    assert!(with(Severity::Strong) < with(Severity::Clear) && with(Severity::Clear) < with(Severity::Slight));
}

#[test]
fn the_house_history_moves_a_prior() {
    let mut facts = Facts { dispense: Some(Dispense::Bottles), ..Facts::default() };
    let plain = chance(&asked(&facts, Vec::new()), "short-boil");
    facts.house = BTreeMap::from([("short-boil".to_owned(), (3, 6))]);
    let known = chance(&asked(&facts, Vec::new()), "short-boil");
    // (0.08 · 10 + 3) / (10 + 6)
    assert!((plain - 0.08).abs() < 1e-12 && (known - 0.2375).abs() < 1e-12);
}

#[test]
fn wrong_words_are_answered_with_the_nearest() {
    let question = Question { findings: vec![Finding::present("buter")], ..Question::default() };
    let error = inquire(&Facts::default(), &question).unwrap_err();
    assert_eq!(error.to_string(), "there is no finding \"buter\"; the nearest is \"butter\"");
    let twice = vec![Finding::present("butter"), Finding::absent("butter")];
    let error = inquire(&Facts::default(), &Question { findings: twice, ..Question::default() }).unwrap_err();
    assert_eq!(error.to_string(), "\"butter\" is said twice; say it once");
    let keen = Finding { keen: f64::NAN, ..Finding::absent("butter") };
    assert!(inquire(&Facts::default(), &Question { findings: vec![keen], ..Question::default() }).is_err());
}

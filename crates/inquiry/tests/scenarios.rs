//! Named cases from the brewhouse, and the pitfalls of weighing evidence.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use inquiry::{
    Answer, Common, Dispense, Facts, Finding, Knowledge, Question, Sanitiser, Severity, Side,
    TestResult, WaterKind, after_remedy, heard, inquire,
};
use quantity::{Chlorine, Fraction, Ph, Temperature};
use water::ResidualChlorine;

fn chlorine(mg_per_l: f64) -> Option<ResidualChlorine> {
    let combined = Chlorine::from_mg_per_l(mg_per_l);
    Some(ResidualChlorine {
        combined,
        at_most: combined,
        ..Default::default()
    })
}

fn asked(facts: &Facts, findings: Vec<Finding>) -> Answer {
    inquire(
        facts,
        &Question {
            findings,
            ..Question::default()
        },
    )
    .unwrap()
}

fn chance(answer: &Answer, key: &str) -> f64 {
    answer
        .causes
        .iter()
        .find(|c| c.cause.key == key)
        .unwrap()
        .chance
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
    assert!(
        ["sulfite-glass", "split-other-water"].contains(&best.as_str()),
        "{best}"
    );
    assert!(
        answer.tests[0]
            .test
            .cautions
            .iter()
            .any(|c| c.key() == "sulfite")
    );
    let fact = answer.causes[0]
        .reasons
        .iter()
        .find(|r| r.side == Side::Fact)
        .unwrap();
    assert!(
        fact.weight > 1.0 && fact.text.contains("met malt"),
        "{fact:?}"
    );
    assert!(answer.causes[0].worth_remedy);
}

#[test]
fn a_result_moves_everything() {
    let findings = vec![Finding::present("medicinal")];
    let before = asked(&untreated(), findings.clone());
    for positive in [true, false] {
        let results = vec![TestResult {
            test: "split-other-water".into(),
            positive,
        }];
        let after = inquire(
            &untreated(),
            &Question {
                findings: findings.clone(),
                results,
                ..Question::default()
            },
        )
        .unwrap();
        let (a, b) = (
            chance(&before, "chloramine-in-water"),
            chance(&after, "chloramine-in-water"),
        );
        assert_eq!(b > a, positive, "{a} {b}");
        assert!(
            after
                .tests
                .iter()
                .all(|t| t.test.key != "split-other-water")
        );
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
    assert!(
        reasons
            .iter()
            .any(|r| r.text.contains("pitched short") && r.weight > 0.0),
        "{reasons:?}"
    );
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
    assert!(
        answer.tests[0].if_positive.0 == "chlorine-sanitiser",
        "{:?}",
        answer.tests[0]
    );
    // The same on a phenolic yeast, where no clove was found.
    let facts = Facts {
        phenolic: Some(true),
        ..facts
    };
    let answer = asked(
        &facts,
        vec![Finding::present("medicinal"), Finding::absent("clove")],
    );
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
    assert!(
        answer.notes[0].contains("is what the aim wants"),
        "{:?}",
        answer.notes
    );
    assert!(
        answer
            .causes
            .iter()
            .all(|c| !c.worth_remedy && (c.chance - c.before).abs() < 1e-12)
    );
    let unwanted = inquire(
        &untreated(),
        &Question {
            wanted: Vec::new(),
            ..question
        },
    )
    .unwrap();
    assert_eq!(first(&unwanted), "phenolic-yeast");
}

/// When and where a note shows speaks of the cause that made it: a cause that does not
/// make the note gains nothing by it.
#[test]
fn timing_feeds_no_cause_that_does_not_make_the_note() {
    let plain = vec![Finding::present("medicinal"), Finding::absent("clove")];
    let told = Finding::present("medicinal")
        .shown("after-packaging", true)
        .shown("same-kit", true);
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
    assert!(
        answer
            .causes
            .iter()
            .all(|c| (c.chance - c.before).abs() < 1e-12)
    );
    let plain = asked(&Facts::default(), Vec::new());
    assert!(chance(&answer, "chloramine-in-water") > 5.0 * chance(&plain, "chloramine-in-water"));
    assert!((chance(&answer, "light-struck") - chance(&plain, "light-struck")).abs() < 1e-12);
}

#[test]
fn near_synonyms_count_once() {
    let one = asked(&Facts::default(), vec![Finding::present("cardboard")]);
    let two = asked(
        &Facts::default(),
        vec![Finding::present("cardboard"), Finding::present("sherry")],
    );
    assert!((chance(&one, "air-at-packaging") - chance(&two, "air-at-packaging")).abs() < 1e-12);
    assert!(two.notes[0].contains("near-synonyms"), "{:?}", two.notes);
    let strong = Finding {
        severity: Some(Severity::Strong),
        ..Finding::present("sherry")
    };
    let two = asked(
        &Facts::default(),
        vec![Finding::present("cardboard"), strong],
    );
    assert!(two.notes[0].ends_with("as sherry"), "{:?}", two.notes);
}

#[test]
fn an_absence_says_less_from_a_blind_taster() {
    let with = |keen: f64| {
        let butter = Finding {
            keen,
            ..Finding::absent("butter")
        };
        chance(&asked(&Facts::default(), vec![butter]), "diketone-left")
    };
    let prior = chance(&asked(&Facts::default(), Vec::new()), "diketone-left");
    assert!(with(1.0) < with(0.5) && with(0.5) < with(0.0));
    assert!(
        (with(0.0) - prior).abs() < 1e-12,
        "a blind taster's absence says nothing"
    );
}

#[test]
fn a_strong_note_is_less_likely_imagined() {
    let with = |severity| {
        let note = Finding {
            severity: Some(severity),
            ..Finding::present("cooked-corn")
        };
        asked(&Facts::default(), vec![note]).none
    };
    assert!(
        with(Severity::Strong) < with(Severity::Clear)
            && with(Severity::Clear) < with(Severity::Slight)
    );
}

#[test]
fn the_house_history_moves_a_prior() {
    let mut facts = Facts {
        dispense: Some(Dispense::Bottles),
        ..Facts::default()
    };
    let plain = chance(&asked(&facts, Vec::new()), "short-boil");
    for batch in 0..6 {
        let had = if batch < 3 { 1.0 } else { 0.0 };
        facts
            .house
            .learn(&format!("batch {batch}"), [("short-boil", had)]);
    }
    let known = chance(&asked(&facts, Vec::new()), "short-boil");
    // (0.08 · 10 + 3) / (10 + 6)
    assert!((plain - 0.08).abs() < 1e-12 && (known - 0.2375).abs() < 1e-12);
    let reasons = asked(&facts, vec![Finding::present("cooked-corn")]).causes[0]
        .reasons
        .clone();
    assert!(
        reasons
            .iter()
            .any(|r| r.side == Side::House && r.weight > 0.0),
        "{reasons:?}"
    );
    // Without the last, sound batch: (0.8 + 3) / 15.
    let odds = |p: f64| p / (1.0 - p);
    let all = facts.house.moved().unwrap();
    let moved = &all[5];
    let sound = odds(3.8 / 16.0) / odds(3.8 / 15.0);
    assert_eq!((moved.len(), moved[0].cause), (1, "short-boil"));
    assert!((moved[0].odds - sound).abs() < 1e-12);
    assert!(all[0][0].odds > 1.0);
}

/// A batch speaks of what it shares; what its own facts made likely is not held against
/// the house.
#[test]
fn a_batch_before_says_no_more_than_it_should() {
    let bad = Facts {
        chlorine: chlorine(1.8),
        ..Facts::default()
    };
    let question = Question {
        findings: vec![Finding::present("medicinal")],
        ..Question::default()
    };
    let of = |told: Vec<(&'static str, f64)>, key: &str| {
        told.into_iter().find(|(cause, _)| *cause == key).unwrap().1
    };
    let (blamed, plain) = (
        of(heard(&bad, &question).unwrap(), "chloramine-in-water"),
        of(
            heard(&Facts::default(), &question).unwrap(),
            "chloramine-in-water",
        ),
    );
    let posterior = chance(
        &asked(&bad, question.findings.clone()),
        "chloramine-in-water",
    );
    assert!(
        blamed < posterior && (blamed - plain).abs() < 0.1,
        "{blamed} {plain} {posterior}"
    );
    let sound = heard(&Facts::default(), &Question::sound(Vec::new())).unwrap();
    for cause in &Knowledge::built_in().causes {
        let after = of(sound.clone(), &cause.key);
        assert!(after <= cause.prior + 1e-12, "{}: {after}", cause.key);
    }
    let same_water = Common {
        water: true,
        ..Common::default()
    };
    assert!(same_water.speaks_of("water") && !same_water.speaks_of("boil"));
    assert_eq!(same_water.words().as_deref(), Some("the same water"));
    let all = Common {
        water: true,
        yeast: true,
        kit: true,
    };
    assert_eq!(
        all.words().as_deref(),
        Some("the same water, yeast and kit")
    );
    assert_eq!(Common::default().words(), None);
}

#[test]
fn wrong_words_are_answered_with_the_nearest() {
    let question = Question {
        findings: vec![Finding::present("buter")],
        ..Question::default()
    };
    let error = inquire(&Facts::default(), &question).unwrap_err();
    assert_eq!(
        error.to_string(),
        "there is no finding \"buter\"; the nearest is \"butter\""
    );
    let twice = vec![Finding::present("butter"), Finding::absent("butter")];
    let error = inquire(
        &Facts::default(),
        &Question {
            findings: twice,
            ..Question::default()
        },
    )
    .unwrap_err();
    assert_eq!(error.to_string(), "\"butter\" is said twice; say it once");
    let keen = Finding {
        keen: f64::NAN,
        ..Finding::absent("butter")
    };
    assert!(
        inquire(
            &Facts::default(),
            &Question {
                findings: vec![keen],
                ..Question::default()
            }
        )
        .is_err()
    );
}

/// What the batch knows already is not found a second time.
#[test]
fn a_measurement_that_is_a_fact_counts_once() {
    let facts = Facts {
        mash_ph: Some(Ph::from_ph(5.9)),
        ..Facts::default()
    };
    let fact = asked(&facts, vec![Finding::present("astringent")]);
    let both = asked(
        &facts,
        vec![
            Finding::present("astringent"),
            Finding::present("mash-ph-high"),
        ],
    );
    let moved = chance(&fact, "over-sparged") - chance(&both, "over-sparged");
    assert!(moved.abs() < 1e-12, "{moved}");
    assert!(
        both.notes[0].contains("known from the batch already"),
        "{:?}",
        both.notes
    );
    // What was read overrules what was only planned.
    let facts = Facts {
        mash_ph: Some(Ph::from_ph(5.4)),
        ..Facts::default()
    };
    let planned = asked(&facts, vec![Finding::present("astringent")]);
    let read = asked(
        &facts,
        vec![
            Finding::present("astringent"),
            Finding::present("mash-ph-high"),
        ],
    );
    assert!(chance(&read, "over-sparged") > chance(&planned, "over-sparged"));
}

/// A note is first noticed once.
#[test]
fn first_noticed_is_said_once() {
    let told = Finding::present("butter")
        .shown("in-wort", true)
        .shown("after-packaging", true);
    let question = Question {
        findings: vec![told],
        ..Question::default()
    };
    assert!(matches!(
        inquire(&Facts::default(), &question),
        Err(inquiry::InquiryError::Twice { .. })
    ));
    let k = Knowledge::built_in();
    let first = |c: &&inquiry::Circumstance| c.about == "first";
    for cause in (0..k.causes.len()).map(Some).chain([None]) {
        let all: f64 = k
            .circumstances
            .iter()
            .filter(first)
            .map(|c| k.shown(k.circumstance(&c.key).unwrap(), cause))
            .sum();
        assert!((all - 1.0).abs() < 1e-12);
    }
}

/// Bayes by hand: 0.5 · 0.93 / (0.5 · 0.93 + 0.5 · 0.3) and 0.5 · 0.07 / (0.5 · 0.07 + 0.5 · 0.7).
#[test]
fn a_remedy_that_worked_speaks_for_its_cause() {
    let (gone, stayed) = (
        after_remedy(0.5, true).unwrap(),
        after_remedy(0.5, false).unwrap(),
    );
    assert!((gone - 0.93 / 1.23).abs() < 1e-12 && (stayed - 0.07 / 0.77).abs() < 1e-12);
    assert!(after_remedy(1.1, true).is_err());
}

/// Paired, d' 2, power 0.8: eight tastings (scipy binom; power 0.874 at 8 and 0.612 at 6).
#[test]
fn a_split_batch_says_how_it_is_tasted() {
    let k = Knowledge::built_in();
    let split = k.tests[k.test("split-other-water").unwrap()]
        .split()
        .unwrap()
        .unwrap();
    assert_eq!((split.tastings.first, split.tastings.stable), (8, Some(8)));
    assert!((split.beer.l() - 0.64).abs() < 1e-12);
    assert!(
        k.tests[k.test("hand-rub").unwrap()]
            .split()
            .unwrap()
            .is_none()
    );
}

/// Every combination of a finding and a test gives figures that are finite and chances.
#[test]
fn every_finding_has_an_answer() {
    let k = Knowledge::built_in();
    for finding in &k.findings {
        let answer = asked(&untreated(), vec![Finding::present(&finding.key)]);
        assert!(
            answer.fault && (0.0..=1.0).contains(&answer.none),
            "{}",
            finding.key
        );
        assert!(
            answer
                .causes
                .iter()
                .all(|c| (0.0..=1.0).contains(&c.chance))
        );
        assert!(
            answer.tests.iter().all(|t| t.gain.is_finite()
                && t.gain_per_price().is_finite()
                && t.saves.is_finite())
        );
    }
}

/// Not looked for is not the same as not there.
#[test]
fn what_was_not_looked_for_says_nothing() {
    let cleared = asked(&Facts::default(), vec![Finding::absent("skunk")]);
    let silent = asked(&Facts::default(), vec![Finding::absent("butter")]);
    let prior = chance(&asked(&Facts::default(), Vec::new()), "light-struck");
    assert!((chance(&silent, "light-struck") - prior).abs() < 1e-12);
    assert!(chance(&cleared, "light-struck") < 0.2 * prior);
}

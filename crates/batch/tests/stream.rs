//! What holds for every plan, from tap to glass: random whole documents are read,
//! reckoned and held to conservation, bounds and monotone laws.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

mod any_plan;
mod balance;

use std::sync::LazyLock;

use any_plan::{Plan, plans};
use batch::wire::{self, reckoning_schema};
use batch::{Document, Fault, Reckoning};
use glass::Grade;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use quantity::Weight;

/// Plans that each law is tried on.
const CASES: u32 = 250;

/// The share of drawn plans that must be possible; the rest is refused for good
/// reasons, mostly steps and decoctions that their mash cannot make and containers that
/// bear no pressure.
const LEAST_RECKONED: f64 = 0.7;

static SCHEMA: LazyLock<jsonschema::Validator> = LazyLock::new(|| {
    jsonschema::validator_for(&reckoning_schema()).expect("the schema is a schema")
});

/// The reckoning of a document, or the one reason that it cannot be.
fn reckon(text: &str) -> Result<Reckoning, Fault> {
    let (document, assumptions) =
        Document::read(text).unwrap_or_else(|faults| panic!("{faults:#?}\n{text}"));
    let reckoned = Reckoning::of(document, assumptions);
    if let Err(fault) = &reckoned {
        let told = fault.message.len() > 10 && fault.help.len() > 10 && !fault.path.is_empty();
        assert!(told, "says too little: {fault:?}\n{text}");
    }
    reckoned
}

fn json(r: &Reckoning) -> String {
    serde_json::to_string_pretty(&wire::Reckoning::from(r)).expect("a reckoning is JSON")
}

fn medicinal(r: &Reckoning) -> (Grade, Grade) {
    let risk = r.glass.risk("medicinal").expect("it is always graded");
    (risk.grade, risk.at_most)
}

#[test]
fn most_plans_can_be_reckoned() {
    let mut runner = TestRunner::deterministic();
    let (mut reckoned, mut refused) = (0u32, Vec::new());
    for _ in 0..2 * CASES {
        let plan = plans().new_tree(&mut runner).expect("a plan").current();
        match reckon(&plan.text()) {
            Ok(_) => reckoned += 1,
            Err(fault) => refused.push(fault.to_string()),
        }
    }
    let rate = f64::from(reckoned) / f64::from(2 * CASES);
    refused.sort();
    assert!(rate >= LEAST_RECKONED, "{rate}\n{}", refused.join("\n"));
    // Were nothing refused, the plans would not reach the edges.
    assert!(!refused.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(CASES))]

    #[test]
    fn what_goes_in_comes_out(plan in plans()) {
        if let Ok(r) = reckon(&plan.text()) {
            balance::of_water_and_extract(&r);
            balance::of_charge(&r);
            balance::of_dissolved_ions(&r);
            balance::of_chlorine(&r);
            balance::of_fermented_extract(&r);
            balance::of_packed_beer(&r);
        }
    }

    #[test]
    fn nothing_falls_below_nought(plan in plans()) {
        if let Ok(r) = reckon(&plan.text()) {
            balance::above_nought(&r);
        }
    }

    #[test]
    fn the_json_is_finite_and_follows_its_schema(plan in plans()) {
        if let Ok(r) = reckon(&plan.text()) {
            let form = wire::Reckoning::from(&r);
            // JSON would hide what is not a number as null; the debug form does not.
            assert_finite(&format!("{form:?}"));
            let value = serde_json::to_value(&form).unwrap();
            if let Err(error) = SCHEMA.validate(&value) {
                panic!("{error} at {}", error.instance_path());
            }
        }
    }

    #[test]
    fn the_same_document_gives_the_same_text(plan in plans()) {
        let text = plan.text();
        match (reckon(&text), reckon(&text)) {
            (Ok(one), Ok(two)) => prop_assert_eq!(json(&one), json(&two)),
            (one, two) => prop_assert_eq!(one.err(), two.err()),
        }
    }

    #[test]
    fn signs_are_those_of_their_notes(plan in plans()) {
        if let Ok(r) = reckon(&plan.text()) {
            let order: Vec<_> = r.signs.iter().map(|s| s.stage).collect();
            prop_assert_eq!(&order[..], &batch::Stage::ALL[..]);
            for sign in &r.signs {
                let heaviest = sign.notes.iter().map(|n| n.weight).max();
                prop_assert_eq!(sign.weight, heaviest.unwrap_or(Weight::Fine));
                prop_assert_eq!(sign.reason().is_some(), sign.weight > Weight::Fine);
                prop_assert!(sign.notes.iter().all(|n| n.text.len() > 10), "{:?}", sign);
            }
            let heaviest = r.signs.iter().map(|s| s.weight).max();
            prop_assert_eq!(Some(r.weight()), heaviest);
            if r.packaging.worst.safety == package::Safety::Stop {
                let sign = r.sign(batch::Stage::Package).unwrap();
                prop_assert_eq!(sign.weight, Weight::Act, "{:?}", sign);
            }
        }
    }

    #[test]
    fn more_chlorine_untreated_is_never_a_smaller_risk(plan in plans(), more in 0.0..3.0f64) {
        let little = plan.treated("way = \"none\"");
        let much = little.clone().with_more_chlorine(more);
        if let (Ok(little), Ok(much)) = (reckon(&little.text()), reckon(&much.text())) {
            let (a, b) = (medicinal(&little), medicinal(&much));
            prop_assert!(b.0 >= a.0 && b.1 >= a.1, "{:?} then {:?}", a, b);
            prop_assert!(a.1 >= a.0 && b.1 >= b.0);
        }
    }

    #[test]
    fn a_matched_dose_with_enough_excess_leaves_no_risk(
        plan in plans(),
        reagent in prop::sample::select(vec![
            "potassium metabisulfite", "sodium metabisulfite", "sodium bisulfite", "sodium sulfite",
        ]),
        purity in 40..=100u32,
    ) {
        let untreated = plan.treated("way = \"none\"");
        let Ok(before) = reckon(&untreated.text()) else { return Ok(()) };
        let Some(excess) = excess_that_covers(&before) else { return Ok(()) };
        let treated = untreated.treated(&format!(
            "way = \"reagent\"\nreagent = \"{reagent}\"\npurity = \"{purity} %\"\nexcess = \"{excess} %\""
        ));
        let after = reckon(&treated.text()).expect("the dose does not make a plan impossible");
        prop_assert_eq!(medicinal(&after), (Grade::None, Grade::None));
        prop_assert!(after.water.mash.chlorine.at_most.mg_per_l() < 1e-9);
        let dose = after.water.dechlorination.dose.unwrap();
        if dose.total.kg() > 0.0 && excess > 0 {
            prop_assert!(after.water.mash.sulfur_dioxide_at_most.mg_per_l() > 0.0);
        }
    }
}

/// The excess \[%\] that covers the highest plausible chlorine; none where that is
/// more than doubles the dose, or where there is nothing to dose for.
fn excess_that_covers(r: &Reckoning) -> Option<u32> {
    let total = &r.water.tap.water.total_chlorine;
    let (value, upper) = (total.value.mg_per_l(), total.upper().mg_per_l());
    let percent = (100.0 * (upper / value - 1.0)).ceil();
    (value > 0.0 && percent <= 100.0).then_some(percent as u32)
}

/// No value of a debug form is NaN or infinite; texts stand in quotes there, and
/// none of ours puts such a word between a colon and a comma.
fn assert_finite(debug: &str) {
    for bad in ["NaN", "inf", "-inf"] {
        for (before, after) in [(": ", ","), (": ", " }"), ("(", ")")] {
            let token = format!("{before}{bad}{after}");
            if let Some(at) = debug.find(&token) {
                panic!("{}", &debug[at.saturating_sub(200)..at + token.len()]);
            }
        }
    }
}

#[test]
fn what_is_not_finite_is_found() {
    #[derive(Debug)]
    struct Form {
        #[expect(dead_code, reason = "read by Debug")]
        x: Option<f64>,
    }
    for x in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let debug = format!("{:?}", Form { x: Some(x) });
        assert!(std::panic::catch_unwind(|| assert_finite(&debug)).is_err());
    }
    assert_finite(&format!("{:?}", Form { x: Some(1.0) }));
}

/// The drawn plans do reach what the laws are about.
#[test]
fn the_plans_reach_what_the_laws_are_about() {
    let mut runner = TestRunner::deterministic();
    let drawn: Vec<Plan> = (0..200)
        .map(|_| plans().new_tree(&mut runner).expect("a plan").current())
        .collect();
    for words in [
        "way = \"stand\"",
        "way = \"boil\"",
        "reagent = \"sodium ascorbate\"",
        "tablets = ",
        "free_chlorine",
        "share = ",
        "sparge = \"none\"",
        "sparge = \"continuous\"",
        "into = \"sparge\"",
        "form = \"slurry\"",
        "class = \"saison\"",
        "vessel = \"keg\"",
        "used = \"stand\"",
        "class = \"lactose\"",
    ] {
        let count = drawn.iter().filter(|p| p.text().contains(words)).count();
        assert!(count > 0, "no plan has {words}");
    }
}

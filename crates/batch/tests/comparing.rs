//! Batches beside each other, and what made them differ.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use batch::comparing::words::{apart_words, made_by};
use batch::comparing::{Against, CompareError, Comparison, Question, compare};
use batch::wire;
use proptest::prelude::*;
use quantity::Units;

const PALE: &str = include_str!("../../../examples/lantern-pale.toml");
const FIRST: &str = include_str!("../../../examples/lantern-pale-first.toml");
const AMBER: &str = include_str!("../../../examples/towpath-amber.toml");

const PLAIN: Question = Question {
    draws: 0,
    finely: false,
    orders: 4,
    seed: 1,
};

fn beside(texts: &[&str], question: &Question) -> Comparison {
    compare(texts, question, &|_, _| true).unwrap()
}

fn held(other: &str) -> Against {
    beside(&[PALE, other], &PLAIN).against.remove(0)
}

/// The shares of every figure that is split sum to its whole difference.
fn sums(against: &Against) {
    for figure in against.figures.iter().filter(|f| !f.shares.is_empty()) {
        let sum: f64 = figure.shares.iter().map(|s| s.by).sum();
        let whole = figure.to - figure.from;
        let size = figure.to.abs().max(figure.from.abs());
        assert!(
            (sum - whole).abs() < 1e-9 * size,
            "{}: {sum} {whole}",
            figure.key
        );
    }
}

#[test]
fn the_same_twice_differs_in_nothing() {
    let found = beside(&[PALE, PALE], &PLAIN);
    let against = &found.against[0];
    assert!(found.rows.is_empty() && found.same > 20);
    assert!(against.parts.is_empty() && against.figures.is_empty());
}

#[test]
fn names_aims_and_notes_are_told_and_move_nothing() {
    let other = PALE
        .replace("second brewing\"", "third brewing\"")
        .replace("alcohol = \"6.0", "alcohol = \"5.0");
    let against = held(&other);
    assert!(against.parts.is_empty());
    let told: Vec<&str> = against.told.iter().map(|c| c.path.as_str()).collect();
    assert_eq!(told, ["batch.name", "aim.alcohol"]);
}

#[test]
fn one_change_has_the_whole_difference() {
    let against = held(&PALE.replace("amount = \"30 g\"", "amount = \"40 g\""));
    assert_eq!(against.parts[0].phrase(), "10 g more Perle (boil 60 min)");
    let bitterness = against.figure("bitterness").unwrap();
    assert_eq!(bitterness.shares.len(), 1);
    assert!(bitterness.to > bitterness.from);
    sums(&against);
    // What lies upstream of the hops does not move.
    assert!(against.figure("mash_ph").is_none() && against.figure("calcium").is_none());
}

#[test]
fn more_malt_and_a_warmer_mash_pull_at_the_alcohol_from_both_sides() {
    let other = PALE
        .replace("3.55 kg", "4.15 kg")
        .replace("temperature = \"64 °C\"", "temperature = \"69 °C\"");
    let against = held(&other);
    let alcohol = against.figure("alcohol").unwrap();
    let by = |what: &str| {
        let share = alcohol.shares.iter();
        let share = share.clone().find(|s| against.parts[s.part].what == what);
        share.unwrap().by
    };
    assert!(by("pilsner malt") > 0.0 && by("rests of the mash") < 0.0);
    sums(&against);
    let words = made_by(&against, alcohol, Units::Metric);
    assert!(words.starts_with("0.6 kg more pilsner malt (+"), "{words}");
    assert!(
        words.contains("rests of the mash 5 °C warmer (-"),
        "{words}"
    );
    // The gravity before the yeast: the rest has hardly a share in it.
    let gravity = against.figure("original_gravity").unwrap();
    assert!(gravity.shares[0].by > 10.0 * gravity.shares[1].by.abs());
}

#[test]
fn each_fault_of_the_first_brewing_is_found_where_it_was_made() {
    let found = beside(&[FIRST, PALE], &PLAIN);
    let against = &found.against[0];
    assert!(against.every_order);
    sums(against);
    let first = |key: &str| {
        let figure = against.figure(key).unwrap();
        against.parts[figure.shares[0].part].what.clone()
    };
    assert_eq!(first("chlorine_left"), "treatment against chlorine");
    assert_eq!(first("pitch"), "yeast packets");
    assert_eq!(first("banana"), "temperatures of the fermentation");
    let left = against.figure("chlorine_left").unwrap();
    assert!(left.shares[1..].iter().all(|s| s.by.abs() < 1e-12));
    let row = found.rows.iter().find(|r| r.key == "medicinal").unwrap();
    assert_ne!(row.values[0], row.values[1]);
    assert!(found.stood.iter().any(|s| s.signs[0].0 > s.signs[1].0));
}

#[test]
fn much_that_differs_goes_together_by_sections_or_by_drawn_orders() {
    let against = held(AMBER);
    assert!(against.every_order && against.parts.len() <= 10);
    assert!(against.parts.iter().any(|p| p.what == "grist"));
    sums(&against);
    let finely = Question {
        finely: true,
        ..PLAIN
    };
    let against = beside(&[PALE, AMBER], &finely).against.remove(0);
    assert!(!against.every_order && against.parts.len() > 10);
    sums(&against);
    let alcohol = against.figure("alcohol").unwrap();
    assert!(alcohol.shares.iter().all(|s| s.error.is_some()));
    let steps = alcohol.steps(&against, Units::Metric).unwrap();
    let ends = steps.from + steps.steps.iter().map(|s| s.1).sum::<f64>();
    let whole = (steps.to - steps.from).abs();
    assert!((ends - steps.to).abs() <= 0.005 * whole + 1e-9);
    assert_eq!(steps.unit, "% vol");
    // The same seed gives the same answer.
    let again = beside(&[PALE, AMBER], &finely).against.remove(0);
    assert_eq!(again.figure("alcohol").unwrap().shares, alcohol.shares);
}

#[test]
fn what_cannot_be_brewed_apart_goes_together_and_says_so() {
    let slurry = "class = \"phenolic ale\"\nform = \"slurry\"\nslurry = \"200 mL\"\nage = \"3 d\"";
    let at = PALE.find("class = \"phenolic ale\"").unwrap();
    let end = PALE.find("[fermentation]").unwrap();
    let other = format!("{}{slurry}\n\n{}", &PALE[..at], &PALE[end..]);
    let against = held(&other);
    let [yeast] = against.parts.as_slice() else {
        panic!("{:?}", against.parts)
    };
    assert_eq!(yeast.what, "yeast");
    assert!(against.notes[0].contains("together"), "{:?}", against.notes);
    sums(&against);
}

/// Hops that boil for an hour cannot be put into a boil of 45 min.
#[test]
fn what_hangs_together_is_taken_over_together() {
    let other = PALE
        .replace("time = \"75 min\"", "time = \"45 min\"")
        .replace(
            "\"30 g\"\nused = \"boil\"\ntime = \"60 min\"",
            "\"30 g\"\nused = \"boil\"\ntime = \"40 min\"",
        )
        .replace("3.55 kg", "4.15 kg");
    let against = held(&other);
    let parts: Vec<&str> = against.parts.iter().map(|p| p.what.as_str()).collect();
    assert_eq!(parts, ["pilsner malt", "boil time and Perle (boil 60 min)"]);
    sums(&against);
}

#[test]
fn a_difference_below_the_intervals_is_no_difference_to_speak_of() {
    let drawn = Question { draws: 64, ..PLAIN };
    // What only one of them is unsure of is a draw of its own.
    let little = PALE.replace("amount = \"3.55 kg\"", "amount = \"3.60 ± 0.25 kg\"");
    let much = PALE.replace("amount = \"3.55 kg\"", "amount = \"5.55 kg\"");
    let found = beside(&[PALE, &little, &much], &drawn);
    let alcohol = |n: usize| found.against[n].figure("alcohol").unwrap();
    assert_eq!(alcohol(0).told_apart(), Some(false));
    assert_eq!(alcohol(1).told_apart(), Some(true));
    assert!(
        apart_words(alcohol(0), Units::Metric)
            .unwrap()
            .starts_with("cannot be told apart: nine times in ten between")
    );
    assert_eq!(apart_words(alcohol(1), Units::Metric), None);
    assert_eq!(held(&much).figure("alcohol").unwrap().told_apart(), None);
}

/// What both share is drawn once: on the same kit and malt the same plan gives the same
/// gravity, for certain, and a little more malt is surely more. What each brewing has for
/// itself is drawn twice: the logarithm of the clove level has a standard deviation of 0.2,
/// half of its variance in common, so that two differ by 0.2·√(2·(1 − ½)) = 0.2 of it, and
/// nine times in ten by no more than 1.645 times that.
#[test]
fn what_two_batches_share_makes_their_difference_no_less_sure() {
    let drawn = Question {
        draws: 256,
        ..PLAIN
    };
    let more = PALE.replace("amount = \"3.55 kg\"", "amount = \"3.60 kg\"");
    let found = beside(&[PALE, PALE, &more], &drawn);
    let same = &found.against[0].between;
    assert!(same.len() > 15, "{}", same.len());
    let of = |key: &str| same.iter().find(|b| b.key == key).unwrap();
    for key in [
        "calcium",
        "strike",
        "kettle",
        "original_gravity",
        "into_fermenter",
    ] {
        let one = of(key);
        assert!(one.low == 0.0 && one.high == 0.0, "{one:?}");
    }
    let clove = of("clove");
    let half = (clove.high - clove.low) / 2.0;
    let wanted = 1.645 * 0.2 * held_clove();
    assert!((half / wanted - 1.0).abs() < 0.2, "{half} {wanted}");
    let (low, high) = (of("ninety").low, of("ninety").high);
    assert!(low < 0.0 && high > 0.0, "the speed is another each time");
    let gravity = found.against[1].figure("original_gravity").unwrap();
    assert_eq!(gravity.told_apart(), Some(true));
    // The interval of the gravity itself is far wider than that of the difference.
    let sure = batch::certainty::certainty(
        PALE,
        &batch::certainty::Question {
            draws: 32,
            points: 0,
            seed: 1,
        },
        &|_, _| true,
    );
    let alone = sure.unwrap().figure("original_gravity").cloned().unwrap();
    let (low, high) = gravity.between.unwrap();
    assert!(high - low < 0.2 * (alone.high - alone.low), "{low} {high}");
}

/// 4-vinylguaiacol of the plan, in its canonical unit.
fn held_clove() -> f64 {
    let found = batch::certainty::glance(PALE).unwrap();
    found.figure("clove").unwrap().reckoned
}

#[test]
fn what_was_found_stands_beside_it() {
    let off = format!("{PALE}\n[[finding]]\nwhat = \"medicinal\"\nthere = \"yes\"\n");
    let found = beside(&[PALE, &off], &PLAIN);
    assert!(found.batches[0].found.is_empty() && found.batches[0].verdict.is_none());
    assert!(
        found.batches[1].found[0].contains("medicinal"),
        "{:?}",
        found.batches[1].found
    );
    assert!(found.batches[1].verdict.is_some());
    assert!(found.against[0].parts.is_empty());
}

#[test]
fn what_cannot_be_compared_is_refused_with_what_would_work() {
    let refused = |texts: &[&str], question: &Question| {
        compare(texts, question, &|_, _| true)
            .unwrap_err()
            .to_string()
    };
    assert_eq!(
        refused(&[PALE], &PLAIN),
        "1 batches cannot be laid beside each other; from 2 to 6 would work"
    );
    assert!(refused(&[PALE; 7], &PLAIN).starts_with("7 batches"));
    let few = Question { draws: 3, ..PLAIN };
    assert!(refused(&[PALE; 2], &few).contains("from 32"));
    let broken = PALE.replace("volume = \"20 L\"", "volume = \"20 furlongs\"");
    match compare(&[PALE, &broken], &PLAIN, &|_, _| true) {
        Err(CompareError::Document { which: 1, faults }) => {
            assert_eq!(faults[0].path, "batch.volume");
        }
        other => panic!("{other:?}"),
    }
    let stopped = compare(&[PALE, FIRST], &PLAIN, &|_, _| false);
    assert!(matches!(stopped, Err(CompareError::Stopped)));
}

#[test]
fn json_fits_its_schema() {
    let found = beside(&[FIRST, PALE], &PLAIN);
    let form = serde_json::to_value(wire::comparing::Comparison::from(&found)).unwrap();
    let schema = wire::schema("comparison").unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    assert!(
        validator.is_valid(&form),
        "{:?}",
        validator.iter_errors(&form).next()
    );
    let differences = form["against"][0]["differences"].as_array().unwrap();
    assert!(differences.iter().any(|d| d["key"] == "chlorine_left"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]
    /// Whatever differs: nothing of a difference is lost or made.
    #[test]
    fn shares_sum_to_the_difference(
        malt in 2.0..6.0f64, hops in 5.0..80.0f64, rest in 60.0..72.0f64,
        boil in 60.0..120.0f64, start in 16.0..26.0f64, packets in 1..4,
    ) {
        let other = PALE
            .replace("3.55 kg", &format!("{malt:.3} kg"))
            .replace("\"30 g\"", &format!("\"{hops:.1} g\""))
            .replace("\"64 °C\"", &format!("\"{rest:.1} °C\""))
            .replace("\"75 min\"", &format!("\"{boil:.0} min\""))
            .replace("temperature = \"19 °C\"", &format!("temperature = \"{start:.1} °C\""))
            .replace("packets = 2", &format!("packets = {packets}"));
        sums(&held(&other));
    }
}

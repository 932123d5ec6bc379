//! Batches side by side at the command line, and the story and the words of an inquiry.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

mod place;
mod work;

use place::Place;
use serde_json::Value;

#[track_caller]
fn json_of(place: &Place, of: &str, args: &[&str]) -> Value {
    let form: Value = serde_json::from_str(&place.fine(args)).unwrap();
    let schema: Value = serde_json::from_str(&place.fine(&["schema", of])).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    assert!(
        validator.is_valid(&form),
        "{:?}",
        validator.iter_errors(&form).next()
    );
    form
}

#[track_caller]
fn refused(place: &Place, args: &[&str], told: &str) {
    let output = place.gyle(args);
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{err}");
    assert!(err.contains(told), "{err}");
}

#[test]
fn two_demos_side_by_side() {
    let place = Place::new("demos");
    let asked = [
        "compare",
        "demo:lantern-pale-first",
        "demo:lantern-pale",
        "--draws",
        "0",
    ];
    insta::assert_snapshot!("compare_demos", place.fine(&asked));
    let json = json_of(&place, "comparison", &[&asked[..], &["--json"]].concat());
    let left = json["against"][0]["differences"].as_array().unwrap();
    let left = left.iter().find(|d| d["key"] == "chlorine_left").unwrap();
    let whole = left["to"].as_f64().unwrap() - left["from"].as_f64().unwrap();
    let shares = left["shares"].as_array().unwrap();
    let sum: f64 = shares.iter().map(|s| s["by"].as_f64().unwrap()).sum();
    assert!((sum - whole).abs() < 1e-12);
    let us = place.fine(&[&asked[..], &["--units", "us"]].concat());
    assert!(us.contains(" oz"), "{us}");
}

#[test]
fn revisions_of_the_store_side_by_side() {
    let place = Place::new("revisions");
    place.fine(&["keep", "examples/lantern-pale-first.toml"]);
    let asked = [
        "compare",
        "store:lantern@1",
        "demo:lantern-pale",
        "--draws",
        "32",
    ];
    let sheet = place.fine(&asked);
    assert!(sheet.contains("What made it differ"), "{sheet}");
    let gone = place.gyle(&["compare", "store:lantern@7", "demo:lantern-pale"]);
    let told = String::from_utf8(gone.stderr).unwrap();
    assert!(
        !gone.status.success() && told.contains("no revision 7"),
        "{told}"
    );
    refused(
        &place,
        &["compare", "demo:lantern", "demo:lantern-pale"],
        "gyle example",
    );
    refused(
        &place,
        &["compare", "demo:lantern-pale"],
        "2 values required",
    );
    let demos = ["demo:lantern-pale", "demo:towpath-amber"];
    refused(
        &place,
        &[&["compare"][..], &demos, &["--draws", "3"]].concat(),
        "from 32",
    );
}

#[test]
fn words_find_findings_causes_and_tests() {
    let place = Place::new("words");
    let sheet = place.fine(&["findings", "wet", "cardboard"]);
    assert!(sheet.contains("cardboard"), "{sheet}");
    let json = json_of(&place, "inquiry-search", &["findings", "buttery", "--json"]);
    assert_eq!(json["findings"][0]["key"], "butter");
    assert!(!json["causes"].as_array().unwrap().is_empty());
    refused(&place, &["findings", "qqqq"], "wet cardboard would work");
}

#[test]
fn a_story_is_told_as_text_and_as_json() {
    let place = Place::new("story");
    let off = place.path("off.toml");
    let text = include_str!("../../../examples/lantern-pale-first.toml");
    let found = "\n[[finding]]\nwhat = \"medicinal\"\nthere = \"yes\"\n\n[[test]]\nwhat = \"chlorine-strip\"\nresult = \"positive\"\n";
    std::fs::write(&off, format!("{text}{found}")).unwrap();
    let off = off.as_str();
    let sheet = place.fine(&["inquire", off, "--story"]);
    assert!(sheet.contains("What was tested"), "{sheet}");
    let json = json_of(
        &place,
        "inquiry-story",
        &["inquire", off, "--story", "--json"],
    );
    assert_eq!(json["tested"].as_array().unwrap().len(), 1);
    assert!(!json["could_be"].as_array().unwrap().is_empty());
}

//! Files that are not taken, and what is said of them.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

use interchange::{MAX_BYTES, ReadError, read};
use proptest::prelude::*;

const RECIPE: &str = include_str!("examples/MedievalAle.json");

fn refused(text: &str) -> String {
    read(text).unwrap_err().to_string()
}

#[test]
fn a_fault_has_its_pointer_and_what_would_work() {
    for (wrong, right, pointer, words) in [
        (
            "\"unit\": \"barrels\"",
            "\"unit\": \"gal\"",
            "/beerjson/recipes/0/batch_size/unit",
            "\"gal\"",
        ),
        (
            "\"value\": \"90\"",
            "\"value\": 90",
            "/beerjson/recipes/0/boil/boil_time/value",
            "type integer",
        ),
        (
            "\"kind\": \"all grain\"",
            "\"type\": \"all grain\"",
            "/beerjson/recipes/0",
            "add type",
        ),
        (
            "\"edition\": 2.06",
            "\"version\": 2.06",
            "/beerjson",
            "add version",
        ),
    ] {
        assert!(RECIPE.contains(right), "{right}");
        let error = read(&RECIPE.replacen(right, wrong, 1)).unwrap_err();
        let ReadError::NotTheStandard { faults } = error else {
            panic!("{error}")
        };
        let fault = faults.iter().find(|f| f.pointer == pointer);
        let fault = fault.unwrap_or_else(|| panic!("{pointer}: {faults:?}"));
        assert!(fault.help.contains(words), "{fault}");
    }
}

#[test]
fn what_is_no_json_is_told_with_its_place() {
    assert!(refused("{\"beerjson\": {\"version\": 2.06,,}}").starts_with("line 1, column 31: "));
    assert!(refused("").contains("line 1"));
    assert!(refused("{} {}").contains("line 1"));
    let twice = refused("{\"beerjson\": {\"version\": 1, \"version\": 2}}");
    assert!(
        twice.contains("/beerjson/version is there twice; keep one of them"),
        "{twice}"
    );
}

#[test]
fn another_kind_of_json_is_refused() {
    assert!(refused("[]").contains("object"));
    assert!(refused("{}").contains("add beerjson"));
    let two = refused("{\"beerjson\": {\"version\": 1}, \"more\": 1}");
    assert!(
        two.contains("the one member of the file is beerjson"),
        "{two}"
    );
    assert!(refused("{\"beerjson\": {\"version\": 1}}").contains("holds no recipe"));
}

#[test]
fn sizes_and_depths_have_an_end() {
    let large = " ".repeat(MAX_BYTES + 1);
    assert!(refused(&large).contains("too many"));
    for depth in [40, 100_000] {
        let deep = format!("{}{}", "[".repeat(depth), "]".repeat(depth));
        assert!(refused(&deep).contains("levels deep"), "{depth}");
    }
    assert!(refused("{\"beerjson\": {\"version\": 1e999}}").contains("line 1"));
}

#[test]
fn a_cider_is_no_beer() {
    let error = refused(&RECIPE.replace("\"all grain\"", "\"cider\""));
    assert!(error.contains("no beer of malt"), "{error}");
}

/// A list may repeat what a document says once.
#[test]
fn what_stands_twice_is_taken_once() {
    let twice = RECIPE.replacen(
        "\"boil_time\": {",
        "\"boil_steps\": [{\"name\": \"Whirlpool\", \"step_time\": {\"unit\": \"min\", \"value\": 20}},\
         {\"name\": \"Whirlpool again\", \"step_time\": {\"unit\": \"min\", \"value\": 5}}], \"boil_time\": {",
        1,
    );
    let (documents, remarks) = read(&twice).unwrap();
    assert!(batch::Document::read(&documents[0].text).is_ok());
    assert!(documents[0].text.contains("whirlpool = \"20 min\""));
    let second = "/beerjson/recipes/0/boil/boil_steps/1";
    assert!(remarks.iter().any(|r| r.at == second), "{remarks:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever number stands anywhere, nothing panics.
    #[test]
    fn no_number_brings_it_down(place in 0usize..200, number in prop_oneof![
        Just(0.0), Just(-1.0), Just(1e-300), Just(1e300), -1e6..1e6f64,
    ]) {
        let mut file: serde_json::Value = serde_json::from_str(RECIPE).unwrap();
        let mut pointers = Vec::new();
        walk(&file, String::new(), &mut pointers);
        let pointer = &pointers[place % pointers.len()];
        *file.pointer_mut(pointer).unwrap() = number.into();
        if let Ok((documents, _)) = read(&file.to_string()) {
            for document in documents {
                let _ = interchange::write(&document.text);
            }
        }
    }

    /// Nor does any text.
    #[test]
    fn no_text_brings_it_down(text in "\\PC{0,200}") {
        let _ = read(&text);
    }
}

fn walk(value: &serde_json::Value, pointer: String, found: &mut Vec<String>) {
    match value {
        serde_json::Value::Array(items) => {
            for (n, item) in items.iter().enumerate() {
                walk(item, format!("{pointer}/{n}"), found);
            }
        }
        serde_json::Value::Object(members) => {
            for (key, member) in members {
                walk(member, format!("{pointer}/{key}"), found);
            }
        }
        serde_json::Value::Number(_) => found.push(pointer),
        _ => {}
    }
}

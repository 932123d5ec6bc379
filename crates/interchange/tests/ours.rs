//! Documents of ours, out and in again.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

use batch::{Document, Reckoning};
use interchange::{Fate, Remark, read, write};

const LANTERN: &str = include_str!("../../../examples/lantern-pale.toml");
const FIRST: &str = include_str!("../../../examples/lantern-pale-first.toml");
const AMBER: &str = include_str!("../../../examples/towpath-amber.toml");

fn figure(text: &str, key: &str) -> f64 {
    let (document, assumptions) = Document::read(text).unwrap();
    let reckoning = Reckoning::of(document, assumptions).unwrap();
    let found = reckoning.figures().into_iter().find(|f| f.key == key);
    found.unwrap_or_else(|| panic!("{key}")).text.value
}

fn back(text: &str) -> (String, Vec<Remark>) {
    let out = write(text).unwrap();
    let (documents, _) = read(&out.text).unwrap_or_else(|e| panic!("{e}\n{}", out.text));
    (documents[0].text.clone(), out.remarks)
}

#[test]
fn what_the_standard_has_comes_back() {
    for text in [LANTERN, FIRST, AMBER] {
        let (again, _) = back(text);
        // The height of the place has no equal, and with it goes a little of the colour.
        for (key, within) in [
            ("draw", 2e-3),
            ("original_gravity", 2e-3),
            ("final_gravity", 2e-3),
            ("colour", 2e-2),
        ] {
            let (one, other) = (figure(text, key), figure(&again, key));
            assert!(
                (one - other).abs() <= within * one.abs(),
                "{key}: {one} {other}\n{again}"
            );
        }
    }
}

#[test]
fn every_key_of_a_document_is_told_or_in_the_report() {
    for text in [LANTERN, FIRST, AMBER] {
        let (again, remarks) = back(text);
        let written = batch::edit::written_values(text).unwrap();
        let came_back = batch::edit::written_values(&again).unwrap();
        for path in written.keys() {
            let told = remarks.iter().any(|r| r.at == *path);
            assert!(told || came_back.contains_key(path), "{path}\n{again}");
        }
    }
}

#[test]
fn what_can_hurt_is_said_where_it_is_left_out() {
    let (_, remarks) = back(LANTERN);
    let why = |path: &str| {
        let found = remarks
            .iter()
            .find(|r| r.at == path && r.fate == Fate::Left);
        found
            .unwrap_or_else(|| panic!("{path}: {remarks:#?}"))
            .why
            .clone()
    };
    assert!(why("water.treatment.way").contains("chlorine"));
    assert!(why("package.bottle").contains("strength"));
}

#[test]
fn a_spread_is_told_to_be_left_out() {
    let (_, remarks) = back(FIRST);
    let spread = remarks.iter().find(|r| r.at == "kit.evaporation").unwrap();
    assert_eq!(
        (spread.fate, spread.found.as_str()),
        (Fate::Changed, "3.2 ± 0.4 kg/h")
    );
}

#[test]
fn a_document_with_faults_is_not_written() {
    assert!(!write("[batch]\nname = \"x\"").unwrap_err().is_empty());
}

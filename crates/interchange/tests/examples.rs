//! The standard's own examples, in and out again.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

use std::collections::BTreeMap;
use std::path::PathBuf;

use batch::{Document, Reckoning};
use interchange::{Fate, Found, ReadError, Remark, read, write};
use serde_json::Value;

fn examples() -> Vec<(String, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/examples");
    let mut found: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .map(|path| {
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            (name, std::fs::read_to_string(path).unwrap())
        })
        .collect();
    found.sort();
    assert!(found.len() >= 30, "{}", found.len());
    found
}

fn example(name: &str) -> String {
    let found = examples().into_iter().find(|(n, _)| n == name);
    found.unwrap().1
}

fn batches(text: &str) -> Vec<String> {
    match read(text) {
        Ok((documents, _)) => documents
            .into_iter()
            .filter(|d| d.found == Found::Batch)
            .map(|d| d.text)
            .collect(),
        Err(ReadError::Nothing { .. }) => Vec::new(),
        Err(error) => panic!("{error}"),
    }
}

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap_or_else(|f| panic!("{f:?}\n{text}"));
    Reckoning::of(document, assumptions).unwrap_or_else(|f| panic!("{f:?}\n{text}"))
}

fn figures(text: &str) -> BTreeMap<&'static str, f64> {
    let reckoning = reckoned(text);
    let figures = reckoning.figures().into_iter();
    figures
        .map(|figure| (figure.key, figure.text.value))
        .collect()
}

/// The largest relative difference of the figures of two texts, with its key.
fn farthest(one: &str, other: &str) -> (f64, &'static str) {
    let (one, other) = (figures(one), figures(other));
    assert_eq!(one.len(), other.len());
    assert!(one.len() > 25, "{}", one.len());
    let apart = one.iter().map(|(key, a)| {
        let b = other[key];
        ((a - b).abs() / a.abs().max(1e-6), *key)
    });
    apart.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap()
}

#[test]
fn every_example_is_taken_or_says_why_not() {
    let mut taken = 0;
    for (name, text) in examples() {
        match read(&text) {
            Ok((documents, remarks)) => {
                taken += documents.len();
                for document in documents {
                    if document.found == Found::Batch {
                        reckoned(&document.text);
                    }
                }
                let unread: Vec<&Remark> =
                    remarks.iter().filter(|r| !r.at.starts_with('/')).collect();
                assert!(unread.is_empty(), "{name}: {unread:?}");
            }
            Err(ReadError::Nothing { remarks }) => assert!(!remarks.is_empty(), "{name}"),
            Err(error) => panic!("{name}: {error}"),
        }
    }
    assert!(taken >= 13, "{taken}");
}

/// What the model has of a recipe is the same after it went out and came in again.
#[test]
fn the_figures_of_the_examples_stay_through_out_and_in() {
    let mut checked = 0;
    for (name, text) in examples() {
        for first in batches(&text) {
            let out = write(&first).unwrap_or_else(|f| panic!("{name}: {f:?}"));
            let second = batches(&out.text);
            let [second] = second.as_slice() else {
                panic!("{name}: {}", out.text)
            };
            let (apart, key) = farthest(&first, second);
            assert!(
                apart < 1e-9,
                "{name}: {key} by {apart:e}\n{first}\n{second}"
            );
            let again = write(second).unwrap();
            assert_eq!(round(&out.text), round(&again.text), "{name}");
            checked += 1;
        }
    }
    assert!(checked >= 9, "{checked}");
}

/// A file with its numbers to ten digits.
fn round(text: &str) -> Value {
    fn walk(value: Value) -> Value {
        match value {
            Value::Number(n) => Value::String(format!("{:.9e}", n.as_f64().unwrap())),
            Value::Array(items) => items.into_iter().map(walk).collect(),
            Value::Object(members) => members.into_iter().map(|(k, v)| (k, walk(v))).collect(),
            other => other,
        }
    }
    walk(serde_json::from_str(text).unwrap())
}

/// Any number of an example that is changed changes a document or the report.
#[test]
fn no_number_of_a_file_is_passed_over_in_silence() {
    let mut tried = 0;
    for (name, text) in examples() {
        let file: Value = serde_json::from_str(&text).unwrap();
        let before = read(&text);
        // What is left out whole is told by its head alone.
        let left: Vec<String> = match &before {
            Ok((_, remarks)) | Err(ReadError::Nothing { remarks }) => {
                let left = remarks.iter().filter(|r| r.fate == Fate::Left);
                left.map(|r| format!("{}/", r.at)).collect()
            }
            Err(error) => panic!("{name}: {error}"),
        };
        let mut pointers = Vec::new();
        numbers(&file, String::new(), &mut pointers);
        for pointer in pointers {
            if left.iter().any(|at| pointer.starts_with(at)) {
                continue;
            }
            let mut other = file.clone();
            let at = other.pointer_mut(&pointer).unwrap();
            let number = at.as_f64().unwrap();
            // Some numbers of the standard are whole.
            *at = if at.is_i64() || at.is_u64() {
                (at.as_i64().unwrap() + 1).into()
            } else {
                (number * 1.01 + 0.01).into()
            };
            let after = read(&other.to_string());
            assert_ne!(before, after, "{name}: {pointer}");
            tried += 1;
        }
    }
    assert!(tried > 200, "{tried}");
}

fn numbers(value: &Value, pointer: String, found: &mut Vec<String>) {
    match value {
        Value::Number(_) => found.push(pointer),
        Value::Array(items) => {
            for (n, item) in items.iter().enumerate() {
                numbers(item, format!("{pointer}/{n}"), found);
            }
        }
        Value::Object(members) => {
            for (key, member) in members {
                numbers(member, format!("{pointer}/{key}"), found);
            }
        }
        _ => {}
    }
}

/// A member that no state of the standard has is no fault, and is told.
#[test]
fn an_unknown_member_is_told_wherever_it_stands() {
    let file: Value = serde_json::from_str(&example("MedievalAle")).unwrap();
    for inside in [
        "/beerjson",
        "/beerjson/recipes/0",
        "/beerjson/recipes/0/ingredients",
        "/beerjson/recipes/0/ingredients/fermentable_additions/2",
        "/beerjson/recipes/0/mash",
        "/beerjson/recipes/0/mash/mash_steps/0",
        "/beerjson/recipes/0/boil",
    ] {
        let mut other = file.clone();
        other.pointer_mut(inside).unwrap()["vessel_pressure"] = 1.into();
        let (_, remarks) = read(&other.to_string()).unwrap();
        let at = format!("{inside}/vessel_pressure");
        assert!(
            remarks.iter().any(|r| r.at == at && r.fate == Fate::Left),
            "{at}"
        );
    }
}

#[test]
fn a_recipe_is_taken_with_its_units() {
    let text = &batches(&example("MedievalAle"))[0];
    for line in [
        "volume = \"5.5 gal\"",
        "amount = \"2.148 lb\"",
        "class = \"honey\"",
        "class = \"crystal malt 100 to 160 EBC\"",
        "name = \"Unmalted Wheat\"\nclass = \"flaked wheat\"",
        "thickness = \"2.09 qt/lb\"",
        "temperature = \"158 °F\"\ntime = \"70 min\"",
        "grain_temperature = \"80 °F\"",
        "time = \"90 min\"",
        "class = \"English ale\"",
        "original_gravity = \"1.059\"",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
    let (_, remarks) = read(&example("MedievalAle")).unwrap();
    let told = |at: &str, fate: Fate| {
        assert!(
            remarks.iter().any(|r| r.at == at && r.fate == fate),
            "{at}: {remarks:#?}"
        );
    };
    // A potential of 1037 is none; the amount of yeast is nought; the spices have no place.
    told(
        "/beerjson/recipes/0/ingredients/fermentable_additions/0/yield/potential",
        Fate::Left,
    );
    told(
        "/beerjson/recipes/0/ingredients/culture_additions/0/cell_count_billions",
        Fate::Missing,
    );
    told(
        "/beerjson/recipes/0/ingredients/miscellaneous_additions/0",
        Fate::Left,
    );
    told(
        "/beerjson/recipes/0/ingredients/water_additions",
        Fate::Missing,
    );
    told(
        "/beerjson/recipes/0/ingredients/fermentable_additions/0/color",
        Fate::Changed,
    );
    told("/beerjson/recipes/0/style", Fate::Left);
}

/// 1.0374 of a pound in a US gallon: 37.4 points × 8.34540 L/kg = 312.118 L°/kg, with the
/// pound and the gallon as NIST Handbook 44 has them.
#[test]
fn a_potential_is_the_same_figure_in_litre_degrees() {
    let text = &batches(&example("FirstWortHopAddition"))[0];
    assert!(text.contains("hot_water_extract = \"312.118"), "{text}");
    assert!(text.contains("used = \"first wort\""), "{text}");
}

#[test]
fn waters_come_with_the_ways_of_their_figures() {
    let (documents, remarks) = read(&example("water")).unwrap();
    let [water] = documents.as_slice() else {
        panic!("{documents:?}")
    };
    let analysis = water.analysis.as_deref().unwrap();
    for line in [
        "calcium = \"275 mg/L\"",
        "alkalinity = \"270 mg/L as HCO3\"",
        "sulfate = \"610 mg/L\"",
        "ph = \"7\"",
    ] {
        assert!(analysis.contains(line), "{analysis}");
    }
    batch::library::Analysis::read(&water.name, analysis).unwrap();
    assert!(
        remarks
            .iter()
            .any(|r| r.fate == Fate::Missing && r.at.ends_with("/day"))
    );
}

#[test]
fn carbonate_counts_twice_in_the_alkalinity() {
    let text = example("water").replace(
        "\"carbonate\": {\n     \"unit\": \"ppm\",\n     \"value\": 0",
        "\"carbonate\": {\n     \"unit\": \"ppm\",\n     \"value\": 60.009",
    );
    let (documents, _) = read(&text).unwrap();
    // 270/61.017 + 2 × 60.009/60.009 = 6.425 mEq/L.
    assert!(
        documents[0]
            .analysis
            .as_deref()
            .unwrap()
            .contains("alkalinity = \"6.42"),
        "{documents:?}"
    );
}

#[test]
fn an_acid_of_unknown_strength_is_not_dosed() {
    let (documents, remarks) = read(&example("SpargeAcidification")).unwrap();
    assert!(
        documents[0]
            .text
            .contains("salt = \"gypsum\"\namount = \"10 g\"\ninto = \"mash\""),
        "{}",
        documents[0].text
    );
    assert!(!documents[0].text.contains("[[water.acid]]"));
    assert!(
        remarks
            .iter()
            .any(|r| r.found.contains("Lactic") && r.why.contains("strength"))
    );
}

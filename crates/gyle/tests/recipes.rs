//! Recipes in and out at the command line, and everything as plain files.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

mod place;

use std::path::{Path, PathBuf};

use place::Place;
use serde_json::Value;

const EXAMPLE: &str = "crates/interchange/tests/examples/MedievalAle.json";

#[test]
fn a_file_is_looked_at_before_it_is_kept() {
    let place = Place::new("look");
    let told = place.fine(&["import", EXAMPLE, "--look"]);
    assert!(
        told.starts_with("would keep batch: #20 1058 Medieval Ale\n"),
        "{told}"
    );
    assert!(
        told.contains("/beerjson/recipes/0/ingredients/water_additions\n    not said: "),
        "{told}"
    );
    assert!(
        !Path::new(&place.path("batches.db")).exists(),
        "looking makes no store"
    );
    let report: Value = serde_json::from_str(&place.fine(&["import", EXAMPLE, "--json"])).unwrap();
    let schema = interchange::wire::recipes_read_schema();
    assert!(jsonschema::is_valid(&schema, &report));
    assert!(report["documents"][0]["id"].is_string());
    assert!(place.fine(&["list"]).contains("Medieval Ale"));
}

#[test]
fn a_batch_goes_out_with_its_report_beside_it() {
    let place = Place::new("out");
    let output = place.gyle(&["export", "examples/lantern-pale.toml", "--as", "beerjson"]);
    assert!(output.status.success());
    let file: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(file["beerjson"]["version"], 2.06);
    let told = String::from_utf8(output.stderr).unwrap();
    assert!(told.contains("water.treatment.way"), "{told}");
    let both: Value =
        serde_json::from_str(&place.fine(&["export", "examples/lantern-pale.toml", "--json"]))
            .unwrap();
    let schema = interchange::wire::recipe_written_schema();
    assert!(jsonschema::is_valid(&schema, &both));
    assert_eq!(both["file"], file);
    let out = place.path("out.json");
    place.fine(&["export", "examples/lantern-pale.toml", "-o", &out]);
    assert_eq!(std::fs::read(&out).unwrap(), output.stdout);
}

#[test]
fn a_file_that_is_wrong_is_refused_with_its_pointers() {
    let place = Place::new("wrong");
    let wrong = place.path("wrong.json");
    std::fs::write(&wrong, "{\"beerjson\": {\"recipes\": [{\"name\": 3}]}}").unwrap();
    let output = place.gyle(&["import", &wrong]);
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8(output.stderr).unwrap();
    for line in [
        "/beerjson: ",
        "add version",
        "/beerjson/recipes/0/name: ",
        "type string",
        "add batch_size",
    ] {
        assert!(told.contains(line), "{line}\n{told}");
    }
    assert!(!Path::new(&place.path("batches.db")).exists());
    assert_eq!(
        place
            .gyle(&["import", &place.path("none.json")])
            .status
            .code(),
        Some(3)
    );
}

#[test]
fn everything_goes_out_and_comes_in() {
    let place = Place::new("all");
    place.fine(&["keep", "examples/lantern-pale.toml"]);
    place.fine(&["import", EXAMPLE]);
    let folder = place.path("everything");
    let told = place.fine(&["export", &folder, "--everything"]);
    assert!(told.starts_with("exported 2 documents"), "{told}");
    let other = place.path("other.db");
    let told = place.fine(&["--store", &other, "import", &folder, "--everything"]);
    assert!(told.starts_with("imported 2 documents"), "{told}");
    let again = place.path("again");
    place.fine(&["--store", &other, "export", &again, "--everything"]);
    let (one, two) = (files(Path::new(&folder)), files(Path::new(&again)));
    assert!(one.len() > 6);
    assert_eq!(one, two);
}

fn files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in std::fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let bytes = std::fs::read(&path).unwrap();
                found.push((path.strip_prefix(folder).unwrap().to_owned(), bytes));
            }
        }
    }
    found.sort();
    found
}

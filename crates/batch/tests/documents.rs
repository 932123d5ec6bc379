//! Documents are read whole, and what is wrong with one is said at the place.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

use batch::{Document, Fault, Need};

const PALE: &str = include_str!("../../../examples/lantern-pale.toml");
const FIRST: &str = include_str!("../../../examples/lantern-pale-first.toml");
const AMBER: &str = include_str!("../../../examples/towpath-amber.toml");

fn faults(text: &str) -> Vec<Fault> {
    Document::read(text).expect_err("this document has faults")
}

fn only_fault(text: &str) -> Fault {
    let all = faults(text);
    assert_eq!(all.len(), 1, "{all:#?}");
    all.into_iter().next().expect("one fault")
}

#[test]
fn the_demo_documents_read() {
    for text in [PALE, FIRST, AMBER] {
        let (document, _) = Document::read(text).unwrap_or_else(|f| panic!("{f:#?}"));
        assert!(document.batch.name.len() > 3);
    }
}

#[test]
fn gaps_are_listed_with_what_was_taken_and_from_where() {
    let (document, assumptions) = Document::read(PALE).unwrap();
    let absorption = assumptions
        .iter()
        .find(|a| a.path == "kit.absorption")
        .unwrap();
    assert_eq!(absorption.value, "1.0 ± 0.1 L/kg");
    assert!(absorption.source.contains("lauter tun"));
    assert!((document.kit.absorption.canonical() - 1.0).abs() < 1e-12);
    // What the document says is not assumed.
    assert!(!assumptions.iter().any(|a| a.path == "kit.evaporation"));
}

#[test]
fn an_unknown_key_names_the_nearest_known_one() {
    let text = PALE.replace("magnesium = \"11 mg/L\"", "magnesuim = \"11 mg/L\"");
    let all = faults(&text);
    let unknown = all
        .iter()
        .find(|f| f.message.contains("unknown key"))
        .unwrap();
    assert!(
        unknown.help.contains("did you mean \"magnesium\"?"),
        "{unknown:?}"
    );
    assert_eq!(&text[unknown.span.clone()], "magnesuim");
}

#[test]
fn a_fault_stands_under_the_character() {
    let text = PALE.replace("\"20 L\"", "\"20 litters\"");
    let fault = only_fault(&text);
    assert_eq!(&text[fault.span.clone()], "litters");
    assert_eq!(fault.path, "batch.volume");
    assert!(fault.help.contains("did you mean"), "{fault:?}");
    let (line, column) = fault.line_and_column(&text);
    assert_eq!(
        text.lines().nth(line - 1).unwrap().find("litters").unwrap() + 1,
        column
    );
}

#[test]
fn every_fault_is_told_at_once() {
    let text = PALE
        .replace("\"20 L\"", "\"20,5 L\"")
        .replace("\"64 °C\"", "\"64\"")
        .replace("class = \"phenolic ale\"", "")
        .replace("way = \"reagent\"", "way = \"magic\"");
    let all = faults(&text);
    let paths: Vec<&str> = all.iter().map(|f| f.path.as_str()).collect();
    assert_eq!(
        paths,
        [
            "batch.volume",
            "water.treatment.way",
            "mash.rest[1].temperature",
            "yeast.class"
        ],
    );
}

#[test]
fn a_missing_section_is_one_fault_not_many() {
    let start = PALE.find("[yeast]").unwrap();
    let end = PALE.find("[fermentation]").unwrap();
    let text = format!("{}{}", &PALE[..start], &PALE[end..]);
    let fault = only_fault(&text);
    assert!(fault.message.contains("\"yeast\" is missing"), "{fault:?}");
}

#[test]
fn contradictions_are_faults() {
    for (from, to, says) in [
        ("share = \"40 %\"", "", "not every one has a share"),
        (
            "reagent = \"potassium metabisulfite\"",
            "",
            "which reagent is not said",
        ),
        (
            "packet_mass = \"11.5 g\"",
            "",
            "how much yeast there is is not said",
        ),
        ("at = \"14 d\"", "at = \"4 d\"", "out of order"),
        ("volume = \"5.5 mL\"", "", "how much acid is not said"),
        ("time = \"10 min\"", "", "how long this hop is in the wort"),
        (
            "age = \"90 d\"",
            "starter = \"1 L\"\n\n[[yeast.step]]\nvolume = \"1 L\"",
            "a starter is told twice",
        ),
        (
            "age = \"90 d\"",
            "aim = \"clean\"\npitch_rate = \"1 million/mL/°P\"",
            "both an aim and a pitching rate",
        ),
        (
            "age = \"90 d\"",
            "[yeast.count]\ncells = \"210\"\nover = \"groups\"\nsquares = \"5\"\ndilution = \"100\"",
            "a count belongs to a slurry",
        ),
        ("\"20 L\"", "\"0 L\"", "must be above zero"),
    ] {
        let text = PALE.replacen(from, to, 1);
        assert_ne!(text, PALE, "{from}");
        let fault = only_fault(&text);
        assert!(fault.message.contains(says), "{from}: {fault:?}");
    }
}

#[test]
fn a_count_is_read_whole_or_told() {
    let slurry = PALE.replacen("form = \"dry\"", "form = \"slurry\"\nslurry = \"90 mL\"", 1);
    let with =
        |count: &str| slurry.replacen("age = \"90 d\"", &format!("[yeast.count]\n{count}"), 1);
    let whole = "cells = \"187\"\nover = \"groups\"\nsquares = \"5\"\ndilution = \"100\"\n";
    let (document, assumptions) = Document::read(&with(whole)).unwrap();
    let count = document.yeast.count.unwrap();
    assert!((count.found.living.value.millions_per_ml() - 935.0).abs() < 1e-9);
    assert!(assumptions.iter().any(|a| a.path == "yeast.count.since"));
    for (count, says) in [
        (whole.replace("187", "18.5"), "cells must be a whole number"),
        (
            whole.replace("cells = \"187\"\n", ""),
            "a count needs cells",
        ),
        (whole.replace("\"5\"", "\"90\""), "groups counted is 90"),
        (
            format!("{whole}dead = \"12\"\n"),
            "dead and of belong together",
        ),
        (
            format!("{whole}dead = \"12\"\nof = \"6\"\n"),
            "dead cells is 12",
        ),
    ] {
        let fault = only_fault(&with(&count));
        assert!(fault.message.contains(says), "{count}: {fault:?}");
        assert!(fault.path.starts_with("yeast.count"), "{fault:?}");
    }
}

#[test]
fn every_key_is_described_and_every_default_is_used() {
    let fields = Document::fields();
    assert!(fields.len() > 100, "{}", fields.len());
    for field in &fields {
        assert!(!field.doc.is_empty(), "{}", field.path);
    }
    let tasting = batch::tasting::Tasting::fields();
    let assumed = fields
        .iter()
        .chain(&tasting)
        .filter(|f| matches!(f.need, Need::Assumed(_)))
        .count();
    let rows = include_str!("../data/defaults.toml")
        .matches("[[default]]")
        .count();
    assert_eq!(
        assumed, rows,
        "a row of the defaults that no key uses, or the reverse"
    );
}

#[test]
fn the_schema_accepts_the_demo_documents_and_refuses_an_unknown_key() {
    let validator = jsonschema::validator_for(&batch::document_schema()).unwrap();
    for text in [PALE, FIRST, AMBER] {
        let value: toml::Value = toml::from_str(text).unwrap();
        let json = serde_json::to_value(value).unwrap();
        if let Err(error) = validator.validate(&json) {
            panic!("{error} at {}", error.instance_path());
        }
    }
    let odd =
        toml::from_str::<toml::Value>(&PALE.replace("[mash]", "[mash]\nodd = \"1\"")).unwrap();
    assert!(!validator.is_valid(&serde_json::to_value(odd).unwrap()));
}

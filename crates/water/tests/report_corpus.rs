//! Reports of many forms, read whole and held to values reckoned elsewhere.
//!
//! `tests/reports/made.toml` is written by `tests/reference/report_forms.py` with
//! periodictable 2.1.0; `tests/reports/hand.toml` was reckoned by hand from the
//! published factors (1 °dH = 17.85, 1 °fH = 10, 1 °e = 14.25 mg/L CaCO₃; 1 mEq =
//! 50.04 mg CaCO₃ = 61.02 mg HCO₃⁻; N to NO₃ 4.427).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::path::PathBuf;

use serde::Deserialize;
use water::report::{Parameter, Report, Take, read};

#[derive(Deserialize)]
struct File {
    report: Vec<Expected>,
}

#[derive(Deserialize)]
struct Expected {
    file: String,
    analyses: usize,
    /// "analysis parameter value", in canonical units.
    values: Vec<String>,
    /// Lines that are prose on purpose.
    #[serde(default)]
    prose: Vec<usize>,
    /// Lines that are left out on purpose.
    #[serde(default)]
    left_out: Vec<usize>,
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reports")
}

fn expected(table: &str) -> Vec<Expected> {
    let text = std::fs::read_to_string(folder().join(table)).unwrap();
    toml::from_str::<File>(&text).unwrap().report
}

fn read_file(name: &str) -> Report {
    read(&std::fs::read_to_string(folder().join(name)).unwrap())
}

/// Every line is understood, but the prose and what is left out on purpose.
fn holds_whole(expected: &Expected, report: &Report) {
    let name = &expected.file;
    assert!(
        report.questions.is_empty(),
        "{name}: {:?}",
        report.questions
    );
    for line in &report.lines {
        for take in &line.takes {
            match take {
                Take::Reading(_) | Take::Heading(_) | Take::Blank => {}
                Take::Prose => assert!(
                    expected.prose.contains(&line.number),
                    "{name}:{} is prose",
                    line.number
                ),
                Take::LeftOut(why) => assert!(
                    expected.left_out.contains(&line.number),
                    "{name}:{}: {why}",
                    line.number
                ),
                other => panic!("{name}:{} {:?}: {other:?}", line.number, line.text),
            }
        }
    }
}

/// The values are the expected ones, and there are no others.
fn holds_values(expected: &Expected, report: &Report, tolerance: f64) {
    let name = &expected.file;
    assert_eq!(report.analyses.len(), expected.analyses, "{name}");
    let count: usize = report.analyses.iter().map(|a| a.readings.len()).sum();
    assert_eq!(count, expected.values.len(), "{name}: number of readings");
    for row in &expected.values {
        let words: Vec<&str> = row.split_whitespace().collect();
        let [analysis, key, value] = words[..] else {
            panic!("{name}: {row}");
        };
        let parameter = Parameter::ALL.iter().find(|p| p.key() == key).unwrap();
        let analysis: usize = analysis.parse().unwrap();
        let value: f64 = value.parse().unwrap();
        let reading = report.analyses[analysis]
            .reading(*parameter)
            .unwrap_or_else(|| panic!("{name}: no {key}"));
        let ours = reading.value.canonical().unwrap();
        assert!(
            (ours - value).abs() <= tolerance * value.abs().max(1e-9),
            "{name}: {key} is {ours}, not {value}"
        );
    }
}

#[test]
fn made_reports_are_read_whole() {
    let all = expected("made.toml");
    assert_eq!(all.len(), 45);
    for expected in all {
        let report = read_file(&expected.file);
        holds_whole(&expected, &report);
        // Both sides reckon with atomic weights of the same digits.
        holds_values(&expected, &report, 1e-4);
    }
}

#[test]
fn reports_written_by_hand_are_read_whole() {
    let all = expected("hand.toml");
    assert!(all.len() >= 10);
    for expected in all {
        let report = read_file(&expected.file);
        holds_whole(&expected, &report);
        holds_values(&expected, &report, 1.5e-3);
    }
}

#[test]
fn every_report_has_its_expectation() {
    let known: Vec<String> = ["made.toml", "hand.toml"]
        .iter()
        .flat_map(|t| expected(t))
        .map(|e| e.file)
        .collect();
    for entry in std::fs::read_dir(folder()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(
            name.ends_with(".toml") || known.contains(&name),
            "{name} has no expectation"
        );
    }
}

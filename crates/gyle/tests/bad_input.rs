//! Whatever is handed to `gyle reckon`, it answers with the plan or with a clear
//! refusal: exit code 2, a message on standard error, nothing on standard output.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

use std::io::Write;
use std::process::{Command, Output, Stdio};

const PALE: &str = include_str!("../../../examples/lantern-pale.toml");

fn reckon(document: &[u8]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_gyle"))
        .args(["reckon", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("gyle starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    // The program may refuse before it has read everything.
    let _ = stdin.write_all(document);
    drop(stdin);
    child.wait_with_output().expect("gyle ends")
}

#[track_caller]
fn assert_refused(document: &[u8], what: &str) {
    let output = reckon(document);
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{what}\n{told}");
    assert!(!told.contains("panicked"), "{what}\n{told}");
    assert!(told.trim().len() > 20, "{what}: says too little: {told:?}");
    assert!(
        output.stdout.is_empty(),
        "{what}: something on standard output"
    );
}

/// Each line `key = "value"` of the demo document that holds a quantity.
fn quantity_lines() -> Vec<(usize, &'static str)> {
    let free_text = [
        "name", "flavour", "class", "way", "reagent", "salt", "acid", "into", "used", "hop",
        "form", "aeration", "vessel", "bottle", "sugar", "sparge",
    ];
    PALE.lines()
        .enumerate()
        .filter_map(|(i, line)| line.split_once(" = ").map(|(key, _)| (i, key)))
        .filter(|(_, key)| !key.starts_with('#') && !free_text.contains(key))
        .collect()
}

fn with_line(index: usize, line: &str) -> String {
    PALE.lines()
        .enumerate()
        .map(|(i, old)| if i == index { line } else { old })
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn two_hundred_mutated_documents_are_refused_clearly() {
    let bad_values = [
        "\"-5 L\"",
        "\"NaN\"",
        "\"1e300 kg\"",
        "\"3 furlongs\"",
        "true",
        "[]",
        "{}",
        "\"\"",
        "\"1,5 L\"",
        "1979-05-27",
        "\"inf mg/L\"",
        "\"5 ± -2 g\"",
        "\"18-12 mg/L\"",
        "\"\\u0000\"",
    ];
    let mut count = 0;
    for (n, (index, key)) in quantity_lines().into_iter().enumerate() {
        for k in 0..4 {
            let bad = bad_values[(n * 4 + k * 5) % bad_values.len()];
            let document = with_line(index, &format!("{key} = {bad}"));
            assert_refused(
                document.as_bytes(),
                &format!("line {}: {key} = {bad}", index + 1),
            );
            count += 1;
        }
    }
    assert!(count >= 200, "only {count} documents were tried");
}

#[test]
fn missing_and_doubled_parts_are_refused() {
    for section in [
        "[batch]",
        "[[water.source]]",
        "[[grist]]",
        "[mash]",
        "[[mash.rest]]",
        "[yeast]",
        "[[fermentation.course]]",
        "[package]",
    ] {
        assert_refused(without(section).as_bytes(), &format!("without {section}"));
    }
    for line in ["[batch]", "volume = \"20 L\"", "[mash]", "[yeast]"] {
        let doubled = PALE.replacen(line, &format!("{line}\n{line}"), 1);
        assert_refused(doubled.as_bytes(), &format!("twice {line}"));
    }
    for key in ["calcium", "magnesium", "alkalinity", "chloride", "sulfate"] {
        let document: String = PALE
            .lines()
            .filter(|l| !l.starts_with(&format!("{key} =")))
            .map(|l| format!("{l}\n"))
            .collect();
        assert_refused(document.as_bytes(), &format!("without {key}"));
    }
}

/// The demo document without any table under this heading, and none inside it:
/// a `[[mash.rest]]` alone is a mash with defaults, and no fault.
fn without(section: &str) -> String {
    let inside = format!("[[{}.", section.trim_matches(['[', ']']));
    let mut keep = true;
    let mut out = String::new();
    for line in PALE.lines() {
        if line.starts_with('[') {
            keep = line != section && !line.starts_with(&inside);
        }
        if keep {
            out.push_str(line);
            out.push('\n');
        }
    }
    out
}

#[test]
fn things_that_are_no_documents_are_refused() {
    assert_refused(b"", "an empty file");
    assert_refused(b"\n\n\n", "blank lines");
    assert_refused(&[0, 159, 146, 150, 255, 254, 0, 1], "a binary file");
    assert_refused(&[0u8; 4096], "zeros");
    assert_refused(b"{\"batch\": {\"name\": \"json\"}}", "JSON");
    assert_refused(b"batch", "a word");
    assert_refused(b"[batch", "an open bracket");
    assert_refused(b"[batch]\nname = \"\"\"never closed", "open quotes");
    assert_refused("[[[[[[[[".repeat(1000).as_bytes(), "a thousand brackets");
    assert_refused(
        format!("x = {}1{}", "[".repeat(20_000), "]".repeat(20_000)).as_bytes(),
        "a deep list",
    );
    assert_refused(
        format!("{}.x = 1", vec!["a"; 5000].join(".")).as_bytes(),
        "a deep key",
    );
    assert_refused(
        PALE.replace('"', "'").replace("'20 L'", "20 L").as_bytes(),
        "no quotes",
    );
    assert_refused(&vec![b'#'; 50 << 20], "50 MB of comment");
    let mut cut = PALE.as_bytes().to_vec();
    cut.truncate(PALE.len() / 2);
    assert_refused(&cut, "half a document");
}

#[test]
fn plans_that_cannot_be_carried_out_are_refused() {
    for (section, key, value) in [
        ("[batch]", "volume", "99000 L"),
        ("[batch]", "volume", "0.06 L"),
        ("[batch]", "name", ""),
        ("[kit]", "altitude", "9000 m"),
        ("[[water.source]]", "share", "10 %"),
        ("[[water.source]]", "free_chlorine", "9 mg/L"),
        ("[[water.source]]", "alkalinity", "150 mEq/L"),
        ("[[water.source]]", "calcium", "50000 mg/L"),
        ("[water.treatment]", "purity", "0 %"),
        ("[[water.salt]]", "amount", "3000 kg"),
        ("[[water.acid]]", "volume", "40 L"),
        ("[[grist]]", "amount", "0.01 kg"),
        ("[[grist]]", "amount", "400 kg"),
        ("[mash]", "thickness", "90 L/kg"),
        ("[mash]", "thickness", "0.01 L/kg"),
        ("[mash]", "sparge_steps", "2.5"),
        ("[mash]", "sparge_steps", "9"),
        ("[[mash.rest]]", "temperature", "160 °C"),
        ("[[mash.rest]]", "temperature", "40 °C"),
        ("[boil]", "time", "0 min"),
        ("[boil]", "chilled_to", "99 °C"),
        ("[[hop]]", "alpha", "60 %"),
        ("[[hop]]", "time", "600 min"),
        ("[yeast]", "packets", "0"),
        ("[yeast]", "packets", "900"),
        ("[[fermentation.course]]", "temperature", "80 °C"),
        ("[package]", "bottle", "growler"),
        ("[package]", "bottle", "keg"),
        ("[package]", "bottle_volume", "0 mL"),
        ("[package]", "head_space", "600 mL"),
        ("[package]", "warmest_storage", "90 °C"),
    ] {
        let document = with_value(section, key, value);
        assert_refused(document.as_bytes(), &format!("{section} {key} = {value:?}"));
    }
}

/// The demo document with another value at the first such key in the first such
/// section.
fn with_value(section: &str, key: &str, value: &str) -> String {
    let start = PALE
        .lines()
        .position(|line| line == section)
        .unwrap_or_else(|| panic!("no {section}"));
    let (index, _) = PALE
        .lines()
        .enumerate()
        .skip(start + 1)
        .take_while(|(_, line)| !line.starts_with('['))
        .find(|(_, line)| line.starts_with(&format!("{key} = ")))
        .unwrap_or_else(|| panic!("no {key} in {section}"));
    with_line(index, &format!("{key} = {value:?}"))
}

/// What is refused is told in numbers that a person can read.
#[test]
fn refusals_print_no_endless_numbers() {
    for (section, key, value) in [
        ("[water.treatment]", "purity", "0 %"),
        ("[[water.source]]", "alkalinity", "150 mEq/L"),
        ("[[hop]]", "time", "600 min"),
        ("[yeast]", "packets", "900"),
        ("[[water.source]]", "calcium", "50000 mg/L"),
    ] {
        let told = reckon(with_value(section, key, value).as_bytes());
        let told = String::from_utf8_lossy(&told.stderr).into_owned();
        let longest = told
            .split(|c: char| !c.is_ascii_digit() && c != '.')
            .map(str::len)
            .max();
        assert!(longest.is_some_and(|n| n < 9), "{section} {key}: {told}");
    }
}

#[test]
fn a_missing_file_and_a_wrong_command_have_their_own_exit_codes() {
    let run = |args: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_gyle"))
            .args(args)
            .output()
            .expect("gyle runs")
    };
    assert_eq!(run(&["reckon", "no-such-file.toml"]).status.code(), Some(3));
    assert_eq!(run(&["reckon", "."]).status.code(), Some(3));
    assert_eq!(run(&["brew"]).status.code(), Some(2));
    assert_eq!(run(&["example", "no-such-beer"]).status.code(), Some(2));
}

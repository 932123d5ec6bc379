//! What may depend on what, and what a stage must not touch. The rules are those
//! of ARCHITECTURE.md; here they are held.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The stages in the order of the liquid, and the inquiry that looks back on them.
const STAGES: [&str; 6] = ["water", "wort", "ferment", "package", "glass", "inquiry"];

/// What any stage may use besides the stages before it.
const ALL_MAY: [&str; 4] = ["quantity", "serde", "thiserror", "toml"];

/// What one stage may use besides: (stage, crate).
const ONE_MAY: [(&str, &str); 6] = [
    ("water", "csv"),
    ("water", "diffsol"),
    ("water", "num-dual"),
    ("wort", "libm"),
    ("ferment", "libm"),
    ("glass", "libm"),
];

/// Crates that reach the world outside.
const OUTSIDE: [&str; 9] = [
    "tokio", "sqlx", "axum", "reqwest", "hyper", "chrono", "time", "rand", "tempfile",
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn manifest(krate: &str) -> toml::Table {
    let path = root().join("crates").join(krate).join("Cargo.toml");
    let text = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    text.parse().expect("a manifest is TOML")
}

fn table(manifest: &toml::Table, name: &str) -> BTreeSet<String> {
    manifest
        .get(name)
        .and_then(toml::Value::as_table)
        .map(|t| t.keys().cloned().collect())
        .unwrap_or_default()
}

fn dependencies(krate: &str) -> BTreeSet<String> {
    let manifest = manifest(krate);
    for odd in ["target", "features", "build-dependencies"] {
        assert!(
            manifest.get(odd).is_none(),
            "{krate} has [{odd}], which this test does not look into"
        );
    }
    table(&manifest, "dependencies")
}

#[test]
fn a_stage_uses_the_stages_before_it_and_little_else() {
    let quantity = dependencies("quantity");
    assert!(
        quantity.is_subset(&set(&["libm", "serde", "thiserror", "toml"])),
        "{quantity:?}"
    );
    for (i, stage) in STAGES.iter().enumerate() {
        let mut may = set(&ALL_MAY);
        may.extend(set(&STAGES[..i]));
        may.extend(
            ONE_MAY
                .iter()
                .filter(|(s, _)| s == stage)
                .map(|(_, c)| (*c).to_owned()),
        );
        let used = dependencies(stage);
        assert!(used.contains("quantity"), "{stage} has no quantities");
        let beyond: Vec<_> = used.difference(&may).collect();
        assert!(beyond.is_empty(), "{stage} must not use {beyond:?}");
    }
}

#[test]
fn the_core_reaches_nothing_outside() {
    for krate in ["quantity", "batch", "chart"].iter().chain(&STAGES) {
        let reached: Vec<_> = dependencies(krate)
            .into_iter()
            .filter(|d| OUTSIDE.contains(&d.as_str()))
            .collect();
        assert!(reached.is_empty(), "{krate} uses {reached:?}");
    }
}

/// The faces and the store are behind the core, not in it.
#[test]
fn the_core_knows_no_face() {
    for krate in ["quantity", "batch", "chart"].iter().chain(&STAGES) {
        let used = dependencies(krate);
        for face in ["app", "web", "store", "gyle"] {
            assert!(!used.contains(face), "{krate} uses {face}");
        }
    }
    let batch = dependencies("batch");
    assert!(STAGES.iter().all(|s| batch.contains(*s)), "{batch:?}");
}

/// Words that stand for a clock, a file, the net, the console or shared state.
/// Split so that this file does not find itself.
const FORBIDDEN: [&str; 16] = [
    concat!("std::", "fs"),
    concat!("std::", "net"),
    concat!("std::", "env"),
    concat!("std::", "process"),
    concat!("std::", "time"),
    concat!("std::", "thread"),
    concat!("System", "Time"),
    concat!("Instant", "::"),
    concat!("print", "ln!"),
    concat!("eprint", "!("),
    concat!("print", "!("),
    concat!("dbg", "!("),
    concat!("static ", "mut "),
    concat!("std::io::", "std"),
    // Times are read from text, never from a clock.
    concat!("Timestamp::", "now"),
    concat!("Zoned::", "now"),
];

#[test]
fn the_core_does_no_input_or_output() {
    let mut looked_at = 0;
    for krate in ["quantity", "batch"].iter().chain(&STAGES) {
        for file in rust_files(&root().join("crates").join(krate).join("src")) {
            let code = code_of(&fs::read_to_string(&file).unwrap());
            looked_at += 1;
            for word in FORBIDDEN {
                assert!(!code.contains(word), "{} has {word}", file.display());
            }
            for name in grouped_std_imports(&code) {
                let word = format!("std::{name}");
                assert!(
                    !FORBIDDEN.contains(&word.as_str()),
                    "{} has {word}",
                    file.display()
                );
            }
        }
    }
    assert!(looked_at > 60, "only {looked_at} files");
}

/// Text forms are made in `batch::wire`; the types that pass between stages carry
/// no derives for them.
#[test]
fn core_types_carry_no_serde() {
    let mut types = 0;
    for krate in ["quantity", "batch"].iter().chain(&STAGES) {
        for file in rust_files(&root().join("crates").join(krate).join("src")) {
            if file.components().any(|part| part.as_os_str() == "wire") {
                continue;
            }
            let code = code_of(&fs::read_to_string(&file).unwrap());
            let (seen, faulty) = public_types_with_serde(&code);
            types += seen;
            assert!(faulty.is_empty(), "{}: {faulty:?}", file.display());
        }
    }
    assert!(types > 150, "only {types} public types were found");
}

#[test]
fn the_heuristic_finds_what_it_looks_for() {
    let code = "#[derive(Debug, Clone, serde::Deserialize)]\n#[serde(default)]\npub struct Row {\n";
    assert_eq!(
        public_types_with_serde(code),
        (1, vec!["pub struct Row {".to_owned()])
    );
    let code =
        "#[derive(serde::Deserialize)]\nstruct Row {\n}\n#[derive(Debug)]\npub enum Kind {\n";
    assert_eq!(public_types_with_serde(code), (1, vec![]));
    assert_eq!(
        grouped_std_imports("use std::{fmt, fs::File};"),
        ["fmt", "fs"]
    );
    assert_eq!(code_of("a // std\n/// b\nc"), "a \n\nc\n");
}

/// How many public types there are, and those with a serde derive.
fn public_types_with_serde(code: &str) -> (usize, Vec<String>) {
    let (mut seen, mut faulty, mut attributes) = (0, Vec::new(), String::new());
    for line in code.lines().map(str::trim) {
        let public = line.starts_with("pub struct ") || line.starts_with("pub enum ");
        if public {
            seen += 1;
            if attributes.contains("Serialize") || attributes.contains("Deserialize") {
                faulty.push(line.to_owned());
            }
        }
        let goes_on = line.is_empty()
            || line.starts_with("#[")
            || (!attributes.is_empty() && !attributes.trim_end().ends_with(']'));
        if goes_on && !public {
            attributes.push_str(line);
        } else {
            attributes.clear();
        }
    }
    (seen, faulty)
}

/// The first part of each name in `use std::{…}`.
fn grouped_std_imports(code: &str) -> Vec<String> {
    let mut names = Vec::new();
    for group in code.split("use std::{").skip(1) {
        let inside = group.split(';').next().unwrap_or_default();
        let firsts = inside.trim_end_matches('}').split(',');
        names.extend(
            firsts
                .filter_map(|n| n.trim().split("::").next())
                .map(str::to_owned),
        );
    }
    names
}

/// Without comments, which may speak of anything.
fn code_of(text: &str) -> String {
    text.lines()
        .map(|line| line.split("//").next().unwrap_or_default().to_owned() + "\n")
        .collect()
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let all = files(folder);
    all.into_iter()
        .filter(|f| f.extension().is_some_and(|e| e == "rs"))
        .collect()
}

/// All files below a folder, but for what is built, fetched or kept by tools.
fn files(folder: &Path) -> Vec<PathBuf> {
    let skip = ["target", ".git", "node_modules", ".venv"];
    let mut found = Vec::new();
    let entries = fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    for entry in entries {
        let entry = entry.unwrap();
        if skip.iter().any(|s| entry.file_name() == *s) {
            continue;
        }
        let path = entry.path();
        if entry.file_type().unwrap().is_dir() {
            found.extend(files(&path));
        } else {
            found.push(path);
        }
    }
    found
}

/// Places of one machine, and hosts that packages are fetched from. The lock file
/// of the build tool names its registry by itself.
const MACHINE: [&str; 12] = [
    concat!("/wo", "rk/"),
    concat!("/tm", "p/"),
    concat!("/ho", "me/"),
    concat!("/ro", "ot/"),
    concat!("/Us", "ers/"),
    concat!("C:", "\\"),
    concat!("index.crates", ".io"),
    concat!("static.crates", ".io"),
    concat!("registry.np", "mjs"),
    concat!("files.python", "hosted"),
    concat!("pypi", ".org"),
    concat!("registry.ya", "rnpkg"),
];

#[test]
fn no_file_names_a_machine_or_a_registry() {
    let (mut read, mut faulty) = (0, Vec::new());
    for file in files(&root()) {
        if file.ends_with("Cargo.lock") {
            continue;
        }
        // Pictures and the like are not text.
        let Ok(text) = fs::read_to_string(&file) else {
            continue;
        };
        read += 1;
        for (i, line) in text.lines().enumerate() {
            for word in MACHINE.iter().filter(|w| line.contains(**w)) {
                faulty.push(format!("{}:{}: {word}", file.display(), i + 1));
            }
        }
    }
    assert!(read > 200, "only {read} files");
    assert!(faulty.is_empty(), "{}", faulty.join("\n"));
}

fn set(names: &[&str]) -> BTreeSet<String> {
    names.iter().map(|n| (*n).to_owned()).collect()
}

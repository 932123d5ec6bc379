//! The command line from the outside: what is printed, what is refused, and how
//! the process ends.
//!
//! The plans are compared with `snapshots/`. After a change of wording that was
//! meant, refresh them with `INSTA_UPDATE=always cargo test -p gyle --test cli`
//! and read the difference before it is kept.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;

const PALE: &str = include_str!("../../../examples/lantern-pale.toml");
const DEMOS: [&str; 3] = ["lantern-pale", "lantern-pale-first", "towpath-amber"];

/// What a command answered.
struct Answer {
    code: i32,
    out: String,
    err: String,
}

impl Answer {
    fn of(output: Output) -> Self {
        Self {
            code: output.status.code().expect("the process ended by itself"),
            out: String::from_utf8(output.stdout).expect("text"),
            err: String::from_utf8(output.stderr).expect("text"),
        }
    }

    /// Standard output of a command that must succeed and complain of nothing.
    #[track_caller]
    fn fine(self) -> String {
        assert_eq!(self.code, 0, "{}", self.err);
        assert_eq!(self.err, "");
        self.out
    }

    #[track_caller]
    fn json(self) -> Value {
        serde_json::from_str(&self.fine()).expect("JSON")
    }
}

/// The program as a person without settings of their own would run it.
fn gyle(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gyle"));
    command
        .args(args)
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../.."))
        .env_remove("RUST_BACKTRACE")
        .env("NO_COLOR", "1")
        .env("COLUMNS", "80")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

fn run(args: &[&str]) -> Answer {
    Answer::of(gyle(args).output().expect("gyle runs"))
}

fn run_with_input(args: &[&str], input: &str) -> Answer {
    let mut child = gyle(args)
        .stdin(Stdio::piped())
        .spawn()
        .expect("gyle starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    match stdin.write_all(input.as_bytes()) {
        // What is refused by its options alone ends before it reads.
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => {}
        written => written.expect("gyle reads"),
    }
    drop(stdin);
    Answer::of(child.wait_with_output().expect("gyle ends"))
}

fn demo_path(demo: &str) -> String {
    format!("examples/{demo}.toml")
}

/// A path in the folder that the build keeps for tests; nothing is there.
fn fresh(name: &str) -> PathBuf {
    let path =
        Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{}-{name}", std::process::id()));
    let _ = fs::remove_file(&path);
    path
}

fn validator(of: &str) -> jsonschema::Validator {
    let schema = run(&["schema", of]).json();
    assert!(schema["$id"].as_str().is_some_and(|id| id.contains(of)));
    jsonschema::validator_for(&schema).expect("the schema is a schema")
}

#[track_caller]
fn assert_valid(validator: &jsonschema::Validator, value: &Value) {
    if let Err(error) = validator.validate(value) {
        panic!("{error} at {}", error.instance_path());
    }
}

#[test]
fn the_plans_of_the_demos() {
    for demo in DEMOS {
        let plan = run(&["reckon", &demo_path(demo)]).fine();
        insta::assert_snapshot!(demo, plan);
    }
}

#[test]
fn the_same_plan_in_us_units() {
    let path = demo_path("lantern-pale");
    let us = run(&["reckon", &path, "--units", "us"]).fine();
    insta::assert_snapshot!("lantern-pale-us", us);
    for unit in [" gal", " lb", "°F", " SRM"] {
        assert!(us.contains(unit), "no {unit}");
    }
    let metric = run(&["reckon", &path]).fine();
    assert_eq!(metric, run(&["reckon", &path, "--units", "metric"]).fine());
    for unit in ["°F", " SRM", " psi"] {
        assert!(!metric.contains(unit), "{unit} in a metric plan");
    }
}

#[test]
fn plans_fit_a_page_of_eighty() {
    for demo in DEMOS {
        for units in ["metric", "us"] {
            let plan = run(&["reckon", &demo_path(demo), "--units", units]).fine();
            for line in plan.lines() {
                let wide = line.chars().count() > 80 && line.trim().contains(' ');
                assert!(!wide, "{line}");
                assert_eq!(line, line.trim_end());
            }
            assert!(plan.contains("1  Water") && plan.ends_with('\n'));
        }
    }
}

#[test]
fn a_reckoning_as_json_follows_its_schema() {
    let schema = validator("reckoning");
    for demo in DEMOS {
        let value = run(&["reckon", &demo_path(demo), "--json"]).json();
        assert_valid(&schema, &value);
        assert_eq!(value["schema"], "gylewright/reckoning/1");
        assert_eq!(value["stages"].as_array().map(Vec::len), Some(6));
    }
    let first = run(&["reckon", &demo_path("lantern-pale-first"), "--json"]).json();
    assert_eq!(first["sign"], "act");
    assert_eq!(first["glass"]["risks"][0]["key"], "medicinal");
    assert_eq!(first["glass"]["risks"][0]["grade"], "high");
    assert!(!schema.is_valid(&serde_json::json!({"schema": "gylewright/reckoning/1"})));
}

#[test]
fn the_schema_of_a_batch_accepts_the_demos() {
    let schema = validator("batch");
    for demo in DEMOS {
        let text = run(&["example", demo]).fine();
        let table: toml::Table = text.parse().expect("TOML");
        assert_valid(&schema, &serde_json::to_value(table).unwrap());
    }
    assert!(!schema.is_valid(&serde_json::json!({"batch": {"name": "half"}})));
}

#[test]
fn a_document_that_is_fine_is_said_to_be() {
    let path = demo_path("lantern-pale");
    let told = run(&["check", &path]).fine();
    assert!(
        told.contains("Lantern Pale, second brewing is a batch document"),
        "{told}"
    );
    let check = run(&["check", &path, "--json"]).json();
    assert_valid(&validator("check"), &check);
    assert_eq!(check["fine"], true);
    assert_eq!(check["name"], "Lantern Pale, second brewing");
    assert_eq!(check["faults"], serde_json::json!([]));
    let assumed = check["assumptions"].as_array().unwrap();
    assert!(assumed.iter().any(|a| a["path"] == "kit.absorption"));
}

#[test]
fn a_fault_is_shown_where_it_stands() {
    let bad = PALE
        .replace("\"20 L\"", "\"20 litters\"")
        .replace("\"19 °C\"", "\"19\"");
    let told = run_with_input(&["check", "-"], &bad);
    assert_eq!((told.code, told.out.as_str()), (2, ""));
    insta::assert_snapshot!("faults", told.err);
    let path = fresh("bad.toml");
    fs::write(&path, &bad).unwrap();
    let answer = run(&["check", path.to_str().unwrap(), "--json"]);
    assert_eq!(answer.code, 2);
    let check: Value = serde_json::from_str(&answer.out).expect("JSON on standard output");
    assert_valid(&validator("check"), &check);
    assert_eq!(check["fine"], false);
    let faults = check["faults"].as_array().unwrap();
    assert!(faults.len() >= 2, "{faults:#?}");
    let (from, to) = (&faults[0]["from_byte"], &faults[0]["to_byte"]);
    let span = from.as_u64().unwrap() as usize..to.as_u64().unwrap() as usize;
    assert_eq!(&bad[span], "litters");
    let line = faults[0]["line"].as_u64().unwrap() as usize;
    assert!(bad.lines().nth(line - 1).unwrap().contains("litters"));
    fs::remove_file(path).unwrap();
}

/// Reckoning refuses what can be read but not brewed, as text and as JSON, and
/// keeps standard output for results.
#[test]
fn a_plan_that_cannot_be_is_refused() {
    let thick = PALE.replace("\"3.2 L/kg\"", "\"9 L/kg\"");
    assert_eq!(run_with_input(&["check", "-"], &thick).code, 0);
    let told = run_with_input(&["reckon", "-"], &thick);
    assert_eq!((told.code, told.out.as_str()), (2, ""));
    assert!(
        told.err.contains("mash") && told.err.contains("would work"),
        "{}",
        told.err
    );
    let told = run_with_input(&["reckon", "-", "--json"], &thick);
    assert_eq!((told.code, told.out.as_str()), (2, ""));
    let check: Value = serde_json::from_str(&told.err).expect("JSON on standard error");
    assert_valid(&validator("check"), &check);
    assert_eq!(check["faults"][0]["path"], "mash");
}

#[test]
fn demos_are_listed_written_and_never_overwrite() {
    let list = run(&["example"]).fine();
    for demo in DEMOS {
        assert!(list.contains(demo), "{list}");
        assert_eq!(
            run(&["example", demo]).fine(),
            run(&["example", &format!("{demo}.toml")]).fine()
        );
    }
    let json = run(&["example", "--json"]).json();
    assert_valid(&validator("demos"), &json);
    let names: Vec<&str> = json["demos"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|d| d["name"].as_str())
        .collect();
    assert!(DEMOS.iter().all(|d| names.contains(d)), "{names:?}");
    let path = fresh("mine.toml");
    let into = path.to_str().unwrap();
    assert_eq!(run(&["example", "lantern-pale", "--into", into]).fine(), "");
    assert_eq!(fs::read_to_string(&path).unwrap(), PALE);
    fs::write(&path, "mine").unwrap();
    let again = run(&["example", "lantern-pale", "--into", into]);
    assert_eq!((again.code, again.out.as_str()), (3, ""));
    assert!(again.err.contains("cannot write"), "{}", again.err);
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    fs::remove_file(path).unwrap();
}

#[test]
fn standard_input_is_as_good_as_a_file() {
    let from_file = run(&["reckon", &demo_path("lantern-pale")]).fine();
    assert_eq!(run_with_input(&["reckon", "-"], PALE).fine(), from_file);
    let told = run_with_input(&["check", "-"], PALE).fine();
    assert!(told.starts_with("standard input: "), "{told}");
}

/// As in `gyle reckon … | head -1`. The document is handed over after the reader
/// has gone, so that there is nobody to write to.
#[test]
fn a_reader_that_goes_away_is_no_error() {
    for args in [&["reckon", "-"][..], &["reckon", "-", "--json"]] {
        let mut child = gyle(args)
            .stdin(Stdio::piped())
            .spawn()
            .expect("gyle starts");
        drop(child.stdout.take());
        let mut stdin = child.stdin.take().expect("a pipe");
        stdin.write_all(PALE.as_bytes()).expect("gyle reads");
        drop(stdin);
        let answer = Answer::of(child.wait_with_output().expect("gyle ends"));
        assert_eq!((answer.code, answer.err.as_str()), (0, ""));
    }
}

fn subcommands() -> Vec<String> {
    listed(&run(&["--help"]).fine())
}

/// The commands that a help lists, but for help itself.
fn listed(help: &str) -> Vec<String> {
    let commands = help.split("Commands:").nth(1).unwrap_or_default();
    commands
        .lines()
        .skip(1)
        .take_while(|line| line.starts_with("  "))
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .map(str::to_owned)
        .collect()
}

#[test]
fn help_explains_itself_by_example() {
    let help = run(&["--help"]).fine();
    assert!(help.contains("Exit codes:") && help.contains("from the tap to the glass"));
    let commands = subcommands();
    for known in ["reckon", "check", "example", "schema", "completions", "man"] {
        assert!(
            commands.iter().any(|c| c == known),
            "{known} is not in {commands:?}"
        );
    }
    for command in commands {
        assert_has_example(&[&command]);
    }
}

/// A command has an example; where it only groups others, each of those has.
fn assert_has_example(command: &[&str]) {
    let help = run(&[command, &["--help"]].concat()).fine();
    let parts = listed(&help);
    if parts.is_empty() {
        let examples = help.split("Example").nth(1).unwrap_or_default();
        assert!(
            examples.contains(&format!("gyle {}", command.join(" "))),
            "no example:\n{help}"
        );
    }
    for part in &parts {
        assert_has_example(&[command, &[part.as_str()]].concat());
    }
}

#[test]
fn the_manual_page_renders() {
    let page = run(&["man"]).fine();
    assert!(page.contains(".TH gyle 1"), "{}", &page[..200]);
    for section in [".SH NAME", ".SH SYNOPSIS", ".SH DESCRIPTION"] {
        assert!(page.contains(section), "no {section}");
    }
    for command in subcommands() {
        assert!(
            page.contains(&command),
            "{command} is not in the manual page"
        );
    }
}

#[test]
fn completions_name_every_command() {
    let commands = subcommands();
    for shell in ["bash", "zsh", "fish"] {
        let script = run(&["completions", shell]).fine();
        for command in &commands {
            assert!(script.contains(command), "{shell} does not know {command}");
        }
    }
    assert_eq!(run(&["completions", "abacus"]).code, 2);
}

#[test]
fn exit_codes_are_those_of_the_help() {
    let pale = demo_path("lantern-pale");
    for (args, code) in [
        (&["--version"][..], 0),
        (&["reckon", &pale], 0),
        (&["reckon"], 2),
        (&["reckon", &pale, "--units", "cubits"], 2),
        (&["reckon", &pale, "--no-such-option"], 2),
        (&["example", "no-such-beer"], 2),
        (&["example", "--into", "somewhere.toml"], 2),
        (&["schema", "sonnet"], 2),
        (&["reckon", "no-such-file.toml"], 3),
        (&["check", "examples"], 3),
        (
            &[
                "example",
                "lantern-pale",
                "--into",
                "no-such-folder/mine.toml",
            ],
            3,
        ),
    ] {
        let answer = run(args);
        assert_eq!(answer.code, code, "{args:?}\n{}{}", answer.out, answer.err);
        if code != 0 {
            assert_eq!(answer.out, "", "{args:?}");
            assert!(
                answer.err.trim().len() > 20,
                "{args:?} says too little: {}",
                answer.err
            );
        }
    }
}

#[test]
fn a_reading_is_measured_and_a_bad_one_is_told_with_its_option() {
    let warm = run(&["measure", "hydrometer", "1.048", "--at", "28 °C"]).fine();
    assert!(warm.starts_with("  gravity "), "{warm}");
    assert!(warm.contains("1.0502 ± 0.0010"), "{warm}");

    let bad = run(&["measure", "hydrometer", "1.048", "--at", "28 °Q"]);
    assert_eq!((bad.code, bad.out.as_str()), (2, ""));
    assert!(
        bad.err.starts_with("at: temperature: unknown unit"),
        "{}",
        bad.err
    );

    let bad = run(&["measure", "alcohol", "1.010", "1.050", "--json"]);
    assert_eq!(bad.code, 2);
    let told: Value = serde_json::from_str(&bad.err).expect("JSON");
    assert_eq!(told["faults"][0]["path"], "now");
}

/// The examples of the help can be run, and their JSON has the shape of its schema.
#[test]
fn every_example_of_measure_runs_and_is_described() {
    let schema = run(&["schema", "measurement"]).json();
    let wanted: Vec<&str> = schema["required"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(Value::as_str)
        .collect();
    assert!(wanted.contains(&"figures"), "{wanted:?}");
    let mut run_examples = 0;
    for tool in [
        "hydrometer",
        "refractometer",
        "alcohol",
        "extract",
        "dilute",
        "glass",
        "spirit",
        "keg",
        "line",
        "priming-wort",
        "purge",
        "bottle-oxygen",
        "store",
        "cells",
        "starter",
    ] {
        // Wide enough that no example is broken in two.
        let mut wide = gyle(&["measure", tool, "--help"]);
        let help = Answer::of(wide.env("COLUMNS", "200").output().expect("gyle runs")).fine();
        for example in help.lines().filter_map(|l| l.trim().strip_prefix("gyle ")) {
            let mut args = words(example);
            if args.last().is_some_and(|last| last != "--json") {
                args.push("--json".to_owned());
            }
            let told = run(&args.iter().map(String::as_str).collect::<Vec<_>>()).json();
            assert!(wanted.iter().all(|key| !told[key].is_null()), "{example}");
            assert_eq!(told["tool"], tool);
            run_examples += 1;
        }
    }
    assert_eq!(run_examples, 31);
}

/// The words of a command line; double quotes keep spaces.
fn words(line: &str) -> Vec<String> {
    line.split('"')
        .enumerate()
        .flat_map(|(i, part)| match i % 2 {
            0 => part.split_whitespace().map(str::to_owned).collect(),
            _ => vec![part.to_owned()],
        })
        .collect()
}

#[test]
fn a_pitch_is_told_for_a_batch_and_for_a_wort() {
    let schema = validator("pitch");
    let pale = demo_path("lantern-pale");
    let said = run(&["pitch", &pale]).fine();
    assert!(
        said.lines().all(|line| line.chars().count() <= 80),
        "{said}"
    );
    for words in [
        "cells needed",
        "living cells at hand",
        "Pitch what is there",
        "half the cells needed",
        "Never aerate again",
        "Feeds fire",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let json = run(&["pitch", &pale, "--json"]).json();
    assert_valid(&schema, &json);
    assert_eq!(json["schema"], "gylewright/pitch/1");

    // Rate × extract × volume: 2.0 × 12 × 20 = 480 billion.
    let wort = [
        "pitch",
        "--gravity",
        "12 °P",
        "--volume",
        "20 L",
        "--class",
        "lager",
        "--aim",
        "clean",
        "--form",
        "liquid",
        "--cells",
        "200 billion cells",
        "--age",
        "30 d",
    ];
    let said = run(&wort).fine();
    assert!(said.contains("480 billion cells"), "{said}");
    assert!(said.contains("Make a stirred starter"), "{said}");
    let bad = run(&[
        "pitch",
        "--gravity",
        "heavy",
        "--volume",
        "20 L",
        "--class",
        "larger",
    ]);
    assert_eq!(bad.code, 2);
    for words in ["gravity", "lager", "form"] {
        assert!(bad.err.contains(words), "{words}: {}", bad.err);
    }
    assert_eq!(run(&["pitch"]).code, 2);
}

#[test]
fn a_course_is_steered() {
    let schema = validator("steer");
    let amber = demo_path("towpath-amber");
    let wish = [
        "--by",
        "18 d",
        "--butter",
        "at most 0.08 mg/L",
        "--esters",
        "least",
    ];
    let ask = |more: &[&str]| run(&[&["steer", &amber], &wish[..], more].concat());
    let said = ask(&[]).fine();
    assert!(
        said.lines().all(|line| line.chars().count() <= 80),
        "{said}"
    );
    for words in [
        "The best course",
        "Days against esters",
        "What a little of each buys",
        "1 K cooler",
        "a quarter more yeast",
        "keeps the wish in",
        "calibrated",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let json = ask(&["--json"]).json();
    assert_valid(&schema, &json);
    assert_eq!(json["schema"], "gylewright/steer/1");
    assert_eq!(json["kept"], true);
    let best = &json["choices"][0]["figures"];
    let number = |key: &str| best[key].as_f64().expect("a number");
    assert!(number("days") <= 18.001 && number("diacetyl_mg_per_l") < 0.0801);
    let planned = json["planned"]["ethyl_acetate_mg_per_l"].as_f64();
    assert!(number("ethyl_acetate_mg_per_l") < planned.expect("a number"));

    let csv = ask(&["--csv"]).fine();
    let rows: Vec<&str> = csv.lines().collect();
    assert!(rows[0].starts_with("key,pitch_factor,keeps,days,"), "{csv}");
    assert!(rows[1].starts_with("best,") && rows.len() > 4, "{csv}");
    assert!(
        rows.iter()
            .all(|row| row.split(',').count() == rows[0].split(',').count())
    );
    // The same question gives the same answer.
    assert_eq!(csv, ask(&["--csv"]).fine());
}

#[test]
fn the_rest_of_a_running_batch_is_steered_and_what_cannot_be_is_told() {
    let amber = demo_path("towpath-amber");
    let read = "1 d, 1.050; 2 d, 1.048; 3 d, 1.042, 11 °C; 4 d, 1.036; 5 d, 1.030";
    let said = run(&["steer", &amber, "--read", read]).fine();
    for words in ["Where it stands", "times its class", "day 5.0"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert!(!said.contains("more yeast"), "{said}");
    let said = run(&["steer", &amber, "--clove", "at least 3 mg/L"]).fine();
    for words in [
        "the wish cannot be kept whole",
        "stands against it",
        "makes no clove",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let bad = run(&[
        "steer", &amber, "--butter", "none", "--by", "soon", "--read", "x",
    ]);
    assert_eq!(bad.code, 2);
    for words in ["butter", "by", "read"] {
        assert!(bad.err.contains(words), "{words}: {}", bad.err);
    }
}

#[test]
fn a_count_and_a_starter_of_a_document_are_reckoned_and_printed() {
    let slurry = PALE.replace(
        "form = \"dry\"\npackets = 2\npacket_mass = \"11.5 g\"\nage = \"90 d\"\n",
        "form = \"slurry\"\nslurry = \"100 mL\"\n\n[yeast.count]\ncells = \"187\"\nover = \"groups\"\nsquares = \"5\"\ndilution = \"100\"\ndead = \"12\"\nof = \"200\"\n\n[[yeast.step]]\nvolume = \"1.5 L\"\nway = \"stirred\"\n\n",
    );
    assert_ne!(slurry, PALE);
    let plan = run_with_input(&["reckon", "-"], &slurry).fine();
    assert!(plan.contains("starter, step 1"), "{plan}");
    let json = run_with_input(&["pitch", "-", "--json"], &slurry).json();
    // 187/5 × 25 × 10⁴ × 100 × 188/200 cells/mL in 100 mL are 87.89 billion.
    let before = json["before_starter_billions"].as_f64().expect("a number");
    assert!((before - 87.89).abs() < 1e-6, "{before}");
    assert!((json["viability"].as_f64().expect("a number") - 0.94).abs() < 1e-9);
    let odd = slurry.replace("form = \"slurry\"", "form = \"liquid\"");
    let told = run_with_input(&["check", "-"], &odd);
    assert_eq!(told.code, 2);
    assert!(
        told.err.contains("a count belongs to a slurry"),
        "{}",
        told.err
    );
}

#[test]
fn the_ways_out_of_chlorine_are_set_side_by_side() {
    let pale = demo_path("lantern-pale");
    let said = run(&["water", "chlorine", &pale]).fine();
    assert!(
        said.lines().all(|line| line.chars().count() <= 80),
        "{said}"
    );
    for words in [
        "chloramine, likely",
        "How potassium metabisulfite is done",
        "as planned",
        "How to check it",
        "Activated carbon",
        "Take care",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let json = run(&[
        "water",
        "chlorine",
        &pale,
        "--have",
        "ascorbic acid",
        "--json",
    ])
    .json();
    assert_valid(&validator("water-chlorine"), &json);
    assert_eq!(json["take"]["way"], "ascorbic acid");
    assert_eq!(json["ways"][0]["plan"][0]["value"], "reagent");
}

#[test]
fn a_dose_that_the_scale_cannot_weigh_becomes_a_stock_solution() {
    let first = demo_path("lantern-pale-first");
    let powder = ["--have", "potassium metabisulfite", "--scale", "0.1 g"];
    let said = run(&[&["water", "chlorine", &first][..], &powder].concat()).fine();
    assert!(said.contains("too little for the scale"), "{said}");
    let tablet = [
        "--tablet",
        "sodium metabisulfite",
        "--tablet-mass",
        "0.44 g",
    ];
    let said = run(&[&["water", "chlorine", &first][..], &tablet].concat()).fine();
    assert!(said.contains("in quarters"), "{said}");
    let wrong = run(&[
        "water", "chlorine", &first, "--time", "soon", "--have", "hope",
    ]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("time: ") && wrong.err.contains("have: "),
        "{}",
        wrong.err
    );
}

#[test]
fn the_breakpoint_is_told_as_text_json_and_csv() {
    let said = run(&["water", "breakpoint", "--ammonia", "1 mg/L"]).fine();
    assert!(
        said.lines().all(|line| line.chars().count() <= 80),
        "{said}"
    );
    assert!(said.contains("breakpoint by stoichiometry"), "{said}");
    let json = run(&["water", "breakpoint", "--json"]).json();
    assert_valid(&validator("water-breakpoint"), &json);
    let csv = run(&["water", "breakpoint", "--csv"]).fine();
    assert_eq!(
        csv.lines().count(),
        json["points"].as_array().unwrap().len() + 1
    );
    let wrong = run(&["water", "breakpoint", "--ammonia", "0 mg/L"]);
    assert!(
        wrong.code == 2 && wrong.err.contains("no breakpoint"),
        "{}",
        wrong.err
    );
}

#[test]
fn the_waters_at_hand_are_ranked_with_reasons() {
    let demo = demo_path("lantern-pale");
    let found = run(&["water", "choose", &demo]).fine();
    insta::assert_snapshot!("choose-lantern-pale", found);
    let winter = "mains@2026-02-10=examples/library/harrowmere-mains/2026-02-10.toml";
    let summer = "mains@2026-09-24=examples/library/harrowmere-mains/2026-09-24.toml";
    let asked = [
        "water",
        "choose",
        &demo,
        "--analysis",
        winter,
        "--analysis",
        summer,
        "--water",
        "mains",
        "--water",
        "source 2",
        "--price",
        "source 2=0.40",
        "--json",
    ];
    let json = run(&asked).json();
    assert_valid(&validator("water-choice"), &json);
    let ranked = json["ranked"].as_array().unwrap();
    assert_eq!(ranked.len(), 3);
    let mains = ranked.iter().find(|r| r["name"] == "mains").unwrap();
    assert_eq!(mains["seasons"].as_array().unwrap().len(), 2);
    assert!(!mains["changes"].as_array().unwrap().is_empty());
    assert_eq!(mains["cost"], 0.0);
}

#[test]
fn a_choice_that_cannot_be_made_says_what_would_work() {
    let demo = demo_path("lantern-pale");
    let unknown = run(&["water", "choose", &demo, "--water", "pond"]);
    assert_eq!(unknown.code, 2);
    assert!(unknown.err.contains("Cold Fell spring"), "{}", unknown.err);
    let price = run(&["water", "choose", &demo, "--price", "spring"]);
    assert!(price.err.contains("spring=0.40"), "{}", price.err);
    let missing = run(&["water", "choose", &demo, "--analysis", "mains=none.toml"]);
    assert!(missing.err.contains("none.toml"), "{}", missing.err);
}

#[test]
fn salts_and_acid_are_found_for_the_aim() {
    let found = run(&["water", "minerals", &demo_path("lantern-pale")]).fine();
    assert!(
        found.lines().all(|line| line.chars().count() <= 80),
        "{found}"
    );
    assert!(found.contains("How near the aim"), "{found}");
    assert!(!found.contains("NOT MET"), "{found}");
    let json = run(&["water", "minerals", &demo_path("lantern-pale"), "--json"]).json();
    assert_valid(&validator("minerals"), &json);
    let few = run(&[
        "water",
        "minerals",
        &demo_path("lantern-pale"),
        "--have",
        "gypsum",
        "--most",
        "1",
    ])
    .fine();
    assert!(few.contains("NOT MET") && few.contains("gypsum"), "{few}");
}

#[test]
fn a_document_with_what_was_found_reckons_and_needs_nothing_more() {
    let to = fresh("minerals.toml");
    let path = to.to_str().expect("a path");
    run(&[
        "water",
        "minerals",
        &demo_path("lantern-pale"),
        "--write",
        path,
    ])
    .fine();
    run(&["reckon", path]).fine();
    let again = run(&["water", "minerals", path, "--json"]).json();
    let first = run(&["water", "minerals", &demo_path("lantern-pale"), "--json"]).json();
    assert_eq!(again["additions"], first["additions"]);
}

#[test]
fn a_question_that_cannot_be_used_ends_with_two() {
    let answer = run(&[
        "water",
        "minerals",
        &demo_path("lantern-pale"),
        "--have",
        "gypsun",
    ]);
    assert_eq!(answer.code, 2);
    assert!(answer.err.contains("write gypsum"), "{}", answer.err);
    assert_eq!(answer.out, "");
}

const REPORT: &str = "Calcium 96 ± 4 mg/L\nAlkalinity 230 mg/L\nGlimmer 12 furlongs\n";

#[test]
fn a_report_is_read_and_its_questions_answered_by_line() {
    let open = run_with_input(&["water", "read", "-"], REPORT).fine();
    assert!(open.contains("--answer 2=CaCO3"), "{open}");
    assert!(open.contains("not understood"), "{open}");
    assert!(open.lines().all(|l| l.chars().count() <= 80), "{open}");
    let args = ["water", "read", "-", "--answer", "2=CaCO3", "--as-source"];
    let block = run_with_input(&args, REPORT).fine();
    assert!(block.starts_with("[[water.source]]"), "{block}");
    assert!(
        block.contains("alkalinity = \"230 mg/L as CaCO3\""),
        "{block}"
    );
    let json = run_with_input(&["water", "read", "-", "--json"], REPORT).json();
    assert_valid(&validator("water-report"), &json);
}

#[test]
fn an_answer_to_nothing_is_refused_with_what_is_open() {
    let wrong = run_with_input(&["water", "read", "-", "--answer", "9=N"], REPORT);
    assert_eq!(wrong.code, 2);
    assert!(wrong.err.contains("open are lines 2"), "{}", wrong.err);
    let choice = run_with_input(&["water", "read", "-", "--answer", "2=N"], REPORT);
    assert_eq!(choice.code, 2);
    assert!(choice.err.contains("choose one of"), "{}", choice.err);
}

#[test]
fn the_ways_out_of_chlorine_stand_side_by_side() {
    let sheet = run(&["water", "chlorine", &demo_path("lantern-pale")]).fine();
    assert!(sheet.contains("potassium metabisulfite"), "{sheet}");
    assert!(sheet.contains("Take care"), "{sheet}");
    let json = run(&["water", "chlorine", &demo_path("lantern-pale"), "--json"]).json();
    assert_valid(&validator("water-chlorine"), &json);
    assert_eq!(json["take"]["way"], "potassium metabisulfite");
    // An hour is too short for a filter that takes seven.
    let short = [
        "water",
        "chlorine",
        &demo_path("lantern-pale"),
        "--time",
        "1 h",
        "--json",
    ];
    let ways = run(&short).json();
    let carbon = ways["ways"].as_array().unwrap().iter();
    let carbon = carbon.clone().find(|w| w["way"] == "activated carbon");
    assert_eq!(carbon.unwrap()["in_time"], false);
}

#[test]
fn what_is_dissolved_is_told_hot_and_cold() {
    let demo = demo_path("lantern-pale");
    let sheet = run(&["water", "dissolved", &demo]).fine();
    assert!(sheet.contains("would scale"), "{sheet}");
    assert!(sheet.contains("Slaked lime"), "{sheet}");
    assert!(
        sheet.lines().all(|line| line.chars().count() <= 80),
        "{sheet}"
    );
    let json = run(&["water", "dissolved", &demo, "--json"]).json();
    assert_valid(&validator("water-dissolved"), &json);
    let states = json["states"].as_array().unwrap();
    let of = |state: &str, figure: &str| {
        let found = states.iter().find(|s| s["state"] == state).unwrap();
        found.pointer(figure).unwrap().as_f64().unwrap()
    };
    let chalk = |state| of(state, "/saturation/calcite");
    assert!(
        chalk("heated") > chalk("as it is"),
        "chalk dissolves less in hot water"
    );
    let alkalinity = |state| of(state, "/alkalinity_meq_per_l");
    assert!(alkalinity("boiled, poured off") < 0.7 * alkalinity("as it is"));
}

#[test]
fn acid_for_the_sparge_is_told_and_a_question_that_cannot_be_read_is_not() {
    let demo = demo_path("lantern-pale");
    let ask = |more: &[&str]| {
        let args = ["water", "dissolved", demo.as_str(), "--of", "sparge"];
        run(&[args.as_slice(), more].concat())
    };
    let sheet = ask(&["--acid", "lactic acid 80 %", "--to", "5.6"]).fine();
    assert!(sheet.contains("lactic acid 80 % to pH 5.60"), "{sheet}");
    assert!(sheet.contains("never water to acid"), "{sheet}");
    let json = ask(&["--to", "25 mg/L as CaCO3", "--volume", "10 L", "--json"]).json();
    assert_valid(&validator("water-dissolved"), &json);
    let closed = &json["acid"]["closed"];
    assert!((closed["alkalinity_meq_per_l"].as_f64().unwrap() - 0.4996).abs() < 1e-3);
    assert!(closed["volume_ml"].as_f64().unwrap() > 1.0);
    let wrong = ask(&["--to", "sour", "--temperature", "hot"]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("neither a pH nor an alkalinity") && wrong.err.contains("temperature")
    );
}

#[test]
fn a_reading_of_the_mash_is_answered() {
    let demo = demo_path("lantern-pale");
    let high = run(&["water", "mash", &demo, "--ph", "5.80 ± 0.03"]).fine();
    assert!(high.contains("lower it"), "{high}");
    assert!(high.contains("lactic acid"), "{high}");
    assert!(
        high.contains("Start with") && high.contains("never water to acid"),
        "{high}"
    );
    let json = run(&["water", "mash", &demo, "--ph", "5.80 ± 0.03", "--json"]).json();
    assert_valid(&validator("water-mash"), &json);
    assert_eq!(
        (&json["action"], &json["ways"][0]["what"]),
        (&"lower".into(), &"lactic acid 80 %".into())
    );
    let table = run(&["water", "mash", &demo]).fine();
    assert!(
        table.contains("If it reads") && table.contains("baking soda"),
        "{table}"
    );
    let absurd = run(&["water", "mash", &demo, "--ph", "3.8"]).fine();
    assert!(
        absurd.contains("read a cooled sample") && !absurd.contains("Start with"),
        "{absurd}"
    );
    let early = run(&["water", "mash", &demo, "--ph", "5.80", "--after", "2 min"]).fine();
    assert!(early.contains("wait"), "{early}");
    let second = [
        "--ph",
        "5.62",
        "--after",
        "25 min",
        "--added",
        "lactic acid 80 % = 2 mL",
    ];
    let text = PALE.replacen(
        "[boil]",
        "[[mash.reading]]\nph = \"5.80\"\nafter = \"15 min\"\n\n[boil]",
        1,
    );
    let two = run_with_input(
        &[["water", "mash", "-"].as_slice(), &second].concat(),
        &text,
    )
    .fine();
    assert!(
        two.contains("reading 1, cooled") && two.contains("reading 2, cooled"),
        "{two}"
    );
    let wrong = run(&["water", "mash", &demo, "--ph", "acid", "--at", "hot"]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("--ph:") && wrong.err.contains("--at:"),
        "{}",
        wrong.err
    );
}

#[test]
fn a_decoction_is_weighed_and_the_tun_loses_heat() {
    let amber = run(&["example", "towpath-amber"]).fine();
    let second = "temperature = \"71 °C\"\ntime = \"30 min\"\n";
    let thick = amber.replacen(second, &format!("{second}by = \"thick decoction\"\n"), 1);
    let told = run_with_input(&["wort", "mash", "-"], &thick).fine();
    // Lines are broken where they are full.
    let unbroken = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "thick mash from below",
        "10 to 20 % more",
        "What the tun loses",
    ] {
        assert!(unbroken.contains(part), "{part} in {told}");
    }
    let json = run_with_input(&["wort", "mash", "-", "--json"], &thick).json();
    assert_valid(&validator("wort-mash"), &json);
    let pull = &json["steps"][0]["pull"];
    assert!(
        pull["of_grain"].as_f64() > pull["of_liquor"].as_f64(),
        "{json}"
    );
    assert!(json["ends_c"].as_f64() < Some(71.0));
}

#[test]
fn the_tables_of_malts_and_hops_are_printed_with_their_marks() {
    let munich = run(&["wort", "malts", "munich"]).fine();
    for part in [
        "Munich malt, light",
        "from memory",
        "[diastatic_power]",
        "Kolbach",
    ] {
        assert!(munich.contains(part), "{part} in {munich}");
    }
    let json = run(&["wort", "hops", "saaz", "--json"]).json();
    assert_valid(&validator("ingredient-table"), &json);
    assert_eq!(json["rows"][0]["name"], "Saaz");
    let none = run(&["wort", "malts", "gravel"]);
    assert!(
        none.err.contains("no name in the table of malts"),
        "{}",
        none.err
    );
}

#[test]
fn the_run_off_is_followed_and_says_when_to_stop() {
    let demo = demo_path("lantern-pale");
    let text = run(&["wort", "lauter", &demo]).fine();
    for part in [
        "Collected: gravity and pH",
        "brewhouse efficiency",
        "one more refill",
    ] {
        assert!(text.contains(part), "{part} in {text}");
    }
    let json = run(&["wort", "lauter", &demo, "--json"]).json();
    assert_valid(&validator("wort-lauter"), &json);
    let product: f64 = json["efficiency"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| step["share"].as_f64().unwrap())
        .product();
    let brewhouse = json["brewhouse_efficiency"].as_f64().unwrap();
    // The sugar of the kettle is lost in no mash and no lauter.
    assert!(
        product < brewhouse && brewhouse < product + 0.02,
        "{product} {brewhouse}"
    );
    let uneven = run(&[
        "wort", "lauter", &demo, "--refill", "2 L", "--refill", "10 L",
    ])
    .fine();
    assert!(uneven.contains("with equal refills"), "{uneven}");
    let wrong = run(&["wort", "lauter", &demo, "--refill", "much"]);
    assert_eq!(wrong.code, 2);
}

/// A hop by its storage index, a dry hop that has aged, and the colour.
#[test]
fn the_boil_says_what_hops_and_heat_did() {
    let written = fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../..")
            .join(demo_path("lantern-pale")),
    )
    .unwrap();
    let hop = |index: &str| {
        let first = format!("alpha = \"8.2 ± 0.5 %\"\nstorage_index = \"{index}\"");
        let dry = "used = \"dry\"\nage = \"300 d\"\nform = \"pellets\"";
        written
            .replace("alpha = \"8.2 ± 0.5 %\"", &first)
            .replace("used = \"boil\"\ntime = \"10 min\"", dry)
    };
    let text = run_with_input(&["wort", "boil", "-"], &hop("0.35")).fine();
    for part in [
        "6.9 ± 0.6 % alpha",
        "the yeast, on its walls",
        "a laboratory would read",
        "formed by this boil",
        "Daniels",
        "#f",
    ] {
        assert!(text.contains(part), "{part} in {text}");
    }
    let json = run_with_input(&["wort", "boil", "-", "--json"], &hop("0.35")).json();
    assert_valid(&validator("wort-boil"), &json);
    // 110·lg(0.35/0.25) = 16.1 % lost (Nickerson & Likens 1979).
    let alpha = json["hops"][0]["alpha_percent"].as_f64().unwrap();
    assert!((alpha - 8.2 * 0.839).abs() < 0.01, "{alpha}");
    let (low, high) = (
        json["dry_hops"]["measured_ibu"]["low"].as_f64().unwrap(),
        json["dry_hops"]["measured_ibu"]["high"].as_f64().unwrap(),
    );
    let reckoned = json["bitterness_ibu"].as_f64().unwrap();
    assert!(low < high && reckoned < high, "{low} {reckoned} {high}");
    assert_eq!(json["hops"][1]["form"], "pellets");
    let glass = &json["colour"]["formulas"][0]["glass"];
    assert_eq!(glass.as_array().unwrap().len(), 3);
    let wrong = run_with_input(&["wort", "boil", "-"], &hop("0.1"));
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("hop storage index cannot be 0.1")
            && wrong.err.contains("between 0.15 and 2 would work"),
        "{}",
        wrong.err
    );
}

#[test]
fn a_reading_of_the_kettle_is_answered_with_what_can_be_done() {
    let demo = demo_path("lantern-pale");
    let weak = [
        "wort",
        "correct",
        &demo,
        "--at",
        "kettle full",
        "--volume",
        "27.5 L",
        "--volume-at",
        "95 °C",
        "--gravity",
        "1.036",
    ];
    let text = run(&weak).fine();
    for part in ["stands at", "min longer", "dried malt extract", "Leave it"] {
        assert!(text.contains(part), "{part} in {text}");
    }
    let json = run(&[weak.as_slice(), &["--json"]].concat()).json();
    assert_valid(&validator("wort-correct"), &json);
    let plato = |form: &Value| form["original_gravity_plato"].as_f64().unwrap();
    assert!(plato(&json["now"]) < plato(&json["aim"]));
    let ways = json["ways"].as_array().unwrap();
    let malt = ways.iter().find(|w| w["key"] == "malt extract").unwrap();
    assert!((plato(&malt["outcome"]) - plato(&json["aim"])).abs() < 0.06);

    // What a way says, written into the document, brings the batch to what it says.
    let done = &malt["done"][0];
    let kept = format!(
        "{PALE}\n[[brew_day.reading]]\nat = \"kettle full\"\nvolume = \"27.5 L\"\nvolume_at = \"95 °C\"\ngravity = \"1.036\"\n\
         [[brew_day.done]]\nat = \"kettle full\"\nwhat = \"add\"\nof = {}\namount = {}\n",
        done["of"], done["amount"]
    );
    let after = run_with_input(&["wort", "correct", "-", "--json"], &kept).json();
    assert!((plato(&after["now"]) - plato(&malt["outcome"])).abs() < 0.01);

    let wrong = run(&[
        "wort",
        "correct",
        &demo,
        "--at",
        "boil",
        "--gravity",
        "heavy",
    ]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("--after:") && wrong.err.contains("--gravity:"),
        "{}",
        wrong.err
    );
}

#[test]
fn a_tasting_goes_from_its_plan_to_its_result() {
    let plan = run(&["taste", "plan", "--difference", "1"]).fine();
    assert!(
        plan.contains("6 triangles see a difference of d' = 1 in 5.0 % of cases"),
        "{plan}"
    );
    assert!(plan.contains("301 triangles"), "{plan}");
    let json = run(&[
        "taste",
        "plan",
        "--protocol",
        "tetrad",
        "--tastings",
        "24",
        "--json",
    ])
    .json();
    assert_valid(&validator("tasting-plan"), &json);
    let draw = [
        "taste",
        "draw",
        "--beer",
        "ours",
        "--reference",
        "theirs",
        "--taster",
        "Ann",
        "--taster",
        "Ben",
    ];
    let drawn = run(&draw).fine();
    assert_eq!(drawn, run(&draw).fine(), "the same seed draws the same");
    let sheet = run_with_input(&["taste", "serve", "-"], &drawn).fine();
    assert!(
        sheet.contains("= ours") && sheet.contains("= theirs"),
        "{sheet}"
    );
    let blind = run_with_input(&["taste", "serve", "-", "--taster", "Ben"], &drawn).fine();
    assert!(!blind.contains(" = "), "{blind}");
    assert_eq!(blind.matches("I name").count(), 3);
    let code = odd_of(&sheet, 1);
    let answer = ["taste", "answer", "-", "--tasting", "1", "--glass", &code];
    let answered = run_with_input(&answer, &drawn).fine();
    let twice = run_with_input(&answer, &answered);
    assert_eq!(twice.code, 2);
    assert!(twice.err.contains("answered twice"), "{}", twice.err);
    let result = run_with_input(&["taste", "judge", "-"], &answered).fine();
    assert!(
        result.contains("1 right of 1 so far, up to 5 to come: pour on."),
        "{result}"
    );
    let json = run_with_input(&["taste", "judge", "-", "--json"], &answered).json();
    assert_valid(&validator("tasting-result"), &json);
    assert_eq!(json["tasters"][0]["right"], 1);
}

#[test]
fn points_are_recorded_by_the_codes_of_the_glasses() {
    let draw = "taste draw --beer ours --reference theirs --taster Ann --scored bitterness";
    let drawn = run(&draw.split(' ').collect::<Vec<_>>()).fine();
    let sheet = run_with_input(&["taste", "serve", "-"], &drawn).fine();
    let (_, to_score) = sheet.split_once("To score").unwrap();
    let code_of = |beer: &str| {
        let before = to_score.split(&format!(" = {beer}")).next().unwrap();
        before[before.len() - 3..].to_owned()
    };
    let (ours, theirs) = (code_of("ours"), code_of("theirs"));
    let blind = run_with_input(&["taste", "serve", "-", "--taster", "Ann"], &drawn).fine();
    assert!(blind.contains(&format!("{ours}: ______")), "{blind}");
    assert!(!blind.contains(" = "), "{blind}");
    let score = |points: &str| {
        let args = "taste score - --taster Ann --attribute bitterness --points";
        let args: Vec<&str> = args.split(' ').chain([points]).collect();
        run_with_input(&args, &drawn)
    };
    let scored = score(&format!("{theirs} 2, {ours} 6.5")).fine();
    let json = run_with_input(&["taste", "judge", "-", "--json"], &scored).json();
    assert_eq!(json["attributes"][0]["mean"]["value"], 4.5);
    let wrong = score(&format!("{ours} 6"));
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("for both glasses of Ann"),
        "{}",
        wrong.err
    );
    let unread = score("lots");
    assert!(unread.err.contains("such as 417 5"), "{}", unread.err);
}

#[test]
fn a_tasting_that_cannot_be_is_told_what_would_work() {
    for (args, told) in [
        (&["taste", "plan", "--protocol", "square"][..], "tetrad"),
        (&["taste", "plan", "--tastings", "0"], "from 1 to 3000"),
        (
            &["taste", "plan", "--difference", "nan"],
            "between 0 and 12",
        ),
        (
            &[
                "taste",
                "draw",
                "--beer",
                "a",
                "--reference",
                "b",
                "--taster",
                "Ann",
                "--tastings",
                "601",
            ],
            "600",
        ),
    ] {
        let answer = run(args);
        assert_eq!(answer.code, 2, "{args:?}");
        assert!(answer.err.contains(told), "{}", answer.err);
    }
    let unknown = run_with_input(
        &["taste", "serve", "-", "--taster", "Zoe"],
        &run(&[
            "taste",
            "draw",
            "--beer",
            "a",
            "--reference",
            "b",
            "--taster",
            "Ann",
        ])
        .fine(),
    );
    assert!(
        unknown.code == 2 && unknown.err.contains("Ann"),
        "{}",
        unknown.err
    );
}

#[test]
fn glasses_one_at_a_time_are_judged() {
    let ask = [
        "taste",
        "one-glass",
        "--batch",
        "10/20",
        "--reference",
        "3/20",
    ];
    let sheet = run(&ask).fine();
    assert!(
        sheet.contains("A difference is shown: 10 of 20") && sheet.contains("d' = 1.04"),
        "{sheet}"
    );
    let json = run(&[&ask[..], &["--json"]].concat()).json();
    assert_valid(&validator("tasting-one-glass"), &json);
    let wrong = run(&[
        "taste",
        "one-glass",
        "--batch",
        "ten",
        "--reference",
        "3/20",
    ]);
    assert!(
        wrong.code == 2 && wrong.err.contains("such as 10/20"),
        "{}",
        wrong.err
    );
}

/// The code of the odd glass of a triangle, from the serving sheet.
fn odd_of(sheet: &str, number: u32) -> String {
    let start = format!("  {number}  ");
    let line = sheet
        .lines()
        .find(|l| l.starts_with(&start))
        .expect("a line");
    let glasses: Vec<(&str, &str)> = line
        .split(", ")
        .filter_map(|part| part.split_once(" = "))
        .map(|(code, beer)| (code.rsplit(' ').next().unwrap_or_default(), beer.trim()))
        .collect();
    let alone = |beer: &str| glasses.iter().filter(|(_, other)| *other == beer).count() == 1;
    let odd = glasses
        .iter()
        .find(|(_, beer)| alone(beer))
        .expect("an odd glass");
    odd.0.to_owned()
}

#[test]
fn a_package_says_stop_and_what_to_do_with_full_bottles() {
    let path = demo_path("lantern-pale");
    let plan = run(&["package", &path]).fine();
    assert!(
        plan.contains("should never pass") && plan.contains("licensed practice"),
        "{plan}"
    );
    let weak = PALE.replace("bottle = \"heavy-returnable\"", "bottle = \"unknown\"");
    let stop = run_with_input(&["package", "-"], &weak).fine();
    assert!(stop.contains("STOP") && stop.contains("goggles"), "{stop}");
    let json = run_with_input(&["package", "-", "--json"], &weak).json();
    assert_valid(&validator("package"), &json);
    assert_eq!(json["package"]["safety"], "stop");
    // Bleach in the keg is of the packing: its caution stands beside it.
    let bleached = format!(
        "{weak}\n[[cleaning]]\nvessel = \"keg\"\nagent = \"hypochlorite\"\nrinse = \"none\"\n"
    );
    let told = run_with_input(&["package", "-"], &bleached).fine();
    assert!(told.contains("Chlorine bleach never with acid"), "{told}");
    let json = run_with_input(&["package", "-", "--json"], &bleached).json();
    let cautions = json["cautions"].as_array().unwrap();
    assert!(cautions.iter().any(|c| c["key"] == "chlorine-mixtures"));
}

#[test]
fn cleaning_is_mixed_listed_and_kept_apart() {
    let mixed = run(&[
        "clean",
        "mix",
        "hypochlorite",
        "--to",
        "200 mg/L",
        "--volume",
        "10 L",
    ])
    .fine();
    assert!(mixed.contains("38.1 mL of household bleach"), "{mixed}");
    let json = run(&["clean", "mix", "peracetic-acid", "--json"]).json();
    assert_valid(&validator("cleaning-mix"), &json);
    assert_valid(
        &validator("cleaning-agents"),
        &run(&["clean", "agents", "--json"]).json(),
    );
    let apart = run(&["clean", "together", "hypochlorite", "vinegar", "--json"]).json();
    assert_valid(&validator("cleaning-together"), &apart);
    assert!(apart["sentence"].as_str().unwrap().contains("chlorine gas"));
    assert!(
        run(&["clean", "agents", "iodophor"])
            .fine()
            .contains("not up to")
    );
    let wrong = run(&["clean", "mix", "bleach"]);
    assert_eq!(wrong.code, 2);
    assert!(wrong.err.contains("hypochlorite"), "{}", wrong.err);
}

#[test]
fn a_report_is_one_file_that_is_never_overwritten() {
    let path = fresh("report.html");
    let demo = demo_path("lantern-pale");
    let to = path.to_str().unwrap();
    assert_eq!(run(&["report", &demo, "-o", to]).fine(), "");
    let page = fs::read_to_string(&path).unwrap();
    assert!(page.starts_with("<!DOCTYPE html>") && !page.contains("href="));
    assert_eq!(run(&["report", &demo]).fine(), page);
    let again = run(&["report", &demo, "-o", to]);
    assert_ne!(again.code, 0);
    assert_eq!(fs::read_to_string(&path).unwrap(), page);
    fs::remove_file(path).unwrap();
}

#[test]
fn an_inquiry_names_the_water_and_what_would_settle_it() {
    let path = demo_path("lantern-pale-first");
    let asked = ["inquire", &path, "--found", "medicinal"];
    let told = run(&asked).fine();
    let at = |words: &str| {
        told.find(words)
            .unwrap_or_else(|| panic!("no {words} in {told}"))
    };
    assert!(at("Chloramine in the brewing water") < at("What would settle it"));
    assert!(
        told.contains("judgement") && told.contains("metabisulfite into"),
        "{told}"
    );
    let answer = run(&[&asked[..], &["--json"]].concat()).json();
    assert_valid(&validator("inquiry"), &answer);
    assert_eq!(answer["causes"][0]["key"], "chloramine-in-water");
    let less = run(&[&asked[..], &["--negative", "split-other-water", "--json"]].concat()).json();
    let made = |answer: &Value| {
        let causes = answer["causes"].as_array().unwrap();
        let water = causes.iter().find(|c| c["key"] == "chloramine-in-water");
        water.and_then(|c| c["made"].as_f64()).unwrap_or(0.0)
    };
    assert!(made(&less) < made(&answer));
}

#[test]
fn an_inquiry_is_written_as_a_story() {
    let name = format!("gyle-story-{}.html", std::process::id());
    let kept = std::env::temp_dir().join(name);
    let file = kept.to_str().unwrap();
    let path = demo_path("lantern-pale-first");
    run(&["inquire", &path, "--report", file]).fine();
    let page = std::fs::read_to_string(file).unwrap();
    let again = run(&["inquire", &path, "--report", file]);
    std::fs::remove_file(file).unwrap();
    assert!(
        page.contains("What came of it") && !page.contains("href="),
        "{page}"
    );
    assert_ne!(again.code, 0, "a file that is there is never written over");
    let both = run(&["inquire", &path, "--report", file, "--found", "butter"]);
    assert_eq!(both.code, 2, "{}", both.err);
    let meant = run(&["inquire", &path, "--found", "diacetyl"]);
    assert!(meant.err.contains("\"butter\""), "{}", meant.err);
}

#[test]
fn single_glasses_are_drawn_answered_and_judged() {
    let draw =
        "taste draw --beer ours --reference theirs --taster Ann --protocol a-not-a --tastings 4";
    let drawn = run(&draw.split(' ').collect::<Vec<_>>()).fine();
    let blind = run_with_input(&["taste", "serve", "-", "--taster", "Ann"], &drawn).fine();
    assert!(
        blind.contains("same / other") && !blind.contains(" = "),
        "{blind}"
    );
    let sheet = run_with_input(&["taste", "serve", "-"], &drawn).fine();
    assert_eq!(
        (
            sheet.matches("= ours").count(),
            sheet.matches("= theirs").count()
        ),
        (2, 2)
    );
    let mut text = drawn;
    for n in ["1", "2", "3", "4"] {
        let args = ["taste", "answer", "-", "--tasting", n, "--glass", "other"];
        text = run_with_input(&args, &text).fine();
    }
    let json = run_with_input(&["taste", "judge", "-", "--json"], &text).json();
    assert_valid(&validator("tasting-result"), &json);
    assert_eq!(json["single_glasses"]["batch_called_other"], 2);
    assert_eq!(
        (&json["p"], &json["shown"]),
        (&Value::from(1.0), &Value::from(false))
    );
    let plan = run(&["taste", "plan", "--protocol", "a-not-a", "--tastings", "20"]).fine();
    assert!(plan.contains("20 single glasses see"), "{plan}");
}

#[test]
fn a_tasting_stands_beside_what_was_reckoned() {
    let draw = "taste draw --beer ours --reference theirs --taster Ann --scored clove";
    let drawn = run(&draw.split(' ').collect::<Vec<_>>()).fine();
    let scored = format!(
        "{drawn}\n[[score]]\nattribute = \"clove\"\ntaster = \"Ann\"\nbatch = \"0\"\nreference = \"0\"\n"
    );
    let path = demo_path("lantern-pale");
    let told = run_with_input(&["taste", "judge", "-", "--batch", &path], &scored).fine();
    assert!(
        told.contains("4-vinylguaiacol") && told.contains("less than was reckoned"),
        "{told}"
    );
    let json = run_with_input(
        &["taste", "judge", "-", "--batch", &path, "--json"],
        &scored,
    )
    .json();
    assert_valid(&validator("tasting-result"), &json);
    assert_eq!(json["held"][0]["found"][0]["agreement"], "over");
}

/// A logger's file with a western one-byte degree sign, a quotation mark that stays
/// open, a word for a time, and no end of line at its end.
const CELLAR: &[u8] = b"time;Extrakt;temp \xb0C\n14.03.2026 09:00;12,0;19,5\n14.03.2026 21:00;\"11,2;19,9\ngestern;10,4;20,1\n15.03.2026 21:00;9,1;20,4\n16.03.2026 09:00;8,0;20,2";

#[test]
fn a_log_is_kept_from_its_file_and_every_row_is_told() {
    let (store, file) = (fresh("cellar.db"), fresh("cellar.csv"));
    let (store, file) = (store.to_str().unwrap(), file.to_str().unwrap());
    let at = |args: &[&str]| run(&[args, &["--store", store]].concat());
    fs::write(file, CELLAR).unwrap();
    at(&["keep", &demo_path("lantern-pale")]).fine();
    let unsaid = at(&["log", "keep", "lantern", file]);
    assert_eq!(unsaid.code, 2);
    assert!(unsaid.err.contains("temperature °C"), "{}", unsaid.err);
    let keep = [
        "log",
        "keep",
        "lantern",
        file,
        "--as-guessed",
        "--offset",
        "+01:00",
        "--json",
    ];
    let log = validator("log");
    let kept = at(&keep).json();
    assert_valid(&log, &kept);
    let kept = &kept["kept"];
    assert_eq!(
        (&kept["rows"], &kept["added"], &kept["refusals"]),
        (&5.into(), &6.into(), &2.into()),
        "{kept}"
    );
    assert!(
        kept["refused"][0]["why"]
            .as_str()
            .unwrap()
            .contains("not closed"),
        "{kept}"
    );
    assert_eq!(at(&keep).json()["kept"]["already"], 6);
    let shown = at(&["log", "show", "lantern", "--json"]).json();
    assert_valid(&log, &shown);
    assert_eq!(shown["channels"][0]["ucum"], "%{Plato}");
    assert_eq!(
        shown["channels"][0]["readings"][0]["at"],
        "2026-03-14T08:00:00.000Z"
    );
    assert_eq!(shown["deliveries"].as_array().unwrap().len(), 2);
    assert!(
        shown["remarks"][0]["raw"]
            .as_str()
            .unwrap()
            .contains("11,2")
    );
    let page = at(&["log", "show", "lantern"]).fine();
    assert!(page.contains("gestern"), "{page}");
}

#[test]
fn a_batch_goes_into_the_study_only_where_that_was_agreed() {
    let store = fresh("study.db");
    let store = store.to_str().unwrap();
    let at = |args: &[&str]| run(&[args, &["--store", store]].concat());
    at(&["keep", &demo_path("lantern-pale")]).fine();
    at(&["keep", &demo_path("towpath-amber")]).fine();
    let agreed = |args: &[&str]| {
        let form = at(&[&["study"], args, &["--json"]].concat()).json();
        assert_valid(&validator("study"), &form);
        let names = form["agreed"].as_array().unwrap().iter();
        let names: Vec<String> = names.map(|b| b["name"].to_string()).collect();
        names.join(", ").to_lowercase()
    };
    assert_eq!(agreed(&["state"]), "");
    assert!(agreed(&["agree", "--batch", "lantern"]).contains("lantern"));
    let all = agreed(&["agree", "--every-batch"]);
    assert!(all.contains("lantern") && all.contains("towpath"), "{all}");
    let one = agreed(&["withdraw", "--batch", "lantern"]);
    assert!(!one.contains("lantern") && one.contains("towpath"), "{one}");
    assert!(!agreed(&["agree", "--every-batch"]).contains("lantern"));
    assert_eq!(agreed(&["withdraw", "--every-batch"]), "");
    let told = at(&["study", "state"]).fine();
    assert!(
        told.contains("What leaves") && told.contains("0 of 2"),
        "{told}"
    );
    let open = at(&["study", "agree"]);
    assert_eq!(open.code, 2, "{}", open.err);
}

#[test]
fn a_device_is_let_in_listed_moved_and_shut_out() {
    let store = fresh("devices.db");
    let store = store.to_str().unwrap();
    let at = |args: &[&str]| run(&[args, &["--store", store]].concat());
    at(&["keep", &demo_path("lantern-pale")]).fine();
    at(&["keep", &demo_path("towpath-amber")]).fine();
    let told = at(&["device", "add", "float", "--batch", "lantern"]).fine();
    let token = told
        .lines()
        .find(|line| line.starts_with("  "))
        .unwrap()
        .trim();
    assert_eq!(token.len(), 36 + 1 + 64, "{told}");
    let batches = at(&["list", "--json"]).json();
    assert_valid(&validator("batches"), &batches);
    assert_eq!(batches["batches"].as_array().unwrap().len(), 2);
    assert_valid(
        &validator("instruments"),
        &at(&["instrument", "list", "--json"]).json(),
    );
    let json = at(&["device", "list", "--json"]).json();
    assert_valid(&validator("devices"), &json);
    let listed = &json["devices"];
    assert_eq!(
        (&listed[0]["name"], &listed[0]["heard_at"]),
        (&"float".into(), &Value::Null)
    );
    assert!(
        !listed.to_string().contains(&token[37..]),
        "the secret is nowhere else"
    );
    at(&["device", "move", "float", "--batch", "towpath"]).fine();
    let moved = at(&["device", "list", "--json"]).json();
    assert_ne!(moved["devices"][0]["batch"], listed[0]["batch"]);
    let broken = at(&[
        "log",
        "enter",
        "lantern",
        "ph",
        "4.4",
        "--instrument",
        "a\nb",
    ]);
    assert!(
        broken.code == 2 && broken.err.contains("write it on one line"),
        "{}",
        broken.err
    );
    let us = at(&["package", "store:towpath", "--units", "us"]).fine();
    assert!(
        us.contains("psi with what is not known") && !us.contains(" bar"),
        "{us}"
    );
    at(&["device", "revoke", "float"]).fine();
    assert!(at(&["device", "list"]).fine().contains("revoked"));
    let again = at(&["device", "revoke", "float"]);
    assert_eq!(again.code, 2, "{}", again.err);
}

/// A server of a test, ended with it.
struct Served {
    process: std::process::Child,
    /// The addresses that it printed: its main door, and that of metrics.
    at: Vec<String>,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn served(store: &str, options: &[&str], doors: usize) -> Served {
    use std::io::{BufRead, BufReader};
    let mut process = gyle(&["serve", "--port", "0", "--no-browser", "--store", store])
        .args(options)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let lines = BufReader::new(process.stdout.take().unwrap()).lines();
    let at = lines
        .take(doors)
        .map(|line| {
            let line = line.unwrap();
            let after = line.split("http://").nth(1).unwrap();
            after.split('/').next().unwrap().to_owned()
        })
        .collect();
    Served { process, at }
}

/// One request, as a browser on a page of the server makes it.
fn asked(at: &str, method: &str, path: &str, more: &str, body: &str) -> String {
    use std::io::Read;
    let mut stream = std::net::TcpStream::connect(at).unwrap();
    let length = body.len();
    let head = format!(
        "{method} {path} HTTP/1.1\r\nhost: {at}\r\norigin: http://{at}\r\nconnection: close\r\n\
         content-type: application/x-www-form-urlencoded\r\ncontent-length: {length}\r\n{more}\r\n{body}"
    );
    stream.write_all(head.as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    answer
}

#[test]
fn two_shared_servers_know_the_same_people_and_tell_how_they_fare() {
    let store = fresh("people.db");
    let store = store.to_str().unwrap();
    let at = |args: &[&str]| run(&[args, &["--store", store]].concat());
    at(&["keep", &demo_path("lantern-pale")]).fine();
    assert!(at(&["people", "list"]).fine().contains("gyle people begin"));
    let address = ["--address", "https://brewing.example/"];
    let begun = at(&[
        &["people", "begin", "Lantern club", "--take-in"][..],
        &address,
    ]
    .concat());
    let begun = begun.fine();
    assert!(begun.contains("the 1 documents"), "{begun}");
    let (_, token) = begun
        .split_once("https://brewing.example/invitation/")
        .unwrap();
    let token = token.lines().next().unwrap();
    let json = at(&["people", "list", "--json"]).json();
    assert_valid(&validator("people"), &json);
    assert!(!json.to_string().contains(token));
    let group = json["groups"][0]["id"].as_str().unwrap();
    let more = at(&["people", "invite", group]).fine();
    assert!(more.contains("http://127.0.0.1:4180/invitation/"), "{more}");
    assert_eq!(at(&["people", "invite", "none"]).code, 3);
    assert_eq!(at(&["people", "shut-out", "ann"]).code, 3);
    // Whoever runs the server says no word on a batch of a group.
    let study = at(&["study", "agree", "--batch", "lantern"]);
    assert_eq!(study.code, 3, "{}", study.err);
    assert!(study.err.contains("a keeper of the group"), "{}", study.err);
    let all = at(&["study", "agree", "--every-batch", "--json"]).json();
    assert_eq!(
        (&all["batches"], &all["agreed"]),
        (&1.into(), &Value::Array(vec![]))
    );

    let watched = ["--shared", "--log", "json", "--metrics", "127.0.0.1:0"];
    let mut first = served(store, &watched, 2);
    let second = served(store, &["--shared"], 1);
    let entered = asked(
        &first.at[0],
        "POST",
        &format!("/invitation/{token}"),
        "",
        "name=ann&shown=Ann&password=ladle+copper+tide+eleven&again=ladle+copper+tide+eleven",
    );
    assert!(entered.starts_with("HTTP/1.1 303"), "{entered}");
    let cookie = entered.split("set-cookie: ").nth(1).unwrap();
    let cookie = format!("cookie: {}\r\n", cookie.split(';').next().unwrap());
    for at in [&first.at[0], &second.at[0]] {
        let page = asked(at, "GET", "/", &cookie, "");
        assert!(
            page.contains("Lantern Pale") && page.contains("Lantern club"),
            "{page}"
        );
        assert!(asked(at, "GET", "/api/batches", "", "").starts_with("HTTP/1.1 401"));
        assert!(asked(at, "GET", "/ready", "", "").ends_with("ready\n"));
    }
    let metrics = asked(&first.at[1], "GET", "/metrics", "", "");
    for line in [
        "gyle_http_request_duration_seconds_count{method=\"GET\",route=\"/\",status=\"200\"} 1",
        "gyle_http_request_duration_seconds_count{method=\"POST\",route=\"/invitation/{token}\",status=\"303\"} 1",
        "gyle_http_request_duration_seconds_count{method=\"GET\",route=\"/api/batches\",status=\"401\"} 1",
        "gyle_store_up 1",
        "gyle_sessions_open 1",
    ] {
        assert!(metrics.contains(line), "{line} in {metrics}");
    }
    assert!(asked(&first.at[1], "GET", "/", "", "").starts_with("HTTP/1.1 404"));

    // The first is gone, and the second answers on; its lines say nothing of anybody.
    first.process.kill().unwrap();
    let mut lines = String::new();
    std::io::Read::read_to_string(&mut first.process.stderr.take().unwrap(), &mut lines).unwrap();
    assert!(lines.lines().count() >= 4, "{lines}");
    for line in lines.lines() {
        let line: Value = serde_json::from_str(line).unwrap_or_else(|e| panic!("{e}: {line}"));
        if line["message"] == "answered" {
            assert!(
                line["route"].is_string() && line["ms"].is_number(),
                "{line}"
            );
        }
    }
    for secret in [
        token,
        "ann",
        "copper",
        cookie.trim().rsplit('=').next().unwrap(),
    ] {
        assert!(!lines.contains(secret), "{secret} in {lines}");
    }
    assert!(asked(&second.at[0], "GET", "/you", &cookie, "").starts_with("HTTP/1.1 200"));
    assert!(
        at(&["people", "shut-out", "ann"])
            .fine()
            .contains("ann is out")
    );
    assert!(asked(&second.at[0], "GET", "/you", &cookie, "").starts_with("HTTP/1.1 303"));
    let both = run(&["serve", "--shared", "--phones", "127.0.0.1:0"]);
    assert!(
        both.code == 2 && both.err.contains("--phones"),
        "{}",
        both.err
    );
}

#[test]
fn two_instruments_that_disagree_are_told_so() {
    let told = run(&["instrument", "agree", "1.012 ± 0.001", "1.018 ± 0.001"]).fine();
    assert!(told.contains("they disagree"), "{told}");
    let agree = [
        "instrument",
        "agree",
        "--of",
        "temperature",
        "19.5 ± 0.3 °C",
        "19.9 ± 0.3 °C",
        "--json",
    ];
    let found = run(&agree).json();
    assert_valid(&validator("measurement"), &found);
    assert!((found["figures"][0]["value"].as_f64().unwrap() - 19.7).abs() < 1e-9);
    let bare = run(&["instrument", "agree", "1.012", "1.018 ± 0.001"]);
    assert_eq!(bare.code, 2);
    assert!(bare.err.contains("no weight"), "{}", bare.err);
    let boil = run(&["instrument", "thermometer", "--altitude", "1500 m"]).fine();
    assert!(boil.contains("95.0"), "{boil}");
    let store = fresh("instruments.db");
    let none = run(&[
        "instrument",
        "add",
        "cellar",
        "--kind",
        "thermometer",
        "--brewhouse",
        "quay",
        "--store",
        store.to_str().unwrap(),
    ]);
    assert!(none.err.contains("brewhouse"), "{}", none.err);
    assert_eq!(none.code, 2);
}

#[test]
fn figures_are_told_with_how_sure_they_are() {
    let path = demo_path("lantern-pale");
    let few = ["certainty", &path, "--draws", "64", "--points", "4"];
    let sheet = run(&few).fine();
    assert!(
        sheet.contains("original gravity") && sheet.contains("most likely"),
        "{sheet}"
    );
    assert!(sheet.contains("What to know better"), "{sheet}");
    let json = run(&[&few[..], &["--json"]].concat()).json();
    assert_valid(&validator("certainty"), &json);
    assert_eq!(
        json["drawn"].as_u64().unwrap() + json["refused"].as_u64().unwrap(),
        64
    );
    let us = run(&[&few[..], &["--units", "us"]].concat()).fine();
    assert!(us.contains("°F") && us.contains("gal"), "{us}");
    let none = run(&["certainty", &path, "--draws", "3"]);
    assert_eq!(none.code, 2);
    assert!(none.err.contains("from 32"), "{}", none.err);
}

#[test]
fn recipes_are_found_for_an_aim() {
    let schema = validator("match");
    let pale = demo_path("lantern-pale");
    let wish = [
        "--aim",
        "bitterness=23 ± 2 IBU",
        "--lock",
        "water",
        "--draws",
        "32",
    ];
    let ask = |more: &[&str]| run(&[&["match", &pale], &wish[..], more].concat());
    let said = ask(&[]).fine();
    for words in [
        "Recipes that meet the aim",
        "Held against the aim",
        "Perle, 60 min",
        "Other answers",
        "in 100",
        "a kitchen scale",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let json = ask(&["--json"]).json();
    assert_valid(&schema, &json);
    assert_eq!(json["schema"], "gylewright/match/1");
    assert_eq!(json["met"], true);
    // The same question gives the same answer, and what is written is that document.
    let file = std::env::temp_dir().join(format!("matched-{}.toml", std::process::id()));
    let to = file.to_str().expect("a path");
    ask(&["--write", to]).fine();
    let written = std::fs::read_to_string(&file).expect("a document");
    assert_eq!(json["answers"][0]["document"], written);
    assert!(written.contains("# the utility uses chloramine"));
    run(&["check", to]).fine();
    std::fs::remove_file(&file).expect("it is there");
}

#[test]
fn an_aim_out_of_reach_is_explained_and_a_question_is_told_at_its_field() {
    let pale = demo_path("lantern-pale");
    let aim = [
        "--aim",
        "colour=25 ± 2 EBC",
        "--draws",
        "0",
        "--lock",
        "water",
    ];
    let said = run(&[&["match", &pale], &aim[..]].concat()).fine();
    for words in [
        "the aim cannot be met",
        "What stands against it",
        "cannot be had",
        "without an aim for the colour",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let bad = run(&["match", &pale, "--aim", "colour=dark", "--most", "x"]);
    assert_eq!(bad.code, 2);
    for words in ["colour", "most"] {
        assert!(bad.err.contains(words), "{words}: {}", bad.err);
    }
    let bad = run(&["match", &pale, "--aim", "colour"]);
    assert!(
        bad.code == 2 && bad.err.contains("colour='12 ± 1 EBC'"),
        "{}",
        bad.err
    );
}

#[test]
fn a_batch_is_moved() {
    let schema = validator("move");
    let pale = demo_path("lantern-pale");
    let quick = ["--draws", "0", "--only-best", "--lock", "water"];
    let ask = |more: &[&str]| run(&[&["move", &pale], &quick[..], more].concat());
    let said = ask(&["--volume", "50 L", "--altitude", "500 m"]).fine();
    for words in [
        "Multiplied alone",
        "2.5",
        "The recipe",
        "Held against the aim",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let json = ask(&["--volume", "50 L", "--json"]).json();
    assert_valid(&schema, &json);
    assert_eq!(
        json["matched"]["aims"][0]["from"],
        "what the batch comes to as it stands"
    );
    let bad = ask(&["--volume", "many"]);
    assert!(bad.code == 2 && bad.err.contains("volume"), "{}", bad.err);
}

#[test]
fn what_batches_taught_is_told_taken_and_given_back() {
    let (store, file) = (fresh("learn.db"), fresh("learn.toml"));
    let (store, file) = (store.to_str().unwrap(), file.to_str().unwrap());
    let at = |args: &[&str]| run(&[args, &["--store", store]].concat());
    let empty = at(&["learn"]);
    assert_eq!(empty.code, 2);
    assert!(
        empty.err.contains("the store has no batch"),
        "{}",
        empty.err
    );
    for (name, litres) in [("Early", "24.4"), ("Later", "24.6")] {
        let text = PALE.replacen(
            "\"Lantern Pale, second brewing\"",
            &format!("\"{name}\""),
            1,
        ) + &format!(
            "\n[[brew_day.reading]]\nat = \"kettle full\"\nvolume = \"27.6 ± 0.2 L\"\nvolume_at = \"90 °C\"\n\n[[brew_day.reading]]\nat = \"end of boil\"\nvolume = \"{litres} ± 0.2 L\"\nvolume_at = \"95 °C\"\n"
        );
        fs::write(file, text).unwrap();
        at(&["keep", file]).fine();
    }
    at(&["keep", &demo_path("lantern-pale")]).fine();
    let sheet = at(&["learn", "lantern"]).fine();
    assert!(sheet.contains("Steam of the boil"), "{sheet}");
    assert!(sheet.contains("earned from 2 batches"), "{sheet}");
    let json = at(&["learn", "lantern", "--half-life", "4", "--json"]).json();
    assert_valid(&validator("learning"), &json);
    let into = at(&["learn", "--into", "lantern"]).fine();
    assert!(
        into.contains("kit.evaporation") && into.contains("was 3.2 ± 0.4 kg/h"),
        "{into}"
    );
    let reckoned = at(&["reckon", "store:lantern"]).fine();
    assert!(reckoned.contains("learned from 2"), "{reckoned}");
    let again = at(&["learn", "--into", "store:lantern"]).fine();
    assert!(
        again.contains("nothing was learned that it has not already"),
        "{again}"
    );
    at(&["learn", "--out-of", "lantern"]).fine();
    assert!(
        !at(&["reckon", "store:lantern"])
            .fine()
            .contains("learned from")
    );
    let half = [
        "learn",
        "--keep-half-life",
        "lantern",
        "--half-life",
        "18 months",
    ];
    at(&half).fine();
    let json = at(&["learn", "lantern", "--json"]).json();
    assert_eq!(json["half_life_months"], 18.0);
    let wrong = at(&["learn", "lantern", "--half-life", "soon"]);
    assert!(
        wrong.code == 2 && wrong.err.contains("18 months"),
        "{}",
        wrong.err
    );
    let silent = at(&["learn", "--leave-out", "Later"]);
    assert_eq!(silent.code, 2);
    assert!(silent.err.contains("--because"), "{}", silent.err);
    at(&[
        "learn",
        "--leave-out",
        "Later",
        "--because",
        "the tap leaked",
    ])
    .fine();
    let one = at(&["learn", "lantern"]).fine();
    assert!(
        one.contains("left out, with it") && one.contains("earned from 1 batch:"),
        "{one}"
    );
    at(&["learn", "--count-again", "Later"]).fine();
    let wrong = at(&["learn", "lantern", "--half-life", "0"]);
    assert_eq!(wrong.code, 2);
    assert!(wrong.err.contains("from 0.1 to 10000"), "{}", wrong.err);
}

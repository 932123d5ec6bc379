//! `gyle watch` from the outside: a log beside a document, whatever it holds.
//!
//! The sheet is compared with `snapshots/`; after a change of wording that was meant,
//! refresh it with `INSTA_UPDATE=always cargo test -p gyle --test watch`.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on must stop"
)]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

const PALE: &str = "examples/lantern-pale.toml";
const LOG: &str = "examples/logs/lantern-pale.csv";

fn gyle(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gyle"));
    command
        .args(args)
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../.."))
        .env_remove("RUST_BACKTRACE")
        .env("NO_COLOR", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

fn run(args: &[&str], input: &str) -> Output {
    let mut child = gyle(args).spawn().expect("gyle starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    match stdin.write_all(input.as_bytes()) {
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => {}
        written => written.expect("gyle reads"),
    }
    drop(stdin);
    child.wait_with_output().expect("gyle ends")
}

/// What a command that succeeds says, and that it complains of nothing.
#[track_caller]
fn said(args: &[&str], input: &str) -> String {
    let output = run(args, input);
    let err = String::from_utf8(output.stderr).expect("text");
    assert_eq!((output.status.code(), err.as_str()), (Some(0), ""));
    String::from_utf8(output.stdout).expect("text")
}

fn json(args: &[&str], input: &str) -> Value {
    serde_json::from_str(&said(args, input)).expect("JSON")
}

/// The answer for a table on standard input.
fn of_table(table: &str) -> Value {
    json(&["watch", PALE, "--readings", "-", "--json"], table)
}

fn log() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(LOG);
    std::fs::read_to_string(path).expect("the log")
}

#[test]
fn the_sheet_of_a_log_with_a_foamy_float() {
    let sheet = said(&["watch", PALE, "--readings", LOG], "");
    insta::assert_snapshot!("watch-lantern-pale", sheet);
    assert!(sheet.lines().all(|line| line.chars().count() <= 80));
    let us = said(&["watch", PALE, "--readings", LOG, "--units", "us"], "");
    assert!(us.contains(" °F"), "{us}");
}

#[test]
fn json_is_as_the_schema_says_and_csv_is_a_table() {
    let schema = json(&["schema", "fermentation-course"], "");
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let course = json(&["watch", PALE, "--readings", LOG, "--json"], "");
    assert!(validator.is_valid(&course));
    assert_eq!(course["schema"], "gylewright/fermentation-course/1");
    assert!(course["fit"]["gravities"].as_u64().unwrap() > 50);
    let csv = said(&["watch", PALE, "--readings", LOG, "--csv"], "");
    let mut lines = csv.lines();
    assert!(lines.next().unwrap().starts_with("time (h),planned (°P)"));
    assert!(lines.all(|line| line.split(',').count() == 6));
}

#[test]
fn no_readings_are_an_answer_and_an_empty_table_is_told() {
    let plan = said(&["watch", PALE], "");
    assert!(plan.contains("No gravity was read yet"));
    let empty = run(&["watch", PALE, "--readings", "-"], "");
    assert_eq!(empty.status.code(), Some(2));
    let told = String::from_utf8(empty.stderr).expect("text");
    assert!(told.contains("there is nothing in it"), "{told}");
    let no_time = run(&["watch", PALE, "--readings", "-"], "colour\nred\nbrown\n");
    assert_eq!(no_time.status.code(), Some(2));
    let told = String::from_utf8(no_time.stderr).expect("text");
    assert!(told.contains("no column holds the time"), "{told}");
    let missing = run(&["watch", PALE, "--readings", "no-such.csv"], "");
    assert_eq!(missing.status.code(), Some(3));
}

#[test]
fn shuffled_and_repeated_rows_say_what_the_log_says() {
    let log = log();
    let mut rows: Vec<&str> = log.lines().collect();
    let head = rows.remove(0);
    let plain = of_table(&log);
    rows.reverse();
    let shuffled = format!("{head}\n{}\n{}\n", rows.join("\n"), rows[3]);
    let other = of_table(&shuffled);
    assert_eq!(plain["forecast"], other["forecast"]);
    let notes = other["notes"].to_string();
    assert!(
        notes.contains("times went back") && notes.contains("came twice"),
        "{notes}"
    );
}

#[test]
fn clocks_that_jump_and_values_that_cannot_be_are_left_out_with_their_reason() {
    let plain = of_table(&log());
    let odd = format!(
        "{}1970-01-01T00:00:00Z,float,1.040,19\n2099-01-01T00:00:00Z,float,1.040,19\n2026-03-15T03:10:00Z,float,9.999,900\n2026-03-15T03:20:00Z,float,1.140,19\n2026-03-15T03:30:00Z\n",
        log()
    );
    let answer = of_table(&odd);
    let text = answer.to_string();
    assert!(text.contains("more than a month from the others"));
    assert!(text.contains("far above the wort"));
    assert!(text.contains("could not be read as a whole"));
    let end = |a: &Value| a["end_plato"]["middle"].as_f64().unwrap();
    assert!((end(&answer) - end(&plain)).abs() < 0.1);
    assert_eq!(answer["pitched"], plain["pitched"]);
}

#[test]
fn times_that_count_from_a_start_count_from_pitching() {
    let table = "hours,gravity\n0,1.052\n24,1.044\n48,1.027\n72,1.018\n";
    let answer = of_table(table);
    assert_eq!(answer["pitched"], Value::Null);
    assert_eq!(answer["now_h"], 72.0);
    let dated = json(
        &[
            "watch",
            PALE,
            "--readings",
            "-",
            "--json",
            "--pitched",
            "2026-03-14T15:00:00Z",
        ],
        table,
    );
    assert_eq!(dated["pitched"], "2026-03-14 15:00 UTC");
    assert_eq!(dated["now_h"], 72.0);
    let refused = run(&["watch", PALE, "--pitched", "yesterday"], "");
    assert_eq!(refused.status.code(), Some(2));
    let again = json(
        &[
            "watch",
            PALE,
            "--readings",
            "-",
            "--json",
            "--instrument",
            "refractometer",
        ],
        table,
    );
    assert_eq!(again["instruments"][0]["kind"], "refractometer");
}

/// What a store keeps is watched by the name of its batch.
#[test]
fn a_batch_of_the_store_is_watched_with_what_was_kept_of_it() {
    let folder =
        Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("watch-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let store = folder.join("batches.db");
    let store = store.to_str().expect("a path");
    said(&["keep", PALE, "--store", store], "");
    said(
        &[
            "log",
            "keep",
            "lantern",
            LOG,
            "--as-guessed",
            "--store",
            store,
        ],
        "",
    );
    let kept = json(&["watch", "store:lantern", "--json", "--store", store], "");
    let beside = json(&["watch", PALE, "--readings", LOG, "--json"], "");
    assert_eq!(kept["forecast"], beside["forecast"]);
    std::fs::remove_dir_all(&folder).expect("it goes");
}

#[test]
fn the_whole_posterior_tells_how_far_it_is_and_how_well_it_went() {
    let table = "hours,gravity\n0,1.052\n24,1.044\n48,1.027\n72,1.018\n";
    let output = run(
        &["watch", PALE, "--readings", "-", "--full", "--json"],
        table,
    );
    assert_eq!(output.status.code(), Some(0));
    let err = String::from_utf8(output.stderr).expect("text");
    assert!(err.contains("sampling the whole posterior: 50 %"), "{err}");
    let answer: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let whole = &answer["posterior"];
    assert!(whole["r_hat"].as_f64().unwrap() < 1.1, "{whole}");
    assert!(whole["effective"].as_f64().unwrap() > 100.0, "{whole}");
}

/// Ctrl-C in the middle: nothing on standard output, a word on standard error.
#[cfg(unix)]
#[test]
fn an_interrupt_stops_the_sampler_cleanly() {
    use std::io::Read;
    let mut child = gyle(&["watch", PALE, "--readings", LOG, "--full"])
        .spawn()
        .expect("gyle starts");
    let mut err = child.stderr.take().expect("a pipe");
    let mut heard = Vec::new();
    let mut byte = [0];
    while !String::from_utf8_lossy(&heard).contains("0 %")
        && err.read(&mut byte).expect("read") == 1
    {
        heard.push(byte[0]);
    }
    let pid = child.id().to_string();
    let sent = Command::new("kill")
        .args(["-INT", &pid])
        .status()
        .expect("kill");
    assert!(sent.success());
    let mut rest = String::new();
    err.read_to_string(&mut rest).expect("text");
    let output = child.wait_with_output().expect("gyle ends");
    assert_eq!(output.status.code(), Some(2), "{rest}");
    assert!(
        output.stdout.is_empty() && rest.contains("stopped"),
        "{rest}"
    );
}

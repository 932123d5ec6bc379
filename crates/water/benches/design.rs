//! Designing against scipy on the same cases in one run, and how long a brewer
//! waits.
//!
//! Ours is the whole of `design`: search, rounding, reckoning by the models of the
//! stage, what binds. The peer minimises the same misfit once from one start, with
//! its derivative, in the interpreter that `tests/reference/setup` prints.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

#[path = "../tests/design_support/mod.rs"]
mod design_support;

use std::hint::black_box;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Instant;

use design_support::cases::{CASES, cases, of_case, squares};
use design_support::rich_task;
use water::design::{Task, design, settings};

/// How many of the cases, and the best of how many runs.
const COUNT: usize = 40;
const RUNS: u32 = 3;

fn main() {
    let cases: Vec<Vec<f64>> = cases().take(COUNT).collect();
    let tasks: Vec<Task> = cases.iter().map(|c| of_case(c, 1.0)).collect();
    let ours_s = seconds(&tasks, RUNS) / tasks.len() as f64;
    println!("{} cases of one liquor, 11 unknowns", tasks.len());
    println!("ours, whole design     {:>10.1} µs a case", 1e6 * ours_s);
    match peer() {
        Ok(methods) => {
            for (name, total_s, misfits) in methods {
                let each_s = total_s / misfits.len() as f64;
                let equal = cases.iter().zip(&misfits).filter(|(c, theirs)| {
                    (*theirs - our_misfit(c)).abs() <= 1e-6 * our_misfit(c).max(1.0)
                });
                println!(
                    "scipy {name:<16} {:>10.1} µs a case: {:.0} times ours; same misfit to 1e-6 in {} \
                     of {}",
                    1e6 * each_s,
                    each_s / ours_s,
                    equal.count(),
                    misfits.len()
                );
            }
        }
        Err(reason) => println!("scipy was not run: {reason}"),
    }
    let mut task = rich_task();
    let plain_s = seconds(std::slice::from_ref(&task), 200);
    println!(
        "two liquors, two waters, nine additions, {} unknowns",
        2 * 8 + 2 + 1
    );
    println!("whole design           {:>10.2} ms", 1e3 * plain_s);
    task.ladder = true;
    let ladder_s = seconds(std::slice::from_ref(&task), 20);
    println!("with the ladder        {:>10.2} ms", 1e3 * ladder_s);
}

/// Seconds for all tasks, each the best of so many runs, as for the peer: other
/// work on the machine counts for neither.
fn seconds(tasks: &[Task], runs: u32) -> f64 {
    let once = |task: &Task| {
        let begin = Instant::now();
        black_box(design(black_box(task)).ok());
        begin.elapsed().as_secs_f64()
    };
    let best = |task| (0..runs).map(|_| once(task)).fold(f64::INFINITY, f64::min);
    tasks.iter().map(best).sum()
}

/// What ours reaches where the scale hardly rounds, with the ridge of the peer.
fn our_misfit(case: &[f64]) -> f64 {
    let task = of_case(case, 1e-6);
    design(&task).map_or(f64::NAN, |found| {
        found.misfit.weighed + settings().ridge.value * squares(&task, &found)
    })
}

/// Name, seconds for all cases, and misfits, by method.
fn peer() -> Result<Vec<(String, f64, Vec<f64>)>, String> {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let setup = Command::new(format!("{root}/tests/reference/setup"))
        .output()
        .map_err(|e| e.to_string())?;
    let python = String::from_utf8_lossy(&setup.stdout).trim().to_owned();
    let script = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/design_scipy.py"
    );
    let mut child = Command::new(python)
        .args(["-W", "ignore", script, "--time", &RUNS.to_string()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|e| e.to_string())?;
    if let Some(mut stdin) = child.stdin.take() {
        for line in CASES.lines().take(COUNT) {
            writeln!(stdin, "{line}").map_err(|e| e.to_string())?;
        }
    }
    let output = child.wait_with_output().map_err(|e| e.to_string())?;
    if !output.status.success() {
        return Err(output.status.to_string());
    }
    String::from_utf8_lossy(&output.stdout)
        .lines()
        .map(|line| {
            let mut words = line.split_whitespace();
            let name = words.next().unwrap_or_default().to_owned();
            let numbers: Result<Vec<f64>, _> = words.map(str::parse).collect();
            let numbers = numbers.map_err(|e| e.to_string())?;
            let (seconds, misfits) = numbers.split_first().ok_or("nothing was told")?;
            Ok((name, *seconds, misfits.to_vec()))
        })
        .collect()
}

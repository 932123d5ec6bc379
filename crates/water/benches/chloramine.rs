//! A week of standing water and a breakpoint curve of 48 doses, against scipy's
//! LSODA and BDF at the same tolerances: seconds of each and the ratio.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use quantity::{Alkalinity, Ammonium, Chlorine, Duration, Ph, Temperature, molar_mass as m};
use water::chloramine::{Conditions, Start, breakpoint_curve, course};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> Outcome<()> {
    let ours = [best(week)?, best(curve)?];
    let python = interpreter()?;
    for method in ["LSODA", "BDF"] {
        let peer = peer(&python, method)?;
        for ((name, ours), peer) in ["week", "curve"].iter().zip(ours).zip(peer) {
            println!(
                "{name:6} ours {:.3} ms, scipy {method} {:.3} ms, ratio {:.0}",
                1e3 * ours,
                1e3 * peer,
                peer / ours
            );
        }
    }
    Ok(())
}

fn around() -> Conditions {
    Conditions {
        ph: Ph::from_ph(7.5),
        temperature: Temperature::from_c(20.0),
        alkalinity: Alkalinity::from_meq_per_l(2.0),
    }
}

fn nitrogen(mg_per_l: f64) -> Ammonium {
    Ammonium::from_mg_per_l(mg_per_l / m::N * Ammonium::MOLAR_MASS)
}

fn week() -> Outcome<()> {
    let start = Start {
        free_ammonia: nitrogen(0.1),
        ..Start::of_monochloramine(Chlorine::from_mg_per_l(3.0))
    };
    let times: Vec<Duration> = (1..169).map(|h| Duration::from_h(f64::from(h))).collect();
    black_box(course(&start, &around(), &times)?);
    Ok(())
}

fn curve() -> Outcome<()> {
    let doses: Vec<Chlorine> = (1..49)
        .map(|i| Chlorine::from_mg_per_l(0.25 * f64::from(i)))
        .collect();
    let hour = Duration::from_h(1.0);
    black_box(breakpoint_curve(nitrogen(1.0), &doses, &around(), hour)?);
    Ok(())
}

/// The shortest of some runs \[s\].
fn best(work: fn() -> Outcome<()>) -> Outcome<f64> {
    let mut shortest = f64::INFINITY;
    for _ in 0..20 {
        let start = Instant::now();
        work()?;
        shortest = shortest.min(start.elapsed().as_secs_f64());
    }
    Ok(shortest)
}

fn interpreter() -> Outcome<String> {
    let setup = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/setup");
    let out = Command::new(setup).output()?;
    Ok(String::from_utf8(out.stdout)?.trim().to_owned())
}

fn peer(python: &str, method: &str) -> Outcome<Vec<f64>> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/chloramine.py");
    let out = Command::new(python)
        .arg(script)
        .args(["bench", method, "1e-7", "1e-15"])
        .output()?;
    let text = String::from_utf8(out.stdout)?;
    let seconds: Result<Vec<f64>, _> = text.split_whitespace().map(str::parse).collect();
    Ok(seconds?)
}

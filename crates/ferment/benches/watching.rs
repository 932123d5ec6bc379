//! Watching: the first answer (goal 50 ms) and all of it with draws, forecast and alarms, the
//! whole posterior of four chains of 1,000 (goal 5 s), and effective draws a second against
//! the ensemble sampler of the library emcee on the same density in NumPy.
//!
//! Measured on two cores with nothing else on them, 2026-11: first answer 0.7 ms, all of it
//! 21 ms; the posterior 0.24 s, no divergence, R-hat 1.001, worth 1,287 draws at the least;
//! 47 times the effective draws a second of emcee.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use ferment::watch::{
    Expectation, GravityReading, Instrument, Log, Posterior, Sampling, Watching, first_answer,
    posterior, watch,
};
use ferment::{FermentError, strain};
use quantity::{Duration, Gravity, Measured, Temperature};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

/// An invented course of 12.2 °P at 20 °C, read by hydrometer twice a day \[°P\].
const READ: [f64; 7] = [12.3, 12.1, 11.0, 8.6, 6.3, 4.6, 3.6];
const EVERY_H: f64 = 12.0;
const ORIGINAL: f64 = 12.2;
const ORIGINAL_SD: f64 = 0.15;

fn main() -> Outcome<()> {
    let strain = strain("neutral ale")?;
    let original = Measured::with_sd(Gravity::from_plato(ORIGINAL), ORIGINAL_SD);
    let expectation = Expectation::of(strain, original);
    let at = |i: usize| Duration::from_h(EVERY_H * i as f64);
    let readings = READ.iter().enumerate().map(|(i, plato)| GravityReading {
        at: at(i),
        gravity: Gravity::from_plato(*plato),
        instrument: 0,
    });
    let log = Log {
        instruments: vec![("hydrometer".to_owned(), Instrument::Hydrometer)],
        gravities: readings.collect(),
        temperatures: (0..READ.len())
            .map(|i| (at(i), Temperature::from_c(20.0)))
            .collect(),
        ph: Vec::new(),
        less_sure_plato: Vec::new(),
    };
    let watching = Watching {
        expectation: &expectation,
        log: &log,
        planned: None,
        now: at(READ.len() - 1),
        seed: 1,
    };
    let first_s = shortest(|| first_answer(watching).map(drop))?;
    let all_s = shortest(|| watch(watching).map(drop))?;
    println!(
        "first answer, the most likely course and how sure it is: {:.1} ms; with draws, forecast and alarms {:.1} ms",
        1e3 * first_s,
        1e3 * all_s
    );
    let start = Instant::now();
    let whole = posterior(watching, Sampling::default())?;
    let took_s = start.elapsed().as_secs_f64();
    println!("four chains of 1,000: {took_s:.2} s, {}", told(&whole));
    let ours = whole.effective / took_s;
    let [peer_s, effective, r_hat, low, middle, high] = peer()?;
    println!(
        "emcee: {peer_s:.1} s, R-hat {r_hat:.3}, effective {effective:.0} at least, end {low:.2}, {middle:.2}, {high:.2} °P"
    );
    println!(
        "effective draws a second: ours {ours:.0}, emcee {:.1}, ratio {:.0}",
        effective / peer_s,
        ours * peer_s / effective
    );
    Ok(())
}

/// The shortest of some runs \[s\].
fn shortest(work: impl Fn() -> Result<(), FermentError>) -> Outcome<f64> {
    let mut least = f64::INFINITY;
    for _ in 0..20 {
        let start = Instant::now();
        black_box(work()?);
        least = least.min(start.elapsed().as_secs_f64());
    }
    Ok(least)
}

fn told(whole: &Posterior) -> String {
    format!(
        "{} divergences, R-hat {:.3}, effective {:.0} at least, {} gradients, end {:.2}, {:.2}, {:.2} °P",
        whole.divergences,
        whole.r_hat,
        whole.effective,
        whole.gradients,
        whole.end.low.plato(),
        whole.end.middle.plato(),
        whole.end.high.plato()
    )
}

/// Seconds, least effective size, R-hat, and the end \[°P\]: low, middle, high.
fn peer() -> Outcome<[f64; 6]> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let setup = Command::new(here.join("../../tests/reference/setup")).output()?;
    let python = String::from_utf8(setup.stdout)?.trim().to_owned();
    let numbers = [ORIGINAL, ORIGINAL_SD, EVERY_H].into_iter().chain(READ);
    let out = Command::new(python)
        .arg(here.join("tests/reference/watching_bench.py"))
        .args(numbers.map(|x| x.to_string()))
        .output()?;
    if !out.status.success() {
        return Err(String::from_utf8_lossy(&out.stderr).into());
    }
    let text = String::from_utf8(out.stdout)?;
    let found: Vec<f64> = text
        .split_whitespace()
        .map(str::parse)
        .collect::<Result<_, _>>()?;
    Ok(found.try_into().map_err(|_| "the peer said too little")?)
}

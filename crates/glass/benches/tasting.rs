//! The size of a difference for 61 shares of right triangles, and the number of
//! triangles that sees d' = 1, against scipy's quadrature, roots and binomial law:
//! seconds of each and the ratio.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use glass::tasting::{Protocol, tastings_for};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> Outcome<()> {
    let ours = [best(sizes)?, best(panel)?];
    for ((name, ours), peer) in ["sizes", "panel"].iter().zip(ours).zip(peer()?) {
        println!(
            "{name:6} ours {:.3} ms, scipy {:.3} ms, ratio {:.1}",
            1e3 * ours,
            1e3 * peer,
            peer / ours
        );
    }
    Ok(())
}

fn sizes() -> Outcome<()> {
    for step in 0..61 {
        let share = 0.35 + 0.01 * f64::from(step);
        black_box(Protocol::Triangle.d_prime_at(share)?);
    }
    Ok(())
}

fn panel() -> Outcome<()> {
    black_box(tastings_for(Protocol::Triangle, 1.0, 0.05, 0.80)?);
    Ok(())
}

/// The shortest of some runs \[s\].
fn best(work: fn() -> Outcome<()>) -> Outcome<f64> {
    let mut shortest = f64::INFINITY;
    for _ in 0..10 {
        let start = Instant::now();
        work()?;
        shortest = shortest.min(start.elapsed().as_secs_f64());
    }
    Ok(shortest)
}

fn peer() -> Outcome<Vec<f64>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let setup = Command::new(root.join("../../tests/reference/setup")).output()?;
    let python = String::from_utf8(setup.stdout)?;
    let out = Command::new(python.trim())
        .arg(root.join("tests/reference/tasting.py"))
        .arg("--time")
        .output()?;
    let text = String::from_utf8(out.stdout)?;
    let seconds: Result<Vec<f64>, _> = text.split_whitespace().map(str::parse).collect();
    Ok(seconds?)
}

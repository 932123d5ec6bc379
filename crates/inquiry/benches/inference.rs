//! Fifteen findings and more weighed, and all tests ranked; and a part of the network against
//! pgmpy's variable elimination in the same run: seconds of each and the ratio.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use inquiry::{Evidence, Facts, Finding, Knowledge, Network, Question, rank_tests};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

/// A part that pgmpy can hold: causes, present and absent findings.
const CAUSES: [&str; 7] = [
    "chloramine-in-water",
    "chlorine-sanitiser",
    "phenolic-yeast",
    "wild-yeast",
    "under-pitched",
    "too-warm",
    "hose-taint",
];
const PRESENT: [&str; 3] = ["medicinal", "clove", "banana"];
const ABSENT: [&str; 3] = ["butter", "solvent", "gravity-falling"];

fn main() -> Outcome<()> {
    let k = Knowledge::built_in();
    for (present, absent) in [(15, 0), (8, 7), (4, 11), (20, 0), (30, 0)] {
        let keys: Vec<&str> = spread(k).take(present + absent).collect();
        let at = |keys: &[&str]| {
            keys.iter()
                .map(|f| k.finding(f))
                .collect::<Result<Vec<_>, _>>()
        };
        let evidence = Evidence::plain(&at(&keys[..present])?, &at(&keys[present..])?);
        let weighed = best(|| {
            black_box(k.network.posterior(&evidence)?);
            Ok(())
        })?;
        let there = keys[..present].iter().map(|f| Finding::present(f));
        let not = keys[present..].iter().map(|f| Finding::absent(f));
        let question = Question {
            findings: there.chain(not).collect(),
            ..Question::default()
        };
        let ranked = best(|| {
            black_box(rank_tests(&Facts::default(), &question)?);
            Ok(())
        })?;
        println!(
            "{present:2} present and {absent:2} absent: weighed in {:.2} ms, all {} tests ranked in {:.1} ms",
            1e3 * weighed,
            k.tests.len(),
            1e3 * ranked
        );
    }
    against_pgmpy(k)
}

/// Findings of which no two are near-synonyms, the most shared first.
fn spread(k: &Knowledge) -> impl Iterator<Item = &str> {
    let makers = |key: &str| {
        k.causes
            .iter()
            .filter(|c| c.signs.iter().any(|s| s.0 == key))
            .count()
    };
    let mut rows: Vec<_> = k.findings.iter().filter(|f| f.group.is_none()).collect();
    rows.sort_by_key(|f| std::cmp::Reverse(makers(&f.key)));
    rows.into_iter().map(|f| f.key.as_str())
}

fn against_pgmpy(k: &Knowledge) -> Outcome<()> {
    let net = part(k)?;
    let at = |keys: &[&str]| {
        keys.iter()
            .map(|f| k.finding(f))
            .collect::<Result<Vec<_>, _>>()
    };
    let evidence = Evidence::plain(&at(&PRESENT)?, &at(&ABSENT)?);
    let ours = best(|| {
        black_box(net.posterior(&evidence)?);
        Ok(())
    })?;
    let found = net.posterior(&evidence)?;
    let (peer, chances) = pgmpy()?;
    for (cause, theirs) in CAUSES.iter().zip(chances) {
        let mine = found.causes[k.cause(cause)?];
        assert!(
            (mine - theirs).abs() < 1e-9,
            "{cause}: {mine} here, {theirs} by pgmpy"
        );
    }
    println!(
        "7 causes, 6 findings: ours {:.4} ms, pgmpy {:.1} ms, ratio {:.0}",
        1e3 * ours,
        1e3 * peer,
        peer / ours
    );
    Ok(())
}

fn part(k: &Knowledge) -> Outcome<Network> {
    let mut net = k.network.clone();
    let kept = CAUSES
        .iter()
        .map(|c| k.cause(c))
        .collect::<Result<Vec<_>, _>>()?;
    for (i, node) in net.causes.iter_mut().enumerate() {
        if !kept.contains(&i) {
            node.prior = 0.0;
        }
    }
    Ok(net)
}

/// The shortest of some runs \[s\].
fn best(work: impl Fn() -> Outcome<()>) -> Outcome<f64> {
    let mut shortest = f64::INFINITY;
    for _ in 0..10 {
        let start = Instant::now();
        work()?;
        shortest = shortest.min(start.elapsed().as_secs_f64());
    }
    Ok(shortest)
}

/// Its shortest time \[s\] and the chances of the causes.
fn pgmpy() -> Outcome<(f64, Vec<f64>)> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let setup = Command::new(here.join("../../tests/reference/setup")).output()?;
    let python = String::from_utf8(setup.stdout)?;
    let mut command = Command::new(python.trim());
    command
        .arg(here.join("tests/reference/sub_networks.py"))
        .arg("time");
    let out = command
        .args([CAUSES.join(","), PRESENT.join(","), ABSENT.join(",")])
        .output()?;
    let text = String::from_utf8(out.stdout)?;
    let mut numbers = text.split_whitespace().map(str::parse::<f64>);
    let seconds = numbers.next().ok_or("no answer from pgmpy")??;
    Ok((seconds, numbers.collect::<Result<_, _>>()?))
}

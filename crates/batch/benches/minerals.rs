//! How long the page of salts and acid waits for the search: the demo batch with
//! what is usually at hand, and with every salt and acid and a free blend. And how
//! long the page of waters waits: six waters, two of them over three seasons, with
//! what is usually at hand and with everything.
//!
//! `cargo bench -p gylewright-batch --bench minerals`

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a bench prints, and stops where it cannot go on"
)]

use std::time::Instant;

use batch::library::Analysis;
use batch::liquor::choice::{self, Kept, KeptAnalysis, chosen};
use batch::liquor::minerals::{AtHand, Have, Question, found};
use batch::{Document, Reckoning};
use water::acids::products;
use water::salts::salts;

const ROUNDS: usize = 40;

fn main() {
    let text = include_str!("../../../examples/lantern-pale.toml");
    let (document, assumptions) = Document::read(text).unwrap();
    let r = Reckoning::of(document, assumptions).unwrap();
    let salts = salts().iter().map(|s| s.name.clone());
    let all = salts.chain(products().iter().map(|p| p.name.clone()));
    let everything = Question {
        have: all.map(Have::plenty).collect(),
        free_blend: true,
        ..Question::default()
    };
    for (name, question) in [
        ("usual", Question::usual(&r)),
        ("everything", everything.clone()),
    ] {
        let at_hand = AtHand::of(&question).unwrap();
        report(name, || {
            std::hint::black_box(found(&r, &at_hand).unwrap());
        });
    }
    let kept = library();
    let usual = choice::Question::usual(&r, &kept);
    let all = choice::Question {
        minerals: everything,
        ..usual.clone()
    };
    for (name, question) in [("six waters", usual), ("six waters, everything", all)] {
        report(name, || {
            std::hint::black_box(chosen(&r, &kept, &question).unwrap());
        });
    }
}

/// Four waters beside the two of the batch.
fn library() -> Vec<Kept> {
    let texts = [
        include_str!("../../../examples/library/harrowmere-mains/2026-02-10.toml"),
        include_str!("../../../examples/library/harrowmere-mains/2026-06-18.toml"),
        include_str!("../../../examples/library/harrowmere-mains/2026-09-24.toml"),
    ];
    let days = ["2026-02-10", "2026-06-18", "2026-09-24"];
    let water = |number: usize| Kept {
        key: format!("kept {number}"),
        name: format!("water {number}"),
        analyses: texts
            .iter()
            .zip(days)
            .skip(if number < 2 { 0 } else { number - 1 })
            .map(|(text, from)| KeptAnalysis {
                from: from.to_owned(),
                analysis: Analysis::read("water", text).unwrap().0,
                text: (*text).to_owned(),
            })
            .collect(),
    };
    (0..4).map(water).collect()
}

fn report(name: &str, mut work: impl FnMut()) {
    let start = Instant::now();
    work();
    let rounds = if start.elapsed().as_secs_f64() > 0.2 {
        5
    } else {
        ROUNDS
    };
    let mut times: Vec<f64> = (0..rounds)
        .map(|_| {
            let start = Instant::now();
            work();
            1000.0 * start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!(
        "{name}: median {:.2} ms, worst {:.2} ms",
        times[rounds / 2],
        times[rounds - 1]
    );
}

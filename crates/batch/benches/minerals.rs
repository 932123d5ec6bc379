//! How long the page of salts and acid waits for the search: the demo batch with
//! what is usually at hand, and with every salt and acid and a free blend.
//!
//! `cargo bench -p gylewright-batch --bench minerals`

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a bench prints, and stops where it cannot go on"
)]

use std::time::Instant;

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
    for (name, question) in [("usual", Question::usual(&r)), ("everything", everything)] {
        let at_hand = AtHand::of(&question).unwrap();
        let mut times: Vec<f64> = (0..ROUNDS)
            .map(|_| {
                let start = Instant::now();
                std::hint::black_box(found(&r, &at_hand).unwrap());
                1000.0 * start.elapsed().as_secs_f64()
            })
            .collect();
        times.sort_by(f64::total_cmp);
        println!(
            "{name}: median {:.2} ms, worst {:.2} ms",
            times[ROUNDS / 2],
            times[ROUNDS - 1]
        );
    }
}

//! How long a reckoning takes: `cargo bench -p gylewright-batch`.
//!
//! | workload | what it stands for |
//! |---|---|
//! | `whole` | a page or a command: from the text of a document to its reckoning |
//! | `read` | the part of it that parses the document and asks for every key |
//! | `stream` | the part of it that runs from tap to glass |
//! | `json` | what `--json` adds |
//! | `glance` | what the card of the water's chemistry adds to a page |
//! | `dissolved` | the page of that chemistry, curves and all |
//! | `if_it_reads` | the table of a mash pH that may come |
//! | `certainty_of_a_glance` | the page of how sure a batch is, on all cores |
//! | `side_by_side` | two batches with five things that differ, each with its share |
//! | `ten_differ` | two other beers, split over all 1024 choices of ten parts |
//! | `ten_thousand_draws` | intervals of a whole stream; the goal is 1.5 s on two cores; `ensemble` sets it against scipy |
//!
//! The goal for `whole` is 5 ms on one core.

#![allow(clippy::expect_used, reason = "a bench that cannot go on must stop")]

use batch::certainty::{Question, certainty};
use batch::comparing::{Question as Beside, compare};
use batch::liquor::dissolved::{Question as Looked, dissolved as look};
use batch::{Document, Reckoning, wire};
use divan::{Bencher, black_box};

const DEMOS: [&str; 3] = ["lantern-pale", "lantern-pale-first", "towpath-amber"];

fn main() {
    divan::main();
}

fn text_of(demo: &str) -> &'static str {
    match demo {
        "lantern-pale" => include_str!("../../../examples/lantern-pale.toml"),
        "lantern-pale-first" => include_str!("../../../examples/lantern-pale-first.toml"),
        _ => include_str!("../../../examples/towpath-amber.toml"),
    }
}

type Read = (Document, Vec<batch::Assumption>);

fn read_of(text: &str) -> Read {
    Document::read(text).expect("a demo reads")
}

fn reckoned((document, assumptions): Read) -> Reckoning {
    Reckoning::of(document, assumptions).expect("a demo reckons")
}

#[divan::bench(args = DEMOS)]
fn whole(bencher: Bencher, demo: &str) {
    let text = text_of(demo);
    bencher.bench_local(|| reckoned(read_of(black_box(text))));
}

#[divan::bench(args = DEMOS)]
fn read(bencher: Bencher, demo: &str) {
    let text = text_of(demo);
    bencher.bench_local(|| read_of(black_box(text)));
}

#[divan::bench(args = DEMOS)]
fn stream(bencher: Bencher, demo: &str) {
    let document = read_of(text_of(demo));
    bencher
        .with_inputs(|| document.clone())
        .bench_local_values(reckoned);
}

#[divan::bench(args = DEMOS)]
fn json(bencher: Bencher, demo: &str) {
    let reckoning = reckoned(read_of(text_of(demo)));
    bencher.bench_local(|| {
        serde_json::to_string(&wire::Reckoning::from(black_box(&reckoning))).expect("JSON")
    });
}

#[divan::bench(args = DEMOS)]
fn glance(bencher: Bencher, demo: &str) {
    let reckoning = reckoned(read_of(text_of(demo)));
    bencher.bench_local(|| {
        black_box(&reckoning)
            .glance()
            .expect("a demo has a chemistry")
    });
}

#[divan::bench(args = DEMOS)]
fn dissolved(bencher: Bencher, demo: &str) {
    let reckoning = reckoned(read_of(text_of(demo)));
    let question = Looked::default();
    bencher.bench_local(|| look(black_box(&reckoning), &question).expect("a demo is answered"));
}

#[divan::bench(args = DEMOS)]
fn if_it_reads(bencher: Bencher, demo: &str) {
    let reckoning = reckoned(read_of(text_of(demo)));
    bencher.bench_local(|| {
        black_box(&reckoning)
            .if_it_reads()
            .expect("a demo is answered")
    });
}

#[divan::bench(sample_count = 5)]
fn certainty_of_a_glance(bencher: Bencher) {
    let text = text_of("lantern-pale");
    let question = Question {
        draws: 256,
        points: 24,
        seed: 1,
    };
    bencher.bench_local(|| {
        certainty(black_box(text), &question, &|_, _| true).expect("a demo can be drawn")
    });
}

/// Without draws, so that what is timed is the split alone.
const SPLIT: Beside = Beside {
    draws: 0,
    finely: false,
    orders: 32,
    seed: 1,
};

#[divan::bench(sample_count = 5)]
fn side_by_side(bencher: Bencher) {
    let texts = ["lantern-pale-first", "lantern-pale"].map(text_of);
    bencher.bench_local(|| {
        compare(black_box(&texts), &SPLIT, &|_, _| true).expect("demos can be compared")
    });
}

#[divan::bench(sample_count = 5)]
fn ten_differ(bencher: Bencher) {
    let texts = ["lantern-pale", "towpath-amber"].map(text_of);
    bencher.bench_local(|| {
        compare(black_box(&texts), &SPLIT, &|_, _| true).expect("demos can be compared")
    });
}

#[divan::bench(sample_count = 3)]
fn ten_thousand_draws(bencher: Bencher) {
    let text = text_of("lantern-pale");
    let question = Question {
        draws: 10_000,
        points: 0,
        seed: 1,
    };
    bencher.bench_local(|| {
        certainty(black_box(text), &question, &|_, _| true).expect("a demo can be drawn")
    });
}

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
//! | `draws` | a hundred reckonings whose figures are drawn within their spreads |
//!
//! The goal for `whole` is 5 ms on one core.

#![allow(clippy::expect_used, reason = "a bench that cannot go on must stop")]

use batch::liquor::dissolved::{Question, dissolved as look};
use batch::{Document, Reckoning, wire};
use divan::{Bencher, black_box};
use quantity::{Measured, Quantity};

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
    let question = Question::default();
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

#[divan::bench(sample_count = 10)]
fn draws(bencher: Bencher) {
    let given = read_of(text_of("lantern-pale"));
    bencher.bench_local(|| {
        (0..100u32)
            .map(|n| reckoned(drawn(&given, n)).glass.alcohol.percent())
            .sum::<f64>()
    });
}

/// The document with the figures that vary most moved within their spreads. Even
/// steps of the golden ratio stand in for chance, so that every run does the same.
fn drawn(given: &Read, n: u32) -> Read {
    let mut draw = given.clone();
    let unit = |k: u32| (f64::from(n) * 0.618_034 + f64::from(k) * 0.382).fract() * 2.0 - 1.0;
    let kit = &mut draw.0.kit;
    moved(&mut kit.evaporation, unit(1));
    moved(&mut kit.absorption, unit(2));
    moved(&mut kit.conversion, unit(3) * 0.5);
    moved(&mut kit.kettle_loss, unit(4));
    for source in &mut draw.0.water.sources {
        moved(&mut source.alkalinity, unit(5));
        if let Some(total) = &mut source.total_chlorine {
            moved(total, unit(6));
        }
    }
    moved(&mut draw.0.yeast.cells_per_gram, unit(7));
    draw
}

fn moved<Q: Quantity>(figure: &mut Measured<Q>, by: f64) {
    figure.value = Q::from_canonical(figure.canonical() + by * figure.sd());
}

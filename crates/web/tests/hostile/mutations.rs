//! Valid examples, changed at random: tokens and bytes taken out, doubled, exchanged,
//! numbers replaced by extremes.

use std::sync::LazyLock;

use proptest::prelude::*;
use proptest::sample::Index;
use tokio::runtime::Runtime;

use crate::entry::Entry;
use crate::house::{House, PALE, TASTING};

const WATER: &str = include_str!("../../../../examples/library/harrowmere-mains.toml");
const STORES: &str = include_str!("../../../../examples/library/quay-street-stores.toml");
const BREWHOUSE: &str = include_str!("../../../../examples/library/quay-street-brewhouse.toml");
const REPORT: &str = include_str!("../../../../examples/water-reports/harrowmere-mains-2027.txt");
const LOG: &str = "time,gravity SG,temperature °C,note\n2026-03-14T09:00:00Z,1.0520,19.4,pitched\n2026-03-15T09:00:00Z,1.0410,20.1,\n2026-03-16T09:00:00Z,1.0230,20.6,\"krausen, high\"\n";
const PACK: &str = r#"[{"bn":"float-1/","bt":1773480413,"bu":"/","n":"sg","v":1.048},{"n":"temperature","u":"Cel","v":19.5,"t":60},{"n":"pressure","u":"kPa","v":101.3}]"#;
const RECIPE: &str = include_str!("corpus/recipes/plain.json");
const FIELDS: &str = "on=1&name=Plain&batch.volume=20 L&mash.rest[1].temperature=64 °C&what=gravity&reading=1.050&at=2026-03-16T18:30:00Z&instrument=by hand&kind=hydrometer&day=2026-03-01&tasters=Ann&tastings=6&difference=2&protocol=triangle&tap=hard&beer=pale&volume=20 L";

/// What stands in place of a number, or between two tokens.
const EXTREMES: [&str; 26] = [
    "NaN",
    "inf",
    "-inf",
    "0",
    "-0",
    "-1",
    "1e308",
    "-1e308",
    "1e400",
    "5e-324",
    "1e-300",
    "9223372036854775807",
    "-9223372036854775808",
    "18446744073709551616",
    "99999999999999999999999999999999",
    "0.30000000000000004",
    "0000-01-01",
    "9999-12-31T23:59:60Z",
    "\0",
    "\u{202e}",
    "\u{301}",
    "\"",
    "<x-h onclick=alert(1)>",
    "\r\n",
    "=cmd|x!A0",
    "\u{feff}",
];

#[derive(Debug, Clone)]
enum Change {
    Out(Index),
    Twice(Index),
    Exchange(Index, Index),
    Extreme(Index, usize),
    Between(Index, usize),
    LineOut(Index),
    LineTwice(Index),
    Cut(Index),
    Byte(Index, u8),
}

fn change() -> impl Strategy<Value = Change> {
    let at = || any::<Index>();
    prop_oneof![
        2 => at().prop_map(Change::Out),
        2 => at().prop_map(Change::Twice),
        2 => (at(), at()).prop_map(|(a, b)| Change::Exchange(a, b)),
        6 => (at(), 0..EXTREMES.len()).prop_map(|(a, n)| Change::Extreme(a, n)),
        2 => (at(), 0..EXTREMES.len()).prop_map(|(a, n)| Change::Between(a, n)),
        1 => at().prop_map(Change::LineOut),
        1 => at().prop_map(Change::LineTwice),
        1 => at().prop_map(Change::Cut),
        1 => (at(), any::<u8>()).prop_map(|(a, b)| Change::Byte(a, b)),
    ]
}

/// Words, numbers, blanks and signs, none left out.
fn tokens(text: &str) -> Vec<String> {
    let kind = |c: char| match c {
        c if c.is_alphanumeric() || matches!(c, '.' | '_' | '-') => 0,
        c if c.is_whitespace() => 1,
        _ => 2,
    };
    let mut all: Vec<String> = Vec::new();
    let mut last = 3;
    for c in text.chars() {
        match all.last_mut() {
            Some(token) if kind(c) == last && last < 2 => token.push(c),
            _ => all.push(c.to_string()),
        }
        last = kind(c);
    }
    all
}

fn changed(example: &str, changes: &[Change]) -> Vec<u8> {
    let mut bytes = example.as_bytes().to_vec();
    for change in changes {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        if text.is_empty() {
            return bytes;
        }
        let mut tokens = tokens(&text);
        let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
        match change {
            Change::Out(at) => {
                tokens.remove(at.index(tokens.len()));
            }
            Change::Twice(at) => {
                let at = at.index(tokens.len());
                tokens.insert(at, tokens[at].clone());
            }
            Change::Exchange(a, b) => {
                let (a, b) = (a.index(tokens.len()), b.index(tokens.len()));
                tokens.swap(a, b);
            }
            Change::Extreme(at, n) => {
                let numbers: Vec<usize> = (0..tokens.len())
                    .filter(|i| tokens[*i].starts_with(|c: char| c.is_ascii_digit()))
                    .collect();
                if !numbers.is_empty() {
                    EXTREMES[*n].clone_into(&mut tokens[*at.get(&numbers)]);
                }
            }
            Change::Between(at, n) => {
                tokens.insert(at.index(tokens.len() + 1), EXTREMES[*n].to_owned());
            }
            Change::LineOut(at) => {
                lines.remove(at.index(lines.len()));
                tokens = vec![lines.concat()];
            }
            Change::LineTwice(at) => {
                let at = at.index(lines.len());
                lines.insert(at, lines[at]);
                tokens = vec![lines.concat()];
            }
            Change::Cut(at) => {
                bytes.truncate(at.index(bytes.len()));
                continue;
            }
            Change::Byte(at, byte) => {
                let at = at.index(bytes.len());
                bytes[at] = *byte;
                continue;
            }
        }
        bytes = tokens.concat().into_bytes();
    }
    bytes
}

static RUNTIME: LazyLock<Runtime> = LazyLock::new(|| Runtime::new().unwrap());

/// Meets changed examples. `usual` cases, or as many as `PROPTEST_CASES` says.
fn meets(entry: Entry, examples: &[&'static str], usual: u32) {
    let asked = std::env::var("PROPTEST_CASES").ok();
    let cases = asked.and_then(|n| n.parse().ok()).unwrap_or(usual);
    // A new house now and then: what is kept is gone through after every request.
    const OF_A_HOUSE: u32 = 40;
    let examples: Vec<&'static str> = examples.to_vec();
    let mut left = cases;
    while left > 0 {
        let now = left.min(OF_A_HOUSE);
        left -= now;
        let house = RUNTIME.block_on(House::new());
        let config = ProptestConfig {
            cases: now,
            failure_persistence: None,
            max_shrink_iters: 200,
            ..ProptestConfig::default()
        };
        let given = (
            proptest::sample::select(examples.clone()),
            proptest::collection::vec(change(), 1..6),
        );
        let mut runner = proptest::test_runner::TestRunner::new(config);
        let met = runner.run(&given, |(example, changes)| {
            let bytes = changed(example, &changes);
            RUNTIME.block_on(entry.meet(&house, &bytes));
            Ok(())
        });
        met.unwrap_or_else(|e| panic!("{entry:?}: {e}"));
    }
}

#[test]
fn documents_of_batches() {
    meets(Entry::Batch, &[PALE], 24);
}

#[test]
fn documents_of_the_library() {
    meets(Entry::Library, &[WATER, STORES, BREWHOUSE], 24);
}

#[test]
fn documents_of_tastings() {
    meets(Entry::Tasting, &[TASTING], 32);
}

#[test]
fn quantities() {
    meets(
        Entry::Quantity,
        &[
            "20 ± 0.5 L",
            "1.048",
            "11.9 °P",
            "64-68 °C",
            "230 mg/L as CaCO3",
        ],
        60,
    );
}

#[test]
fn reports_of_waters() {
    meets(Entry::Report, &[REPORT], 24);
}

#[test]
fn logs() {
    meets(Entry::Log, &[LOG], 32);
}

#[test]
fn packs_of_sensors() {
    meets(Entry::Senml, &[PACK], 32);
}

#[test]
fn recipes() {
    meets(Entry::Recipes, &[RECIPE], 32);
}

#[test]
fn forms() {
    meets(Entry::Form, &[FIELDS], 5);
}

#[test]
fn changes_change() {
    let all = tokens(PALE);
    assert_eq!(all.concat(), PALE);
    assert!(all.iter().any(|t| t == "20"));
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let given = proptest::collection::vec(change(), 1..6);
    let mut other = 0;
    for _ in 0..100 {
        let changes = proptest::strategy::ValueTree::current(&given.new_tree(&mut runner).unwrap());
        other += u32::from(changed(PALE, &changes) != PALE.as_bytes());
    }
    assert!(other > 95, "{other} of 100 differ");
}

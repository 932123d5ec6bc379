//! Defaults for keys that a document may leave out: rows of
//! `data/defaults.toml`, each with its source.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use quantity::{Mark, data};

/// A default.
#[derive(Debug, Clone)]
pub(crate) struct DefaultRow {
    /// The value as it would be written in a document.
    pub value: String,
    /// Where it comes from.
    pub source: String,
    /// How far it can be trusted.
    pub mark: Mark,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    default: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    value: String,
    source: String,
    mark: String,
}

const NAME: &str = "defaults.toml";

static ROWS: LazyLock<BTreeMap<String, DefaultRow>> = LazyLock::new(|| {
    let file: File = data::builtin(NAME, include_str!("../data/defaults.toml"));
    file.default
        .into_iter()
        .map(|row| {
            let mark = data::mark(NAME, &row.key, &row.mark);
            let default = DefaultRow {
                value: row.value,
                source: row.source,
                mark,
            };
            (row.key, default)
        })
        .collect()
});

/// The default of a key, by its dotted path; list positions do not count.
///
/// # Panics
/// If there is none: a key that is read as "assumed" has a row, and a test reads
/// every key of the document.
#[must_use]
pub(crate) fn default_for(path: &str) -> &'static DefaultRow {
    let key = without_positions(path);
    match ROWS.get(&key) {
        Some(row) => row,
        #[expect(
            clippy::panic,
            reason = "a missing row is a defect of the program; a test reads all keys"
        )]
        None => panic!("no default for {key:?} in {NAME}"),
    }
}

/// "water.source\[2\].ph" is the key "water.source.ph".
fn without_positions(path: &str) -> String {
    let mut out = String::with_capacity(path.len());
    let mut inside = false;
    for c in path.chars() {
        match c {
            '[' => inside = true,
            ']' => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    out
}

//! Defaults for keys that a document may leave out: rows of
//! `data/defaults.toml`, each with its source.

use std::collections::BTreeMap;
use std::str::FromStr;
use std::sync::LazyLock;

use quantity::{Count, Mark, QuantityError, data};

use crate::reader::Assumption;

/// What is taken where nobody says otherwise: a row of a built-in file.
#[derive(Debug, Clone)]
pub(crate) struct DefaultRow {
    file: &'static str,
    /// The value as it would be written in a document.
    pub value: String,
    /// Where it comes from.
    pub source: String,
    /// How far it can be trusted.
    pub mark: Mark,
}

impl DefaultRow {
    /// As an assumption about a key.
    pub(crate) fn assumed(&self, path: impl Into<String>) -> Assumption {
        Assumption {
            path: path.into(),
            value: self.value.clone(),
            source: self.source.clone(),
            mark: self.mark,
        }
    }

    /// The value with its type.
    pub(crate) fn quantity<T: FromStr<Err = QuantityError>>(&self) -> T {
        data::quantity(self.file, &self.value, &self.value)
    }

    /// A plain number.
    pub(crate) fn number(&self) -> f64 {
        self.quantity::<Count>().number()
    }
}

/// A row as its file has it.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Row {
    pub key: String,
    pub value: String,
    pub source: String,
    pub mark: String,
}

/// The rows of a built-in file by their keys.
pub(crate) type Rows = BTreeMap<String, DefaultRow>;

/// Rows by their keys, their marks read.
pub(crate) fn by_key(file: &'static str, rows: impl IntoIterator<Item = Row>) -> Rows {
    let read = |row: Row| {
        let mark = data::mark(file, &row.key, &row.mark);
        let default = DefaultRow {
            file,
            value: row.value,
            source: row.source,
            mark,
        };
        (row.key, default)
    };
    rows.into_iter().map(read).collect()
}

/// The row of a key.
///
/// # Panics
/// If there is none: whoever asks names a row of a built-in file, and tests ask for all.
pub(crate) fn row_of<'r>(file: &str, rows: &'r Rows, key: &str) -> &'r DefaultRow {
    match rows.get(key) {
        Some(row) => row,
        #[expect(
            clippy::panic,
            reason = "a missing row is a defect of the program; tests ask for all keys"
        )]
        None => panic!("built-in data file {file}: no row {key:?}"),
    }
}

/// A file of nothing but defaults.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct File {
    pub default: Vec<Row>,
}

const NAME: &str = "defaults.toml";

static ROWS: LazyLock<Rows> = LazyLock::new(|| {
    let file: File = data::builtin(NAME, include_str!("../data/defaults.toml"));
    by_key(NAME, file.default)
});

/// The default of a key, by its dotted path; list positions do not count.
///
/// # Panics
/// If there is none: a key that is read as "assumed" has a row, and a test reads
/// every key of the document.
#[must_use]
pub(crate) fn default_for(path: &str) -> &'static DefaultRow {
    row_of(NAME, &ROWS, &without_positions(path))
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

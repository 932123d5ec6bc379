//! The rows of `data/minerals.toml`.

use std::str::FromStr;
use std::sync::LazyLock;

use quantity::{Mark, QuantityError, data};

use crate::reader::Assumption;

const FILE: &str = "minerals.toml";

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

/// A value that is taken where nobody says otherwise.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Setting {
    pub value: String,
    pub source: String,
    pub mark: Mark,
}

impl Setting {
    /// As an assumption about a key.
    pub(super) fn assumed(&self, path: &str) -> Assumption {
        Assumption {
            path: path.to_owned(),
            value: self.value.clone(),
            source: self.source.clone(),
            mark: self.mark,
        }
    }

    /// The value with its type.
    pub(super) fn quantity<T: FromStr<Err = QuantityError>>(&self) -> T {
        data::quantity(FILE, &self.value, &self.value)
    }
}

static ROWS: LazyLock<Vec<(String, Setting)>> = LazyLock::new(|| {
    let file: File = data::builtin(FILE, include_str!("../../../data/minerals.toml"));
    let setting = |row: Row| {
        let mark = data::mark(FILE, &row.key, &row.mark);
        let Row { value, source, .. } = row;
        (
            row.key,
            Setting {
                value,
                source,
                mark,
            },
        )
    };
    file.default.into_iter().map(setting).collect()
});

/// The row of a key.
///
/// # Panics
/// If there is none: a test asks for every key.
pub(super) fn setting(key: &str) -> &'static Setting {
    #[expect(
        clippy::panic,
        reason = "a broken built-in file is a defect of the program"
    )]
    let missing = || panic!("built-in data file {FILE}: no row {key}");
    let found = ROWS.iter().find(|(known, _)| known == key);
    found.map_or_else(missing, |(_, setting)| setting)
}

//! Rows of the data files that hold one number each.

use quantity::Mark;
use serde::Deserialize as _;

/// One number, in the unit that its row names, with where it comes from.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Figure {
    pub(crate) value: f64,
    /// What it is, as it would stand in a sentence.
    pub(crate) what: String,
    #[serde(rename = "unit")]
    _unit: String,
    #[serde(rename = "source")]
    _source: String,
    #[serde(deserialize_with = "mark")]
    pub(crate) mark: Mark,
}

fn mark<'de, D: serde::Deserializer<'de>>(from: D) -> Result<Mark, D::Error> {
    let words = String::deserialize(from)?;
    Mark::from_words(&words)
        .ok_or_else(|| serde::de::Error::custom(format!("unknown mark {words:?}")))
}

/// Asserts that a file has so many rows, each with a source and a known mark.
#[cfg(test)]
pub(crate) fn assert_sourced(file: &str, text: &str, rows: usize) {
    #[derive(serde::Deserialize)]
    struct Row {
        source: String,
        mark: String,
    }
    let read: std::collections::BTreeMap<String, Row> = quantity::data::builtin(file, text);
    assert_eq!(read.len(), rows, "{file}");
    for (key, row) in &read {
        assert!(!row.source.is_empty(), "{file}: {key}");
        let _mark = quantity::data::mark(file, key, &row.mark);
    }
}

//! The figures of `data/lauter.toml`.

use std::sync::LazyLock;

const FILE: &str = "lauter.toml";

/// The whole file.
pub(crate) static FIGURES: LazyLock<Figures> =
    LazyLock::new(|| quantity::data::builtin(FILE, include_str!("../../data/lauter.toml")));

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Figures {
    pub(crate) soluble_buffering: Figure,
    pub(crate) carbonic_acid_pk: Figure,
    pub(crate) stop_gravity: Figure,
    pub(crate) stop_ph: Figure,
    pub(crate) hot_sparge: Figure,
}

/// One number, in the unit that its row names.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Figure {
    pub(crate) value: f64,
    #[serde(rename = "what")]
    _what: String,
    #[serde(rename = "unit")]
    _unit: String,
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "mark")]
    _mark: String,
}

#[cfg(test)]
mod tests {
    use super::FILE;

    #[derive(serde::Deserialize)]
    struct Row {
        source: String,
        mark: String,
    }

    #[test]
    fn every_row_names_its_source_and_how_it_was_obtained() {
        let rows: std::collections::BTreeMap<String, Row> =
            quantity::data::builtin(FILE, include_str!("../../data/lauter.toml"));
        assert_eq!(rows.len(), 5);
        for (key, row) in &rows {
            assert!(!row.source.is_empty(), "{key}");
            let _mark = quantity::data::mark(FILE, key, &row.mark);
        }
    }
}

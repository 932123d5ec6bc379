//! The figures of `data/brew_day.toml`.

use std::sync::LazyLock;

const FILE: &str = "brew_day.toml";

/// The whole file.
pub(super) static FIGURES: LazyLock<Figures> =
    LazyLock::new(|| quantity::data::builtin(FILE, include_str!("../../data/brew_day.toml")));

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Figures {
    pub(super) conversion: Figure,
    pub(super) left_in_tun: Figure,
    pub(super) water: Figure,
    pub(super) evaporation: Figure,
    pub(super) losses: Figure,
    pub(super) last_runnings_model: Figure,
}

/// One number, in the unit that its row names.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Figure {
    pub(super) value: f64,
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
            quantity::data::builtin(FILE, include_str!("../../data/brew_day.toml"));
        assert_eq!(rows.len(), 6);
        for (key, row) in &rows {
            assert!(!row.source.is_empty(), "{key}");
            let _mark = quantity::data::mark(FILE, key, &row.mark);
        }
    }
}

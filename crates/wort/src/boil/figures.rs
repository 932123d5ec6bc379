//! The figures of `data/boil.toml`, each with its range.

use std::sync::LazyLock;

use quantity::Source;

const FILE: &str = "boil.toml";

/// The whole file.
pub(crate) static FIGURES: LazyLock<Figures> =
    LazyLock::new(|| quantity::data::builtin(FILE, include_str!("../../data/boil.toml")));

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Figures {
    pub(crate) browning_in_an_hour: Known,
    pub(crate) browning_slows: Known,
    pub(crate) browning_doubles_in: Known,
    pub(crate) browning_share: Known,
    pub(crate) fermentation_takes: Known,
    pub(crate) humulinones_in_hops: Known,
    pub(crate) humulinones_dissolve: Known,
    pub(crate) alpha_dissolves: Known,
    pub(crate) iso_alpha_stripped: Known,
    pub(crate) stripping_dose: Known,
    pub(crate) alpha_counts: Known,
    pub(crate) humulinones_count: Known,
    pub(crate) humulinones_taste: Known,
    pub(crate) alpha_tastes: Known,
    pub(crate) pellets_give: Known,
}

/// A number with the range in which it may lie, in the unit that its row names.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Known {
    pub(crate) value: f64,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) what: String,
    #[serde(rename = "unit")]
    _unit: String,
    source: String,
    mark: String,
}

impl Known {
    /// Standard deviation of an even spread over the range, of the value \[–\].
    pub(crate) fn relative_sd(&self) -> f64 {
        (self.high - self.low) / 12f64.sqrt() / self.value
    }

    /// Where it comes from.
    pub(crate) fn source(&self) -> Source {
        Source {
            text: format!("{}: {}", self.what, self.source),
            mark: quantity::data::mark(FILE, &self.what, &self.mark),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_names_its_source_and_lies_in_its_range() {
        let rows: std::collections::BTreeMap<String, Known> =
            quantity::data::builtin(FILE, include_str!("../../data/boil.toml"));
        assert_eq!(rows.len(), 15);
        for (key, row) in &rows {
            assert!(!row.source.is_empty(), "{key}");
            assert!(row.low <= row.value && row.value <= row.high, "{key}");
            let _source = row.source();
        }
    }

    /// What the rows that are computed from read figures come to.
    #[test]
    fn computed_rows_follow_from_what_was_read() {
        let g_per_l = 6.0 * 453.592 / 117.348;
        let humulinones = FIGURES.humulinones_dissolve.value;
        assert!((humulinones - 48.0 / (g_per_l * 2.3)).abs() < 0.005);
        assert!((FIGURES.alpha_dissolves.value - 35.0 / (g_per_l * 57.0)).abs() < 0.001);
        assert!((FIGURES.stripping_dose.value - 453.592 / 117.348).abs() < 0.05);
        assert!((FIGURES.iso_alpha_stripped.high - (1.0 - 30.0 / 48.0)).abs() < 0.006);
        assert!((FIGURES.browning_share.value - 0.5 / 1.5).abs() < 1e-4);
    }
}

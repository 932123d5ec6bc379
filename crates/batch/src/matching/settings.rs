//! The rows of `data/matching.toml`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use quantity::data;

use super::figure::aimed;
use crate::defaults::{DefaultRow, Row, Rows as Settings, by_key, row_of};
use crate::reader::Assumption;

const FILE: &str = "matching.toml";

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    tolerance: Vec<ToleranceRow>,
    setting: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ToleranceRow {
    key: String,
    value: String,
    #[serde(default)]
    share: f64,
    source: String,
    mark: String,
}

/// Within how much of its aim a figure would do.
#[derive(Debug)]
pub(super) struct Tolerance {
    row: DefaultRow,
    least: f64,
    share: f64,
}

impl Tolerance {
    /// For an aim, in the canonical unit.
    pub(super) fn of(&self, aim: f64) -> f64 {
        self.least.max(self.share * aim.abs())
    }

    pub(super) fn assumed(&self, key: &str) -> Assumption {
        let value = if self.share > 0.0 {
            format!(
                "± {:.0} %, ± {} at least",
                100.0 * self.share,
                self.row.value
            )
        } else {
            format!("± {}", self.row.value)
        };
        Assumption {
            value,
            ..self.row.assumed(format!("aim.{key}"))
        }
    }
}

struct Rows {
    tolerances: BTreeMap<String, Tolerance>,
    settings: Settings,
}

static ROWS: LazyLock<Rows> = LazyLock::new(|| {
    let file: File = data::builtin(FILE, include_str!("../../data/matching.toml"));
    let mut shares = BTreeMap::new();
    let rows = file.tolerance.into_iter().map(|row| {
        shares.insert(row.key.clone(), row.share);
        Row {
            key: row.key,
            value: row.value,
            source: row.source,
            mark: row.mark,
        }
    });
    let rows = by_key(FILE, rows);
    let tolerance = |(key, row): (String, DefaultRow)| {
        let least = least(&key, &row.value);
        let share = shares.get(&key).copied().unwrap_or_default();
        (key, Tolerance { row, least, share })
    };
    Rows {
        tolerances: rows.into_iter().map(tolerance).collect(),
        settings: by_key(FILE, file.setting),
    }
});

/// The value of a tolerance in the canonical unit of its figure.
fn least(key: &str, value: &str) -> f64 {
    let read = aimed(key).map(|figure| (figure.parse)(value));
    match read {
        Some(Ok((least, _))) if least > 0.0 => least,
        _ => broken(key),
    }
}

/// The tolerance of a figure.
pub(super) fn tolerance(key: &str) -> &'static Tolerance {
    let found = ROWS.tolerances.get(key);
    found.unwrap_or_else(|| broken(key))
}

/// The setting of a key.
pub(super) fn setting(key: &str) -> &'static DefaultRow {
    row_of(FILE, &ROWS.settings, key)
}

#[expect(clippy::panic, reason = "a broken built-in file is a defect of the program")]
fn broken(key: &str) -> ! {
    panic!("built-in data file {FILE}: no usable row {key}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::figure::AIMED;

    #[test]
    fn every_figure_has_its_tolerance_and_no_row_is_an_orphan() {
        for figure in &AIMED {
            assert!(tolerance(figure.key).of(0.0) > 0.0);
        }
        assert_eq!(ROWS.tolerances.len(), AIMED.len());
        assert!(ROWS.settings.values().all(|row| !row.source.is_empty()));
    }
}

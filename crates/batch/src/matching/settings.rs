//! The rows of `data/matching.toml`.

use std::str::FromStr;
use std::sync::LazyLock;

use quantity::{Mark, QuantityError, data};

use super::figure::aimed;
use crate::reader::Assumption;

const FILE: &str = "matching.toml";

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    tolerance: Vec<Row>,
    setting: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    value: String,
    #[serde(default)]
    share: f64,
    source: String,
    mark: String,
}

/// A value that is taken where nobody says otherwise.
#[derive(Debug)]
pub(super) struct Setting {
    key: String,
    value: String,
    source: String,
    mark: Mark,
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
        data::quantity(FILE, &self.key, &self.value)
    }

    /// A plain number.
    pub(super) fn number(&self) -> f64 {
        self.quantity::<quantity::Count>().number()
    }
}

/// Within how much of its aim a figure would do.
#[derive(Debug)]
pub(super) struct Tolerance {
    row: Setting,
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
            ..self.row.assumed(&format!("aim.{key}"))
        }
    }
}

struct Rows {
    tolerances: Vec<Tolerance>,
    settings: Vec<Setting>,
}

static ROWS: LazyLock<Rows> = LazyLock::new(|| {
    let file: File = data::builtin(FILE, include_str!("../../data/matching.toml"));
    let setting = |row: Row| Setting {
        mark: data::mark(FILE, &row.key, &row.mark),
        key: row.key,
        value: row.value,
        source: row.source,
    };
    let tolerance = |row: Row| {
        let share = row.share;
        let row = setting(row);
        let least = least(&row);
        Tolerance { row, least, share }
    };
    Rows {
        tolerances: file.tolerance.into_iter().map(tolerance).collect(),
        settings: file.setting.into_iter().map(setting).collect(),
    }
});

/// The value of a tolerance in the canonical unit of its figure.
fn least(row: &Setting) -> f64 {
    let read = aimed(&row.key).map(|figure| (figure.parse)(&row.value));
    match read {
        Some(Ok((least, _))) if least > 0.0 => least,
        _ => broken(&row.key),
    }
}

/// The tolerance of a figure.
pub(super) fn tolerance(key: &str) -> &'static Tolerance {
    let found = ROWS.tolerances.iter().find(|row| row.row.key == key);
    found.unwrap_or_else(|| broken(key))
}

/// The setting of a key.
pub(super) fn setting(key: &str) -> &'static Setting {
    let found = ROWS.settings.iter().find(|row| row.key == key);
    found.unwrap_or_else(|| broken(key))
}

#[expect(
    clippy::panic,
    reason = "a broken built-in file is a defect of the program"
)]
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
        assert!(ROWS.settings.iter().all(|row| !row.source.is_empty()));
    }
}

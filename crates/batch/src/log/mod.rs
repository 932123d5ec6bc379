//! Logs of a fermentation: what floats, probes and hydrometers said, by table or by
//! message.
//!
//! A table ([`Guess`], [`Mapping`], [`read_table`]) is looked at first: what each column
//! may be is shown with its reason, and a person confirms it. A message in SenML
//! ([`read_senml`]) says itself what it holds. Either way each row or record has a
//! [`Fate`], nothing is lost in silence, and what was read keeps the instrument's own
//! unit and the text it came from. [`review`] then looks over a channel: clocks that
//! jump, gaps, spikes.

mod columns;
mod corrected;
mod guess;
mod lines;
mod review;
mod senml;
mod table;
mod what;
mod when;

pub use columns::{Mapping, Role, Since};
pub use corrected::{Beside, Corrected, corrected};
pub use guess::{ColumnGuess, Guess};
pub use review::{Flag, FlagKind, review};
pub use senml::read_senml;
pub use table::{TableRows, read_table, read_table_from};
pub use what::{BRIX, LogUnit, What};
pub use when::{Order, instant, offset};

/// One value of an instrument.
#[derive(Debug, Clone, PartialEq)]
pub struct LogReading {
    /// The instrument.
    pub instrument: String,
    /// What it measured.
    pub what: What,
    /// When, in milliseconds since 1970.
    pub at_ms: i64,
    /// The number, in `unit`.
    pub value: f64,
    /// The instrument's own unit.
    pub unit: &'static str,
    /// The same in the canonical unit: °P, °C, pH, bar.
    pub canonical: f64,
    /// The text that it was read from.
    pub raw: String,
    /// What is added to its standard deviation, squared and summed, since the checks of its
    /// instrument no longer hold; in the canonical unit, nought where they do.
    pub lapsed_sd: f64,
}

impl LogReading {
    /// The reading, ready to read: a mark of a refractometer as its scale has it.
    #[must_use]
    pub fn show(&self, units: quantity::Units) -> String {
        if self.unit == BRIX {
            return quantity::show(quantity::Brix::from_bx(self.value), units);
        }
        self.what.show(self.canonical, units)
    }
}

/// What became of a row of a table or a record of a message.
#[derive(Debug, Clone, PartialEq)]
pub struct Fate {
    /// Its number: the line of a table, the place in a message, both from 1.
    pub row: usize,
    /// What it gave.
    pub readings: Vec<LogReading>,
    /// What in it could not be read, and why.
    pub refused: Vec<String>,
    /// The row as it came, where something in it could not be read.
    pub raw: String,
}

impl Fate {
    /// A row of which nothing is known yet.
    #[must_use]
    pub const fn of(row: usize) -> Self {
        Self {
            row,
            readings: Vec::new(),
            refused: Vec::new(),
            raw: String::new(),
        }
    }

    /// A row that gave nothing.
    #[must_use]
    pub fn refused(row: usize, why: String) -> Self {
        Self {
            refused: vec![why],
            ..Self::of(row)
        }
    }
}

/// The end of the times that are kept: the year 9999 \[ms since 1970\].
const TIMES_END_MS: i64 = 253_370_764_799_999;
/// Longest name of an instrument that is kept \[bytes\].
const LONGEST_NAME: usize = 400;

/// Whether the store keeps an instrument under this name.
///
/// # Errors
/// Why not.
pub fn named(name: &str) -> Result<(), String> {
    if name.is_empty() || name.len() > LONGEST_NAME {
        return Err(format!(
            "it has no name of 1 to {LONGEST_NAME} bytes for its instrument"
        ));
    }
    if name.contains(char::is_control) {
        return Err("the name of its instrument holds a line break or another control character; write it on one line".to_owned());
    }
    Ok(())
}

/// The text of a log in whatever code it is: all of it, or the whole lines of its
/// beginning.
#[must_use]
pub fn head(bytes: &[u8], all: bool) -> String {
    let end = bytes.iter().rposition(|b| matches!(b, b'\n' | b'\r'));
    let lines = end.and_then(|end| bytes.get(..=end)).unwrap_or(bytes);
    lines::decoded(if all { bytes } else { lines })
}

/// A log that cannot be read at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LogError {
    /// Nothing in it.
    #[error(
        "there is nothing in it; a table has a line for each time, with the time and what was read"
    )]
    Empty,
    /// No column with a time.
    #[error("no column holds the time; say which one does")]
    NoTime,
    /// No column with a reading.
    #[error("no column holds a reading; say which one does, and in which unit")]
    NothingRead,
    /// Hours since a start that is not known.
    #[error("the times count from a start; say when that was, as in 2026-03-14T09:00:00Z")]
    NoStart,
    /// More or fewer roles than columns.
    #[error(
        "the table has {columns} columns and {roles} are described; describe each, with skip for what is not wanted"
    )]
    Columns {
        /// Columns of the table.
        columns: usize,
        /// Columns described.
        roles: usize,
    },
    /// A word that is no role.
    #[error("{given:?} is nothing that a column can hold; known are {known}")]
    Role {
        /// What was given.
        given: String,
        /// All words.
        known: String,
    },
    /// A message that is no SenML.
    #[error(
        "this is no SenML pack (RFC 8428): {why}; it is a JSON list of records such as [{{\"n\":\"float\",\"u\":\"Cel\",\"v\":19.5}}]"
    )]
    NoPack {
        /// What is wrong.
        why: String,
    },
}

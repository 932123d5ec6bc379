//! The JSON forms of logs: a table as it seems to be, what became of one that was kept,
//! what the instruments of a batch said.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::log::{Corrected, Guess, LogReading};

/// A log, in one of three forms.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub struct Log {
    /// The version of this form: "gylewright/log/1".
    pub schema: &'static str,
    /// A table as it seems to be, before it is kept.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub table: Option<LogTable>,
    /// What became of one that was kept.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kept: Option<LogKept>,
    /// What the instruments of a batch said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub channels: Option<Vec<LogChannel>>,
    /// What came to the batch, the newest first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub deliveries: Option<Vec<LogDelivery>>,
    /// Rows that gave no reading or have an odd clock, as they came.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remarks: Option<Vec<LogRemark>>,
}

/// What came in one go.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LogDelivery {
    /// When, RFC 3339.
    pub came_at: String,
    /// By which way.
    pub source: String,
    /// Rows or records.
    pub rows: u64,
    /// Readings that were new.
    pub added: u64,
    /// Readings that were there before.
    pub already: u64,
    /// Readings that another value stood in the way of.
    pub contradicted: u64,
    /// Rows with something that could not be read.
    pub refused: u64,
}

/// A row to look at.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LogRemark {
    /// By which way it came.
    pub source: String,
    /// The line of the table or the place in the pack, from 1.
    pub row: u64,
    /// refused, contradicted or clock; a reading whose clock is odd was kept.
    pub fate: &'static str,
    /// Why.
    pub why: String,
    /// The row as it came.
    pub raw: String,
}

/// A table as it seems to be.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LogTable {
    /// What stands between two cells.
    pub delimiter: String,
    /// A comma stands before the tenths.
    pub decimal_comma: bool,
    /// The first line names the columns.
    pub header: bool,
    /// The columns in order.
    pub columns: Vec<LogColumn>,
    /// What a person should say before it is kept.
    pub questions: Vec<String>,
}

/// A column as it seems to be.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LogColumn {
    /// Its name in the table.
    pub header: String,
    /// What it may hold.
    pub holds: String,
    /// Why that.
    pub why: String,
    /// Some of its cells.
    pub sample: Vec<String>,
}

/// What became of a log.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LogKept {
    /// Rows or records.
    pub rows: usize,
    /// Readings in them.
    pub readings: usize,
    /// Readings that are new.
    pub added: usize,
    /// Readings that were there before.
    pub already: usize,
    /// Readings not kept for another value at the same time.
    pub contradictions: usize,
    /// The first of those.
    pub contradicted: Vec<String>,
    /// Rows with something that could not be read.
    pub refusals: usize,
    /// The first of those.
    pub refused: Vec<LogRefused>,
    /// How often the clock of an instrument went back.
    pub clock_went_back: usize,
    /// Readings whose time lies ahead of the moment in which they came.
    pub ahead: usize,
}

/// A row that could not be read as a whole.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LogRefused {
    /// The line of the table, or the place in the pack, from 1.
    pub row: usize,
    /// Why.
    pub why: String,
}

/// One instrument and quantity of a batch.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LogChannel {
    /// The instrument.
    pub instrument: String,
    /// gravity, temperature, surroundings, ph or pressure.
    pub quantity: &'static str,
    /// The canonical unit of the values: °P, °C, pH, bar.
    pub unit: &'static str,
    /// The same unit as a UCUM code.
    pub ucum: &'static str,
    /// The readings by time.
    pub readings: Vec<LoggedReading>,
    /// What looks odd.
    pub flags: Vec<LogFlag>,
    /// What to know of the instrument, such as checks that hold no longer.
    pub notes: Vec<String>,
}

/// A reading.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LoggedReading {
    /// When, RFC 3339.
    pub at: String,
    /// The value in the canonical unit.
    pub value: f64,
    /// What the instrument sent.
    pub raw: String,
    /// The value set right by what is known of its instrument, in the canonical unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub set_right: Option<f64>,
    /// The standard deviation of that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sd: Option<f64>,
}

/// Something odd about a reading.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LogFlag {
    /// Which reading, from 0.
    pub place: usize,
    /// What.
    pub says: String,
}

impl Log {
    /// An empty form.
    #[must_use]
    pub fn empty() -> Self {
        Self {
            schema: "gylewright/log/1",
            table: None,
            kept: None,
            channels: None,
            deliveries: None,
            remarks: None,
        }
    }
}

impl From<&Guess> for Log {
    fn from(guess: &Guess) -> Self {
        let columns = guess.columns.iter().map(|c| LogColumn {
            header: c.header.clone(),
            holds: c.role.to_string(),
            why: c.why.clone(),
            sample: c.sample.clone(),
        });
        Self {
            table: Some(LogTable {
                delimiter: char::from(guess.mapping.delimiter).to_string(),
                decimal_comma: guess.mapping.decimal_comma,
                header: guess.mapping.header,
                columns: columns.collect(),
                questions: guess.questions.clone(),
            }),
            ..Self::empty()
        }
    }
}

impl LoggedReading {
    /// A reading, and the same set right where its instrument is known.
    #[must_use]
    pub fn of(reading: &LogReading, right: Option<&Corrected>) -> Self {
        // The store keeps no other times.
        let at = jiff::Timestamp::from_millisecond(reading.at_ms)
            .map_or_else(|_| String::new(), |at| format!("{at:.3}"));
        Self {
            at,
            value: reading.canonical,
            raw: reading.raw.clone(),
            set_right: right.map(|right| right.value),
            sd: right.map(|right| right.sd),
        }
    }
}

/// The schema of [`Log`].
#[must_use]
pub fn log_schema() -> Value {
    super::named::<Log>("urn:gylewright:schema:log:1")
}

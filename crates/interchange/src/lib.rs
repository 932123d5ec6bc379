//! Batches from and to the open JSON standard for recipes, each way with a report of
//! what did not map.
//!
//! Nothing of the standard's vocabulary goes further than this crate. A file is checked
//! against the standard's own schema, which is built in. What it says is taken with its
//! units; what it says that a batch has no place for, what is taken in another form, and
//! what a batch cannot do without and the file does not say are lines of the report.
//! That no member is forgotten is a matter of construction: whatever reading did not
//! touch is listed at the end.

mod json;
mod read;
mod report;
mod schema;
mod units;
pub mod wire;
mod words;
mod write;

pub use read::{Found, Imported, MAX_BYTES, read};
pub use report::{Fate, Remark};
pub use schema::{JsonFault, VERSION};
pub use write::{Exported, write};

/// Why a file is not taken.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReadError {
    /// Opened by mistake.
    #[error("{bytes} bytes are too many for a file of recipes; up to {MAX_BYTES} bytes are read")]
    TooLarge {
        /// Its size.
        bytes: usize,
    },
    /// Not JSON, or JSON that means two things.
    #[error("line {line}, column {column}: {message}")]
    NotJson {
        /// From one.
        line: usize,
        /// From one.
        column: usize,
        /// What is wrong, and what would work.
        message: String,
    },
    /// JSON, but not of the standard.
    #[error("{} places are not as the standard has them, the first: {}", faults.len(), faults.first().map_or_else(String::new, ToString::to_string))]
    NotTheStandard {
        /// What is wrong, in the order of the file.
        faults: Vec<JsonFault>,
    },
    /// Nothing in it can be kept here.
    #[error("the file holds no recipe for beer, no water and no kit; {}", reasons(remarks))]
    Nothing {
        /// What is in it, and why it is not taken.
        remarks: Vec<Remark>,
    },
}

fn reasons(remarks: &[Remark]) -> String {
    remarks.first().map_or_else(
        || "a recipe with its grist would be taken".to_owned(),
        |first| format!("{}: {}", first.at, first.why),
    )
}

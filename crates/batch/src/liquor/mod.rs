//! Questions about the water of a batch: from the document to the task of the
//! water stage, and back to edits of the document.

pub mod chlorine;
pub mod choice;
pub mod dissolved;
pub mod minerals;
pub mod reading;
pub mod report;

use std::fmt;

/// Something wrong in a question, and in which field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    /// The field: "scale", "have", "amount.gypsum".
    pub field: String,
    /// What is wrong, and what would work.
    pub message: String,
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.field, self.message)
    }
}

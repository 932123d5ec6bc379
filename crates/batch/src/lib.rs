//! The batch document, the stream from tap to glass, and its reckoning.

mod defaults;
mod document;
pub mod edit;
pub mod reader;
mod words;

pub use document::*;
pub use reader::{Assumption, Fault, FieldDoc, Kind, Need};

/// The JSON Schema (2020-12) of the batch document.
#[must_use]
pub fn document_schema() -> serde_json::Value {
    reader::json_schema(
        "urn:gylewright:schema:batch:1",
        "gylewright batch document",
        &Document::fields(),
    )
}

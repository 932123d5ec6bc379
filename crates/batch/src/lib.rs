//! The batch document, the stream from tap to glass, and its reckoning.
//!
//! ```
//! use batch::{Document, Reckoning};
//! let text = include_str!("../../../examples/lantern-pale.toml");
//! let (document, assumptions) = Document::read(text).map_err(|faults| faults[0].to_string())?;
//! let reckoning = Reckoning::of(document, assumptions).map_err(|fault| fault.to_string())?;
//! // The chloramine of the tap is gone before the water meets malt.
//! assert!(reckoning.water.mash.chlorine.total().mg_per_l() < 0.01);
//! # Ok::<(), String>(())
//! ```

mod aim;
pub mod beside;
pub mod boil;
pub mod brew_day;
pub mod certainty;
pub mod cleaning;
pub mod comparing;
mod defaults;
mod document;
pub mod edit;
mod figures;
pub mod inquiry;
pub mod job;
mod label;
pub mod learning;
pub mod library;
pub mod liquor;
pub mod log;
pub mod mash;
pub mod matching;
pub mod pitch;
mod plan;
pub mod reader;
mod sign;
pub mod steer;
mod stream;
pub mod tables;
pub mod tasting;
pub mod watch;
pub mod wire;
mod words;

pub use aim::{AimLine, Figure};
pub use document::*;
pub use figures::{KeyFigure, Moved};
pub use label::Label;
pub use reader::{Assumption, Fault, FieldDoc, Kind, Need};
pub use sign::{Sign, Stage};
pub use stream::{MashToRead, Reckoning, StreamError};

/// The JSON Schema (2020-12) of the batch document.
#[must_use]
pub fn document_schema() -> serde_json::Value {
    reader::json_schema(
        "urn:gylewright:schema:batch:1",
        "gylewright batch document",
        &Document::fields(),
    )
}

//! The JSON forms, each under a versioned schema. Numbers carry their unit in
//! the name of the field.

pub mod boil;
pub mod brew_day;
mod check;
pub mod liquor;
pub mod log;
pub mod mash;
mod measurement;
pub mod pitch;
mod reckoning;
pub mod tasting;

use serde_json::Value;

pub use check::{Assumption, Check, Fault};
pub use measurement::{MeasuredFigure, Measurement};
pub use reckoning::*;

/// The JSON Schema of a [`Reckoning`].
#[must_use]
pub fn reckoning_schema() -> Value {
    named::<Reckoning>("urn:gylewright:schema:reckoning:1")
}

/// The JSON Schema of a [`Check`].
#[must_use]
pub fn check_schema() -> Value {
    named::<Check>("urn:gylewright:schema:check:1")
}

/// The JSON Schema of a [`Measurement`].
#[must_use]
pub fn measurement_schema() -> Value {
    named::<Measurement>("urn:gylewright:schema:measurement:1")
}

/// The JSON Schema of a [`liquor::report::WaterReport`].
#[must_use]
pub fn water_report_schema() -> Value {
    named::<liquor::report::WaterReport>("urn:gylewright:schema:water-report:1")
}

/// The JSON Schema of [`liquor::chlorine::WaysOut`].
#[must_use]
pub fn water_chlorine_schema() -> Value {
    named::<liquor::chlorine::WaysOut>("urn:gylewright:schema:water-chlorine:1")
}

/// The JSON Schema of a [`liquor::chlorine::Breakpoint`].
#[must_use]
pub fn water_breakpoint_schema() -> Value {
    named::<liquor::chlorine::Breakpoint>("urn:gylewright:schema:water-breakpoint:1")
}

fn named<T: schemars::JsonSchema>(id: &str) -> Value {
    let mut schema = schemars::schema_for!(T).to_value();
    if let Value::Object(map) = &mut schema {
        map.insert("$id".to_owned(), Value::String(id.to_owned()));
    }
    schema
}

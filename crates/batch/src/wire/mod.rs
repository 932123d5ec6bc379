//! The JSON forms, each under a versioned schema. Numbers carry their unit in
//! the name of the field.

mod check;

pub use check::{Assumption, Check, Fault};

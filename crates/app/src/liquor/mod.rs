//! Use cases about water.

mod dissolved;
mod minerals;
pub mod report;

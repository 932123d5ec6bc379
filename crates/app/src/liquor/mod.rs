//! Use cases about water.

mod minerals;
pub mod report;

//! Use cases about water.

mod chlorine;
mod minerals;
pub mod report;

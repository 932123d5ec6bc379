//! Use cases about water.

mod chlorine;
mod dissolved;
mod minerals;
pub mod report;

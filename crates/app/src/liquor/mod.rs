//! Use cases about water.

mod chlorine;
mod choice;
mod dissolved;
mod minerals;
pub mod report;

//! Use cases about water.

mod chlorine;
mod choice;
mod dissolved;
mod minerals;
mod reading;
pub mod report;

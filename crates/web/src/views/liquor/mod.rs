//! Views of what is asked about water.

pub mod chlorine;
pub mod choice;
pub mod dissolved;
pub mod minerals;
pub mod reading;
pub mod report;
mod shelves;

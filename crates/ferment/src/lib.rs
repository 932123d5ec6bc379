//! Fermentation: pitch, predict the course.

mod state;

pub use state::*;

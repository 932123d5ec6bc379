//! Packaging: carbonation and the pressure in the bottle.

mod state;

pub use state::*;

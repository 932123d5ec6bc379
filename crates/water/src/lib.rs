//! Water: know it, treat it, hand it to the mash.

mod state;

pub use state::*;

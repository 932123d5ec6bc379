//! Wort: from grist and hops to the wort the yeast will meet.

mod state;

pub use state::*;

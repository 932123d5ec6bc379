//! The chemistry of water at rest.

mod constants;
mod equilibrium;
mod error;
mod gas;
mod kernel;
mod lu;
mod mineral;
mod solution;
mod speciated;
mod start;
mod table;

pub use error::SpeciationError;
pub use mineral::Mineral;
pub use solution::{Air, Anchor, Available, Solid, Solution, WATER_KG_PER_L};
pub use speciated::{Dissolved, Speciated};

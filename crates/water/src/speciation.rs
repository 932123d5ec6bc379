//! The chemistry of water at rest.

mod acid;
mod boil;
mod constants;
mod equilibrium;
mod error;
mod gas;
mod kernel;
mod lime;
mod lu;
mod mineral;
mod practice;
mod solution;
mod speciated;
mod start;
mod table;

pub use acid::{AcidToPh, TitrationPoint, acid_to, titration};
pub use boil::{Decarbonated, boil};
pub use error::SpeciationError;
pub use lime::{LimeDose, LimePoint, lime, lime_curve, lime_dose, lime_with};
pub use mineral::Mineral;
pub use solution::{Air, Anchor, Available, Solid, Solution, WATER_KG_PER_L};
pub use speciated::{Dissolved, Speciated};

//! Fermentation: pitch the yeast, predict the course, hand over green beer.
//!
//! [`ferment`] takes pitching wort and a [`FermentPlan`] and gives back the beer
//! with the course that led there. Before it stand the yeast ([`strains`]), the
//! cells ([`pitch`]) and the oxygen ([`oxygenate`]); under it, a system of
//! differential equations ([`kinetics`]).

mod alcohol;
mod attenuation;
mod error;
mod ferment;
mod green;
pub mod kinetics;
mod notes;
mod oxygen;
mod pitch;
mod plan;
mod solver;
mod state;
pub mod steer;
mod stock;
mod storage;
mod strains;
mod temperature;

pub use error::FermentError;
pub use ferment::{Fermentation, VALIDITY, VesselReport, ferment, ferment_in};
pub use kinetics::Vessel;
pub use oxygen::{Aeration, OxygenReport, air_saturation, oxygenate};
pub use pitch::{PitchReport, Starter, cells_needed, pitch, still_starter_growth};
pub use plan::{FermentPlan, Habits};
pub use state::*;
pub use stock::Yeast;
pub use strains::{
    Datasheet, Flocculation, MaltotrioseUse, Strain, TemperatureRange, TypicalFlavour, strain,
    strains,
};
pub use temperature::{CoursePoint, TemperatureCourse};

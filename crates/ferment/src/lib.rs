//! Fermentation: pitch the yeast, predict the course, hand over green beer.
//!
//! [`ferment`] takes pitching wort and a [`FermentPlan`] and gives back the beer
//! with the course that led there. Before it stand the yeast ([`strains`]), the
//! cells ([`pitch`]) and the oxygen ([`oxygenate`]); under it, a system of
//! differential equations ([`kinetics`]).

mod alcohol;
mod attenuation;
mod cholesky;
mod close;
mod count;
mod effects;
mod error;
mod ferment;
mod green;
pub mod kinetics;
mod need;
mod notes;
mod oxygen;
mod pitch;
mod plan;
mod random;
mod solver;
mod starter;
mod state;
pub mod steer;
mod stock;
mod storage;
mod strains;
mod tables;
mod temperature;
pub mod watch;

pub use close::{WayKind, WayToPitch, WaysToPitch, small_volume, ways_to_pitch};
pub use count::{CellCount, ChamberCount, Dye, Squares, Stain, Viability, count_cells};
pub use effects::{Effect, KnownEffect, PitchCase, known_effects, pitch_cases};
pub use error::FermentError;
pub use ferment::{Fermentation, VALIDITY, VesselReport, ferment, ferment_in, ferment_to_end};
pub use kinetics::Vessel;
pub use need::{CellNeed, PitchAim, PitchTarget, cell_need, cells_needed, pitch_target};
pub use oxygen::{
    Aeration, OXYGEN_AFTER_PITCHING, OxygenClass, OxygenReport, OxygenWay, air_saturation,
    oxygen_classes, oxygen_wanted, oxygen_ways, oxygenate,
};
pub use pitch::{PitchReport, pitch};
pub use plan::{FermentPlan, Habits};
pub use starter::{
    GrownStarter, GrownStep, MOST_STEPS, Rehydration, Starter, StarterPlan, StarterStep,
    StarterWish, Stirring, WholeStarter, grow_starter, plan_starter, rehydration,
    still_starter_growth, stirred_starter_growth, whole_starter,
};
pub use state::*;
pub use stock::Yeast;
pub use strains::{
    Datasheet, Flocculation, MaltotrioseUse, Strain, TemperatureRange, TypicalFlavour, strain,
    strains,
};
pub use temperature::{CoursePoint, TemperatureCourse};

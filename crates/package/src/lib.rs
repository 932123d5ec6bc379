//! Packaging: carbonation, priming, and the pressure that a package can come to.
//!
//! [`package()`] takes beer from fermentation and gives back packed beer with
//! the sugar or the keg pressure and a verdict on the worst case. What it rests
//! on can be called alone: the solubility [`Fit`]s, [`residual`], the
//! [`Sugar`]s and [`sugar_for`], the [`Container`]s, and [`final_pressure`].
//!
//! ```
//! use package::{Sugar, residual, sugar_for};
//! use quantity::{Altitude, CarbonDioxide, Temperature, Volume};
//!
//! let held = residual(Temperature::from_c(20.0), Altitude::from_m(0.0))?;
//! let aim = CarbonDioxide::from_volumes(2.4);
//! let sugar = sugar_for(Sugar::find("sucrose")?, aim, held.value, Volume::from_l(19.0))?;
//! assert_eq!(sugar.to_string(), "114 g");
//! # Ok::<(), package::PackageError>(())
//! ```
//!
//! Beside the stage stand [`UnderGas`] (a keg over time), [`Draught`] (line and tap),
//! [`PrimingWort`], [`cleaning`], [`oxygen`] (air, purging, a shaken bottle) and [`ageing_ratio`].
//!
//! Not modelled: oxygen dissolved at filling, and the head space of a keg.

mod at_risk;
mod carbonation;
pub mod cleaning;
mod container;
mod error;
mod forced;
mod line;
pub mod oxygen;
mod plan;
mod pressure;
mod priming;
mod proof;
mod remarks;
mod staling;
mod state;
mod verdict;
mod wort_priming;

pub use at_risk::{Step, at_risk};
pub use carbonation::{Fit, KegSetting, far_from_chart, keg_setting, model_spread, residual};
pub use container::{Container, ContainerKind, GasLimits};
pub use error::PackageError;
pub use forced::{Gassing, UnderGas, Wait};
pub use line::{Draught, LineLength, Pour, Tube};
pub use plan::{BottleCount, Carbonation, PackagePlan, Packaging, Priming, Vessel, package};
pub use pressure::{Fill, carbon_dioxide_to_come, final_pressure, held_at, in_solution};
pub use priming::{Sugar, alcohol_with, carbon_dioxide_from, gravity_after, sugar_for};
pub use proof::{Basis, Left, Proof, forced_too_short};
pub use staling::{Faster, ageing_ratio};
pub use state::*;
pub use verdict::{Safety, WorstCase};
pub use wort_priming::{PrimingWort, WortDose};

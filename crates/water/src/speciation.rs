//! The chemistry of water at rest: what its ions pair to, its pH, what it may drop.
//!
//! A [`Solution`] is a water in equilibrium. It is made from an analysis
//! ([`Solution::of`]), and every change gives a new one: [`heated`], [`open_to`]
//! the air, [`with_salt`], [`with_acid`], [`blend`], or [`equilibrated`] with
//! solids; [`Solution::liquor`] is what it becomes under a plan. [`boil`],
//! [`lime_dose`], [`acid_to`] and [`acid_to_alkalinity`] reckon treatments;
//! [`Solution::speciated`] gives all figures.
//!
//! Constants are those of phreeqc.dat; activity coefficients and water are treated
//! as in PHREEQC 3.7.3, to whose figures the tests hold. Range: 0 to 100 °C, 1 atm,
//! ionic strength up to about 0.7 mol/kg. Not reckoned: how fast things go, redox,
//! iron, silica and fluoride, pairs of the anions of organic acids.
//!
//! ```
//! use quantity::Temperature;
//! use water::speciation::{Mineral, OUTDOOR_AIR, Solution, TYPICAL_TAP, boil};
//! use water::{Ions, SourceWater};
//!
//! let tap = SourceWater {
//!     ions: Ions {
//!         calcium: "110 mg/L".parse()?,
//!         magnesium: "18 mg/L".parse()?,
//!         sodium: "14 mg/L".parse()?,
//!         chloride: "35 mg/L".parse()?,
//!         sulfate: "48 mg/L".parse()?,
//!         ..Ions::default()
//!     },
//!     alkalinity: "285 mg/L as CaCO3".parse()?,
//!     ph: Some("7.3".parse()?),
//!     total_chlorine: "0.2 mg/L".parse()?,
//!     ..SourceWater::named("tap")
//! };
//! let cold = Solution::of(&tap, Temperature::from_c(12.0), TYPICAL_TAP)?;
//! let hot = cold.heated(Temperature::from_c(75.0))?;
//! assert!(hot.saturation(Mineral::Calcite) > cold.saturation(Mineral::Calcite));
//! let boiled = boil(&cold, OUTDOOR_AIR)?;
//! assert!(boiled.alkalinity.meq_per_l() < 0.5 * cold.alkalinity().meq_per_l());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! [`heated`]: Solution::heated
//! [`open_to`]: Solution::open_to
//! [`with_salt`]: Solution::with_salt
//! [`with_acid`]: Solution::with_acid
//! [`blend`]: Solution::blend
//! [`equilibrated`]: Solution::equilibrated

mod acid;
mod boil;
mod compiled;
mod constants;
mod equilibrium;
mod error;
mod exp;
mod gas;
mod kernel;
mod lime;
mod liquor;
mod lu;
mod mineral;
mod newton;
mod practice;
mod solution;
mod speciated;
mod start;
mod table;

pub use acid::{AcidToPh, TitrationPoint, acid_to, acid_to_alkalinity, titration};
pub use boil::{Decarbonated, boil};
pub use error::SpeciationError;
pub use lime::{LimeDose, LimePoint, lime, lime_curve, lime_dose, lime_with, stoichiometric_lime};
pub use mineral::Mineral;
pub use solution::{
    Air, Anchor, Available, OUTDOOR_AIR, Solid, Solution, TYPICAL_TAP, WATER_KG_PER_L,
};
pub use speciated::{Dissolved, Pair, Speciated};

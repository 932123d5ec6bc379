//! Water: know it, treat it, hand it to the mash.
//!
//! [`analysis`] blends sources and says what a water is; [`dechlorination`]
//! takes out chlorine and chloramine and bounds what stays; [`salts`] and
//! [`acids`] are what a brewer stirs in; [`mash_ph`] lets the water meet malt;
//! [`treat`] does all of it for a plan and hands over [`BrewingWater`].
//!
//! ```
//! use quantity::{Alkalinity, Fraction, Mass, Measured, Volume};
//! use water::dechlorination::{Dechlorination, Dose, Reagent};
//! use water::salts::{Salt, SaltDose};
//! use water::{Ions, Liquor, SourceShare, SourceWater, WaterPlan, treat};
//!
//! let tap = SourceWater {
//!     ions: Ions {
//!         calcium: "44 mg/L".parse()?,
//!         sodium: "12 mg/L".parse()?,
//!         chloride: "35 mg/L".parse()?,
//!         sulfate: "28 mg/L".parse()?,
//!         ..Ions::default()
//!     },
//!     alkalinity: "60 mg/L as CaCO3".parse()?,
//!     total_chlorine: "1.8 ± 0.15 mg/L".parse()?,
//!     ..SourceWater::named("tap")
//! };
//! let treated = treat(&WaterPlan {
//!     sources: vec![SourceShare { water: tap, share: Fraction::from_ratio(1.0) }],
//!     mash_volume: "15 L".parse()?,
//!     sparge_volume: "15 L".parse()?,
//!     dechlorination: Dechlorination::Reagent {
//!         reagent: Reagent::named("potassium metabisulfite")?,
//!         purity: "95 %".parse()?,
//!         excess: "20 %".parse()?,
//!         dose: Dose::Matched,
//!     },
//!     salts: vec![SaltDose {
//!         salt: Salt::named("gypsum")?,
//!         mass: "3 g".parse()?,
//!         into: Liquor::Mash,
//!     }],
//!     acids: vec![],
//! })?;
//! assert!(treated.mash.chlorine.at_most.mg_per_l() < 1e-9);
//! assert!(treated.mash.ions.calcium > treated.sparge.ions.calcium);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod acids;
pub mod analysis;
mod check;
pub mod chloramine;
pub mod choice;
pub mod dechlorination;
pub mod design;
pub mod disinfectant;
mod error;
mod formula;
mod ions;
mod lookup;
pub mod mash_ph;
pub mod mash_reading;
pub mod report;
pub mod salts;
pub mod speciation;
mod state;
mod treatment;

pub use error::WaterError;
pub use state::*;
pub use treatment::{Amount, Liquor, ToWeigh, TreatedWater, WaterPlan, treat};

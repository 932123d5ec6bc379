//! Wort: from grist and hops to the wort the yeast will meet.
//!
//! A [`WortPlan`] goes through four steps, each a pure function:
//!
//! 1. [`volumes`] works back from the volume wanted in the fermenter to the water
//!    to draw, so that every kilogram of water and extract is accounted for.
//! 2. [`mash_heat`] gives the strike temperature and the steps between rests.
//! 3. [`mash`] turns the two waters and the grist into [`SweetWort`].
//! 4. [`boil`] takes that to [`PitchingWort`], with bitterness and dimethyl
//!    sulfide followed through the whole temperature history.
//!
//! The tables of [`malts`] and [`hops`] hold generic classes and cultivars; the
//! figures of a data sheet override them. [`alcohol`], [`colour`]
//! and [`bitterness`] hold relations that later stages use as well; [`instruments`]
//! turns readings into them.
//!
//! All volumes are at 20 °C unless the name says hot.
//!
//! ```
//! use quantity::{Duration, Fraction, Mass, Ph, Temperature, Volume, VolumePerMass};
//! # use quantity::{Alkalinity, SulfurDioxide};
//! use wort::{BoilPlan, GristItem, HopAddition, HopTime, Kit, MashPlan, Sparge, WortPlan};
//!
//! let plan = WortPlan {
//!     kit: Kit::common_practice(),
//!     into_fermenter: Volume::from_l(20.0),
//!     grist: vec![GristItem {
//!         fermentable: wort::malts::find("pale ale malt")?,
//!         mass: "4.5 kg".parse()?,
//!     }],
//!     mash: MashPlan::single(
//!         VolumePerMass::from_l_per_kg(3.0),
//!         Temperature::from_c(66.0),
//!         Duration::from_min(60.0),
//!     ),
//!     sparge: Sparge::Batch { refills: 1 },
//!     boil: BoilPlan {
//!         duration: Duration::from_min(60.0),
//!         whirlpool: Duration::from_min(10.0),
//!         chill_to: Temperature::from_c(18.0),
//!         top_up: None,
//!     },
//!     hops: vec![HopAddition {
//!         name: "Challenger".into(),
//!         alpha: Fraction::from_ratio(0.075),
//!         alpha_sd: None,
//!         form: None,
//!         mass: Mass::from_g(28.0),
//!         when: HopTime::Boil(Duration::from_min(60.0)),
//!     }],
//! };
//! # let water = water::BrewingWater {
//! #     volume: Volume::from_l(40.0),
//! #     ions: water::Ions::default(),
//! #     alkalinity: Alkalinity::from_meq_per_l(0.5),
//! #     chlorine: water::ResidualChlorine::default(),
//! #     sulfur_dioxide_at_most: SulfurDioxide::from_mg_per_l(0.0),
//! # };
//! let volumes = wort::volumes(&plan)?;
//! let mashed = wort::mash(&plan, &volumes, &water, &water, Ph::from_ph(5.4))?;
//! let boiled = wort::boil(&plan, &mashed.wort)?;
//! assert!((boiled.wort.volume.l() - 20.0).abs() < 1e-6);
//! assert!((1.045..1.056).contains(&boiled.wort.gravity.sg()));
//! assert!((20.0..35.0).contains(&boiled.wort.bitterness.ibu()));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod alcohol;
mod amounts;
pub mod bitterness;
mod boil;
pub mod colour;
pub mod correct;
mod error;
mod ferulic;
mod figures;
mod heat;
pub mod hops;
pub mod instruments;
mod kit;
pub mod lauter;
pub mod malts;
mod mash;
mod mix;
mod numeric;
mod plan;
mod state;
mod sugars;
mod sulfide;
mod thermal;
mod volumes;

pub use amounts::{Entry, Ledger, Solutes, Volumes, WortAmount};
pub use boil::{
    BoilColour, BoilHeat, BoilMoment, BoilReport, BoilWay, Boiled, DMS_FAULT_UG_PER_L,
    DMS_THRESHOLD_UG_PER_L, DmsLeft, DryHopped, HopShare, boil, boiling_point_elevation,
    evaporation_by_power,
};
pub use error::WortError;
pub use heat::{Change, MashHeat, MashIn, Pull, RestStep, mash_heat};
pub use kit::{Chilling, Kit};
pub use mash::{
    Conversion, MashCourse, MashMoment, Mashed, Missed, Remedy, SugarShares, TemperatureReading,
    TunLoss, WayBack, mash, missed, ph_of_enzymes,
};
pub use plan::{
    BoilPlan, GristItem, HopAddition, HopForm, HopTime, MashPlan, Part, Rest, Sparge, Stepping,
    WortPlan,
};
pub use state::*;
pub use sugars::attenuation_limit;
pub use sulfide::smm_half_life;
pub use thermal::KettleStage;
pub use volumes::{volumes, volumes_of};

//! Quantities of brewing that name their basis, with how well they are known.
//!
//! A person writes `"1.8 ± 0.3 mg/L"`, `"20 L"`, `"5.5 gal"`, `"68 °F"`,
//! `"1.052"`, `"12.9 °P"`, `"14 °dH"`, `"4 lb 6 oz"`; each is parsed into a type
//! that says what it is, or refused with an error that points at the character
//! and says what is accepted.
//!
//! ```
//! use quantity::{Alkalinity, Mass, Measured, Temperature, Volume};
//!
//! let volume: Volume = "5.5 gal".parse()?;
//! assert!((volume.l() - 20.82).abs() < 0.01);
//! let malt: Mass = "4 lb 6 oz".parse()?;
//! assert!((malt.kg() - 1.984).abs() < 0.001);
//! let room: Measured<Temperature> = "68 ± 2 F".parse()?;
//! assert!((room.value.c() - 20.0).abs() < 1e-9);
//!
//! // mg/L of what? Alkalinity as CaCO3 and as HCO3 differ by a fifth.
//! let error = "238 mg/L".parse::<Alkalinity>().unwrap_err();
//! assert!(error.to_string().contains("mg/L as CaCO3"));
//! # Ok::<(), quantity::QuantityError>(())
//! ```
//!
//! The crate also holds what every stage needs and no stage owns: densities
//! ([`density`]), molar masses ([`molar_mass`]), marks of provenance
//! ([`Mark`], [`Source`]), notes on results ([`Note`]) and cautions
//! ([`Caution`]).

mod atoms;
mod caution;
pub mod data;
pub mod density;
mod error;
mod gravity;
mod kinds;
mod measured;
pub mod numeric;
mod parse;
mod provenance;
mod show;
mod temperature;
mod told;
mod ucum;
mod unit;

pub use atoms::molar_mass;
pub use caution::{Caution, CautionText};
pub use error::{Problem, QuantityError};
pub use gravity::Gravity;
pub use kinds::*;
pub use measured::{Measured, Spread};
pub use parse::{parse_measured, parse_value};
pub use provenance::{Mark, Note, Source, Weight};
pub use show::{
    Units, number_beside, rounded, show, show_change, show_ends, show_interval, show_measured,
};
pub use temperature::{Temperature, ZERO_CELSIUS_K};
pub use told::Told;
pub use ucum::{Ucum, ucum};
pub use unit::{Ambiguous, Quantity, Shown, Unit, nearest};

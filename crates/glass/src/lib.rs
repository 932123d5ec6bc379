//! What the glass should hold: flavour compounds against their thresholds, and
//! the risks.
//!
//! Each compound that packed beer carries is divided by its threshold: the
//! [`OdourActivity`]. Where science gives no sound concentration (chlorophenols)
//! the [`Medicinal`] risk is a graded bound instead. [`glass()`] gives all of it.
//!
//! ```
//! use glass::{Grade, medicinal};
//! use quantity::Chlorine;
//! use water::ResidualChlorine;
//!
//! let chloramine = Chlorine::from_mg_per_l(1.8);
//! let untreated = ResidualChlorine { combined: chloramine, at_most: chloramine, ..Default::default() };
//! let risk = medicinal(&untreated)?;
//! assert_eq!(risk.expected, Grade::High);
//! assert!(risk.sentence.contains("a yield of 0.03 % would reach the threshold"));
//! # Ok::<(), glass::GlassError>(())
//! ```
//!
//! Not modelled yet: ageing, masking, and the adding up of like flavours.

mod activity;
mod compound;
mod error;
mod grade;
mod medicinal;
mod pour;
mod risk;
pub mod tasting;

pub use activity::{Bound, Notice, OdourActivity, activities};
pub use compound::{Class, Compound, Medium, Threshold};
pub use error::GlassError;
pub use grade::Grade;
pub use medicinal::{
    CHLOROPHENOL_PER_CHLORINE, GRADE_YIELDS, Medicinal, YIELDS_UNKNOWN, medicinal, yield_to_reach,
};
pub use pour::{Glass, glass};
pub use risk::{Risk, SULFITE_LABEL_MG_PER_L};

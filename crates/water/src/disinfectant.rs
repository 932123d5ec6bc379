//! What disinfectant a water holds, every way to take it out, and which to choose.
//!
//! [`judge`] says from a report, a figure or a smell what the supply keeps, and
//! how far free and combined chlorine are known; [`ways_out`] reckons every way
//! for the same water; [`compare`] lays them side by side and recommends one;
//! [`reads_none`] says what a test that shows nothing leaves open; [`courses`]
//! gives chlorine over time for a chart.
//!
//! ```
//! use quantity::Duration;
//! use water::dechlorination::{Reagent, Volumes};
//! use water::disinfectant::{AtHand, Form, Known, ReagentAtHand, Region, Task, Way, compare, judge};
//!
//! let known = Known {
//!     words: "Disinfectant: monochloramine".to_owned(),
//!     total: Some("1.8 ± 0.15 mg/L".parse()?),
//!     ..Known::in_region(Region::UnitedStates)
//! };
//! let judgement = judge(&known)?;
//! assert!(judgement.chloramine.ratio() > 0.95);
//!
//! let tap = judgement.water("tap", "60 mg/L as CaCO3".parse()?);
//! let comparison = compare(&Task {
//!     at_hand: AtHand {
//!         reagents: vec![ReagentAtHand {
//!             reagent: Reagent::PotassiumMetabisulfite,
//!             form: Form::Powder { purity: "95 %".parse()? },
//!         }],
//!         ..AtHand::default()
//!     },
//!     ..Task::new(tap, Volumes { mash: "15 L".parse()?, sparge: "12 L".parse()? }, Duration::from_h(2.0))
//! })?;
//! let best = comparison.recommendation.ok_or("none")?;
//! assert_eq!(best.way, Way::Reagent(Reagent::PotassiumMetabisulfite));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod checking;
mod choice;
mod courses;
mod practice;
mod prices;
mod reagents;
mod table;
mod ways;

use crate::chloramine::ChloramineError;
use crate::error::WaterError;

pub use checking::{AfterTest, TestData, TestKind, reads_none};
pub use choice::{Compared, Comparison, Recommendation, compare};
pub use courses::{Line, LinePoint, courses};
pub use practice::{Grade, Judgement, Known, Practice, Reason, Region, Smell, judge};
pub use prices::Prices;
pub use reagents::{DosePlan, Stock, TabletPlan, TabletStep, stock, suggest_stock, tablets};
pub use table::{Refused, refused, ways_sources};
pub(crate) use table::{chloramination, unknown_ph};
pub use ways::{
    AtHand, CleanWater, Effect, Form, Leaves, ReagentAtHand, Reliability, Task, Way, WayOut,
    as_planned, share_of_clean_water, ways_out,
};

/// Why a disinfectant could not be judged or a way not be reckoned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DisinfectantError {
    /// An impossible water, volume or dose.
    #[error(transparent)]
    Water(#[from] WaterError),
    /// Standing water that could not be followed.
    #[error(transparent)]
    Chloramine(#[from] ChloramineError),
    /// Clean water that does not dilute.
    #[error(
        "{name} holds {clean} and the aim is {aim}; water to dilute with must hold less than the aim"
    )]
    CleanWaterNotClean {
        /// What it is called.
        name: String,
        /// What it holds.
        clean: quantity::Chlorine,
        /// What was to be reached.
        aim: quantity::Chlorine,
    },
}

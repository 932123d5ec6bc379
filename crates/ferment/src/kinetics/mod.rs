//! How a fermentation runs over time.
//!
//! [`published`] holds models of the literature as they were printed. The course
//! of a batch is reckoned with a model of our own in their form, behind
//! [`ferment`](crate::ferment).

mod class;
mod model;
pub mod published;
mod vdk;
mod vessel;

use quantity::Duration;

use crate::error::{FermentError, within};

pub(crate) use class::{ClassKinetics, class_kinetics, common};
pub use vessel::Vessel;

pub(crate) use model::{CourseModel, N as STATES, Setting, State, Sugars, ph_after};
pub(crate) use vessel::{HEAT_KJ_PER_G, Lived};

/// Times in hours, if they rise from zero or later.
fn checked_times(times: &[Duration]) -> Result<Vec<f64>, FermentError> {
    let mut before = 0.0;
    times
        .iter()
        .map(|t| {
            let h = within("time wanted", *t, before, 1e4)?.h();
            before = h;
            Ok(h)
        })
        .collect()
}

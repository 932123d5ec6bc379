//! Watching a fermentation: where it stands, where it is going, and what is wrong.
//!
//! [`watch`] takes what is expected ([`Expectation`]) and what was read ([`Log`]) and
//! gives a [`Course`]: the gravity now and later with intervals, when it will have
//! finished and where, whether it has finished, and alarms with their evidence.
//! [`first_answer`] says where it stands and where it will end from the most likely curve
//! alone; [`posterior`] samples all that the readings leave open.
//!
//! A curve of two textbook steps (growth to a ceiling, saturating uptake) runs on the
//! clock of the measured temperature and is fitted to the readings with what is known
//! beforehand, instruments that are off and drift, and the knowledge that courses wander
//! about any curve.

mod alarm;
#[cfg(test)]
mod calibration;
mod clock;
mod course;
mod curve;
mod expect;
mod finish;
mod first;
pub(crate) mod fit;
mod posterior;
mod reading;
mod table;

pub use alarm::{Alarm, AlarmKind};
pub use course::{
    Course, FinishTime, Forecast, InstrumentFound, Likely, Residual, Watching, watch,
};
pub use expect::{Expectation, Learned};
pub use finish::{Finish, Verdict};
pub use first::{FirstAnswer, first_answer};
pub use posterior::{Posterior, Sampling, posterior, posterior_until};
pub use reading::{GravityReading, Instrument, Log, SetAside, Sieve};

//! What the instruments beside the kettle say: hydrometer, refractometer, density
//! meter, and a mark on a vessel.
//!
//! Each function takes readings with how well they are known and gives figures
//! with how well they follow; where a reading says nothing about itself, the usual
//! spread of its instrument is taken, and a note says so ([`extract_of`] alone turns
//! one scale into another and takes nothing).
//!
//! | function | from | to |
//! |---|---|---|
//! | [`extract_of`] | gravity or density at a temperature | extract, gravity, density |
//! | [`read_hydrometer`] | a reading away from its calibration temperature | gravity |
//! | [`read_refractometer`] | °Bx of wort | gravity |
//! | [`read_refractometer_in_beer`] | °Bx before and after fermentation | gravities, alcohol |
//! | [`strength`] | density of a plain mixture of ethanol and water | % vol, and back |
//! | [`correction`] | checks of an instrument | what to add to its readings |
//! | [`agreement`] | readings of several instruments | their mean, and whether they agree |
//! | [`electrode`] | a pH meter in two buffers | its slope and its offset |
//! | [`set_strength`] | volume and gravity of wort | what to add or boil off |
//!
//! Alcohol from two gravities is in [`alcohol`](crate::alcohol).

mod agreement;
mod calibration;
mod dilution;
mod electrode;
mod extract;
pub(crate) mod figures;
mod hydrometer;
mod propagate;
mod refraction;
mod refractometer;
mod spirit;

pub use agreement::{Agreement, agreement};
pub use calibration::{CheckPoint, Correction, correction, hydrometer_in_water, ice_and_boil};
pub use dilution::{Change, Dilution, Wanted, set_strength};
pub use electrode::{Buffer, Electrode, electrode, nernst_slope_mv, uncompensated_ph};
pub use extract::{Extract, WortReading, extract_of};
pub use hydrometer::{CorrectedGravity, HydrometerReading, read_hydrometer, without_gas};
pub use refractometer::{
    RefractometerReading, RefractometerWort, RefractometerWortAndBeer, read_refractometer,
    read_refractometer_in_beer, read_refractometer_on_the_way, usual_wort_factor,
};
pub use spirit::{Spirit, SpiritReading, strength};

pub(crate) use propagate::propagated;

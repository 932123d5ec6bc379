//! What each batch teaches: of the kit, the yeast and the instruments.
//!
//! [`Taught::of`] takes one batch and says what its readings say of constants, with what
//! its own plan said divided out. [`house`] puts batches together: each constant as a
//! distribution, with what each batch did to it. [`values`] and [`changes`] carry them
//! into the next plan; [`seasons`] is how a water moves through the year by its dated
//! analyses, and [`season_values`] what a plan takes of it for its day; [`thresholds`] is from which concentration each
//! taster notices what. [`constants`] and [`plans`] hold what was said beforehand
//! against what came.

mod check;
mod constant;
mod forget;
mod hierarchy;
mod house;
mod into;
mod keys;
mod linear;
#[cfg(test)]
mod random;
mod seasons;
mod tasters;
mod taught;
mod words;

pub use check::{Check, Inside, Placed, Width, constants, plans};
pub use constant::{Constant, Of, Scale};
pub use forget::{Forget, NoHalfLife};
pub use hierarchy::{Mixture, Posterior, Prior, Seen, read_alone};
pub use house::{Known, Moved, house};
pub use into::{Into, changes, taken_out, values};
pub(crate) use keys::section;
pub use keys::{LearningSection, Taken};
pub use seasons::{
    Figure as SeasonFigure, Ion, OnDay, Sampled, Seasonal, SeasonalWater, season_source,
    season_values, season_words, seasons,
};
pub use tasters::{
    Noticed, Tasted, TasterThreshold, found_by, keen_words, keenness, tasted, tasted_words,
    taster_source, threshold_words, thresholds,
};
pub use taught::{Came, Evidence, Taught};
pub use words::{HOW, HOW_SEASONS, known_words, moved_words, odd_words, prior_words};

//! What each batch teaches: of the kit, the yeast and the instruments.
//!
//! [`Taught::of`] takes one batch and says what its readings say of constants, with what
//! its own plan said divided out. [`house`] puts batches together: each constant as a
//! distribution, with what each batch did to it. [`values`] and [`changes`] carry them
//! into the next plan, and [`constants`] and [`plans`] hold what was said beforehand
//! against what came.

mod check;
mod constant;
mod hierarchy;
mod house;
mod into;
mod keys;
mod taught;
mod words;

pub use check::{Check, Inside, Placed, Width, constants, plans};
pub use constant::{Constant, Of, Scale};
pub use hierarchy::{Mixture, Posterior, Prior, Seen, read_alone};
pub use house::{Forget, Known, Moved, house};
pub use into::{Into, changes, taken_out, values};
pub(crate) use keys::section;
pub use keys::{LearningSection, Taken};
pub use taught::{Came, Evidence, Taught};
pub use words::{HOW, known_words, moved_words, odd_words, prior_words};

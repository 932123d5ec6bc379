//! Why a tasting cannot be reckoned.

/// A tasting that cannot be planned or judged.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TastingError {
    /// A share, a risk or a difference that cannot be.
    #[error("{what} is {given}; it must lie between {least} and {most}")]
    Outside {
        /// What the number stands for.
        what: &'static str,
        /// What was given.
        given: f64,
        /// The least that works.
        least: f64,
        /// The most that works.
        most: f64,
    },
    /// More right than there were tastings.
    #[error("{right} right of {of} {what}; there cannot be more right than were tasted")]
    TooManyRight {
        /// What was counted.
        what: &'static str,
        /// How many were right.
        right: u32,
        /// How many there were.
        of: u32,
    },
    /// Nothing was tasted, or more than can be reckoned.
    #[error("{given} {what}; from {least} to {most} can be reckoned")]
    Count {
        /// What was counted.
        what: &'static str,
        /// How many there were.
        given: usize,
        /// The fewest.
        least: usize,
        /// The most.
        most: usize,
    },
    /// A score that is no number.
    #[error("a score is {given}; every score must be a number below a million")]
    Score {
        /// What was given.
        given: f64,
    },
}

/// The most tastings that are reckoned: beyond it no panel of a small brewery goes.
pub const MOST_TASTINGS: u32 = 3000;

pub(super) fn between(
    what: &'static str,
    given: f64,
    least: f64,
    most: f64,
) -> Result<f64, TastingError> {
    if (least..=most).contains(&given) {
        return Ok(given);
    }
    Err(TastingError::Outside {
        what,
        given,
        least,
        most,
    })
}

/// A risk of error, such as 0.05.
pub(super) fn risk(what: &'static str, given: f64) -> Result<f64, TastingError> {
    between(what, given, 1e-6, 0.5)
}

pub(super) fn count(what: &'static str, given: u32) -> Result<u32, TastingError> {
    if (1..=MOST_TASTINGS).contains(&given) {
        return Ok(given);
    }
    Err(TastingError::Count {
        what,
        given: given as usize,
        least: 1,
        most: MOST_TASTINGS as usize,
    })
}

pub(super) fn right_of(what: &'static str, right: u32, of: u32) -> Result<(), TastingError> {
    count(what, of)?;
    if right > of {
        return Err(TastingError::TooManyRight { what, right, of });
    }
    Ok(())
}

//! What can be wrong with a question or a network.

/// Why a question has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum InquiryError {
    /// A key that no table knows.
    #[error("there is no {what} {given:?}; the nearest is {nearest:?}")]
    Unknown {
        /// "finding", "circumstance", "cause" or "test".
        what: &'static str,
        /// What was given.
        given: String,
        /// The nearest key.
        nearest: String,
    },
    /// Something is said twice of one thing.
    #[error("{given:?} is said twice; say it once")]
    Twice {
        /// Which.
        given: String,
    },
    /// More findings that hang together than can be weighed exactly.
    #[error(
        "{given} findings are present, and too many of them have causes in common; up to {most} can always be weighed at once"
    )]
    TooMany {
        /// How many.
        given: usize,
        /// How many always can be.
        most: usize,
    },
    /// A number outside what it can be.
    #[error("{what} is {given}; 0 to 1 would work")]
    Share {
        /// Which number.
        what: &'static str,
        /// What was given.
        given: f64,
    },
    /// The evidence cannot be: a finding without a leak that no cause makes.
    #[error("nothing in the tables can make this evidence; leave one finding out")]
    Impossible,
}

/// Refuses a chance that is none.
pub(crate) fn share(what: &'static str, given: f64) -> Result<f64, InquiryError> {
    if (0.0..=1.0).contains(&given) {
        Ok(given)
    } else {
        Err(InquiryError::Share { what, given })
    }
}

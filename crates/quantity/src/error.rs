//! Why a written quantity could not be understood, and where.

use std::fmt;
use std::ops::Range;

/// A written quantity that could not be understood.
///
/// Carries the place (byte range in `input`), so that a screen can put a caret
/// under it, and says what would be accepted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}", self.sentence())]
pub struct QuantityError {
    /// The quantity that was wanted, such as "volume".
    pub quantity: &'static str,
    /// What was written.
    pub input: String,
    /// The bytes of `input` that are at fault.
    pub at: Range<usize>,
    /// What is wrong there.
    pub problem: Problem,
    /// The units that would be accepted.
    pub accepted: Vec<&'static str>,
}

/// What is wrong with a written quantity.
#[derive(Debug, Clone, PartialEq)]
pub enum Problem {
    /// Nothing was written.
    Empty,
    /// A number was wanted here.
    NotANumber,
    /// A decimal comma; the hint is the same number with a point.
    DecimalComma {
        /// The number as it should be written.
        hint: String,
    },
    /// A number with no unit behind it.
    MissingUnit,
    /// A unit that this quantity does not have.
    UnknownUnit {
        /// The nearest spelling that is known.
        nearest: Option<&'static str>,
    },
    /// A unit that leaves the basis open.
    Ambiguous {
        /// What to write instead.
        hint: &'static str,
    },
    /// Outside what is physically or practically possible.
    OutOfBounds {
        /// The least accepted, printed with its unit.
        min: String,
        /// The greatest accepted, printed with its unit.
        max: String,
    },
    /// A spread that is negative or not a number.
    BadSpread,
    /// A range whose lower end is above its upper end.
    RangeReversed,
    /// Something stands behind the quantity that does not belong there.
    Trailing,
}

impl QuantityError {
    /// The character (not byte) position of the fault, counted from one.
    #[must_use]
    pub fn character(&self) -> usize {
        self.input
            .char_indices()
            .take_while(|(i, _)| *i < self.at.start)
            .count()
            + 1
    }

    /// What would be accepted, as a phrase.
    #[must_use]
    pub fn help(&self) -> String {
        match &self.problem {
            Problem::DecimalComma { hint } => format!("write a decimal point: {hint}"),
            Problem::Ambiguous { hint } => (*hint).to_owned(),
            Problem::OutOfBounds { min, max } => format!("between {min} and {max} is accepted"),
            Problem::UnknownUnit {
                nearest: Some(nearest),
            } => format!("did you mean {nearest:?}? accepted: {}", self.units()),
            Problem::BadSpread => {
                "write the spread as a positive number, as in 1.8 ± 0.3".to_owned()
            }
            Problem::RangeReversed => "write the smaller end first".to_owned(),
            Problem::Trailing => {
                "write one value, as in \"1.8\", \"1.8 ± 0.3\" or \"12-18\", with its unit"
                    .to_owned()
            }
            Problem::Empty
            | Problem::NotANumber
            | Problem::MissingUnit
            | Problem::UnknownUnit { nearest: None } => {
                format!("accepted: a number and {}", self.units())
            }
        }
    }

    /// What is wrong, without the help.
    #[must_use]
    pub fn fault(&self) -> String {
        let text = self.input.get(self.at.clone()).unwrap_or_default();
        let what = match &self.problem {
            Problem::Empty => "nothing is written".to_owned(),
            Problem::NotANumber if text.is_empty() => "a number is missing".to_owned(),
            Problem::NotANumber => format!("{text:?} is not a number"),
            Problem::DecimalComma { .. } => format!("{text:?} has a decimal comma"),
            Problem::MissingUnit => "the unit is missing".to_owned(),
            Problem::UnknownUnit { .. } => format!("unknown unit {text:?}"),
            Problem::Ambiguous { .. } => format!("{text:?} leaves the basis open"),
            Problem::OutOfBounds { .. } => format!("{text:?} is out of bounds"),
            Problem::BadSpread => format!("{text:?} cannot be a spread"),
            Problem::RangeReversed => format!("the range {text:?} runs backwards"),
            Problem::Trailing => format!("{text:?} does not belong here"),
        };
        format!(
            "{}: {what} at character {}",
            self.quantity,
            self.character()
        )
    }

    fn units(&self) -> String {
        let named: Vec<&str> = self
            .accepted
            .iter()
            .copied()
            .filter(|s| !s.is_empty())
            .collect();
        let bare = self.accepted.iter().any(|s| s.is_empty());
        match (named.is_empty(), bare) {
            (true, _) => "no unit".to_owned(),
            (false, true) => format!("no unit, or one of {}", named.join(", ")),
            (false, false) => format!("one of {}", named.join(", ")),
        }
    }

    fn sentence(&self) -> String {
        format!("{}; {}", self.fault(), self.help())
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self:?}")
    }
}

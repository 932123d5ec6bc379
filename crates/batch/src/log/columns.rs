//! What the columns of a table hold.

use std::fmt;
use std::str::FromStr;

use jiff::tz::Offset;

use super::when::Order;
use super::{LogError, What};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Nothing that is wanted.
    Skip,
    /// An instant with its offset, as in 2026-03-14T09:26:53Z.
    Instant,
    /// Date and time of day without an offset.
    Civil(Order),
    /// A date; the time of day stands in another column.
    Date(Order),
    /// A time of day; the date stands in another column.
    Clock,
    /// Seconds since 1970.
    UnixSeconds,
    /// Milliseconds since 1970.
    UnixMilliseconds,
    /// Time since the start of the log.
    Since(Since),
    /// The name of the instrument.
    Instrument,
    /// A reading in a unit of [`What::units`].
    Reading(What, &'static str),
}

/// In which unit a time counts from a start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Since {
    /// Minutes.
    Minutes,
    /// Hours.
    Hours,
    /// Days.
    Days,
}

/// How a table is to be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Mapping {
    /// What stands between two cells.
    pub delimiter: u8,
    /// A comma stands before the tenths.
    pub decimal_comma: bool,
    /// The first line names the columns.
    pub header: bool,
    /// What each column holds.
    pub columns: Vec<Role>,
    /// The instrument, where no column names it.
    pub instrument: String,
    /// The start, for times that count from one, in milliseconds since 1970.
    pub start_ms: Option<i64>,
    /// The offset of times that have none of their own.
    pub offset: Offset,
}

impl Role {
    /// All roles, as a form offers them.
    #[must_use]
    pub fn all() -> Vec<Self> {
        let orders = [
            Order::YearMonthDay,
            Order::DayMonthYear,
            Order::MonthDayYear,
        ];
        let readings = What::ALL.into_iter().flat_map(|what| {
            let units = what.units().iter();
            units.map(move |unit| Self::Reading(what, unit.symbol))
        });
        [Self::Skip, Self::Instant]
            .into_iter()
            .chain(orders.map(Self::Civil))
            .chain(orders.map(Self::Date))
            .chain([Self::Clock, Self::UnixSeconds, Self::UnixMilliseconds])
            .chain([Since::Minutes, Since::Hours, Since::Days].map(Self::Since))
            .chain([Self::Instrument])
            .chain(readings)
            .collect()
    }

    /// True for what says when.
    #[must_use]
    pub const fn is_time(self) -> bool {
        !matches!(
            self,
            Self::Skip | Self::Instrument | Self::Clock | Self::Reading(..)
        )
    }
}

/// The word of a role in forms and commands.
impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let order = |order: &Order| match order {
            Order::YearMonthDay => "y-m-d",
            Order::DayMonthYear => "d.m.y",
            Order::MonthDayYear => "m/d/y",
        };
        match self {
            Self::Skip => f.write_str("skip"),
            Self::Instant => f.write_str("time with offset"),
            Self::Civil(o) => write!(f, "time {}", order(o)),
            Self::Date(o) => write!(f, "date {}", order(o)),
            Self::Clock => f.write_str("time of day"),
            Self::UnixSeconds => f.write_str("seconds since 1970"),
            Self::UnixMilliseconds => f.write_str("milliseconds since 1970"),
            Self::Since(Since::Minutes) => f.write_str("minutes from the start"),
            Self::Since(Since::Hours) => f.write_str("hours from the start"),
            Self::Since(Since::Days) => f.write_str("days from the start"),
            Self::Instrument => f.write_str("instrument"),
            Self::Reading(What::Ph, _) => f.write_str("ph"),
            Self::Reading(what, unit) => write!(f, "{} {unit}", what.word()),
        }
    }
}

impl FromStr for Role {
    type Err = LogError;

    /// Reads the word of a role; a reading without its unit is in the usual one.
    fn from_str(text: &str) -> Result<Self, LogError> {
        let text = text.trim();
        let all = Self::all();
        let whole = all.iter().find(|role| role.to_string() == text);
        let usual = || {
            let what = What::of_word(text)?;
            what.units()
                .first()
                .map(|unit| Self::Reading(what, unit.symbol))
        };
        // "gravity {SG}": the unit by its UCUM code.
        let coded = || {
            let (word, code) = text.split_once(' ')?;
            let what = What::of_word(word)?;
            what.unit(code).map(|unit| Self::Reading(what, unit.symbol))
        };
        whole.copied().or_else(usual).or_else(coded).ok_or_else(|| {
            let known: Vec<String> = all.iter().map(ToString::to_string).collect();
            LogError::Role {
                given: text.to_owned(),
                known: known.join(", "),
            }
        })
    }
}

impl Since {
    pub(super) const fn ms(self) -> f64 {
        match self {
            Self::Minutes => 60_000.0,
            Self::Hours => 3_600_000.0,
            Self::Days => 86_400_000.0,
        }
    }
}

impl Mapping {
    /// Whether it can be read with, for a table of so many columns.
    ///
    /// # Errors
    /// What is missing.
    pub fn check(&self, columns: usize) -> Result<(), LogError> {
        if self.columns.len() != columns {
            return Err(LogError::Columns {
                columns,
                roles: self.columns.len(),
            });
        }
        if !self.columns.iter().any(|role| role.is_time()) {
            return Err(LogError::NoTime);
        }
        if !self.columns.iter().any(|r| matches!(r, Role::Reading(..))) {
            return Err(LogError::NothingRead);
        }
        let counts = self.columns.iter().any(|r| matches!(r, Role::Since(_)));
        if counts && self.start_ms.is_none() {
            return Err(LogError::NoStart);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_role_has_a_word_of_its_own_that_reads_back() {
        let all = Role::all();
        for role in &all {
            assert_eq!(role.to_string().parse::<Role>().as_ref(), Ok(role));
        }
        let mut words: Vec<String> = all.iter().map(ToString::to_string).collect();
        words.sort();
        words.dedup();
        assert_eq!(words.len(), all.len());
        assert_eq!("gravity".parse(), Ok(Role::Reading(What::Gravity, "SG")));
        assert_eq!(
            "temperature [degF]".parse(),
            Ok(Role::Reading(What::Temperature, "°F"))
        );
        let error = "colour".parse::<Role>().unwrap_err().to_string();
        assert!(error.contains("gravity °P"), "{error}");
    }
}

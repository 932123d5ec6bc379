//! How the age of what was read counts.

use crate::library::day_number;

/// Days of a month on the average.
const DAYS_A_MONTH: f64 = 30.436_875;
/// What a half-life may be, in batches or in months.
const BOUNDS: std::ops::RangeInclusive<f64> = 0.1..=1e4;

/// How the age of a batch counts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Forget {
    /// Not at all.
    #[default]
    Never,
    /// A batch counts half after so many further ones.
    Batches(f64),
    /// A batch counts half after so many months; one without a day counts whole.
    Months(f64),
}

/// What was written is no half-life.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{given:?} is no half-life; write a number of batches from 0.1 to 10000, such as \"10 batches\", or of months, such as \"18 months\", or \"never\""
)]
pub struct NoHalfLife {
    /// What was written.
    pub given: String,
}

impl Forget {
    /// Reads "10 batches", "18 months", "2 years", "never", or a bare number of batches.
    /// Nothing is never.
    ///
    /// # Errors
    /// [`NoHalfLife`].
    pub fn read(text: &str) -> Result<Self, NoHalfLife> {
        let trimmed = text.trim();
        if trimmed.is_empty() || trimmed.eq_ignore_ascii_case("never") {
            return Ok(Self::Never);
        }
        let unit = trimmed.trim_start_matches(|c: char| c.is_ascii_digit() || ".,".contains(c));
        let number = trimmed[..trimmed.len() - unit.len()].replace(',', ".");
        let number = number.parse::<f64>().ok();
        let read = number.and_then(|half| match unit.trim().to_lowercase().as_str() {
            "" | "batch" | "batches" => Some(Self::Batches(half)),
            "month" | "months" => Some(Self::Months(half)),
            "year" | "years" => Some(Self::Months(12.0 * half)),
            _ => None,
        });
        let bounded = read.filter(|read| match read {
            Self::Never => true,
            Self::Batches(half) | Self::Months(half) => BOUNDS.contains(half),
        });
        bounded.ok_or_else(|| NoHalfLife {
            given: text.to_owned(),
        })
    }

    /// As it is written: "10 batches", "18 months", "never".
    #[must_use]
    pub fn written(self) -> String {
        match self {
            Self::Never => "never".to_owned(),
            Self::Batches(half) => format!("{half} batches"),
            Self::Months(half) => format!("{half} months"),
        }
    }

    /// Share of a new one that one counts for after which so many came, and so many days.
    #[must_use]
    pub fn weight(self, after: usize, days: Option<f64>) -> f64 {
        let lives = match self {
            Self::Batches(half) if half > 0.0 => after as f64 / half,
            Self::Months(half) if half > 0.0 => days.unwrap_or(0.0) / DAYS_A_MONTH / half,
            _ => 0.0,
        };
        0.5f64.powf(lives.max(0.0))
    }

    /// The weights of what was read in order, each on its day where that is known, seen
    /// from the last of them.
    pub(super) fn weights(self, days: &[Option<f64>]) -> Vec<f64> {
        let newest = days.iter().flatten().copied().fold(f64::NAN, f64::max);
        self.weights_from(days, Some(newest).filter(|day| day.is_finite()))
    }

    /// The same, seen from a day.
    pub(super) fn weights_from(self, days: &[Option<f64>], from: Option<f64>) -> Vec<f64> {
        let each = days.iter().enumerate();
        each.map(|(n, day)| {
            let age = day.zip(from).map(|(day, from)| from - day);
            self.weight(days.len() - 1 - n, age)
        })
        .collect()
    }
}

/// A day, or the middle of a month, as a number of days; none where it is no day.
pub(super) fn day(written: Option<&str>) -> Option<f64> {
    written.and_then(day_number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_half_life_is_read_and_written() {
        for (text, read) in [
            ("10", Forget::Batches(10.0)),
            ("2,5 batches", Forget::Batches(2.5)),
            ("18 months", Forget::Months(18.0)),
            ("2 years", Forget::Months(24.0)),
            ("Never", Forget::Never),
            ("", Forget::Never),
        ] {
            assert_eq!(Forget::read(text), Ok(read), "{text}");
            assert_eq!(Forget::read(&read.written()), Ok(read), "{text}");
        }
        for text in [
            "0", "-3", "many", "10 weeks", "1e9", "batches", "NaN", "10001",
        ] {
            assert!(Forget::read(text).is_err(), "{text}");
        }
    }

    #[test]
    fn after_a_half_life_one_counts_half() {
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
        near(Forget::Batches(4.0).weight(4, None), 0.5);
        near(
            Forget::Months(6.0).weight(99, Some(6.0 * DAYS_A_MONTH)),
            0.5,
        );
        near(Forget::Months(6.0).weight(99, None), 1.0);
        near(Forget::Never.weight(99, Some(1e5)), 1.0);
        // Nothing counts more than a new one, whatever the days say.
        near(Forget::Months(6.0).weight(0, Some(-100.0)), 1.0);
        let days = [day(Some("2026-01-10")), None, day(Some("2027-01-10"))];
        let weights = Forget::Months(12.0).weights(&days);
        near(weights[0], 0.5f64.powf(365.0 / DAYS_A_MONTH / 12.0));
        near(weights[1], 1.0);
        near(weights[2], 1.0);
    }
}

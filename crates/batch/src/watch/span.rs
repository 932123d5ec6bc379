//! The time that is watched: from pitching to the moment that is looked from, by clocks
//! that may have jumped.

use ferment::watch::Log;
use quantity::{Duration, Note};

use super::{Moments, Pitching};
use crate::log::LogReading;
use crate::stream::Reckoning;

pub(super) const HOUR_MS: f64 = 3_600_000.0;
/// Clocks that are further apart than this are not of one fermentation \[ms\]: a month.
const APART_MS: i64 = 30 * 86_400_000;
/// The longest course that is watched \[h\]: a year.
const LONGEST_H: f64 = 8_784.0;

/// What of the time is watched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    pub(super) pitching: Pitching,
    now_ms: i64,
    /// The stretch in which most clocks agree.
    from_ms: i64,
    to_ms: i64,
    pitched_after_readings: bool,
}

impl Span {
    pub(super) fn of(r: &Reckoning, readings: &[LogReading], moments: Moments) -> Self {
        let mut times: Vec<i64> = readings.iter().map(|reading| reading.at_ms).collect();
        times.sort_unstable();
        let (from_ms, to_ms) = stretch(&times);
        let documented = r.document.fermentation.pitched.filter(|_| !moments.undated);
        let said = moments.pitched_ms.or(documented);
        let at_ms = said.unwrap_or(if moments.undated { 0 } else { from_ms });
        Self {
            pitching: Pitching {
                at_ms,
                said: said.is_some() || moments.undated,
                dated: !moments.undated && (said.is_some() || !times.is_empty()),
            },
            now_ms: moments.now_ms.unwrap_or(to_ms).max(at_ms),
            from_ms,
            to_ms,
            pitched_after_readings: !times.is_empty() && at_ms > to_ms,
        }
    }

    /// Time since pitching.
    pub(super) fn since(&self, at_ms: i64) -> Duration {
        Duration::from_h(at_ms.saturating_sub(self.pitching.at_ms) as f64 / HOUR_MS)
    }

    pub(super) fn now(&self) -> Duration {
        Duration::from_h(self.since(self.now_ms).h().clamp(0.0, LONGEST_H))
    }

    /// Whether a clock stands within a month of the others.
    pub(super) fn holds(&self, at_ms: i64) -> bool {
        (self.from_ms..=self.to_ms).contains(&at_ms)
    }

    pub(super) fn notes(&self, log: &Log) -> Vec<Note> {
        let read = !log.gravities.is_empty() || !log.temperatures.is_empty();
        let mut notes = Vec::new();
        if read && !self.pitching.said {
            notes.push(Note::look(
                "nobody said when the yeast was pitched: the first reading is taken for it (fermentation.pitched says it)",
            ));
        }
        if self.pitched_after_readings {
            notes.push(Note::look(
                "all readings are older than the pitching that is said: see fermentation.pitched",
            ));
        }
        notes
    }
}

/// The first and last of the stretch, without a gap of a month, that holds the most; the
/// later of two that hold as many.
fn stretch(sorted: &[i64]) -> (i64, i64) {
    let stretches = sorted.chunk_by(|a, b| b.saturating_sub(*a) <= APART_MS);
    let most = stretches.max_by_key(|chunk| chunk.len());
    let ends = most.and_then(|chunk| Some((*chunk.first()?, *chunk.last()?)));
    ends.unwrap_or((0, 0))
}

/// A day of the calendar, such as "21 March 2026".
#[must_use]
pub fn date_words(at_ms: i64) -> String {
    jiff::Timestamp::from_millisecond(at_ms)
        .map(|at| at.strftime("%-d %B %Y").to_string())
        .unwrap_or_default()
}

/// A moment of the calendar, such as "2026-03-21 18:30 UTC".
#[must_use]
pub fn moment_words(at_ms: i64) -> String {
    jiff::Timestamp::from_millisecond(at_ms)
        .map(|at| at.strftime("%Y-%m-%d %H:%M UTC").to_string())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_that_jumped_is_not_of_the_stretch() {
        let day = 86_400_000;
        let of = |days: &[i64]| {
            let mut times: Vec<i64> = days.iter().map(|d| d * day).collect();
            times.sort_unstable();
            let (from, to) = stretch(&times);
            (from / day, to / day)
        };
        assert_eq!(of(&[20_000, 20_001, 20_004, 0, 60_000]), (20_000, 20_004));
        assert_eq!(of(&[]), (0, 0));
        assert_eq!(of(&[i64::MIN / day, 5, 6]), (5, 6));
    }

    #[test]
    fn moments_are_written_as_people_do() {
        assert_eq!(date_words(1_774_116_000_000), "21 March 2026");
        assert_eq!(moment_words(1_774_116_000_000), "2026-03-21 18:00 UTC");
        assert_eq!(date_words(i64::MAX), "");
    }
}

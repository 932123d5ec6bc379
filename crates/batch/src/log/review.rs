//! Looking over what an instrument said: clocks, gaps, spikes. Nothing is changed.

use super::LogReading;

/// Something about a reading that a person should see.
#[derive(Debug, Clone, PartialEq)]
pub struct Flag {
    /// Which reading, by its place in what was given.
    pub place: usize,
    /// What.
    pub kind: FlagKind,
}

/// What is the matter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FlagKind {
    /// The same time and the same value as one before.
    Again,
    /// The same time as one before and another value.
    Contradicts,
    /// The clock went back by so many hours.
    Back(f64),
    /// Nothing for so many hours before it.
    Gap(f64),
    /// Far from its neighbours: by how much, in the canonical unit.
    Spike(f64),
}

/// Neighbours on either side that a spike is held against.
const SIDE: usize = 3;
/// Standard deviations that make a spike; a Hampel filter (judgement).
const SPIKE_SDS: f64 = 5.0;
/// Standard deviation over the median of absolute deviations of a normal distribution.
const SD_OF_MAD: f64 = 1.4826;
/// A gap is so many usual steps, and at least so long \[h\] (judgement).
const GAP_STEPS: f64 = 6.0;
const GAP_AT_LEAST_H: f64 = 6.0;
const HOUR_MS: f64 = 3_600_000.0;

impl FlagKind {
    /// In words.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Again => "the same reading once more".to_owned(),
            Self::Contradicts => "another value at the same time".to_owned(),
            Self::Back(h) => format!("the clock went back by {h:.1} h"),
            Self::Gap(h) => format!("nothing for {h:.1} h before it"),
            Self::Spike(_) => "far from its neighbours".to_owned(),
        }
    }
}

/// Looks over the readings of one channel, in the order in which they came.
///
/// Spikes are told by a Hampel filter over three neighbours on either side; below
/// `resolution` (in the canonical unit) nothing is a spike.
#[must_use]
pub fn review(readings: &[LogReading], resolution: f64) -> Vec<Flag> {
    let mut flags = Vec::new();
    let mut flag = |place, kind| flags.push(Flag { place, kind });
    let usual_h = usual_step_h(readings);
    for (place, pair) in readings.windows(2).enumerate() {
        let [before, now] = pair else { continue };
        let step_h = now.at_ms.saturating_sub(before.at_ms) as f64 / HOUR_MS;
        if step_h < 0.0 {
            flag(place + 1, FlagKind::Back(-step_h));
        } else if step_h == 0.0 {
            let same = (now.canonical - before.canonical).abs() < 1e-9;
            let kind = if same {
                FlagKind::Again
            } else {
                FlagKind::Contradicts
            };
            flag(place + 1, kind);
        } else if step_h > (GAP_STEPS * usual_h).max(GAP_AT_LEAST_H) {
            flag(place + 1, FlagKind::Gap(step_h));
        }
    }
    for (place, reading) in readings.iter().enumerate() {
        if let Some(off) = spike(readings, place, reading.canonical, resolution) {
            flag(place, FlagKind::Spike(off));
        }
    }
    flags.sort_by_key(|flag| flag.place);
    flags
}

fn usual_step_h(readings: &[LogReading]) -> f64 {
    let mut steps: Vec<f64> = readings
        .windows(2)
        .filter_map(|pair| match pair {
            [a, b] if b.at_ms > a.at_ms => Some(b.at_ms.saturating_sub(a.at_ms) as f64 / HOUR_MS),
            _ => None,
        })
        .collect();
    steps.sort_by(f64::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(0.0)
}

fn spike(readings: &[LogReading], place: usize, value: f64, resolution: f64) -> Option<f64> {
    let from = place.saturating_sub(SIDE);
    let to = (place + SIDE + 1).min(readings.len());
    let around: Vec<f64> = (from..to)
        .filter(|n| *n != place)
        .filter_map(|n| readings.get(n))
        .map(|reading| reading.canonical)
        .collect();
    if around.len() < 2 * SIDE - 1 {
        return None;
    }
    let middle = median(around.clone());
    let spread = SD_OF_MAD * median(around.iter().map(|x| (x - middle).abs()).collect());
    let off = value - middle;
    (off.abs() > (SPIKE_SDS * spread).max(resolution)).then_some(off)
}

fn median(mut numbers: Vec<f64>) -> f64 {
    numbers.sort_by(f64::total_cmp);
    let n = numbers.len();
    let at = |i: usize| numbers.get(i).copied().unwrap_or(0.0);
    if n % 2 == 1 {
        at(n / 2)
    } else {
        f64::midpoint(at((n / 2).saturating_sub(1)), at(n / 2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::log::What;
    use proptest::prelude::*;

    fn reading(hour: f64, plato: f64) -> LogReading {
        LogReading {
            instrument: "float".to_owned(),
            what: What::Gravity,
            at_ms: (hour * HOUR_MS) as i64,
            value: plato,
            unit: "°P",
            canonical: plato,
            raw: plato.to_string(),
            lapsed_sd: 0.0,
        }
    }

    fn falling() -> Vec<LogReading> {
        (0..60)
            .map(|h| reading(f64::from(h), 12.0 - 0.15 * f64::from(h)))
            .collect()
    }

    #[test]
    fn a_quiet_log_has_no_flags() {
        assert_eq!(review(&falling(), 0.3), []);
        assert_eq!(review(&[], 0.3), []);
        // Clocks as far apart as numbers go.
        let mut ends = [reading(0.0, 12.0), reading(0.0, 12.0)];
        ends[0].at_ms = i64::MAX;
        ends[1].at_ms = i64::MIN;
        assert_eq!(review(&ends, 0.3).len(), 1);
    }

    #[test]
    fn clocks_gaps_spikes_and_repeats_are_seen() {
        let mut log = falling();
        log[20].canonical += 3.0;
        log.push(reading(90.0, 3.0));
        log.push(reading(90.0, 3.0));
        log.push(reading(90.0, 2.5));
        log.push(reading(66.0, 2.9));
        let flags = review(&log, 0.3);
        let kind = |place: usize| {
            flags
                .iter()
                .filter(|f| f.place == place)
                .map(|f| f.kind)
                .collect::<Vec<_>>()
        };
        assert!(
            matches!(kind(20)[..], [FlagKind::Spike(off)] if (off - 3.0).abs() < 0.2),
            "{flags:?}"
        );
        assert!(matches!(kind(60)[..], [FlagKind::Gap(h)] if (h - 31.0).abs() < 1e-9));
        assert_eq!(kind(61), [FlagKind::Again]);
        assert_eq!(kind(62), [FlagKind::Contradicts]);
        assert!(matches!(kind(63)[..], [FlagKind::Back(h)] if (h - 24.0).abs() < 1e-9));
        assert_eq!(flags.len(), 5, "{flags:?}");
    }

    proptest! {
        #[test]
        fn a_jump_that_stays_is_no_spike(at in 5usize..50, by in 1.0..5.0f64) {
            let mut log = falling();
            for reading in &mut log[at..] { reading.canonical -= by; }
            let flags = review(&log, 0.3);
            let spikes = flags.iter().filter(|f| matches!(f.kind, FlagKind::Spike(_))).count();
            prop_assert!(spikes <= 2, "{:?}", flags);
        }
    }
}

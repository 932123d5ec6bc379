//! Times on an axis, in words: how long, and when in the year.

use crate::number::show;
use crate::scale::{Axis, Scale};
use crate::tick::Tick;

/// What the values of an axis are called.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Names {
    /// Numbers in the axis's unit.
    #[default]
    Numbers,
    /// Minutes, written as "5 min", "1 h", "1 d", "1 week".
    Durations,
    /// Days of the year, written as dates.
    Year,
}

const HOUR: f64 = 60.0;
const DAY: f64 = 24.0 * HOUR;
const WEEK: f64 = 7.0 * DAY;

/// Durations \[min\] that people think in; the longer a list, the closer its ticks.
const LADDERS: [&[f64]; 3] = [
    &[
        1.0,
        2.0,
        5.0,
        15.0,
        30.0,
        HOUR,
        2.0 * HOUR,
        4.0 * HOUR,
        12.0 * HOUR,
        DAY,
        2.0 * DAY,
        WEEK,
        4.0 * WEEK,
    ],
    &[
        1.0,
        5.0,
        15.0,
        HOUR,
        4.0 * HOUR,
        DAY,
        3.0 * DAY,
        WEEK,
        4.0 * WEEK,
    ],
    &[1.0, 10.0, HOUR, 6.0 * HOUR, DAY, WEEK, 4.0 * WEEK],
];

/// Each month with the day of an ordinary year on which it begins.
const MONTHS: [(f64, &str); 12] = [
    (1.0, "Jan"),
    (32.0, "Feb"),
    (60.0, "Mar"),
    (91.0, "Apr"),
    (121.0, "May"),
    (152.0, "Jun"),
    (182.0, "Jul"),
    (213.0, "Aug"),
    (244.0, "Sep"),
    (274.0, "Oct"),
    (305.0, "Nov"),
    (335.0, "Dec"),
];

/// A value in words; none if it is a number, or lies where words would mislead.
pub(crate) fn said(names: Names, value: f64) -> Option<String> {
    match names {
        Names::Numbers => None,
        Names::Durations => (0.0..1e8).contains(&value).then(|| duration(value)),
        Names::Year => (1.0..367.0).contains(&value).then(|| date(value)),
    }
}

fn duration(min: f64) -> String {
    if (1.0..10.0).contains(&min) {
        return format!("{} min", show(min, None));
    }
    if min < 1.0 {
        return format!("{} s", show(min * 60.0, None));
    }
    let whole = min.round();
    let (unit, name, small, small_name) = if whole < HOUR {
        return format!("{whole} min");
    } else if whole < DAY {
        (HOUR, "h", 1.0, "min")
    } else if (whole % WEEK) < 1.0 {
        let weeks = whole / WEEK;
        return format!("{weeks} week{}", if weeks > 1.0 { "s" } else { "" });
    } else {
        (DAY, "d", HOUR, "h")
    };
    // Rounding to the smaller unit may fill the larger one.
    let parts = (whole / small).round();
    let per = unit / small;
    let (large, rest) = ((parts / per).floor(), parts % per);
    if rest < 1.0 {
        format!("{large} {name}")
    } else {
        format!("{large} {name} {rest} {small_name}")
    }
}

fn date(day: f64) -> String {
    let whole = day.floor();
    let month = MONTHS.iter().rev().find(|m| m.0 <= whole);
    // The 366th day of a leap year is still in December.
    let (start, name) = month.copied().unwrap_or((1.0, "Jan"));
    format!("{} {name}", (whole - start + 1.0).min(31.0))
}

/// Ticks at times that have names; none if fewer than two of them lie within.
pub(crate) fn ticks_in_words(axis: &Axis, low: f64, high: f64, about: usize) -> Option<Vec<Tick>> {
    let within = |v: &f64| (low..=high).contains(v);
    let named = |value: f64| Tick {
        value,
        label: duration(value),
    };
    let ticks: Vec<Tick> = match (axis.names, axis.scale) {
        (Names::Numbers, _) => return None,
        (Names::Year, _) => MONTHS
            .iter()
            .filter(|m| within(&m.0))
            .map(|&(value, label)| Tick {
                value,
                label: label.to_owned(),
            })
            .collect(),
        (Names::Durations, Scale::Log) => {
            let held = |ladder: &&[f64]| ladder.iter().filter(|v| within(v)).count() <= about;
            let ladder = LADDERS.iter().copied().find(held).unwrap_or(LADDERS[2]);
            ladder.iter().copied().filter(within).map(named).collect()
        }
        (Names::Durations, Scale::Linear) => even_durations(low, high, about),
    };
    (ticks.len() > 1).then_some(ticks)
}

/// Every so many minutes, hours or days.
fn even_durations(low: f64, high: f64, about: usize) -> Vec<Tick> {
    let steps = [
        1.0,
        5.0,
        15.0,
        30.0,
        HOUR,
        2.0 * HOUR,
        6.0 * HOUR,
        12.0 * HOUR,
        DAY,
        2.0 * DAY,
        WEEK,
        4.0 * WEEK,
    ];
    let rough = (high - low) / about.max(1) as f64;
    let Some(step) = steps
        .into_iter()
        .find(|&s| s >= rough)
        .filter(|_| low >= 0.0)
    else {
        return Vec::new();
    };
    let (first, last) = ((low / step).ceil(), (high / step).floor());
    let count = (last - first).clamp(0.0, 100.0) as usize;
    (0..=count)
        .map(|i| (first + i as f64) * step)
        .filter(|v| (low..=high).contains(v))
        .map(|value| Tick {
            value,
            label: if value > 0.0 {
                duration(value)
            } else {
                "0".to_owned()
            },
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations_are_said_in_the_units_people_think_in() {
        let words = [
            0.5, 5.0, 59.0, 60.0, 90.0, 1439.6, 1440.0, 2160.0, 10080.0, 20160.0,
        ];
        let expected = [
            "30 s",
            "5 min",
            "59 min",
            "1 h",
            "1 h 30 min",
            "1 d",
            "1 d",
            "1 d 12 h",
            "1 week",
            "2 weeks",
        ];
        assert_eq!(words.map(duration), expected);
        assert_eq!(said(Names::Durations, f64::NAN), None);
        assert_eq!(said(Names::Durations, -1.0), None);
    }

    #[test]
    fn days_of_the_year_are_dates() {
        let days = [1.0, 31.9, 32.0, 59.0, 60.0, 200.0, 365.0, 366.0];
        let expected = [
            "1 Jan", "31 Jan", "1 Feb", "28 Feb", "1 Mar", "19 Jul", "31 Dec", "31 Dec",
        ];
        assert_eq!(days.map(date), expected);
        assert_eq!(said(Names::Year, 0.0), None);
        assert_eq!(said(Names::Year, 400.0), None);
    }

    #[test]
    fn a_week_has_few_ticks_with_names() {
        let axis = Axis::durations("time");
        let labels = |about| {
            let ticks = ticks_in_words(&axis, 5.0, WEEK, about).unwrap();
            ticks.into_iter().map(|t| t.label).collect::<Vec<_>>()
        };
        assert_eq!(
            labels(8),
            ["5 min", "15 min", "1 h", "4 h", "1 d", "3 d", "1 week"]
        );
        assert_eq!(labels(5), ["10 min", "1 h", "6 h", "1 d", "1 week"]);
        assert!(ticks_in_words(&axis, 1e-9, 1e-8, 5).is_none());
    }

    #[test]
    fn even_steps_of_time_end_within() {
        let axis = Axis {
            scale: Scale::Linear,
            ..Axis::durations("time")
        };
        let ticks = ticks_in_words(&axis, 0.0, 120.0, 5).unwrap();
        let labels: Vec<_> = ticks.iter().map(|t| t.label.as_str()).collect();
        assert_eq!(labels, ["0", "30 min", "1 h", "1 h 30 min", "2 h"]);
    }
}

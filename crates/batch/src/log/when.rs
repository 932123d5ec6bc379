//! Times as loggers write them.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::Offset;

/// In which order a date stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// 2026-03-14.
    YearMonthDay,
    /// 14.3.2026.
    DayMonthYear,
    /// 3/14/2026.
    MonthDayYear,
}

/// A date, a time of day, or both, as numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Written {
    /// The three numbers of the date as they stand, and whether the first has four
    /// digits.
    pub(super) date: Option<([i32; 3], bool)>,
    /// Hour, minute, second and nanoseconds.
    pub(super) clock: Option<(i8, i8, i8, i32)>,
}

impl Order {
    /// The civil date of three numbers.
    fn date(self, [a, b, c]: [i32; 3]) -> Option<jiff::civil::Date> {
        let (year, month, day) = match self {
            Self::YearMonthDay => (a, b, c),
            Self::DayMonthYear => (c, b, a),
            Self::MonthDayYear => (c, a, b),
        };
        // Two digits of a year are of this century.
        let year = if (0..100).contains(&year) {
            year + 2000
        } else {
            year
        };
        let small = |x: i32| i8::try_from(x).ok();
        jiff::civil::Date::new(i16::try_from(year).ok()?, small(month)?, small(day)?).ok()
    }
}

/// An offset from UTC, as in +01:00 or Z; none for what is no offset.
#[must_use]
pub fn offset(text: &str) -> Option<Offset> {
    let text = text.trim();
    if text.eq_ignore_ascii_case("z") || text.eq_ignore_ascii_case("utc") {
        return Some(Offset::UTC);
    }
    let (sign, rest) = match text.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-" | "−", rest) => (-1, rest),
        _ => return None,
    };
    let (hours, minutes) = rest.split_once(':').unwrap_or((rest, "0"));
    let hours: i32 = hours.parse().ok().filter(|h| (0..=15).contains(h))?;
    let minutes: i32 = minutes.parse().ok().filter(|m| (0..60).contains(m))?;
    Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).ok()
}

/// An instant with its offset, as RFC 3339 has it, in milliseconds since 1970.
#[must_use]
pub fn instant(text: &str) -> Option<i64> {
    let text = text.trim();
    // A blank in place of the T is common.
    let joined = text.replacen(' ', "T", 1);
    let stamp: Timestamp = text.parse().or_else(|_| joined.parse()).ok()?;
    Some(stamp.as_millisecond())
}

/// The numbers of a date, a time of day or both.
pub(super) fn written(text: &str) -> Option<Written> {
    let text = text.trim();
    let (date, rest) = date_part(text);
    let rest = rest.trim_start_matches([' ', 'T', ',']).trim();
    if rest.is_empty() {
        return date.map(|date| Written {
            date: Some(date),
            clock: None,
        });
    }
    Some(Written {
        date,
        clock: Some(clock_part(rest)?),
    })
}

/// The instant of a date and a time of day at an offset.
pub(super) fn civil(
    date: [i32; 3],
    clock: Option<(i8, i8, i8, i32)>,
    order: Order,
    offset: Offset,
) -> Option<i64> {
    let (hour, minute, second, nano) = clock.unwrap_or((0, 0, 0, 0));
    let day = order.date(date)?;
    let time = jiff::civil::Time::new(hour, minute, second, nano).ok()?;
    let at = DateTime::from_parts(day, time);
    Some(offset.to_timestamp(at).ok()?.as_millisecond())
}

/// Splits a date off: three groups of digits held together by one of `-`, `/`, `.`.
fn date_part(text: &str) -> (Option<([i32; 3], bool)>, &str) {
    let none = (None, text);
    let Some(mark) = text.chars().find(|c| !c.is_ascii_digit()) else {
        return none;
    };
    if !matches!(mark, '-' | '/' | '.') {
        return none;
    }
    let end = text
        .find(|c: char| !c.is_ascii_digit() && c != mark)
        .unwrap_or(text.len());
    let (head, rest) = text.split_at(end);
    let groups: Vec<&str> = head.trim_end_matches(mark).split(mark).collect();
    let numbers: Vec<i32> = groups.iter().filter_map(|g| g.parse().ok()).collect();
    match (<[i32; 3]>::try_from(numbers), groups.len()) {
        (Ok(numbers), 3) => (
            Some((numbers, groups.first().is_some_and(|g| g.len() == 4))),
            rest,
        ),
        _ => none,
    }
}

/// 17:30, 5:30:12.5 PM.
fn clock_part(text: &str) -> Option<(i8, i8, i8, i32)> {
    let lower = text.to_ascii_lowercase();
    let half = ["am", "pm", "a.m.", "p.m."]
        .iter()
        .find(|half| lower.ends_with(**half));
    let digits = half.map_or(lower.as_str(), |half| lower.trim_end_matches(half).trim());
    let mut parts = digits.split(':');
    let mut hour: i8 = parts.next()?.parse().ok()?;
    let minute: i8 = parts.next()?.parse().ok()?;
    let (second, nano) = match parts.next() {
        None => (0, 0),
        Some(second) => {
            let (whole, part) = second.split_once(['.', ',']).unwrap_or((second, ""));
            if part.len() > 9 || !part.bytes().all(|b| b.is_ascii_digit()) {
                return None;
            }
            let nano = format!("{part:0<9}").parse().ok()?;
            (whole.parse().ok()?, nano)
        }
    };
    if parts.next().is_some() {
        return None;
    }
    if let Some(half) = half {
        if !(1..=12).contains(&hour) {
            return None;
        }
        hour = hour % 12 + if half.starts_with('p') { 12 } else { 0 };
    }
    Some((hour, minute, second, nano))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const UTC: Offset = Offset::UTC;

    fn ms(text: &str, order: Order) -> Option<i64> {
        let found = written(text)?;
        civil(found.date?.0, found.clock, order, UTC)
    }

    #[test]
    fn one_instant_in_many_writings() {
        let wanted = instant("2026-03-14T17:30:00Z").unwrap();
        assert_eq!(instant("2026-03-14T18:30:00+01:00"), Some(wanted));
        assert_eq!(instant("2026-03-14 17:30:00Z"), Some(wanted));
        for (text, order) in [
            ("2026-03-14 17:30", Order::YearMonthDay),
            ("2026/3/14T17:30:00.000", Order::YearMonthDay),
            ("14.3.2026 17:30", Order::DayMonthYear),
            ("14.03.26, 17:30:00", Order::DayMonthYear),
            ("3/14/2026 5:30 PM", Order::MonthDayYear),
            ("3/14/26 5:30:00 p.m.", Order::MonthDayYear),
        ] {
            assert_eq!(ms(text, order), Some(wanted), "{text}");
        }
        let half = ms("14.3.2026 0:30", Order::DayMonthYear);
        assert_eq!(ms("3/14/2026 12:30 am", Order::MonthDayYear), half);
    }

    #[test]
    fn offsets_are_read() {
        assert_eq!(offset("Z"), Some(UTC));
        assert_eq!(offset("+01:00"), Some(jiff::tz::offset(1)));
        assert_eq!(offset("-8"), Some(jiff::tz::offset(-8)));
        assert_eq!(offset("+05:30").map(Offset::seconds), Some(19_800));
        for text in ["", "1", "+1:75", "+99", "CET"] {
            assert_eq!(offset(text), None, "{text}");
        }
    }

    #[test]
    fn what_is_no_time_is_none() {
        for text in [
            "",
            "now",
            "14.3",
            "31.2.2026",
            "2026-03-14 25:00",
            "2026-03-14 17",
            "17:30:00:00",
            "3/14/2026 13:00 pm",
            "99999999999999999999-1-1",
            "1.048",
        ] {
            let found = ms(text, Order::YearMonthDay).or(ms(text, Order::DayMonthYear));
            assert_eq!(found, None, "{text}");
        }
        assert_eq!(written("17:30").unwrap().date, None);
    }

    proptest! {
        #[test]
        fn no_text_breaks_it(text in "\\PC{0,40}") {
            let _ = instant(&text);
            let _ = ms(&text, Order::DayMonthYear);
        }

        #[test]
        fn what_is_written_is_read(stamp in 0i64..4_000_000_000) {
            let at = Timestamp::from_second(stamp).unwrap();
            prop_assert_eq!(instant(&at.to_string()), Some(stamp * 1000));
            let civil = UTC.to_datetime(at);
            prop_assert_eq!(ms(&civil.strftime("%d.%m.%Y %H:%M:%S").to_string(), Order::DayMonthYear), Some(stamp * 1000));
            prop_assert_eq!(ms(&civil.strftime("%m/%d/%Y %I:%M:%S %p").to_string(), Order::MonthDayYear), Some(stamp * 1000));
        }
    }
}

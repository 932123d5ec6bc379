//! Days and years as they are written on packets.

use crate::reader::Reader;

/// A day, as written: "2027-03-14".
pub(super) fn day(r: &mut Reader<'_>, key: &'static str, doc: &'static str) -> Option<String> {
    checked(r, key, doc, is_day, "a day such as \"2027-03-14\"")
}

/// A year, as written: "2026".
pub(super) fn year(r: &mut Reader<'_>, key: &'static str, doc: &'static str) -> Option<String> {
    checked(
        r,
        key,
        doc,
        |text| number(text, 4).is_some(),
        "a year such as \"2026\"",
    )
}

fn checked(
    r: &mut Reader<'_>,
    key: &'static str,
    doc: &'static str,
    fits: fn(&str) -> bool,
    wanted: &str,
) -> Option<String> {
    let text = r.text(key, doc).optional()?;
    if !fits(text.trim()) {
        r.fault(
            Some(key),
            format!("{key} is not {wanted}: {text:?}"),
            format!("write {wanted}"),
        );
        return None;
    }
    Some(text.trim().to_owned())
}

/// Where in its year a day stands, as written "2027-03-14", or "2027-03" for the middle
/// of a month: counted from one; none for what is no day.
#[must_use]
pub fn day_of_year(text: &str) -> Option<f64> {
    let middle = text.matches('-').count() == 1;
    let written = if middle {
        format!("{text}-15")
    } else {
        text.to_owned()
    };
    if !is_day(&written) {
        return None;
    }
    let mut parts = written.split('-').map(|part| part.parse::<u32>().ok());
    let (year, month, day) = (parts.next()??, parts.next()??, parts.next()??);
    let before: u32 = (1..month).map(|month| days_of(year, month)).sum();
    Some(f64::from(before + day))
}

/// A day as a number of days since 1970-01-01, as written "2027-03-14", or "2027-03" for the
/// middle of a month; none for what is no day.
#[must_use]
pub fn day_number(text: &str) -> Option<f64> {
    let of_year = day_of_year(text)?;
    let year: i64 = text.get(..4)?.parse().ok()?;
    // Whole years before it, with the leap days of the Gregorian calendar.
    let leaps = |year: i64| year / 4 - year / 100 + year / 400;
    let before = 365 * (year - 1970) + leaps(year - 1) - leaps(1969);
    Some(before as f64 + of_year - 1.0)
}

fn is_day(text: &str) -> bool {
    let mut parts = text.split('-');
    let (Some(year), Some(month), Some(day), None) =
        (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return false;
    };
    match (number(year, 4), number(month, 2), number(day, 2)) {
        (Some(year), Some(month), Some(day)) => (1..=days_of(year, month)).contains(&day),
        _ => false,
    }
}

/// A whole number of exactly so many digits.
fn number(text: &str, digits: usize) -> Option<u32> {
    let plain = text.len() == digits && text.bytes().all(|b| b.is_ascii_digit());
    plain.then(|| text.parse().ok()).flatten()
}

/// Days of a month in the Gregorian calendar; nought for a month that is none.
fn days_of(year: u32, month: u32) -> u32 {
    let leap = year.is_multiple_of(4) && !year.is_multiple_of(100) || year.is_multiple_of(400);
    match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::{day_number, day_of_year, is_day};

    #[test]
    fn a_day_has_its_place_in_the_year() {
        assert_eq!(day_of_year("2027-01-01"), Some(1.0));
        assert_eq!(day_of_year("2027-12-31"), Some(365.0));
        assert_eq!(day_of_year("2028-12-31"), Some(366.0));
        // 31 + 28 + 15.
        assert_eq!(day_of_year("2027-03"), Some(74.0));
        assert_eq!(day_of_year("2027"), None);
        assert_eq!(day_of_year("2027-02-30"), None);
    }

    #[test]
    fn days_are_counted_through_the_years() {
        assert_eq!(day_number("1970-01-01"), Some(0.0));
        // 11 016 days from 1970 to the leap day of 2000 (`date -d 2000-02-29 +%s` / 86 400).
        assert_eq!(day_number("2000-02-29"), Some(11_016.0));
        assert_eq!(day_number("2027-03-14"), Some(20_891.0));
        assert_eq!(day_number("1969-12-31"), Some(-1.0));
        assert_eq!(day_number("2027-02-30"), None);
    }

    #[test]
    fn only_days_of_the_calendar_are_days() {
        for day in ["2027-03-14", "2028-02-29", "2000-02-29", "2026-12-31"] {
            assert!(is_day(day), "{day}");
        }
        for other in [
            "2027-02-29",
            "1900-02-29",
            "2027-13-01",
            "2027-04-31",
            "2027-3-14",
            "14.03.2027",
            "",
            "2027-03-14-1",
            "2027-03-00",
        ] {
            assert!(!is_day(other), "{other}");
        }
    }
}

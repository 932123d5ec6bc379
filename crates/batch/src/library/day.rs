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
    use super::is_day;

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

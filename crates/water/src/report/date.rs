//! Days, months and years as reports write them.

use std::fmt;

/// A day, a month or a year. No calendar and no clock: an order and a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    /// The year, four digits.
    pub year: u16,
    /// The month, one to twelve, where it is given.
    pub month: Option<u8>,
    /// The day of the month, where it is given.
    pub day: Option<u8>,
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.month, self.day) {
            (Some(month), Some(day)) => write!(f, "{:04}-{month:02}-{day:02}", self.year),
            (Some(month), None) => write!(f, "{:04}-{month:02}", self.year),
            _ => write!(f, "{:04}", self.year),
        }
    }
}

impl Date {
    /// How far into its year the date lies \[–\]; `None` for a year alone. A
    /// month counts by its middle.
    #[must_use]
    pub fn part_of_year(&self) -> Option<f64> {
        let month = f64::from(self.month?) - 1.0;
        let day = self.day.map_or(15.0, f64::from);
        Some((month + (day - 0.5) / 31.0) / 12.0)
    }
}

/// Which of two numbers is the day where both could be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum DayOrder {
    DayFirst,
    MonthFirst,
    /// Neither is known: a date that depends on it is not read.
    Open,
}

/// What stood at a place where a date could begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Found {
    Date(Date),
    /// A date that can be read two ways: day first, month first.
    Either(Date, Date),
}

const MONTHS: [&[&str]; 12] = [
    &[
        "january", "jan", "januar", "janvier", "janv", "enero", "ene", "januari", "jänner",
    ],
    &[
        "february", "feb", "februar", "février", "févr", "febrero", "februari",
    ],
    &[
        "march", "mar", "märz", "mär", "mrz", "mars", "marzo", "maart", "mrt",
    ],
    &["april", "apr", "avril", "avr", "abril", "abr"],
    &["may", "mai", "mayo", "mei"],
    &["june", "jun", "juni", "juin", "junio"],
    &["july", "jul", "juli", "juillet", "juil", "julio"],
    &["august", "aug", "août", "agosto", "ago", "augustus"],
    &["september", "sep", "sept", "septembre", "septiembre"],
    &["october", "oct", "oktober", "okt", "octobre", "octubre"],
    &["november", "nov", "novembre", "noviembre"],
    &[
        "december",
        "dec",
        "dezember",
        "dez",
        "décembre",
        "déc",
        "diciembre",
        "dic",
    ],
];

/// A date at the start of `text` and its length in bytes. A year alone counts
/// only where `years` is true.
pub(super) fn at_start(text: &str, order: DayOrder, years: bool) -> Option<(Found, usize)> {
    numeric(text, order)
        .or_else(|| with_month_name(text).map(|(d, n)| (Found::Date(d), n)))
        .or_else(|| {
            let (year, n) = digits(text)?;
            let date = checked(year, None, None)?;
            (years && n == 4 && !continues(&text[n..])).then_some((Found::Date(date), n))
        })
}

/// "2027-03-12", "12.03.2027", "12/3/27" is refused: the year needs four digits.
fn numeric(text: &str, order: DayOrder) -> Option<(Found, usize)> {
    let (a, n) = digits(text)?;
    let mark = text[n..].chars().next()?;
    if !matches!(mark, '-' | '.' | '/') {
        return None;
    }
    let (b, m) = digits(&text[n + 1..])?;
    let mut end = n + 1 + m;
    let third = text[end..]
        .strip_prefix(mark)
        .and_then(digits)
        .map(|(c, k)| (c, k, end + 1 + k));
    match third {
        Some((c, _, stop)) if n == 4 => {
            (!continues(&text[stop..])).then_some(())?;
            Some((Found::Date(checked(a, Some(b), Some(c))?), stop))
        }
        Some((c, 4, stop)) if n <= 2 && m <= 2 => {
            (!continues(&text[stop..])).then_some(())?;
            let day_first = checked(c, Some(b), Some(a));
            let month_first = checked(c, Some(a), Some(b));
            let found = match (day_first, month_first) {
                (Some(d), None) => Found::Date(d),
                (None, Some(d)) => Found::Date(d),
                (Some(d), Some(e)) if d == e || mark == '.' => Found::Date(d),
                (Some(d), Some(e)) => match order {
                    DayOrder::DayFirst => Found::Date(d),
                    DayOrder::MonthFirst => Found::Date(e),
                    DayOrder::Open => Found::Either(d, e),
                },
                (None, None) => return None,
            };
            Some((found, stop))
        }
        Some(_) => None,
        // "2027-03", "03/2027"
        None => {
            end = n + 1 + m;
            (!continues(&text[end..])).then_some(())?;
            let date = if n == 4 && m <= 2 && mark == '-' {
                checked(a, Some(b), None)
            } else if m == 4 && n <= 2 {
                checked(b, Some(a), None)
            } else {
                None
            };
            date.map(|d| (Found::Date(d), end))
        }
    }
}

/// "12 March 2027", "12. März 2027", "12 de marzo de 2027", "March 2027".
fn with_month_name(text: &str) -> Option<(Date, usize)> {
    let mut rest = text;
    let mut day = None;
    if let Some((d, n)) = digits(rest) {
        (n <= 2).then_some(())?;
        day = Some(d);
        rest = rest[n..].trim_start_matches(['.', ' ', '\u{a0}', '-']);
        for suffix in ["st ", "nd ", "rd ", "th ", "er ", "de "] {
            rest = rest.strip_prefix(suffix).unwrap_or(rest);
        }
    }
    let len = rest
        .chars()
        .take_while(|c| c.is_alphabetic())
        .map(char::len_utf8)
        .sum();
    let word = rest[..len].to_lowercase();
    let month = MONTHS
        .iter()
        .position(|names| names.contains(&word.as_str()))?;
    rest = rest[len..].trim_start_matches(['.', ' ', '\u{a0}', '-', ',']);
    rest = rest
        .strip_prefix("de ")
        .or_else(|| rest.strip_prefix("del "))
        .unwrap_or(rest);
    // "March 12, 2027"
    if day.is_none()
        && let Some((d, n)) = digits(rest)
        && n <= 2
    {
        day = Some(d);
        rest = rest[n..].trim_start_matches([',', ' ', '.']);
    }
    let (year, n) = digits(rest)?;
    rest = &rest[n..];
    (n == 4 && !continues(rest)).then_some(())?;
    let date = checked(year, Some(month as u32 + 1), day)?;
    Some((date, text.len() - rest.len()))
}

fn checked(year: u32, month: Option<u32>, day: Option<u32>) -> Option<Date> {
    let fits = (1900..=2199).contains(&year)
        && month.is_none_or(|m| (1..=12).contains(&m))
        && day.is_none_or(|d| (1..=31).contains(&d));
    fits.then_some(Date {
        year: u16::try_from(year).ok()?,
        month: month.and_then(|m| u8::try_from(m).ok()),
        day: day.and_then(|d| u8::try_from(d).ok()),
    })
}

fn digits(text: &str) -> Option<(u32, usize)> {
    let n = text.bytes().take_while(u8::is_ascii_digit).count();
    (1..=4).contains(&n).then_some(())?;
    Some((text[..n].parse().ok()?, n))
}

/// True where a number or word goes on, so that no date ends here.
fn continues(rest: &str) -> bool {
    let mut chars = rest.chars();
    match chars.next() {
        Some(c) if c.is_alphanumeric() => true,
        Some('.' | ',' | '-' | '/') => chars.next().is_some_and(|c| c.is_ascii_digit()),
        _ => false,
    }
}

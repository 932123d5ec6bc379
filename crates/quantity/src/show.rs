//! Printing quantities in metric or US customary units. Every face prints
//! through here, so that a figure looks the same on paper and on screen.

use crate::measured::{Measured, Spread};
use crate::unit::{Quantity, Shown, Unit};

/// The customary units of the reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// Litres, grams, degrees Celsius, EBC.
    #[default]
    Metric,
    /// US gallons, pounds and ounces, degrees Fahrenheit, SRM.
    Us,
}

/// Prints with the customary unit and decimals of the quantity.
///
/// ```
/// use quantity::{Quantity, Units, Volume, show};
/// assert_eq!(show(Volume::from_l(20.0), Units::Metric), "20.0 L");
/// assert_eq!(show(Volume::from_l(20.0), Units::Us), "5.28 gal");
/// ```
#[must_use]
pub fn show<Q: Quantity>(value: Q, units: Units) -> String {
    let line = shown_as::<Q>(value.canonical(), units);
    with_symbol(
        &number(value.canonical(), line, line.decimals),
        line.unit.symbol,
    )
}

/// Prints with the spread, rounded as the spread deserves: "1.8 ± 0.3 mg/L".
#[must_use]
pub fn show_measured<Q: Quantity>(measured: &Measured<Q>, units: Units) -> String {
    let x = measured.canonical();
    let line = shown_as::<Q>(x, units);
    match measured.spread {
        Spread::Unstated => show(measured.value, units),
        Spread::Sd(sd) => show_with_sd(x, sd, line),
        Spread::Range { low, high } => interval([low, high], line),
    }
}

/// Prints an interval in one unit, or one value where both ends print alike; a dash would be
/// lost behind a minus sign.
///
/// ```
/// use quantity::{AlcoholByVolume, Temperature, Units, show_interval};
/// let (low, high) = (AlcoholByVolume::from_percent(5.2), AlcoholByVolume::from_percent(5.6));
/// assert_eq!(show_interval(low, high, Units::Metric), "5.2–5.6 % vol");
/// let (low, high) = (Temperature::from_c(-1.5), Temperature::from_c(0.5));
/// assert_eq!(show_interval(low, high, Units::Metric), "-1.5 to 0.5 °C");
/// let (low, high) = (Temperature::from_c(19.98), Temperature::from_c(20.02));
/// assert_eq!(show_interval(low, high, Units::Metric), "20.0 °C");
/// ```
#[must_use]
pub fn show_interval<Q: Quantity>(low: Q, high: Q, units: Units) -> String {
    let line = shown_as::<Q>(high.canonical(), units);
    interval([low.canonical(), high.canonical()], line)
}

fn interval(ends: [f64; 2], line: Line) -> String {
    let [low, high] = ends.map(|end| number(end, line, line.decimals));
    if low == high {
        return with_symbol(&high, line.unit.symbol);
    }
    let between = if low.starts_with('-') { " to " } else { "–" };
    with_symbol(&format!("{low}{between}{high}"), line.unit.symbol)
}

/// Prints how much one value is more than another, with its sign, in the unit and with the
/// decimals in which the larger is shown; what is less than its last digit is 0.
///
/// ```
/// use quantity::{Units, Volume, show_change};
/// let l = Volume::from_l;
/// assert_eq!(show_change(l(20.0), l(22.5), Units::Metric), "+2.5 L");
/// assert_eq!(show_change(l(22.5), l(20.0), Units::Metric), "-2.5 L");
/// assert_eq!(show_change(l(20.0), l(20.001), Units::Metric), "0 L");
/// ```
#[must_use]
pub fn show_change<Q: Quantity>(from: Q, to: Q, units: Units) -> String {
    let (from, to) = (from.canonical(), to.canonical());
    let line = shown_as::<Q>(from.abs().max(to.abs()), units);
    let change = (line.unit.from_canonical)(to) - (line.unit.from_canonical)(from);
    let size = format!("{:.*}", line.decimals, change.abs());
    let nothing = size.chars().all(|c| matches!(c, '0' | '.'));
    let number = match change {
        _ if nothing => "0".to_owned(),
        less if less < 0.0 => format!("-{size}"),
        _ => format!("+{size}"),
    };
    with_symbol(&number, line.unit.symbol)
}

/// A value as a number of the unit in which another is shown, with the symbol and the
/// decimals of that: for charts, whose numbers share one axis.
#[must_use]
pub fn number_beside<Q: Quantity>(value: Q, beside: Q, units: Units) -> (f64, &'static str, usize) {
    let line = shown_as::<Q>(beside.canonical(), units);
    let number = (line.unit.from_canonical)(value.canonical());
    (number, line.unit.symbol, line.decimals)
}

/// Prints the two ends of one phrase, "between 2.0 d and 10.7 d": both in the unit of
/// the larger.
#[must_use]
pub fn show_ends<Q: Quantity>(low: Q, high: Q, units: Units) -> [String; 2] {
    let larger = low.canonical().abs().max(high.canonical().abs());
    let line = shown_as::<Q>(larger, units);
    [low, high].map(|end| {
        with_symbol(
            &number(end.canonical(), line, line.decimals),
            line.unit.symbol,
        )
    })
}

/// A bare number for a message: at most four significant digits, no zeros at the
/// end.
///
/// ```
/// assert_eq!(quantity::rounded(12.426_822_898_988_588), "12.43");
/// assert_eq!(quantity::rounded(106_989.102), "106989");
/// assert_eq!(quantity::rounded(0.25), "0.25");
/// ```
#[must_use]
pub fn rounded(x: f64) -> String {
    if !x.is_finite() || x == 0.0 {
        return x.to_string();
    }
    // Within the range of a decimal point that a person would still read.
    let decimals = (3.0 - x.abs().log10().floor()).clamp(0.0, 12.0) as usize;
    let digits = format!("{x:.decimals$}");
    match digits.split_once('.') {
        Some((whole, part)) => {
            let part = part.trim_end_matches('0');
            if part.is_empty() {
                whole.to_owned()
            } else {
                format!("{whole}.{part}")
            }
        }
        None => digits,
    }
}

/// A line of a display table with its unit resolved.
#[derive(Clone, Copy)]
struct Line {
    unit: &'static Unit,
    decimals: usize,
}

fn shown_as<Q: Quantity>(canonical: f64, units: Units) -> Line {
    let table: &[Shown] = match units {
        Units::Metric => Q::METRIC,
        Units::Us => Q::US,
    };
    let size = canonical.abs();
    let usual = &Q::UNITS[0];
    if size == 0.0 && table.iter().any(|s| s.symbol == usual.symbol) {
        // Nothing is told in the usual unit, not in the smallest.
        return Line {
            unit: usual,
            decimals: 0,
        };
    }
    let chosen = table
        .iter()
        .find(|s| size >= s.from)
        .or_else(|| table.last());
    let unit = chosen
        .and_then(|s| Q::UNITS.iter().find(|u| u.symbol == s.symbol))
        .unwrap_or(&Q::UNITS[0]);
    Line {
        unit,
        decimals: chosen.map_or(2, |s| s.decimals),
    }
}

fn show_with_sd(x: f64, sd: f64, line: Line) -> String {
    let value = (line.unit.from_canonical)(x);
    let half =
        ((line.unit.from_canonical)(x + sd) - (line.unit.from_canonical)(x - sd)).abs() / 2.0;
    let decimals = decimals_of_spread(half).unwrap_or(line.decimals);
    with_symbol(
        &format!("{value:.decimals$} ± {half:.decimals$}"),
        line.unit.symbol,
    )
}

/// Two significant digits where the first is 1 or 2, else one; never hiding
/// whole numbers.
fn decimals_of_spread(sd: f64) -> Option<usize> {
    if sd <= 0.0 || !sd.is_finite() {
        return None;
    }
    // 0.3 may have come as 0.29999…: a hair up before the digits are counted.
    let sd = sd * (1.0 + 1e-9);
    let exponent = sd.log10().floor();
    let first = (sd / 10f64.powf(exponent)).floor();
    let digits = if first <= 2.0 { 1.0 } else { 0.0 };
    let decimals = (digits - exponent).clamp(0.0, 9.0);
    Some(decimals as usize)
}

fn number(canonical: f64, line: Line, decimals: usize) -> String {
    let text = format!("{:.decimals$}", (line.unit.from_canonical)(canonical));
    let zero = text
        .trim_start_matches('-')
        .chars()
        .all(|c| matches!(c, '0' | '.'));
    if zero {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

fn with_symbol(number: &str, symbol: &str) -> String {
    if symbol.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {symbol}")
    }
}

/// A bound in one unit, as short as it can be said.
pub(crate) fn in_unit(canonical: f64, unit: &Unit) -> String {
    let x = (unit.from_canonical)(canonical);
    let rounded = format!("{x:.4}");
    let short = rounded.trim_end_matches('0').trim_end_matches('.');
    with_symbol(
        if short.is_empty() || short == "-" {
            "0"
        } else {
            short
        },
        unit.symbol,
    )
}

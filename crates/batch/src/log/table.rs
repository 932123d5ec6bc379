//! Reading a table, a row at a time.

use std::borrow::Cow;
use std::io::Read;

use super::columns::{Mapping, Role};
use super::lines::{Line, Lines};
use super::when::{civil, instant, written};
use super::{Fate, LogError, LogReading, What};

/// Longest cell that is kept with its reading \[bytes\]; a longer one is no reading.
const LONGEST_CELL: usize = 200;
/// Rows that are looked at for the width of a table that does not fit.
const LOOKED_AT: usize = 200;

/// The rows of a table, each with what became of it.
pub struct TableRows<'t> {
    rows: Box<dyn Iterator<Item = (usize, Line)> + Send + 't>,
    /// Where the table begins.
    table: usize,
    mapping: &'t Mapping,
}

/// Reads a table as a mapping has it.
///
/// # Errors
/// As [`read_table_from`].
pub fn read_table<'t>(text: &'t str, mapping: &'t Mapping) -> Result<TableRows<'t>, LogError> {
    read_table_from(text.as_bytes(), mapping)
}

/// Reads a table from a file as a mapping has it. Rows come one after the other, so that
/// memory stays flat however long the table is; empty lines are passed over.
///
/// # Errors
/// [`LogError`] where nothing can be read of the table; what is wrong with a row stands
/// in its [`Fate`].
pub fn read_table_from<'t>(
    from: impl Read + Send + 't,
    mapping: &'t Mapping,
) -> Result<TableRows<'t>, LogError> {
    let mut rows = Lines::new(from, mapping.delimiter);
    let head: Vec<Line> = rows.by_ref().take(LOOKED_AT).collect();
    let width = mapping.columns.len();
    let Some(widest) = head.iter().map(|line| line.cells.len()).max() else {
        return Err(LogError::Empty);
    };
    // Lines before the table are told as what they are.
    let table = head.iter().position(|line| line.cells.len() == width);
    mapping.check(if table.is_some() { width } else { widest })?;
    Ok(TableRows {
        rows: Box::new(head.into_iter().chain(rows).enumerate()),
        table: table.unwrap_or(0),
        mapping,
    })
}

impl Iterator for TableRows<'_> {
    type Item = Fate;

    fn next(&mut self) -> Option<Fate> {
        let (mut n, mut line) = self.rows.next()?;
        if n == self.table && self.mapping.header {
            (n, line) = self.rows.next()?;
        }
        let mut fate = match line.trouble.take() {
            Some(why) => Fate::refused(line.number, why),
            None if n < self.table => {
                Fate::refused(line.number, "it stands before the table".to_owned())
            }
            None => fate(line.number, &line.cells, self.mapping),
        };
        if !fate.refused.is_empty() {
            fate.raw = line.raw;
        }
        Some(fate)
    }
}

/// Lines of a table, split into cells.
pub(super) fn split(text: &str, delimiter: u8) -> impl Iterator<Item = Vec<String>> + '_ {
    Lines::new(text.as_bytes(), delimiter).map(|line| line.cells)
}

/// A number as loggers write it.
pub(super) fn number(cell: &str, decimal_comma: bool) -> Option<f64> {
    let cell = cell.trim();
    let plain: Cow<'_, str> = if decimal_comma {
        Cow::Owned(cell.replace(',', "."))
    } else {
        Cow::Borrowed(cell)
    };
    let looks = plain
        .bytes()
        .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+' | b'e' | b'E'));
    plain.parse().ok().filter(|x: &f64| looks && x.is_finite())
}

fn fate(row: usize, cells: &[String], mapping: &Mapping) -> Fate {
    let mut fate = Fate::of(row);
    let (found, wanted) = (cells.len(), mapping.columns.len());
    if found != wanted {
        fate.refused.push(format!(
            "it has {found} cells and the table {wanted} columns"
        ));
    }
    // With a cell too many no cell is sure to be what it seems.
    if found > wanted {
        return fate;
    }
    let at_ms = match when(cells, mapping) {
        Ok(at_ms) => at_ms,
        Err(why) => {
            fate.refused.push(why);
            return fate;
        }
    };
    let instrument = named(cells, mapping);
    if let Err(why) = super::named(&instrument) {
        fate.refused.push(why);
        return fate;
    }
    for (role, cell) in mapping.columns.iter().zip(cells) {
        let (Role::Reading(what, unit), cell) = (role, cell.trim()) else {
            continue;
        };
        // What was not measured is no fault.
        if cell.is_empty() || is_none(cell) {
            continue;
        }
        match reading(cell, *what, unit, mapping.decimal_comma) {
            Ok((value, canonical)) => fate.readings.push(LogReading {
                instrument: instrument.clone(),
                what: *what,
                at_ms,
                value,
                unit,
                canonical,
                raw: cell.to_owned(),
                lapsed_sd: 0.0,
            }),
            Err(why) => fate.refused.push(why),
        }
    }
    if fate.readings.is_empty() && fate.refused.is_empty() {
        fate.refused.push("it holds no reading".to_owned());
    }
    fate
}

fn is_none(cell: &str) -> bool {
    matches!(
        cell.to_ascii_lowercase().as_str(),
        "na" | "n/a" | "nan" | "null" | "none" | "-" | "--"
    )
}

fn named(cells: &[String], mapping: &Mapping) -> String {
    let places = mapping.columns.iter().zip(cells);
    let mut names = places
        .filter(|(role, cell)| **role == Role::Instrument && !cell.trim().is_empty())
        .map(|(_, cell)| cell.trim());
    names.next().unwrap_or(&mapping.instrument).to_owned()
}

/// A number in a unit, if such a reading can be.
pub(super) fn reading(
    cell: &str,
    what: What,
    unit: &'static str,
    decimal_comma: bool,
) -> Result<(f64, f64), String> {
    let shown: String = cell.chars().take(40).collect();
    let value = number(cell, decimal_comma)
        .filter(|_| cell.len() <= LONGEST_CELL)
        .ok_or_else(|| format!("{}: {shown:?} is no number", what.word()))?;
    let canonical = what.unit(unit).and_then(|u| u.canonical(what, value));
    canonical
        .map(|canonical| (value, canonical))
        .ok_or_else(|| format!("{}: {shown} {unit} cannot be", what.word()))
}

/// The instant of a row.
fn when(cells: &[String], mapping: &Mapping) -> Result<i64, String> {
    let at = |wanted: &dyn Fn(&Role) -> bool| {
        let places = mapping.columns.iter().zip(cells);
        places
            .filter(|(role, _)| wanted(role))
            .map(|(role, cell)| (*role, cell.trim()))
            .next()
    };
    let Some((role, cell)) = at(&|role| role.is_time()) else {
        return Err("its time is missing".to_owned());
    };
    let clock = at(&|role| *role == Role::Clock).map(|(_, cell)| cell);
    let found = match role {
        Role::Instant => instant(cell),
        Role::Civil(order) => written(cell).and_then(|found| {
            let (date, _) = found.date?;
            civil(date, found.clock, order, mapping.offset)
        }),
        Role::Date(order) => written(cell)
            .zip(clock.and_then(written))
            .and_then(|(day, time)| {
                let (date, _) = day.date?;
                civil(date, Some(time.clock?), order, mapping.offset)
            }),
        Role::UnixSeconds => number(cell, mapping.decimal_comma).and_then(|s| whole_ms(s * 1000.0)),
        Role::UnixMilliseconds => number(cell, mapping.decimal_comma).and_then(whole_ms),
        Role::Since(unit) => {
            let start = mapping.start_ms.ok_or("the start is not known")?;
            number(cell, mapping.decimal_comma)
                .and_then(|x| whole_ms(x * unit.ms()))
                .and_then(|since| start.checked_add(since))
        }
        Role::Skip | Role::Clock | Role::Instrument | Role::Reading(..) => None,
    };
    // A log of this century; the store keeps no other.
    found
        .filter(|ms| (0..super::TIMES_END_MS).contains(ms))
        .ok_or_else(|| {
            let shown: String = [Some(cell), clock]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>()
                .join(" ")
                .chars()
                .take(60)
                .collect();
            format!("its time {shown:?} cannot be read as {role}")
        })
}

/// Milliseconds that an i64 holds for sure.
fn whole_ms(ms: f64) -> Option<i64> {
    (ms.abs() < 1e15).then_some(ms.round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::log::Guess;
    use proptest::prelude::*;

    fn read(text: &str) -> Vec<Fate> {
        let guess = Guess::of(text).unwrap();
        read_table(text, &guess.mapping).unwrap().collect()
    }

    #[test]
    fn each_row_has_its_fate() {
        let text = "time,sg,temp_c\n2026-03-14T09:00:00Z,1.048,19.5\nyesterday,1.047,19.6\n2026-03-14T11:00:00Z,1.O46,19.7\n2026-03-14T12:00:00Z,,\n2026-03-14T13:00:00Z,1.9,19.8,extra\n";
        let fates = read(text);
        assert_eq!(fates.len(), 5);
        assert_eq!((fates[0].row, fates[0].readings.len()), (2, 2));
        assert!(fates[1].refused[0].contains("yesterday"), "{:?}", fates[1]);
        assert_eq!(fates[2].readings.len(), 1);
        assert!(fates[2].refused[0].contains("1.O46"), "{:?}", fates[2]);
        assert_eq!(fates[3].refused, ["it holds no reading"]);
        assert!(
            fates[4].readings.is_empty() && fates[4].refused.len() == 1,
            "{:?}",
            fates[4]
        );
        let gravity = &fates[0].readings[0];
        assert_eq!(
            (gravity.value, gravity.unit, gravity.raw.as_str()),
            (1.048, "SG", "1.048")
        );
        assert!((gravity.canonical - 11.922).abs() < 1e-3);
    }

    #[test]
    fn a_start_an_offset_and_an_instrument_are_taken_from_the_mapping() {
        let text = "hours,sg\n0,1.048\n1.5,1.047\n";
        let mut guess = Guess::of(text).unwrap();
        assert_eq!(
            read_table(text, &guess.mapping).err(),
            Some(LogError::NoStart)
        );
        guess.mapping.start_ms = Some(1_773_480_000_000);
        guess.mapping.instrument = "float".to_owned();
        let fates: Vec<Fate> = read_table(text, &guess.mapping).unwrap().collect();
        assert_eq!(fates[1].readings[0].at_ms, 1_773_480_000_000 + 5_400_000);
        assert_eq!(fates[1].readings[0].instrument, "float");
        let text = "date;sg\n14.3.2026 10:00;1,048\n";
        let mut guess = Guess::of(text).unwrap();
        guess.mapping.offset = jiff::tz::offset(1);
        let fates: Vec<Fate> = read_table(text, &guess.mapping).unwrap().collect();
        let nine = instant("2026-03-14T09:00:00Z").unwrap();
        assert_eq!(fates[0].readings[0].at_ms, nine);
    }

    #[test]
    fn a_mapping_that_does_not_fit_is_refused() {
        let guess = Guess::of("time,sg\n2026-03-14T09:00:00Z,1.048\n").unwrap();
        let refused = |columns: Vec<Role>| {
            let mapping = Mapping {
                columns,
                ..guess.mapping.clone()
            };
            read_table("time,sg\n2026-03-14T09:00:00Z,1.048\n", &mapping).err()
        };
        assert_eq!(
            refused(vec![Role::Instant]),
            Some(LogError::Columns {
                columns: 2,
                roles: 1
            })
        );
        assert_eq!(
            refused(vec![Role::Skip, Role::Skip]),
            Some(LogError::NoTime)
        );
        assert_eq!(
            refused(vec![Role::Instant, Role::Skip]),
            Some(LogError::NothingRead)
        );
    }

    proptest! {
        /// Every line that holds something is a row with readings or a reason.
        #[test]
        fn no_row_is_lost(rows in proptest::collection::vec("[0-9a-zA-Z.:\\- ]{1,20},[0-9.eE+\\-x]{0,8}", 1..30)) {
            let text = format!("time,sg\n2026-03-14T09:00:00Z,1.048\n{}\n", rows.join("\n"));
            let mapping = Guess::of("time,sg\n2026-03-14T09:00:00Z,1.048\n").unwrap().mapping;
            let fates: Vec<Fate> = read_table(&text, &mapping).unwrap().collect();
            let written = rows.iter().filter(|row| row.split(',').any(|c| !c.trim().is_empty())).count();
            prop_assert_eq!(fates.len(), 1 + written);
            for fate in &fates {
                prop_assert!(!fate.readings.is_empty() || !fate.refused.is_empty());
                prop_assert!(fate.readings.iter().all(|r| r.canonical.is_finite()));
            }
        }
    }
}

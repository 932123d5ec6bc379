//! What the columns of a table may hold, with the reason, for a person to confirm.

use jiff::tz::Offset;

use super::columns::{Mapping, Role, Since};
use super::table::{number, split};
use super::when::{Order, instant, written};
use super::{BRIX, LogError, What};

/// Rows that a guess looks at.
const LOOKED_AT: usize = 200;
/// Share of its cells by which a column without a telling name is known.
const MOST: f64 = 0.6;

/// A table as it seems to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Guess {
    /// How it would be read.
    pub mapping: Mapping,
    /// Each column, in order.
    pub columns: Vec<ColumnGuess>,
    /// What a person should say before it is read.
    pub questions: Vec<String>,
}

/// A column as it seems to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnGuess {
    /// Its name in the table.
    pub header: String,
    /// What it may hold.
    pub role: Role,
    /// Why that.
    pub why: String,
    /// Some of its cells.
    pub sample: Vec<String>,
}

impl Guess {
    /// Looks at the first rows of a table.
    ///
    /// # Errors
    /// [`LogError::Empty`].
    pub fn of(text: &str) -> Result<Self, LogError> {
        let text = text.trim_start_matches('\u{feff}');
        let delimiter = delimiter(text);
        let rows: Vec<Vec<String>> = split(text, delimiter).take(LOOKED_AT).collect();
        // Lines of another width before the table only introduce it.
        let width = usual_width(&rows);
        let table = rows.iter().position(|row| row.len() == width);
        let rows = rows.get(table.unwrap_or(0)..).unwrap_or_default();
        let Some(first) = rows.first() else {
            return Err(LogError::Empty);
        };
        let decimal_comma = delimiter != b',' && has_decimal_commas(rows);
        let header = names_columns(first, decimal_comma);
        let body = rows.get(usize::from(header)..).unwrap_or_default();
        let mut columns = Vec::new();
        let mut questions = Vec::new();
        for n in 0..width {
            let name = if header {
                first.get(n).map_or("", |h| h.trim())
            } else {
                ""
            };
            let cells: Vec<&str> = body
                .iter()
                .filter_map(|row| row.get(n))
                .map(|cell| cell.trim())
                .filter(|cell| !cell.is_empty())
                .collect();
            let (role, why) = role_of(name, &cells, decimal_comma, &mut questions);
            columns.push(ColumnGuess {
                header: name.to_owned(),
                role,
                why,
                sample: cells.iter().take(3).map(|c| (*c).to_owned()).collect(),
            });
        }
        settle(&mut columns, &mut questions);
        Ok(Self {
            mapping: Mapping {
                delimiter,
                decimal_comma,
                header,
                columns: columns.iter().map(|c| c.role).collect(),
                instrument: "log".to_owned(),
                start_ms: None,
                offset: Offset::UTC,
            },
            columns,
            questions,
        })
    }
}

/// One time and one channel of a kind are enough; a date waits for its time of day.
fn settle(columns: &mut [ColumnGuess], questions: &mut Vec<String>) {
    let has_clock = columns.iter().any(|c| c.role == Role::Clock);
    let mut timed = false;
    for column in columns.iter_mut() {
        let no_clock = || column.sample.iter().all(|cell| !cell.contains(':'));
        if let Role::Civil(order) = column.role
            && has_clock
            && no_clock()
        {
            column.role = Role::Date(order);
        }
        if column.role.is_time() {
            if timed {
                column.role = Role::Skip;
                column.why = "another column holds the time already".to_owned();
            }
            timed = true;
        }
    }
    if !timed {
        questions.push("No column looks like a time: say which one it is.".to_owned());
    }
    if columns.iter().any(|c| matches!(c.role, Role::Since(_))) {
        questions.push("The times count from a start: say when that was.".to_owned());
    }
    let floats = columns
        .iter()
        .any(|c| matches!(c.role, Role::Civil(_) | Role::Date(_)));
    if floats {
        questions.push("The times have no offset: say how far the clock was from UTC.".to_owned());
    }
    if !columns.iter().any(|c| matches!(c.role, Role::Reading(..))) {
        questions.push("No column looks like a reading: say which one it is.".to_owned());
    }
}

/// The mark that splits most of the lines into the same number of cells.
fn delimiter(text: &str) -> u8 {
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| !line.trim().is_empty())
        .take(50)
        .collect();
    let score = |mark: u8| {
        let counts: Vec<usize> = lines
            .iter()
            .map(|line| line.bytes().filter(|b| *b == mark).count())
            .collect();
        let usual = {
            let mut sorted = counts.clone();
            sorted.sort_unstable();
            sorted.get(sorted.len() / 2).copied().unwrap_or(0)
        };
        let same = counts.iter().filter(|c| **c == usual).count();
        if usual == 0 { (0, 0) } else { (same, usual) }
    };
    // Of two that are as regular the rarer one: a comma may stand in numbers too.
    let marks = [b'\t', b';', b'|', b','];
    let best = marks.into_iter().enumerate().max_by_key(|(place, mark)| {
        let (same, _) = score(*mark);
        (same, usize::MAX - place)
    });
    best.filter(|(_, mark)| score(*mark).0 > 0)
        .map_or(b',', |(_, mark)| mark)
}

fn usual_width(rows: &[Vec<String>]) -> usize {
    let mut widths: Vec<usize> = rows.iter().map(Vec::len).collect();
    widths.sort_unstable();
    widths.get(widths.len() / 2).copied().unwrap_or(0)
}

fn has_decimal_commas(rows: &[Vec<String>]) -> bool {
    let cells = || rows.iter().flatten().map(|cell| cell.trim());
    let with = |mark: char| {
        cells()
            .filter(|cell| {
                cell.matches(mark).count() == 1
                    && cell
                        .chars()
                        .all(|c| c.is_ascii_digit() || c == mark || c == '-')
                    && cell.chars().any(|c| c.is_ascii_digit())
            })
            .count()
    };
    with(',') > with('.')
}

/// The first line names the columns where it holds neither a number nor a time.
fn names_columns(first: &[String], decimal_comma: bool) -> bool {
    let cells = first
        .iter()
        .map(|c| c.trim())
        .filter(|cell| !cell.is_empty());
    let mut said = cells.map(|cell| {
        number(cell, decimal_comma).is_some() || instant(cell).is_some() || written(cell).is_some()
    });
    !said.any(|value| value)
}

/// Words of a header in the languages of loggers, lower case, and what they say.
const WORDS: &[(&str, Word)] = &[
    ("timestamp", Word::Time),
    ("datetime", Word::Time),
    ("time", Word::Time),
    ("date", Word::Time),
    ("zeit", Word::Time),
    ("datum", Word::Time),
    ("uhrzeit", Word::Time),
    ("heure", Word::Time),
    ("hora", Word::Time),
    ("fecha", Word::Time),
    ("tijd", Word::Time),
    ("hours", Word::Hours),
    ("stunden", Word::Hours),
    ("heures", Word::Hours),
    ("horas", Word::Hours),
    ("uren", Word::Hours),
    ("elapsed", Word::Hours),
    ("minutes", Word::Minutes),
    ("minuten", Word::Minutes),
    ("days", Word::Days),
    ("tage", Word::Days),
    ("jours", Word::Days),
    ("dias", Word::Days),
    ("dagen", Word::Days),
    ("ambient", Word::Of(What::Surroundings)),
    ("room", Word::Of(What::Surroundings)),
    ("air", Word::Of(What::Surroundings)),
    ("fridge", Word::Of(What::Surroundings)),
    ("chamber", Word::Of(What::Surroundings)),
    ("umgebung", Word::Of(What::Surroundings)),
    ("raum", Word::Of(What::Surroundings)),
    ("gravity", Word::Of(What::Gravity)),
    ("plato", Word::Of(What::Gravity)),
    ("extract", Word::Of(What::Gravity)),
    ("extrakt", Word::Of(What::Gravity)),
    ("brix", Word::Of(What::Gravity)),
    ("bx", Word::Of(What::Gravity)),
    ("refractometer", Word::Of(What::Gravity)),
    ("sg", Word::Of(What::Gravity)),
    ("density", Word::Of(What::Gravity)),
    ("dichte", Word::Of(What::Gravity)),
    ("densité", Word::Of(What::Gravity)),
    ("densidad", Word::Of(What::Gravity)),
    ("dichtheid", Word::Of(What::Gravity)),
    ("temperature", Word::Of(What::Temperature)),
    ("temperatur", Word::Of(What::Temperature)),
    ("température", Word::Of(What::Temperature)),
    ("temperatura", Word::Of(What::Temperature)),
    ("temperatuur", Word::Of(What::Temperature)),
    ("temp", Word::Of(What::Temperature)),
    ("ph", Word::Of(What::Ph)),
    ("pressure", Word::Of(What::Pressure)),
    ("druck", Word::Of(What::Pressure)),
    ("pression", Word::Of(What::Pressure)),
    ("presión", Word::Of(What::Pressure)),
    ("druk", Word::Of(What::Pressure)),
    ("instrument", Word::Instrument),
    ("device", Word::Instrument),
    ("sensor", Word::Instrument),
    ("probe", Word::Instrument),
    ("gerät", Word::Instrument),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Word {
    Time,
    Hours,
    Minutes,
    Days,
    Of(What),
    Instrument,
}

/// What the words of a header say: the more telling ones first.
fn said(header: &str) -> Option<Word> {
    let lower = header.to_lowercase();
    let parts: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|p| !p.is_empty())
        .collect();
    let found: Vec<Word> = parts
        .iter()
        .filter_map(|part| WORDS.iter().find(|(word, _)| word == part))
        .map(|(_, word)| *word)
        .collect();
    let has = |word: Word| found.contains(&word);
    // "ambient temp" is of the room, "elapsed time (days)" counts in days.
    [
        Word::Of(What::Surroundings),
        Word::Days,
        Word::Minutes,
        Word::Hours,
    ]
    .into_iter()
    .find(|word| has(*word))
    .or_else(|| found.first().copied())
}

/// A unit that a header names, of those that a quantity may be in.
fn unit_said(header: &str, what: What) -> Option<&'static str> {
    let lower = header.to_lowercase();
    let parts: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric() && c != '°')
        .filter(|p| !p.is_empty())
        .collect();
    let names: &[(&str, &[&str])] = match what {
        What::Gravity => &[
            (BRIX, &["°bx", "bx", "brix", "°brix", "refractometer"]),
            ("°P", &["°p", "plato", "p"]),
            ("SG", &["sg"]),
        ],
        What::Temperature | What::Surroundings => &[
            ("°C", &["°c", "c", "degc", "celsius"]),
            ("°F", &["°f", "f", "degf", "fahrenheit"]),
            ("K", &["k", "kelvin"]),
        ],
        What::Ph => &[],
        What::Pressure => &[
            ("bar", &["bar"]),
            ("psi", &["psi", "psig"]),
            ("kPa", &["kpa"]),
            ("Pa", &["pa"]),
        ],
    };
    names
        .iter()
        .find(|(_, names)| names.iter().any(|name| parts.contains(name)))
        .map(|(symbol, _)| *symbol)
}

fn role_of(
    header: &str,
    cells: &[&str],
    decimal_comma: bool,
    questions: &mut Vec<String>,
) -> (Role, String) {
    if cells.is_empty() {
        return (Role::Skip, "its cells are empty".to_owned());
    }
    let name = if header.is_empty() {
        "a column"
    } else {
        header
    };
    let told = said(header);
    // Where the name tells what it is, one cell that can be read is enough.
    let least = |tells: bool| if tells { f64::MIN_POSITIVE } else { MOST };
    let times = least(told == Some(Word::Time));
    if let Some(found) = time_of(name, cells, times, questions) {
        return found;
    }
    let numbers: Vec<f64> = cells
        .iter()
        .filter_map(|cell| number(cell, decimal_comma))
        .collect();
    let numeric = numbers.len() as f64 >= least(told.is_some()) * cells.len() as f64;
    let numeric = numeric && !numbers.is_empty();
    match told {
        Some(Word::Instrument) => (Role::Instrument, "its name".to_owned()),
        _ if !numeric => (
            Role::Skip,
            "neither numbers nor times stand in it".to_owned(),
        ),
        Some(Word::Of(what)) => reading(header, what, &numbers, name, questions),
        Some(Word::Hours) => (Role::Since(Since::Hours), "its name".to_owned()),
        Some(Word::Minutes) => (Role::Since(Since::Minutes), "its name".to_owned()),
        Some(Word::Days) => (Role::Since(Since::Days), "its name".to_owned()),
        Some(Word::Time) => counted(&numbers),
        None => by_values(&numbers, name, questions),
    }
}

/// A column of dates, times of day or instants.
fn time_of(
    name: &str,
    cells: &[&str],
    least: f64,
    questions: &mut Vec<String>,
) -> Option<(Role, String)> {
    let most = |count: usize| count > 0 && count as f64 >= least * cells.len() as f64;
    if most(cells.iter().filter(|c| instant(c).is_some()).count()) {
        return Some((
            Role::Instant,
            "its cells are times with an offset".to_owned(),
        ));
    }
    let found: Vec<_> = cells.iter().filter_map(|cell| written(cell)).collect();
    let dates: Vec<([i32; 3], bool)> = found.iter().filter_map(|w| w.date).collect();
    if !most(dates.len()) {
        let clocks = found
            .iter()
            .filter(|w| w.date.is_none() && w.clock.is_some());
        return most(clocks.count())
            .then(|| (Role::Clock, "its cells are times of day".to_owned()));
    }
    let over = |n: usize| dates.iter().any(|(d, _)| d.get(n).is_some_and(|x| *x > 12));
    let dotted = cells
        .iter()
        .any(|c| c.split(' ').next().is_some_and(|d| d.contains('.')));
    let (order, why) = if dates.iter().all(|(_, four)| *four) {
        (Order::YearMonthDay, "the year stands first")
    } else if over(0) {
        (Order::DayMonthYear, "the first number goes beyond 12")
    } else if over(1) {
        (Order::MonthDayYear, "the second number goes beyond 12")
    } else if dotted {
        (Order::DayMonthYear, "dates with points have the day first")
    } else {
        questions.push(format!(
            "In {name} day and month cannot be told apart: it is taken with the day first."
        ));
        (Order::DayMonthYear, "taken so; the dates do not tell")
    };
    Some((Role::Civil(order), why.to_owned()))
}

/// Numbers under a name that says time.
fn counted(numbers: &[f64]) -> (Role, String) {
    let least = numbers.iter().copied().fold(f64::INFINITY, f64::min);
    match least {
        // From 1990 on, in one unit or the other.
        x if x > 6.3e11 => (
            Role::UnixMilliseconds,
            "numbers as large as milliseconds since 1970".to_owned(),
        ),
        x if x > 6.3e8 => (
            Role::UnixSeconds,
            "numbers as large as seconds since 1970".to_owned(),
        ),
        _ => (
            Role::Since(Since::Hours),
            "a time in small numbers is taken as hours".to_owned(),
        ),
    }
}

fn reading(
    header: &str,
    what: What,
    numbers: &[f64],
    name: &str,
    questions: &mut Vec<String>,
) -> (Role, String) {
    if let Some(unit) = unit_said(header, what)
        && fits(what, unit, numbers)
    {
        return (Role::Reading(what, unit), "its name and unit".to_owned());
    }
    let units = what.units().iter().map(|unit| unit.symbol);
    let fitting: Vec<&'static str> = units.filter(|u| fits(what, u, numbers)).collect();
    match (what, fitting.as_slice()) {
        (What::Temperature | What::Surroundings, [_, _, ..]) => {
            let warm = median(numbers) > 45.0;
            questions.push(format!(
                "{name} does not say °C or °F: by its numbers it is taken as {}.",
                if warm { "°F" } else { "°C" }
            ));
            let unit = if warm { "°F" } else { "°C" };
            (
                Role::Reading(what, unit),
                "its name; the unit by its numbers".to_owned(),
            )
        }
        (What::Pressure, [first, _, ..]) => {
            questions.push(format!(
                "{name} does not say its unit: it is taken as {first}."
            ));
            (Role::Reading(what, first), "its name".to_owned())
        }
        (_, [first, ..]) => (
            Role::Reading(what, first),
            "its name; the unit by its numbers".to_owned(),
        ),
        (_, []) => (
            Role::Skip,
            format!("its name says {}, its numbers are none", what.word()),
        ),
    }
}

/// Numbers that no name explains.
fn by_values(numbers: &[f64], name: &str, questions: &mut Vec<String>) -> (Role, String) {
    let all = |low: f64, high: f64| numbers.iter().all(|x| (low..=high).contains(x));
    let several = numbers.iter().any(|x| x.fract() != 0.0);
    if all(0.985, 1.2) && several {
        return (
            Role::Reading(What::Gravity, "SG"),
            "numbers as of specific gravity".to_owned(),
        );
    }
    if all(6.3e8, 6.3e9) {
        return counted(numbers);
    }
    if all(6.3e11, 6.3e12) {
        return counted(numbers);
    }
    questions.push(format!(
        "{name} holds numbers that nothing explains: it is left out."
    ));
    (Role::Skip, "numbers that nothing explains".to_owned())
}

/// Whether most numbers can be such a reading.
fn fits(what: What, unit: &str, numbers: &[f64]) -> bool {
    let Some(unit) = what.unit(unit) else {
        return false;
    };
    // Beer is never as cold as a number near one in °P would be for wort: a table of
    // specific gravities is no table of °P.
    let sg_like = numbers.iter().all(|x| (0.985..=1.2).contains(x));
    if what == What::Gravity && unit.symbol == "°P" && sg_like {
        return false;
    }
    let can = numbers
        .iter()
        .filter(|x| unit.canonical(what, **x).is_some())
        .count();
    2 * can >= numbers.len() && can > 0
}

fn median(numbers: &[f64]) -> f64 {
    let mut sorted = numbers.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn roles(text: &str) -> Vec<String> {
        let guess = Guess::of(text).unwrap();
        guess
            .mapping
            .columns
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    #[test]
    fn tables_of_many_loggers_are_understood() {
        assert_eq!(
            roles(
                "timestamp,gravity,temp_c\n2026-03-14T09:00:00Z,1.048,19.5\n2026-03-14T10:00:00Z,1.047,19.6\n"
            ),
            ["time with offset", "gravity SG", "temperature °C"]
        );
        assert_eq!(
            roles(
                "Datum;Extrakt (°P);Temperatur (°C);Umgebung °C\n14.03.2026 09:00;12,4;19,5;17\n14.03.2026 10:00;12,3;19,6;17\n"
            ),
            [
                "time d.m.y",
                "gravity °P",
                "temperature °C",
                "surroundings °C"
            ]
        );
        assert_eq!(
            roles(
                "Date,Time,SG,Temp (F),Pressure psi,Battery\n3/14/2026,9:00 AM,1.048,67.1,0.2,3.9\n3/14/2026,10:00 AM,1.047,67.3,0.2,3.9\n"
            ),
            [
                "date m/d/y",
                "time of day",
                "gravity SG",
                "temperature °F",
                "pressure psi",
                "skip"
            ]
        );
        assert_eq!(
            roles(
                "hours\tplato\ttemp_c\tph\tambient_c\n0\t12.4\t20.1\t5.2\t18\n2\t12.3\t20.2\t5.1\t18\n"
            ),
            [
                "hours from the start",
                "gravity °P",
                "temperature °C",
                "ph",
                "surroundings °C"
            ]
        );
        assert_eq!(
            roles("1773480413,1048,67.2\n1773484013,1047,67.3\n"),
            ["seconds since 1970", "skip", "skip"]
        );
        assert_eq!(
            roles("time,sensor,gravity\n1773480413000,float A,1048\n1773484013000,float A,1047\n"),
            ["milliseconds since 1970", "instrument", "gravity SG x 1000"]
        );
    }

    #[test]
    fn what_a_table_leaves_open_is_asked() {
        let asks = |text: &str, word: &str| {
            let guess = Guess::of(text).unwrap();
            assert!(
                guess.questions.iter().any(|q| q.contains(word)),
                "{guess:?}"
            );
        };
        asks(
            "date,temp,gravity\n3/4/2026 9:00,20,1.040\n3/5/2026 9:00,21,1.030\n",
            "day and month",
        );
        asks("date,temp,gravity\n3/4/2026 9:00,20,1.040\n", "°C or °F");
        asks("hours,gravity\n0,1.048\n1,1.047\n", "say when that was");
        asks("a,b\n1,2\n3,4\n", "No column looks like a time");
        asks("date,gravity\n2026-03-14 09:00,1.048\n", "no offset");
        assert_eq!(Guess::of(" \n\n"), Err(LogError::Empty));
        let introduced = "Logger 7\nexported 2026\ntime,sg\n2026-03-14T09:00:00Z,1.048\n2026-03-14T10:00:00Z,1.047\n2026-03-14T11:00:00Z,1.046\n";
        assert_eq!(roles(introduced), ["time with offset", "gravity SG"]);
    }

    proptest! {
        #[test]
        fn no_text_breaks_it(text in "[0-9a-z,;.:\\-/ \n\"°\t]{0,300}") {
            if let Ok(guess) = Guess::of(&text) {
                prop_assert_eq!(guess.columns.len(), guess.mapping.columns.len());
            }
        }
    }
}

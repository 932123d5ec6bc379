//! Headings: what the water is, when it was drawn, in which unit the figures are.

use super::super::date::{self, Date, DayOrder, Found};
use super::super::inline::shortened;
use super::super::items::{Item, What};
use super::super::unit;
use super::super::words::{self, Head, Word};
use super::super::{Analysis, Choice, Question, Take};
use super::Reader;

/// Longer lines are sentences \[characters\].
const GROUP_HEADING: usize = 40;

impl Reader<'_> {
    /// "All values in mg/L", anywhere in a line without a figure.
    pub(super) fn units_heading(&mut self, line: &str) -> Option<Take> {
        let tokens = words::tokens(line);
        let (i, n) = (0..tokens.len()).find_map(|i| {
            let (_, n) = words::phrase(&tokens, i, |w| w == Word::Heading(Head::Units))?;
            Some((i, n))
        })?;
        let start = tokens.get(i + n)?.start;
        let unit = (start + 1..=line.len())
            .rev()
            .filter(|end| line.is_char_boundary(*end) && end - start <= 48)
            .find_map(|end| unit::unit(&line[start..end]))?;
        let said = format!(
            "figures without a unit are in {} from here on",
            unit.written
        );
        self.default_unit = Some(unit);
        Some(Take::Heading(said))
    }

    /// "Cations (mg/L)", "Metals, µg/L": a short line with a unit and no figure heads
    /// those behind it.
    pub(super) fn unit_of_a_group(&mut self, line: &str, found: &[Item]) -> Option<Take> {
        let mut units = found.iter().filter_map(|item| match &item.what {
            What::Unit(unit) => Some(unit.clone()),
            _ => None,
        });
        let (unit, more) = (units.next()?, units.next());
        let last = line.trim_end().trim_end_matches([')', ']', ':', '.']);
        let ends_so = last.ends_with(unit.written.trim_end_matches([')', ']']));
        if more.is_some() || !ends_so || line.trim().chars().count() > GROUP_HEADING {
            return None;
        }
        let said = format!(
            "figures without a unit are in {} from here on",
            unit.written
        );
        self.default_unit = Some(unit);
        Some(Take::Heading(said))
    }

    /// "Zone: Harrowmere", "Probenahme am 12.03.2027".
    pub(super) fn labelled(&mut self, line: &str) -> Option<Take> {
        let tokens = words::tokens(line);
        let (Word::Heading(head), n) =
            words::phrase(&tokens, 0, |w| matches!(w, Word::Heading(_)))?
        else {
            return None;
        };
        let rest = &line[tokens.get(n - 1)?.end..];
        let value = rest.trim_start_matches(|c: char| {
            c.is_whitespace() || matches!(c, ':' | '|' | ';' | ',' | '\t' | '.' | '-' | '(' | ')')
        });
        let value =
            value.trim_end_matches(|c: char| c.is_whitespace() || matches!(c, ';' | '|' | ','));
        let parted = rest.trim_start().starts_with([':', ';', '|', ','])
            || rest.starts_with(['\t'])
            || rest.starts_with("  ");
        if value.is_empty() {
            return None;
        }
        match head {
            Head::Date => self.date_heading(value),
            // A line of columns that begins with "Sample" is none of these.
            Head::Name | Head::Place | Head::Supplier | Head::Period
                if parted && value.contains([';', '\t', '|']) =>
            {
                None
            }
            Head::Period => {
                let date = date::at_start(value, self.order, true);
                if !parted && date.is_none() {
                    return None;
                }
                let period = value.to_owned();
                let said = format!("the figures stand for {}", shortened(&period));
                self.drafts.head(move |a| a.period = Some(period.clone()));
                Some(Take::Heading(said))
            }
            Head::Name | Head::Place | Head::Supplier if parted => Some(self.named(head, value)),
            _ => None,
        }
    }

    pub(super) fn named(&mut self, head: Head, value: &str) -> Take {
        let value = value.to_owned();
        let what = match head {
            Head::Place => "drawn at",
            Head::Supplier => "supplied or analysed by",
            _ => "the water is",
        };
        let said = format!("{what} {}", shortened(&value));
        self.drafts.head(move |a: &mut Analysis| {
            let place = match head {
                Head::Place => &mut a.place,
                Head::Supplier => &mut a.supplier,
                _ => &mut a.name,
            };
            *place = Some(value.clone());
        });
        self.header = None;
        Take::Heading(said)
    }

    pub(super) fn date_heading(&mut self, value: &str) -> Option<Take> {
        let (found, len) = date::at_start(value, self.order, true)?;
        // "12.03.2027 to 14.03.2027" and a time of day may follow.
        let more = value[len..].chars().filter(|c| c.is_alphabetic()).count();
        if more > 12 {
            return None;
        }
        Some(match self.date(found) {
            Ok(date) => {
                self.drafts.date(date);
                Take::Heading(format!("sampled on {date}"))
            }
            Err(question) => Take::Asked(question),
        })
    }

    pub(super) fn date(&mut self, found: Found) -> Result<Date, Question> {
        match found {
            Found::Date(date) => Ok(date),
            Found::Either(day_first, month_first) => {
                let id = "dates".to_owned();
                self.asked.insert(id.clone());
                match self.answers.get(&id) {
                    Some("day-first") => Ok(day_first),
                    Some("month-first") => Ok(month_first),
                    _ => {
                        let choice = |key: &str, date: Date| Choice {
                            key: key.to_owned(),
                            label: format!("{date}"),
                        };
                        let question = Question {
                            id,
                            line: self.line,
                            text: "Which of the two numbers of the date is the day?".to_owned(),
                            choices: vec![
                                choice("day-first", day_first),
                                choice("month-first", month_first),
                            ],
                        };
                        if !self.questions.iter().any(|q| q.id == question.id) {
                            self.questions.push(question.clone());
                        }
                        Err(question)
                    }
                }
            }
        }
    }

    /// Day first wherever a date or the language shows it.
    pub(super) fn day_order(&self) -> DayOrder {
        let mut at = 0;
        while let Some(i) = self.text[at..].find('/') {
            let slash = at + i;
            at = slash + 1;
            let front = self.text[..slash]
                .bytes()
                .rev()
                .take_while(u8::is_ascii_digit)
                .count();
            if !(1..=2).contains(&front) {
                continue;
            }
            let start = slash - front;
            if let Some((Found::Date(d), len)) =
                date::at_start(&self.text[start..], DayOrder::Open, false)
                && self.text[start..start + len].matches('/').count() == 2
                && d.day != d.month
            {
                let first: Option<u8> = self.text[start..slash].parse().ok();
                return if first == d.day {
                    DayOrder::DayFirst
                } else {
                    DayOrder::MonthFirst
                };
            }
        }
        let folded: Vec<String> = words::tokens(
            self.text
                .get(..self.text.len().min(20_000))
                .unwrap_or_default(),
        )
        .into_iter()
        .map(|t| t.folded)
        .collect();
        let foreign = [
            "wasser",
            "datum",
            "probenahme",
            "grenzwert",
            "eau",
            "prelevement",
            "durete",
            "agua",
            "fecha",
            "dureza",
            "muestreo",
            "hardheid",
            "monster",
            "waarde",
            "chlorures",
            "cloruros",
            "natrium",
        ];
        if folded.iter().any(|t| foreign.contains(&t.as_str()))
            || (self.convention.comma && !self.convention.point)
        {
            DayOrder::DayFirst
        } else {
            DayOrder::Open
        }
    }

    /// A line that is nothing but a date.
    pub(super) fn bare_date(&mut self, found: &[Item]) -> Option<Take> {
        let [
            Item {
                what: What::Date(date),
                ..
            },
        ] = found
        else {
            return None;
        };
        Some(match self.date(*date) {
            Ok(date) => {
                self.drafts.date(date);
                Take::Heading(format!("sampled on {date}"))
            }
            Err(question) => Take::Asked(question),
        })
    }

    /// "Harrowmere water quality report 2027".
    pub(super) fn title(&mut self, line: &str, found: &[Item]) -> Option<Take> {
        let tokens = words::tokens(line);
        let title = (0..tokens.len())
            .any(|i| words::phrase(&tokens, i, |w| w == Word::Heading(Head::Title)).is_some());
        let plain = !found
            .iter()
            .any(|i| matches!(i.what, What::Unit(_) | What::Name(_)));
        if !title || !plain {
            return None;
        }
        let year = tokens.iter().find_map(|t| {
            let (Found::Date(date), len) = date::at_start(&t.folded, self.order, true)? else {
                return None;
            };
            (len == t.folded.len()).then(|| date.to_string())
        });
        self.drafts.title(line.trim(), year);
        Some(Take::Heading("the title of the report".to_owned()))
    }
}

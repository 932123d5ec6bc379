//! Line by line through a text, with what the headings said so far.

mod headings;
mod tables;

use std::collections::BTreeSet;
use std::ops::Range;

use super::date::DayOrder;
use super::drafts::Drafts;
use super::flag;
use super::header::Header;
use super::inline::{self, Row, Slot, shortened};
use super::items::{self, Scan, What};
use super::layout::{self, Cell, Mark};
use super::number::{Convention, Three};
use super::parameter::Kind;
use super::settle::{self, Halt};
use super::unit::{Amount, Unit};
use super::{Answers, Choice, Line, Question, Report, Take, Trouble};

/// Longer lines are no lines of a report.
const LONGEST_LINE: usize = 4000;

pub(super) struct Reader<'a> {
    text: &'a str,
    answers: &'a Answers,
    asked: BTreeSet<String>,
    questions: Vec<Question>,
    convention: Convention,
    order: DayOrder,
    drafts: Drafts,
    header: Option<Header>,
    default_unit: Option<Unit>,
    /// The number of the line being read.
    line: usize,
}

impl<'a> Reader<'a> {
    pub(super) fn new(text: &'a str, answers: &'a Answers) -> Self {
        Self {
            text,
            answers,
            asked: BTreeSet::new(),
            questions: vec![],
            convention: Convention::of(text),
            order: DayOrder::Open,
            drafts: Drafts::new(),
            header: None,
            default_unit: None,
            line: 0,
        }
    }

    pub(super) fn read(mut self) -> Report {
        let spans = layout::lines(self.text);
        let marks = layout::marks(self.text, &spans);
        self.order = self.day_order();
        let mut lines = Vec::with_capacity(spans.len());
        for (i, (span, mark)) in spans.iter().zip(marks).enumerate() {
            self.line = i + 1;
            lines.push(Line {
                number: i + 1,
                span: span.clone(),
                text: self.text[span.clone()].to_owned(),
                takes: self.line(span.clone(), mark),
            });
        }
        let unused = self.answers.ids().filter(|id| !self.asked.contains(*id));
        Report {
            unused_answers: unused.map(str::to_owned).collect(),
            lines,
            analyses: self.drafts.finish(),
            questions: self.questions,
        }
    }

    fn line(&mut self, span: Range<usize>, mark: Mark) -> Vec<Take> {
        let text = self.text;
        let line = &text[span.clone()];
        if !line.chars().any(char::is_alphanumeric) {
            return vec![Take::Blank];
        }
        if let Some(trouble) = unreadable(line, &span) {
            return vec![Take::NotUnderstood(trouble)];
        }
        if let Some(take) = self.units_heading(line).or_else(|| self.labelled(line)) {
            return vec![take];
        }
        // Under a heading parted by commas a comma parts, whatever the count.
        let commas =
            self.header.as_ref().is_some_and(|h| h.mark == Mark::Comma) && line.contains(',');
        let mark = if commas && matches!(mark, Mark::None | Mark::Spaces) {
            Mark::Comma
        } else {
            mark
        };
        let cells = match layout::cells(text, span.clone(), mark) {
            Ok(cells) => cells,
            Err(reason) => {
                return vec![self.trouble(span, reason, "close it, or take the marks out")];
            }
        };
        if let Some(take) = self.heads_columns(line, &span, &cells, mark) {
            return vec![take];
        }
        if let Some(takes) = self.under_header(line, &span, &cells, mark) {
            return takes;
        }
        self.free(line, &span, &cells)
    }

    fn scan(&self, cell: bool) -> Scan {
        Scan {
            convention: self.convention,
            order: self.order,
            cell,
            header: false,
        }
    }

    // Lines without columns.

    fn free(&mut self, line: &str, span: &Range<usize>, cells: &[Cell]) -> Vec<Take> {
        let start = span.start + numbering(line);
        let whole = &self.text[start..span.end];
        let (body, flag) = flag::split(whole, false);
        let found = items::items(body, start, self.scan(cells.len() > 1));
        let names = found
            .iter()
            .filter(|i| matches!(i.what, What::Name(_)))
            .count();
        let figures = found
            .iter()
            .filter(|i| matches!(i.what, What::Figure(_)))
            .count();
        let other = found
            .iter()
            .find(|i| !matches!(i.what, What::Filler))
            .is_some_and(|i| i.what == What::Other);
        if other {
            return vec![Take::LeftOut(format!(
                "{}: brewing has no use for it",
                shortened(body.trim())
            ))];
        }
        if let Some(take) = self.bare_date(&found) {
            return vec![take];
        }
        if let Some(take) = self.title(line, &found) {
            return vec![take];
        }
        if figures == 0 && !found.iter().any(|i| i.what == What::NotMeasured) {
            self.header = self.header.take().filter(|_| names > 0);
            if found.iter().any(|i| matches!(i.what, What::Date(_))) {
                return vec![self.trouble(
                    span.clone(),
                    "a date stands here, and not what happened on it",
                    "if it is the day of the sample, write Date: and the date",
                )];
            }
            if names == 0
                && let Some(take) = self.unit_of_a_group(line, &found)
            {
                return vec![take];
            }
            let broken = found.iter().find(|i| {
                let text = self.text.get(i.at.clone()).unwrap_or_default();
                i.what == What::Unknown && text.contains(|c: char| c.is_ascii_digit())
            });
            if let Some(item) = broken.filter(|_| names > 0) {
                return vec![self.trouble(
                    item.at.clone(),
                    "the number is not understood",
                    "write it plainly, as in 96, 14.5, 14,5 or <0.05",
                )];
            }
            return vec![Take::Prose];
        }
        if names == 0 {
            let digits = body.chars().any(|c| c.is_ascii_digit());
            if !digits {
                return vec![Take::Prose];
            }
            return vec![self.trouble(
                span.clone(),
                "figures stand here, and no parameter that the tool knows",
                "begin with the parameter, as in Calcium 96 mg/L; other lines can stay",
            )];
        }
        match inline::rows(self.text, &found) {
            Ok(mut rows) => {
                // It speaks of the figure before it, the last of the line.
                if let (Some(flag), Some(row)) = (flag, rows.last_mut())
                    && let Some(slot) = row.slots.last_mut()
                    && let Err(take) = tables::flagged(slot, flag, row.name)
                {
                    return vec![take];
                }
                rows.into_iter()
                    .flat_map(|row| self.readings(row))
                    .collect()
            }
            Err(trouble) => vec![Take::NotUnderstood(trouble)],
        }
    }

    // Readings.

    fn readings(&mut self, mut row: Row) -> Vec<Take> {
        if row.slots.is_empty() {
            let why = if row.not_measured {
                "not measured"
            } else {
                "no figure"
            };
            return vec![Take::LeftOut(format!(
                "{}: {why}",
                row.name.parameter.name()
            ))];
        }
        self.unit_of_heading(&mut row);
        if let Err(take) = self.settle_thousands(&mut row) {
            return vec![take];
        }
        let mut drafts: Vec<Option<usize>> = vec![];
        for slot in &row.slots {
            if !drafts.contains(&slot.draft) {
                drafts.push(slot.draft);
            }
        }
        drafts
            .into_iter()
            .map(|draft| {
                let slots: Vec<Slot> = row
                    .slots
                    .iter()
                    .filter(|s| s.draft == draft)
                    .cloned()
                    .collect();
                self.reading(&row, &slots, draft.unwrap_or(self.drafts.current()))
            })
            .collect()
    }

    fn reading(&mut self, row: &Row, slots: &[Slot], draft: usize) -> Take {
        let key = format!("{}:{}", self.line, row.name.parameter.key());
        let asked = std::cell::RefCell::new(vec![]);
        let answer = |topic: &str| {
            let id = format!("{key}:{topic}");
            let found = self.answers.get(&id).map(str::to_owned);
            asked.borrow_mut().push(id);
            found
        };
        let settled = settle::settle(row, slots, self.text, &answer);
        self.asked.extend(asked.into_inner());
        match settled {
            Ok(reading) => {
                self.drafts.push(draft, reading.clone());
                Take::Reading(Box::new(reading))
            }
            Err(Halt::Trouble(trouble)) => Take::NotUnderstood(trouble),
            Err(Halt::Ask(topic, text, choices)) => {
                Take::Asked(self.ask(format!("{key}:{topic}"), text, choices))
            }
        }
    }

    fn ask(&mut self, id: String, text: String, choices: Vec<Choice>) -> Question {
        let question = Question {
            id,
            line: self.line,
            text,
            choices,
        };
        if !self.questions.iter().any(|q| q.id == question.id) {
            self.questions.push(question.clone());
        }
        question
    }

    /// The unit that a heading gave, for parameters that it can be one of.
    fn unit_of_heading(&self, row: &mut Row) {
        let bare = row.unit.is_none() && row.slots.iter().all(|s| s.unit.is_none());
        let Some(unit) = self.default_unit.as_ref().filter(|_| bare) else {
            return;
        };
        let suits = match row.name.parameter.kind() {
            Kind::Dissolved { .. } | Kind::Alkalinity | Kind::Hardness => true,
            Kind::Chlorine | Kind::Solids => matches!(unit.amount, Amount::Mass(_)),
            _ => false,
        };
        if suits {
            row.unit = Some(unit.clone());
            row.unit_from = "the heading above";
        }
    }

    /// "1.200": thousand or decimal.
    fn settle_thousands(&mut self, row: &mut Row) -> Result<(), Take> {
        if !row.slots.iter().any(|s| s.written.open) {
            return Ok(());
        }
        let id = format!("{}:{}:number", self.line, row.name.parameter.key());
        self.asked.insert(id.clone());
        let three = match self.answers.get(&id) {
            Some("thousands") => Three::Thousands,
            Some("decimal") => Three::Decimal,
            _ => {
                let text = row
                    .slots
                    .iter()
                    .find(|s| s.written.open)
                    .and_then(|s| self.text.get(s.written.at.clone()))
                    .unwrap_or_default();
                let text = format!(
                    "\"{}\": does the mark part thousands, or is it the decimal mark?",
                    shortened(text)
                );
                let choice = |key: &str, label: &str| Choice {
                    key: key.to_owned(),
                    label: label.to_owned(),
                };
                let choices = vec![
                    choice("thousands", "it parts thousands"),
                    choice("decimal", "it is the decimal mark"),
                ];
                return Err(Take::Asked(self.ask(id, text, choices)));
            }
        };
        let convention = Convention {
            three,
            ..self.convention
        };
        for slot in row.slots.iter_mut().filter(|s| s.written.open) {
            let text = self.text.get(slot.written.at.clone()).unwrap_or_default();
            if let Some((written, _)) = super::number::figure(text, convention, true) {
                slot.written.figure = written.figure;
                slot.written.step = written.step;
                slot.written.open = false;
            }
        }
        Ok(())
    }

    fn trouble(&self, at: Range<usize>, reason: &str, would_work: &str) -> Take {
        Take::NotUnderstood(Trouble {
            at,
            reason: reason.to_owned(),
            would_work: would_work.to_owned(),
        })
    }
}

/// Lines that cannot be trusted to say what they show.
fn unreadable(line: &str, span: &Range<usize>) -> Option<Trouble> {
    let trouble = |reason: &str, would_work: &str| {
        Some(Trouble {
            at: span.clone(),
            reason: reason.to_owned(),
            would_work: would_work.to_owned(),
        })
    };
    if line.len() > LONGEST_LINE {
        return trouble(
            "the line is too long for a line of a report",
            "break it into lines",
        );
    }
    let hidden = |c: char| matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{61c}');
    let line = line.trim_start_matches('\u{feff}');
    if line.chars().any(|c| hidden(c) || c == '\u{feff}') {
        return trouble(
            "the line holds characters that cannot be seen or that turn the text round",
            "type the line again",
        );
    }
    if line.chars().any(|c| c.is_control() && c != '\t') {
        return trouble(
            "the line holds control characters",
            "save the report as plain text",
        );
    }
    if line.contains('\u{fffd}') {
        return trouble(
            "a character of the line was lost when the text was saved",
            "save the report as UTF-8",
        );
    }
    None
}

/// "1.", "2)", "•" before a name.
fn numbering(line: &str) -> usize {
    let front = line.len()
        - line
            .trim_start_matches(|c: char| c.is_whitespace() || matches!(c, '•' | '*' | '\u{feff}'))
            .len();
    let rest = &line[front..];
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    let mark = rest[digits..].starts_with(['.', ')']);
    let space = rest.get(digits + 1..).is_some_and(|r| r.starts_with(' '));
    let named = rest
        .get(digits + 1..)
        .is_some_and(|r| r.trim_start().starts_with(char::is_alphabetic));
    if (1..=2).contains(&digits) && mark && space && named {
        front + digits + 1
    } else {
        front
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Parameter, Take, read};

    #[test]
    fn a_plain_line_is_read() {
        let report = read("Calcium (Ca): 96 mg/L");
        let reading = report.analyses[0].reading(Parameter::Calcium).unwrap();
        assert!((reading.value.canonical().unwrap() - 96.0).abs() < 1e-12);
    }

    #[test]
    fn a_bare_number_is_refused() {
        let report = read("Calcium 96");
        assert!(matches!(
            report.lines[0].takes[..],
            [Take::NotUnderstood(_)]
        ));
    }
}

//! Line by line through a text, with what the headings said so far.

use std::collections::BTreeSet;
use std::ops::Range;

use super::date::{self, Date, DayOrder, Found};
use super::drafts::Drafts;
use super::header::{self, Header, Role, Sample};
use super::inline::{self, Row, Slot, shortened};
use super::items::{self, Item, Scan, What};
use super::layout::{self, Cell, Mark};
use super::number::{Convention, Figure, Three, Written};
use super::parameter::Kind;
use super::settle::{self, Halt};
use super::unit::{self, Amount, Unit};
use super::words::{self, Head, Name, Stat, Word};
use super::{Analysis, Answers, Choice, Line, Question, Report, Take, Trouble};

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
    span: Range<usize>,
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
            span: 0..0,
        }
    }

    pub(super) fn read(mut self) -> Report {
        let spans = layout::lines(self.text);
        let marks = layout::marks(self.text, &spans);
        self.order = self.day_order();
        let mut lines = Vec::with_capacity(spans.len());
        for (i, (span, mark)) in spans.iter().zip(marks).enumerate() {
            self.line = i + 1;
            self.span = span.clone();
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
        if let Some(take) = self
            .units_heading(line)
            .or_else(|| self.labelled(line, &span))
        {
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

    // Headings.

    /// "All values in mg/L", anywhere in a line without a figure.
    fn units_heading(&mut self, line: &str) -> Option<Take> {
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

    /// "Zone: Harrowmere", "Probenahme am 12.03.2027".
    fn labelled(&mut self, line: &str, span: &Range<usize>) -> Option<Take> {
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
        let at = span.end - value.len().min(span.len())..span.end;
        match head {
            Head::Date => self.date_heading(value, at),
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

    fn named(&mut self, head: Head, value: &str) -> Take {
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

    fn date_heading(&mut self, value: &str, at: Range<usize>) -> Option<Take> {
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
            Err(question) => {
                let _ = at;
                Take::Asked(question)
            }
        })
    }

    fn date(&mut self, found: Found) -> Result<Date, Question> {
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
    fn day_order(&self) -> DayOrder {
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
                && d.day != d.month.map(|m| m)
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

    // Tables.

    fn heads_columns(
        &mut self,
        line: &str,
        span: &Range<usize>,
        cells: &[Cell],
        mark: Mark,
    ) -> Option<Take> {
        if let Some(header) = &mut self.header
            && header.is_wide()
            && header.mark == mark
            && let Some(units) = row_of_units(cells)
            && units.len() == header.roles.len()
        {
            for (role, unit) in header.roles.iter_mut().zip(units) {
                if let Role::Parameter { unit: place, .. } = role
                    && unit.is_some()
                {
                    *place = unit;
                }
            }
            return Some(Take::Heading("the units of the columns".to_owned()));
        }
        let mut header = header::header(line, span.start, cells, mark, self.scan(true))?;
        for (i, role) in header.roles.iter().enumerate() {
            let Role::Slot {
                sample: Some(sample),
                ..
            } = role
            else {
                continue;
            };
            let draft = match sample {
                Sample::Named(name) => self.drafts.begin(|a| a.name = Some(name.clone())),
                Sample::Dated(found) => match self.date(*found) {
                    Ok(date) => self.drafts.begin(|a| a.date = Some(date)),
                    Err(question) => return Some(Take::Asked(question)),
                },
            };
            // Mean and range of one year are one analysis.
            let same = header.roles[..i]
                .iter()
                .position(|r| matches!(r, Role::Slot { sample: Some(s), .. } if s == sample));
            header.drafts[i] = same.and_then(|j| header.drafts[j]).or(Some(draft));
        }
        let mut said = if header.is_wide() {
            "heading of a table with a sample on each line".to_owned()
        } else {
            "heading of a table with a parameter on each line".to_owned()
        };
        if !header.unknown.is_empty() {
            said.push_str("; columns left out, as their headings are not understood: ");
            said.push_str(&shortened(&header.unknown.join(", ")));
        }
        self.header = Some(header);
        Some(Take::Heading(said))
    }

    /// The line as a row of the table, if there is one that it belongs to.
    fn under_header(
        &mut self,
        line: &str,
        span: &Range<usize>,
        cells: &[Cell],
        mark: Mark,
    ) -> Option<Vec<Take>> {
        let header = self.header.clone()?;
        if header.mark == Mark::None {
            return self.figures_in_order(line, span, &header);
        }
        if header.mark != mark || cells.len() < 2 {
            return None;
        }
        let placed = match place(line, span.start, cells, &header) {
            Ok(placed) => placed,
            Err(reason) => {
                if mark == Mark::Spaces {
                    return self.figures_in_order(line, span, &header);
                }
                return Some(vec![self.trouble(span.clone(), reason, "give the line as many cells as the heading has, and put figures with commas in quotes")]);
            }
        };
        if header.is_wide() {
            return Some(self.sample(&header, &placed, span));
        }
        Some(self.table_row(&header, &placed, span))
    }

    /// A line with a parameter in a table.
    fn table_row(
        &mut self,
        header: &Header,
        cells: &[Option<&Cell>],
        span: &Range<usize>,
    ) -> Vec<Take> {
        let at = |want: fn(&Role) -> bool| {
            header
                .roles
                .iter()
                .position(want)
                .and_then(|i| cells.get(i).copied().flatten())
        };
        let Some(name) = at(|r| *r == Role::Name) else {
            return vec![self.trouble(
                span.clone(),
                "the line names no parameter",
                "put the parameter in its column",
            )];
        };
        let mut row = match self.row_of_name(name) {
            Ok(row) => row,
            Err(take) => return vec![take],
        };
        if let Some(cell) = at(|r| *r == Role::Unit) {
            if let Err(take) = self.unit_cell(&mut row, cell) {
                return vec![take];
            }
        }
        let mut slots = vec![];
        let mut unmeasured = row.not_measured;
        for (i, role) in header.roles.iter().enumerate() {
            let Some(cell) = cells.get(i).copied().flatten() else {
                continue;
            };
            match self.figure_cell(role, cell, &mut row) {
                Ok(Some(mut slot)) => {
                    slot.draft = header.drafts[i];
                    slots.push(slot);
                }
                Ok(None) => unmeasured = true,
                Err(take) => return vec![take],
            }
        }
        if slots.is_empty() {
            let why = if unmeasured {
                "no figure is given"
            } else {
                "the line holds no figure"
            };
            return vec![Take::LeftOut(format!(
                "{}: {why}",
                row.name.parameter.name()
            ))];
        }
        row.slots = slots;
        self.readings(row)
    }

    /// A cell under a heading of figures; `None` where nothing was measured or
    /// the column holds no reading.
    fn figure_cell(
        &mut self,
        role: &Role,
        cell: &Cell,
        row: &mut Row,
    ) -> Result<Option<Slot>, Take> {
        let empty = !cell.text.chars().any(char::is_alphanumeric);
        if empty || !Header::numeric(role) {
            return Ok(None);
        }
        let found = items::items(&cell.text, cell.at.start, self.scan(true));
        if !matches!(role, Role::Slot { .. }) {
            let number = found.iter().find_map(|i| match &i.what {
                What::Figure(w) => match w.figure {
                    Figure::Exactly(x) | Figure::Below(x) | Figure::Between(_, x) => Some(x),
                    _ => None,
                },
                _ => None,
            });
            match role {
                Role::Limit => row.limits.extend(number),
                _ => row.detection = number.or(row.detection),
            }
            return Ok(None);
        }
        let Role::Slot {
            stat, unit, basis, ..
        } = role
        else {
            return Ok(None);
        };
        let slot = self.one_figure(&found, cell)?;
        let Some(mut slot) = slot else {
            return Ok(None);
        };
        slot.stat = *stat;
        slot.unit = slot.unit.or_else(|| unit.clone());
        if let Some(basis) = basis
            && !row.set_basis(*basis)
        {
            return Err(self.trouble(
                cell.at.clone(),
                "the heading and the line say different bases",
                "keep one basis",
            ));
        }
        Ok(Some(slot))
    }

    /// The one figure of a cell.
    fn one_figure(&self, found: &[Item], cell: &Cell) -> Result<Option<Slot>, Take> {
        let mut slot: Option<Slot> = None;
        for item in found {
            match &item.what {
                What::Figure(written) if slot.is_none() => {
                    let mut written: Written = written.clone();
                    written.at = item.at.clone();
                    slot = Some(Slot {
                        written,
                        stat: None,
                        unit: None,
                        draft: None,
                        bracketed: false,
                    });
                }
                // "ND - 2": from nought.
                What::Figure(Written {
                    figure: Figure::Exactly(high),
                    ..
                }) if slot
                    .as_ref()
                    .is_some_and(|s| s.written.figure == Figure::NotDetected) =>
                {
                    if let Some(slot) = &mut slot {
                        slot.written.figure = Figure::Between(0.0, high.abs());
                        slot.written.at.end = item.at.end;
                    }
                }
                What::Unit(unit) if slot.as_ref().is_some_and(|s| s.unit.is_none()) => {
                    if let Some(slot) = &mut slot {
                        slot.unit = Some(unit.clone());
                    }
                }
                What::NotMeasured if slot.is_none() => return Ok(None),
                What::Filler => {}
                _ => {
                    return Err(self.trouble(
                        cell.at.clone(),
                        &format!("\"{}\" is no figure", shortened(&cell.text)),
                        "write one figure in the cell, such as 42, <0.05 or 12-18",
                    ));
                }
            }
        }
        Ok(slot)
    }

    fn row_of_name(&mut self, cell: &Cell) -> Result<Row, Take> {
        let found = items::items(&cell.text, cell.at.start, self.scan(false));
        if found.first().is_some_and(|i| i.what == What::Other) {
            return Err(Take::LeftOut(format!(
                "{}: brewing has no use for it",
                shortened(&cell.text)
            )));
        }
        match inline::rows(self.text, &found) {
            Ok(rows) if rows.len() == 1 => match rows.into_iter().next() {
                Some(row) if row.slots.is_empty() => Ok(row),
                _ => Err(self.trouble(
                    cell.at.clone(),
                    "a figure stands in the column of names",
                    "keep figures in their columns",
                )),
            },
            Ok(_) => Err(self.trouble(
                cell.at.clone(),
                &format!(
                    "\"{}\" is no parameter that the tool knows",
                    shortened(&cell.text)
                ),
                "use a common name or formula, such as calcium or Ca; other lines can stay",
            )),
            Err(trouble) => Err(Take::NotUnderstood(trouble)),
        }
    }

    fn unit_cell(&self, row: &mut Row, cell: &Cell) -> Result<(), Take> {
        if !cell.text.chars().any(|c| c.is_alphanumeric() || c == '°') {
            return Ok(());
        }
        let found = unit::unit(&cell.text).or_else(|| {
            let found = items::items(&cell.text, 0, self.scan(true));
            let one = found.iter().find_map(|i| match &i.what {
                What::Unit(unit) => Some(unit.clone()),
                _ => None,
            });
            found
                .iter()
                .all(|i| matches!(i.what, What::Unit(_) | What::Filler))
                .then_some(one)
                .flatten()
        });
        match (found, row.unit.is_some()) {
            (Some(unit), _) => {
                row.unit = Some(unit);
                Ok(())
            }
            (None, _) if row.name.parameter.kind() == Kind::Ph => Ok(()),
            (None, _) => Err(self.trouble(
                cell.at.clone(),
                &format!(
                    "\"{}\" is no unit that the tool knows",
                    shortened(&cell.text)
                ),
                "write mg/L, mmol/L, °dH, mg/L as CaCO3, µS/cm or the like",
            )),
        }
    }

    /// A line that is a sample, under a heading of parameters.
    fn sample(
        &mut self,
        header: &Header,
        cells: &[Option<&Cell>],
        span: &Range<usize>,
    ) -> Vec<Take> {
        let mut date = None;
        let mut name: Option<String> = None;
        for (role, cell) in header.roles.iter().zip(cells) {
            let Some(cell) = cell else { continue };
            let found = items::items(&cell.text, cell.at.start, self.scan(false));
            let first = found.first().map(|i| i.what.clone());
            if !matches!(role, Role::Parameter { .. }) {
                match first {
                    Some(What::Limit) => {
                        return vec![Take::LeftOut("a row of limits, not of figures".to_owned())];
                    }
                    Some(What::Stat(_)) => {
                        return vec![self.trouble(
                            span.clone(),
                            "a row of means or extremes stands among the samples",
                            "give the samples alone, or a table with a parameter on each line",
                        )];
                    }
                    _ => {}
                }
            }
            match role {
                Role::Date => match date::at_start(&cell.text, self.order, true) {
                    Some((found, _)) => match self.date(found) {
                        Ok(d) => date = Some(d),
                        Err(question) => return vec![Take::Asked(question)],
                    },
                    None if cell.text.is_empty() => {}
                    None => {
                        return vec![self.trouble(
                            cell.at.clone(),
                            "the date is not understood",
                            "write it as 2027-03-12",
                        )];
                    }
                },
                Role::Sample => name = Some(cell.text.clone()).filter(|t| !t.is_empty()),
                _ => {}
            }
        }
        let draft = self.drafts.begin(|a| {
            a.date = date.or(a.date);
            if name.is_some() {
                a.name.clone_from(&name);
            }
        });
        let mut takes = vec![];
        for (role, cell) in header.roles.iter().zip(cells) {
            let (Role::Parameter { name, unit, basis }, Some(cell)) = (role, cell) else {
                continue;
            };
            takes.extend(self.sample_cell(*name, unit.as_ref(), *basis, cell, draft));
        }
        if takes.is_empty() {
            takes.push(Take::LeftOut("no figure on the line".to_owned()));
        }
        takes
    }

    fn sample_cell(
        &mut self,
        name: Name,
        unit: Option<&Unit>,
        basis: Option<unit::Species>,
        cell: &Cell,
        draft: usize,
    ) -> Vec<Take> {
        if !cell.text.chars().any(char::is_alphanumeric) {
            return vec![];
        }
        let found = items::items(&cell.text, cell.at.start, self.scan(true));
        let slot = match self.one_figure(&found, cell) {
            Ok(Some(slot)) => slot,
            Ok(None) => {
                return vec![Take::LeftOut(format!(
                    "{}: not measured",
                    name.parameter.name()
                ))];
            }
            Err(take) => return vec![take],
        };
        let mut row = Row::new(name, cell.at.clone());
        row.unit = unit.cloned();
        row.unit_from = if unit.is_some() {
            "the heading of its column"
        } else {
            ""
        };
        row.basis = basis.or(row.basis);
        row.slots = vec![Slot {
            draft: Some(draft),
            ..slot
        }];
        self.readings(row)
    }

    /// Figures in the order of the headings, where only spaces part them.
    fn figures_in_order(
        &mut self,
        line: &str,
        span: &Range<usize>,
        header: &Header,
    ) -> Option<Vec<Take>> {
        let found = items::items(line, span.start, self.scan(false));
        let figures = found
            .iter()
            .filter(|i| matches!(i.what, What::Figure(_) | What::NotMeasured))
            .count();
        let roles: Vec<(usize, &Role)> = header
            .roles
            .iter()
            .enumerate()
            .filter(|(_, r)| Header::numeric(r))
            .collect();
        let names = found
            .iter()
            .filter(|i| matches!(i.what, What::Name(_)))
            .count();
        let worded = found
            .iter()
            .any(|i| matches!(i.what, What::Limit | What::Stat(_)));
        if figures < 2 || names == 0 || worded || header.is_wide() {
            return None;
        }
        if figures != roles.len() {
            return Some(vec![self.trouble(
                span.clone(),
                &format!(
                    "{figures} figures stand under {} columns of figures",
                    roles.len()
                ),
                "part the cells with semicolons, and leave empty cells empty",
            )]);
        }
        let mut next = roles.into_iter();
        let mut rest = vec![];
        let mut limits = vec![];
        let mut stats: Vec<(Option<Stat>, Option<usize>)> = vec![];
        for item in found {
            if !matches!(item.what, What::Figure(_) | What::NotMeasured) {
                rest.push(item);
                continue;
            }
            let (i, role) = next.next()?;
            match (role, &item.what) {
                (Role::Slot { stat, .. }, What::Figure(_)) => {
                    stats.push((*stat, header.drafts[i]));
                    rest.push(item);
                }
                (Role::Limit, What::Figure(w)) => {
                    if let Figure::Exactly(x) = w.figure {
                        limits.push(x);
                    }
                }
                _ => {}
            }
        }
        let mut rows = match inline::rows(self.text, &rest) {
            Ok(rows) => rows,
            Err(trouble) => return Some(vec![Take::NotUnderstood(trouble)]),
        };
        let [row] = &mut rows[..] else {
            return Some(vec![self.trouble(
                span.clone(),
                "several parameters stand on one line of the table",
                "give each a line of its own",
            )]);
        };
        row.limits = limits;
        for (slot, (stat, draft)) in row.slots.iter_mut().zip(stats) {
            slot.stat = stat;
            slot.draft = draft;
        }
        let row = row.clone();
        if row.slots.is_empty() {
            return Some(vec![Take::LeftOut(format!(
                "{}: no figure is given",
                row.name.parameter.name()
            ))]);
        }
        // The unit stands once, before the figures or behind them.
        Some(self.readings(row))
    }

    // Lines without columns.

    fn free(&mut self, line: &str, span: &Range<usize>, cells: &[Cell]) -> Vec<Take> {
        let start = span.start + numbering(line);
        let body = &self.text[start..span.end];
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
            Ok(rows) => rows
                .into_iter()
                .flat_map(|row| self.readings(row))
                .collect(),
            Err(trouble) => vec![Take::NotUnderstood(trouble)],
        }
    }

    /// A line that is nothing but a date.
    fn bare_date(&mut self, found: &[Item]) -> Option<Take> {
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
    fn title(&mut self, line: &str, found: &[Item]) -> Option<Take> {
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

/// Units of the columns, where a line is nothing else.
fn row_of_units(cells: &[Cell]) -> Option<Vec<Option<Unit>>> {
    let units: Vec<Option<Unit>> = cells.iter().map(|c| unit::unit(&c.text)).collect();
    let some = units.iter().flatten().count();
    let bare = |c: &Cell| !c.text.chars().any(|c| c.is_ascii_digit());
    let all = cells
        .iter()
        .zip(&units)
        .all(|(c, u)| u.is_some() || bare(c));
    (some >= 1 && all && some * 2 + 2 >= cells.len()).then_some(units)
}

/// Which cell stands under which heading.
fn place<'c>(
    line: &str,
    line_at: usize,
    cells: &'c [Cell],
    header: &Header,
) -> Result<Vec<Option<&'c Cell>>, &'static str> {
    let count = header.roles.len();
    if cells.len() == count {
        return Ok(cells.iter().map(Some).collect());
    }
    if header.mark != Mark::Spaces {
        let needed = header
            .roles
            .iter()
            .rposition(|r| matches!(r, Role::Slot { .. } | Role::Parameter { .. }))
            .map_or(0, |i| i + 1);
        if cells.len() > count {
            let surplus = cells[count..].iter().any(|c| !c.text.is_empty());
            return if surplus {
                Err("the line has more cells than the heading")
            } else {
                Ok(cells[..count].iter().map(Some).collect())
            };
        }
        if cells.len() < needed {
            return Err("the line has fewer cells than the heading");
        }
        let mut placed: Vec<Option<&Cell>> = cells.iter().map(Some).collect();
        placed.resize(count, None);
        return Ok(placed);
    }
    let mut placed = vec![None; count];
    for cell in cells {
        let at = header::columns(line, line_at, &cell.at);
        let mut over = header
            .columns
            .iter()
            .enumerate()
            .filter(|(_, c)| c.start < at.end && at.start < c.end);
        let (Some((i, _)), None) = (over.next(), over.next()) else {
            return Err("a cell stands under no heading, or under two");
        };
        if placed[i].replace(cell).is_some() {
            return Err("two cells stand under one heading");
        }
    }
    Ok(placed)
}

/// The parameter that a key of a question names.
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

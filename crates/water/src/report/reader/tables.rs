//! Lines of tables: a parameter on each line, or a sample on each line.

use std::ops::Range;

use super::super::Take;
use super::super::date;
use super::super::flag::{self, Flag};
use super::super::header::{self, Header, Role, Sample};
use super::super::inline::{self, Row, Slot, shortened};
use super::super::items::{self, Item, What};
use super::super::layout::{Cell, Mark};
use super::super::number::{Figure, Written};
use super::super::parameter::Kind;
use super::super::unit::{self, Unit};
use super::super::words::{Name, Stat};
use super::Reader;

impl Reader<'_> {
    pub(super) fn heads_columns(
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
    pub(super) fn under_header(
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
    pub(super) fn table_row(
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
        if let Some(cell) = at(|r| *r == Role::Unit)
            && let Err(take) = self.unit_cell(&mut row, cell)
        {
            return vec![take];
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
        if let Some(cell) = at(|r| *r == Role::Flag)
            && let Some(flag) = flag::flag(&cell.text)
        {
            for slot in &mut slots {
                if let Err(take) = flagged(slot, flag, row.name) {
                    return vec![take];
                }
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
    pub(super) fn figure_cell(
        &mut self,
        role: &Role,
        cell: &Cell,
        row: &mut Row,
    ) -> Result<Option<Slot>, Take> {
        let empty = !cell.text.chars().any(char::is_alphanumeric);
        if empty || !Header::numeric(role) {
            return Ok(None);
        }
        let (text, flag) = flag::split(&cell.text, true);
        let found = items::items(text, cell.at.start, self.scan(true));
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
        if let Some(flag) = flag {
            flagged(&mut slot, flag, row.name)?;
        }
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
    pub(super) fn one_figure(&self, found: &[Item], cell: &Cell) -> Result<Option<Slot>, Take> {
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
                        flag: None,
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

    pub(super) fn row_of_name(&mut self, cell: &Cell) -> Result<Row, Take> {
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

    pub(super) fn unit_cell(&self, row: &mut Row, cell: &Cell) -> Result<(), Take> {
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
    pub(super) fn sample(
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

    pub(super) fn sample_cell(
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
        let (text, flag) = flag::split(&cell.text, true);
        let found = items::items(text, cell.at.start, self.scan(true));
        let slot = match self.one_figure(&found, cell) {
            Ok(Some(mut slot)) => match flag.map_or(Ok(()), |f| flagged(&mut slot, f, name)) {
                Ok(()) => slot,
                Err(take) => return vec![take],
            },
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
    pub(super) fn figures_in_order(
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

/// Puts a flag on a figure; a figure that the laboratory rejects is left out.
pub(super) fn flagged(slot: &mut Slot, flag: Flag, name: Name) -> Result<(), Take> {
    if flag == Flag::Rejected {
        return Err(Take::LeftOut(format!(
            "{}: flagged R, which is to say that the laboratory rejects the figure",
            name.parameter.name()
        )));
    }
    flag.put_on(&mut slot.written);
    slot.flag = Some(flag);
    Ok(())
}

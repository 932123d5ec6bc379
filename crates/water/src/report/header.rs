//! Headings of columns, and what each column holds.

use std::ops::Range;

use super::date::Found;
use super::items::{self, Item, Scan, What};
use super::layout::{Cell, Mark};
use super::unit::{Species, Unit};
use super::words::{Head, Name, Stat, Word};

/// What a column holds.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Role {
    Name,
    Unit,
    /// Figures: of which kind, of which sample, in which unit.
    Slot {
        stat: Option<Stat>,
        sample: Option<Sample>,
        unit: Option<Unit>,
        basis: Option<Species>,
    },
    Limit,
    Detection,
    /// Letters behind the figure: "U", "J".
    Flag,
    Beside,
    /// A parameter, where each line is a sample.
    Parameter {
        name: Name,
        unit: Option<Unit>,
        basis: Option<Species>,
    },
    Date,
    Sample,
}

/// Whose figures a column holds.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Sample {
    Dated(Found),
    Named(String),
}

/// The heading of a table.
#[derive(Debug, Clone)]
pub(super) struct Header {
    pub mark: Mark,
    pub roles: Vec<Role>,
    /// Where each heading stands in its line, in characters.
    pub columns: Vec<Range<usize>>,
    /// Headings that were not understood; their columns are left out.
    pub unknown: Vec<String>,
    /// The analysis of each column that has its own.
    pub drafts: Vec<Option<usize>>,
}

impl Header {
    /// True where each line is a sample and each column a parameter.
    pub(super) fn is_wide(&self) -> bool {
        self.roles
            .iter()
            .any(|r| matches!(r, Role::Parameter { .. }))
    }

    /// True where a number in the column could be taken for a figure.
    pub(super) fn numeric(role: &Role) -> bool {
        matches!(role, Role::Slot { .. } | Role::Limit | Role::Detection)
    }
}

/// The header that a line is, if it is one.
pub(super) fn header(
    line: &str,
    line_at: usize,
    cells: &[Cell],
    mark: Mark,
    scan: Scan,
) -> Option<Header> {
    let scan = Scan {
        header: true,
        cell: true,
        ..scan
    };
    if mark == Mark::None {
        return words_in_a_row(&cells.first()?.text, scan);
    }
    let found: Vec<Vec<Item>> = cells
        .iter()
        .map(|c| items::items(&c.text, c.at.start, scan))
        .collect();
    if found
        .iter()
        .flatten()
        .any(|i| matches!(i.what, What::Figure(_)))
    {
        return None;
    }
    let mut roles: Vec<Option<Role>> = (cells.iter().zip(&found))
        .map(|(cell, items)| {
            if is_flags(&cell.text) {
                Some(Role::Flag)
            } else {
                role(items)
            }
        })
        .collect();
    let is = |want: fn(&Role) -> bool| roles.iter().flatten().filter(|r| want(r)).count();
    let parameters = is(|r| matches!(r, Role::Parameter { .. }));
    let named = is(|r| matches!(r, Role::Name | Role::Unit));
    let figures = is(|r| matches!(r, Role::Slot { .. } | Role::Limit | Role::Detection));
    let wide = parameters >= 2 && figures == 0 && named == 0;
    let long = parameters == 0 && (named >= 1 && roles.len() >= 2 || figures >= 2);
    if !wide && !long {
        return None;
    }
    let mut unknown = vec![];
    let samples = long && figures == 0;
    let first_is_name = long && is(|r| matches!(r, Role::Name)) == 0;
    for (i, cell) in cells.iter().enumerate() {
        if i == 0 && first_is_name && roles[0].is_none() {
            roles[0] = Some(Role::Name);
        }
        if roles[i].is_none() {
            let named = samples && !cell.text.is_empty();
            roles[i] = Some(if named {
                Role::Slot {
                    stat: None,
                    sample: Some(Sample::Named(cell.text.clone())),
                    unit: None,
                    basis: None,
                }
            } else {
                if !cell.text.is_empty() {
                    unknown.push(cell.text.clone());
                }
                Role::Beside
            });
        }
    }
    Some(Header {
        mark,
        columns: cells
            .iter()
            .map(|c| columns(line, line_at, &c.at))
            .collect(),
        drafts: vec![None; roles.len()],
        roles: roles.into_iter().flatten().collect(),
        unknown,
    })
}

/// Whether a heading is that of a column of flags.
fn is_flags(text: &str) -> bool {
    const WORDS: [&str; 7] = [
        "q",
        "qual",
        "qual.",
        "qualifier",
        "qualifiers",
        "flag",
        "flags",
    ];
    WORDS.contains(&text.trim().to_lowercase().as_str())
}

/// "Parameter Unit Min Mean Max Limit", parted by single spaces.
fn words_in_a_row(text: &str, scan: Scan) -> Option<Header> {
    let mut roles = vec![];
    for item in items::items(text, 0, scan) {
        match &item.what {
            What::Filler => {}
            What::Name(_) | What::Figure(_) | What::Unknown | What::Other | What::NotMeasured => {
                return None;
            }
            _ => roles.push(role(std::slice::from_ref(&item))?),
        }
    }
    let named = roles.contains(&Role::Name);
    let figures = roles.iter().filter(|r| Header::numeric(r)).count();
    (named && figures >= 1 && roles.len() >= 3).then(|| Header {
        mark: Mark::None,
        columns: vec![],
        drafts: vec![None; roles.len()],
        roles,
        unknown: vec![],
    })
}

/// Where a cell stands in its line, in characters.
pub(super) fn columns(line: &str, line_at: usize, at: &Range<usize>) -> Range<usize> {
    let count = |to: usize| {
        line.get(..to.saturating_sub(line_at))
            .map_or(0, |t| t.chars().count())
    };
    count(at.start)..count(at.end)
}

fn role(items: &[Item]) -> Option<Role> {
    let any = |want: &dyn Fn(&What) -> bool| items.iter().any(|i| want(&i.what));
    let column = |word: Word| any(&|w| *w == What::Column(word));
    let unit = items.iter().find_map(|i| match &i.what {
        What::Unit(unit) => Some(unit.clone()),
        _ => None,
    });
    let basis = items.iter().find_map(|i| match &i.what {
        What::Basis(basis) => Some(*basis),
        _ => None,
    });
    let name = items.iter().find_map(|i| match &i.what {
        What::Name(name) => Some(*name),
        _ => None,
    });
    let stat = items.iter().find_map(|i| match i.what {
        What::Stat(stat) => Some(stat),
        _ => None,
    });
    let date = items.iter().find_map(|i| match i.what {
        What::Date(found) => Some(found),
        _ => None,
    });
    if items.is_empty() || any(&|w| matches!(w, What::Other)) {
        return None;
    }
    if any(&|w| *w == What::Limit) {
        return Some(Role::Limit);
    }
    if any(&|w| *w == What::Detection) {
        return Some(Role::Detection);
    }
    if column(Word::Beside) {
        return Some(Role::Beside);
    }
    if let Some(name) = name {
        let only = !any(&|w| matches!(w, What::Unknown | What::Column(_)));
        return only.then_some(Role::Parameter {
            basis: basis.or(name.basis),
            name,
            unit,
        });
    }
    if column(Word::UnitColumn) {
        return Some(Role::Unit);
    }
    let unknown = any(&|w| matches!(w, What::Unknown));
    if stat.is_some() || date.is_some() || column(Word::Value) || unit.is_some() {
        return (!unknown || date.is_some()).then_some(Role::Slot {
            stat,
            sample: date.map(Sample::Dated),
            unit,
            basis,
        });
    }
    if unknown {
        return None;
    }
    let head = |head: Head| column(Word::Heading(head));
    if column(Word::NameColumn) {
        Some(Role::Name)
    } else if head(Head::Date) || head(Head::Period) {
        Some(Role::Date)
    } else if head(Head::Name) || head(Head::Place) {
        Some(Role::Sample)
    } else {
        None
    }
}

//! Items in a row become rows: a parameter with its figures, units and basis.

use std::ops::Range;

use super::Trouble;
use super::flag::Flag;
use super::items::{Item, What};
use super::number::{Figure, Written};
use super::parameter::Kind;
use super::unit::{Amount, Species, Unit, species};
use super::words::{Name, Stat};

/// A parameter and what stands with it.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub name: Name,
    pub at: Range<usize>,
    pub slots: Vec<Slot>,
    pub unit: Option<Unit>,
    /// Where the unit came from, if not from beside the figure.
    pub unit_from: &'static str,
    pub basis: Option<Species>,
    /// Limits that stand in the row, as plain numbers.
    pub limits: Vec<f64>,
    pub detection: Option<f64>,
    pub celsius: Option<f64>,
    pub not_measured: bool,
}

/// A figure with what says what it is.
#[derive(Debug, Clone)]
pub(super) struct Slot {
    pub written: Written,
    pub stat: Option<Stat>,
    pub unit: Option<Unit>,
    /// The analysis that its column belongs to.
    pub draft: Option<usize>,
    /// It stands in brackets.
    pub bracketed: bool,
    /// What a letter behind it says.
    pub flag: Option<Flag>,
}

impl Row {
    pub(super) fn new(name: Name, at: Range<usize>) -> Self {
        Self {
            name,
            at,
            slots: vec![],
            unit: None,
            unit_from: "",
            basis: name.basis,
            limits: vec![],
            detection: None,
            celsius: None,
            not_measured: false,
        }
    }

    fn is_bare(&self) -> bool {
        self.slots.is_empty() && !self.not_measured
    }

    /// A second name before the figure: the formula in "calcium (Ca)", the basis
    /// in "alkalinity (HCO3)". False where it is neither.
    fn takes(&mut self, second: Name) -> bool {
        let mine = self.name.parameter;
        if second.parameter == mine {
            self.name.open &= second.open;
            let basis = second
                .basis
                .or_else(|| second.symbol.then(|| species(mine.formula())).flatten());
            return basis.is_none_or(|b| self.set_basis(b));
        }
        let formula = species(second.parameter.formula());
        match (mine.kind(), formula) {
            (Kind::Alkalinity, Some(f)) if second.symbol && matches!(f.formula, "HCO3" | "CO3") => {
                self.set_basis(f)
            }
            _ => false,
        }
    }

    /// False where another basis was already said.
    pub(super) fn set_basis(&mut self, basis: Species) -> bool {
        let same = self.basis.is_none_or(|b| alike(b, basis));
        if same {
            self.basis = Some(basis);
        }
        same
    }
}

/// "N" and "NO3-N" are one basis.
pub(super) fn alike(a: Species, b: Species) -> bool {
    a.formula == b.formula
        || a.formula.ends_with(&format!("-{}", b.formula))
        || b.formula.ends_with(&format!("-{}", a.formula))
}

/// What the next figure is.
#[derive(Clone, Copy, PartialEq)]
enum Expect {
    Reading,
    Limit,
    Detection,
}

/// Gathers the rows of a stretch of text that has no columns.
///
/// # Errors
/// The first thing that does not fit.
pub(super) fn rows(text: &str, items: &[Item]) -> Result<Vec<Row>, Trouble> {
    let mut gather = Gather {
        text,
        rows: vec![],
        row: None,
        early: vec![],
        early_unit: None,
        expect: Expect::Reading,
        waits: None,
        stat: None,
        joins: false,
        after_figure: false,
    };
    for item in items {
        if item.what == What::Method {
            break;
        }
        gather.take(item)?;
    }
    gather.finish()
}

struct Gather<'a> {
    text: &'a str,
    rows: Vec<Row>,
    row: Option<Row>,
    /// Figures before any name, as in "42 mg/L calcium".
    early: Vec<Slot>,
    early_unit: Option<Unit>,
    expect: Expect,
    /// A word such as "limit" still waits for its figure, at this place.
    waits: Option<Range<usize>>,
    stat: Option<Stat>,
    /// A "to" stands between two figures.
    joins: bool,
    after_figure: bool,
}

impl Gather<'_> {
    fn take(&mut self, item: &Item) -> Result<(), Trouble> {
        let after_figure = std::mem::replace(&mut self.after_figure, false);
        match &item.what {
            What::Name(name) => self.name(*name, item)?,
            What::Figure(written) => {
                self.figure(written, item)?;
                self.after_figure = true;
            }
            What::Unit(unit) => self.unit(unit, after_figure, item)?,
            What::Basis(basis) => {
                let fits = self.row.as_mut().is_some_and(|r| r.set_basis(*basis));
                if !fits {
                    return Err(self.trouble(
                        item,
                        "the basis is said twice, and differently",
                        "keep one basis",
                    ));
                }
            }
            What::Stat(stat) => {
                self.stat = Some(*stat);
                self.expect = Expect::Reading;
            }
            What::Limit => {
                self.expect = Expect::Limit;
                self.waits = Some(item.at.clone());
            }
            What::Detection => {
                self.expect = Expect::Detection;
                self.waits = Some(item.at.clone());
            }
            What::NotMeasured => match &mut self.row {
                Some(row) => row.not_measured = true,
                None => {
                    return Err(self.trouble(
                        item,
                        "no parameter stands before it",
                        "begin with the parameter",
                    ));
                }
            },
            What::To => self.joins = after_figure || self.joins,
            What::Filler => {}
            What::Date(_) => {
                return Err(self.trouble(
                    item,
                    "a date stands among the figures",
                    "put the date on a line of its own, as in Date: 2027-03-12",
                ));
            }
            What::Other | What::Column(_) | What::Unknown | What::Method => {
                let word = self.text.get(item.at.clone()).unwrap_or_default();
                let reason = format!("\"{}\" is not understood", shortened(word));
                return Err(self.trouble(
                    item,
                    &reason,
                    "write the parameter, the figure and its unit, as in Calcium 96 mg/L",
                ));
            }
        }
        Ok(())
    }

    fn name(&mut self, name: Name, item: &Item) -> Result<(), Trouble> {
        // "Limit: nitrate 50 mg/L" is still about the limit.
        if self.waits.is_none() {
            self.expect = Expect::Reading;
        }
        self.stat = None;
        match &mut self.row {
            None => {
                let mut row = Row::new(name, item.at.clone());
                row.slots.append(&mut self.early);
                row.unit = self.early_unit.take();
                self.row = Some(row);
            }
            // "Ca 96 mg/L (calcium)" says the same again.
            Some(row) if row.name.parameter == name.parameter || row.is_bare() => {
                if !row.takes(name) {
                    return Err(self.trouble(
                        item,
                        "two parameters stand before one figure",
                        "give each parameter a line of its own",
                    ));
                }
            }
            Some(row) => {
                let done = std::mem::replace(row, Row::new(name, item.at.clone()));
                self.rows.push(done);
            }
        }
        Ok(())
    }

    fn figure(&mut self, written: &Written, item: &Item) -> Result<(), Trouble> {
        match self.expect {
            Expect::Limit | Expect::Detection => {
                self.waits = None;
                let ends = ends(written.figure);
                if let (Some(row), Some(x)) = (&mut self.row, ends) {
                    if self.expect == Expect::Limit {
                        row.limits.push(x);
                    } else {
                        row.detection = Some(x);
                    }
                }
                return Ok(());
            }
            Expect::Reading => {}
        }
        let before = self.text.get(..item.at.start).unwrap_or_default();
        let bracketed = before.trim_end().ends_with(['(', '[']);
        let slots = match &mut self.row {
            Some(row) => &mut row.slots,
            None => &mut self.early,
        };
        if std::mem::take(&mut self.joins)
            && let Some(last) = slots.last_mut()
        {
            let (Figure::Exactly(low), Figure::Exactly(high)) =
                (last.written.figure, written.figure)
            else {
                return Err(self.trouble(item, "the range is not understood", "write 12-18 mg/L"));
            };
            last.written.figure = Figure::Between(low, high);
            last.written.open |= written.open;
            last.written.at.end = item.at.end;
            return Ok(());
        }
        let mut written = written.clone();
        written.at = item.at.clone();
        slots.push(Slot {
            written,
            stat: self.stat.take(),
            unit: None,
            draft: None,
            bracketed,
            flag: None,
        });
        Ok(())
    }

    fn unit(&mut self, unit: &Unit, after_figure: bool, item: &Item) -> Result<(), Trouble> {
        if self.expect != Expect::Reading {
            return Ok(());
        }
        let temperature = self
            .row
            .as_ref()
            .is_some_and(|r| r.name.parameter.kind() == Kind::Temperature);
        let named = self.row.is_some();
        let slots = match &mut self.row {
            Some(row) => &mut row.slots,
            None => &mut self.early,
        };
        if unit.amount == Amount::Celsius && !temperature && after_figure && named {
            // "at 25 °C" is no figure of the parameter.
            let at = slots.pop().map(|s| s.written.figure);
            if let (Some(row), Some(Figure::Exactly(t))) = (&mut self.row, at) {
                row.celsius = Some(t);
            }
            return Ok(());
        }
        if let Some(last) = slots.last_mut()
            && last.unit.is_none()
        {
            last.unit = Some(unit.clone());
            last.written.at.end = item.at.end;
            return Ok(());
        }
        let bare = slots.is_empty();
        let place = match &mut self.row {
            Some(row) => &mut row.unit,
            None => &mut self.early_unit,
        };
        if bare && place.is_none() {
            *place = Some(unit.clone());
            return Ok(());
        }
        if place.as_ref().is_some_and(|u| u.amount == unit.amount) {
            return Ok(());
        }
        Err(self.trouble(
            item,
            "a second unit stands here",
            "give one figure with one unit",
        ))
    }

    fn finish(mut self) -> Result<Vec<Row>, Trouble> {
        if let Some(at) = self.waits {
            return Err(Trouble {
                at,
                reason: "a limit is named here without its figure, so the figure before it may be the limit".to_owned(),
                would_work: "write the figure of the water first and the limit behind it, as in Nitrate 12 mg/L (limit 50 mg/L)".to_owned(),
            });
        }
        self.rows.extend(self.row);
        Ok(self.rows)
    }

    fn trouble(&self, item: &Item, reason: &str, would_work: &str) -> Trouble {
        Trouble {
            at: item.at.clone(),
            reason: reason.to_owned(),
            would_work: would_work.to_owned(),
        }
    }
}

fn ends(figure: Figure) -> Option<f64> {
    match figure {
        Figure::Exactly(x)
        | Figure::Below(x)
        | Figure::Above(x)
        | Figure::PlusMinus(x, _)
        | Figure::Between(_, x) => Some(x),
        _ => None,
    }
}

/// A stretch for a message.
pub(super) fn shortened(word: &str) -> String {
    if word.chars().count() <= 40 {
        return word.to_owned();
    }
    let front: String = word.chars().take(39).collect();
    format!("{front}…")
}

//! Intervals side by side: methods compared, a figure beside its aim.

use crate::chart::{Chart, Drawing, Size};
use crate::grid::{Cell, Grid};
use crate::heading::Heading;
use crate::intervals::{self, Ground, Item, Stretch};
use crate::number::{with_reach, with_unit};
use crate::rows::RowText;
use crate::scale::Axis;
use crate::tip::Tip;

/// One row: a value with its interval. Missing ends are not a number.
#[derive(Debug, Clone, PartialEq)]
pub struct Interval {
    /// What it is: "boil 30 min".
    pub label: String,
    /// Lower end.
    pub low: f64,
    /// The value itself.
    pub value: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// A row.
    #[must_use]
    pub fn new(label: impl Into<String>, low: f64, value: f64, high: f64) -> Self {
        Self {
            label: label.into(),
            low,
            value,
            high,
        }
    }
}

/// A stretch of the axis to land in.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// "aim".
    pub label: String,
}

/// Intervals on one axis, with an aim if there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct RangeChart {
    /// Name, title and message.
    pub heading: Heading,
    /// The level axis.
    pub axis: Axis,
    /// From top to bottom.
    pub rows: Vec<Interval>,
    /// Where they should lie.
    pub aim: Option<Aim>,
}

impl RangeChart {
    fn item(&self, row: &Interval) -> Item {
        let value = with_reach(row.low, row.value, row.high, self.axis.decimals);
        Item {
            text: RowText {
                label: row.label.clone(),
                value,
                ..RowText::default()
            },
            low: row.low,
            value: row.value,
            high: row.high,
            said: String::new(),
        }
    }
}

impl Chart for RangeChart {
    fn heading(&self) -> &Heading {
        &self.heading
    }

    fn draw(&self, size: Size) -> Drawing {
        let items: Vec<Item> = self.rows.iter().map(|row| self.item(row)).collect();
        let band = |aim: &Aim| Stretch {
            from: aim.low,
            to: aim.high,
            label: aim.label.clone(),
            class: "chart-aim".to_owned(),
            edge: Some("chart-aim-edge"),
        };
        let ground = Ground {
            zones: Vec::new(),
            bands: self.aim.iter().map(band).collect(),
            uprights: Vec::new(),
        };
        intervals::draw(&items, &self.axis, &ground, size)
    }

    fn tips(&self) -> Vec<Tip> {
        let tip = |row: &Interval| {
            let value = with_reach(row.low, row.value, row.high, self.axis.decimals);
            Tip {
                head: row.label.clone(),
                lines: vec![(self.axis.label.clone(), with_unit(&value, &self.axis.unit))],
            }
        };
        self.rows.iter().map(tip).collect()
    }

    fn grid(&self) -> Grid {
        let decimals = self.axis.decimals;
        Grid {
            columns: [String::new(), self.axis.column(&self.axis.label)]
                .into_iter()
                .chain(["low", "high"].map(|end| self.axis.column(end)))
                .collect(),
            rows: self
                .rows
                .iter()
                .map(|row| {
                    let figures = [row.value, row.low, row.high].map(|v| Cell::number(v, decimals));
                    std::iter::once(Cell::text(&row.label))
                        .chain(figures)
                        .collect()
                })
                .collect(),
        }
    }

    fn notes(&self) -> Vec<String> {
        let said = |aim: &Aim| {
            let reach = with_reach(aim.low, f64::NAN, aim.high, self.axis.decimals);
            format!("{}: {}", aim.label, with_unit(&reach, &self.axis.unit))
        };
        self.aim.iter().map(said).collect()
    }
}

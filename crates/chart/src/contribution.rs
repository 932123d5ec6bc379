//! What makes up a sum: bitterness by hop, cells at hand beside cells needed.

use crate::bars::{self, Bar, Part, shown};
use crate::chart::{Chart, Drawing, Size};
use crate::grid::{Cell, Grid};
use crate::heading::Heading;
use crate::number::{show, with_unit};
use crate::rows::RowText;
use crate::scale::Axis;
use crate::tip::Tip;
use crate::tone::Tone;

/// A part of a bar. Parts at or below nought are not drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// What it is; may be empty if the row says it.
    pub label: String,
    /// How much of it.
    pub amount: f64,
    /// Its colour.
    pub tone: Tone,
}

impl Segment {
    /// A part.
    #[must_use]
    pub fn new(label: impl Into<String>, amount: f64, tone: Tone) -> Self {
        Self {
            label: label.into(),
            amount,
            tone,
        }
    }
}

/// One row: parts that add up, and what they should add up to.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// What they add up to.
    pub label: String,
    /// From left to right.
    pub segments: Vec<Segment>,
    /// What is needed, with a word for it: (190.0, "needed").
    pub need: Option<(f64, String)>,
}

impl Contribution {
    /// A row with one part that carries the row's label.
    #[must_use]
    pub fn simple(label: impl Into<String>, amount: f64, tone: Tone) -> Self {
        Self::stacked(label, vec![Segment::new("", amount, tone)])
    }

    /// A row of parts.
    #[must_use]
    pub fn stacked(label: impl Into<String>, segments: Vec<Segment>) -> Self {
        Self {
            label: label.into(),
            segments,
            need: None,
        }
    }

    /// The same with what is needed.
    #[must_use]
    pub fn needing(self, amount: f64, word: impl Into<String>) -> Self {
        Self {
            need: Some((amount, word.into())),
            ..self
        }
    }

    /// What the parts add up to.
    #[must_use]
    pub fn sum(&self) -> f64 {
        self.segments
            .iter()
            .map(|s| s.amount)
            .filter(|&a| shown(a))
            .sum()
    }
}

/// Level bars of parts that add up.
#[derive(Debug, Clone, PartialEq)]
pub struct ContributionChart {
    /// Name, title and message.
    pub heading: Heading,
    /// The level axis; it starts at nought.
    pub axis: Axis,
    /// From top to bottom.
    pub rows: Vec<Contribution>,
}

impl ContributionChart {
    fn bar(&self, row: &Contribution) -> Bar {
        let part = |s: &Segment| Part {
            label: s.label.clone(),
            amount: s.amount,
            tone: s.tone,
            aim: None,
            missing: false,
        };
        Bar {
            text: RowText {
                label: row.label.clone(),
                value: show(row.sum(), self.axis.decimals),
                ..RowText::default()
            },
            parts: row.segments.iter().map(part).collect(),
            need: row.need.clone(),
            half: None,
        }
    }
}

impl Chart for ContributionChart {
    fn heading(&self) -> &Heading {
        &self.heading
    }

    fn draw(&self, size: Size) -> Drawing {
        let bars: Vec<Bar> = self.rows.iter().map(|row| self.bar(row)).collect();
        bars::draw(&bars, &self.axis, "", size)
    }

    fn tips(&self) -> Vec<Tip> {
        let tip = |row: &Contribution| {
            let parts = row
                .segments
                .iter()
                .filter(|s| shown(s.amount) && !s.label.is_empty());
            let mut lines: Vec<_> = parts
                .map(|s| (s.label.clone(), self.axis.say(s.amount)))
                .collect();
            let name = if lines.len() > 1 {
                "sum"
            } else {
                self.axis.label.as_str()
            };
            if lines.len() != 1 {
                lines.push((name.to_owned(), self.axis.say(row.sum())));
            }
            lines.extend(
                row.need
                    .iter()
                    .map(|(need, word)| (word.clone(), self.axis.say(*need))),
            );
            Tip {
                head: row.label.clone(),
                lines,
            }
        };
        self.rows.iter().map(tip).collect()
    }

    fn grid(&self) -> Grid {
        let decimals = self.axis.decimals;
        let cells = |row: &str, part: &str, amount: f64| {
            vec![
                Cell::text(row),
                Cell::text(part),
                Cell::number(amount, decimals),
            ]
        };
        let rows = self.rows.iter().flat_map(|row| {
            let parts = row
                .segments
                .iter()
                .map(|s| cells(&row.label, &s.label, s.amount));
            let need = row
                .need
                .iter()
                .map(|(need, word)| cells(&row.label, word, *need));
            parts.chain(need).collect::<Vec<_>>()
        });
        Grid {
            columns: vec![
                "row".to_owned(),
                "part".to_owned(),
                self.axis.column(&self.axis.label),
            ],
            rows: rows.collect(),
        }
    }

    fn notes(&self) -> Vec<String> {
        let said = |row: &Contribution| {
            let (need, word) = row.need.as_ref().filter(|n| n.0.is_finite())?;
            let [has, need] = [row.sum(), *need].map(|v| show(v, self.axis.decimals));
            Some(format!(
                "{}: {has}, {word} {}",
                row.label,
                with_unit(&need, &self.axis.unit)
            ))
        };
        self.rows.iter().filter_map(said).collect()
    }
}

//! What a treatment moved: before and after, against an aim and limits.

mod draw;

use crate::chart::{Chart, Drawing, Size};
use crate::grid::{Cell, Grid};
use crate::heading::Heading;
use crate::number::{show, with_reach};
use crate::range::Aim;
use crate::scale::Axis;
use crate::tip::Tip;

/// One quantity before and after. What is missing is not a number.
#[derive(Debug, Clone, PartialEq)]
pub struct Shift {
    /// The quantity and its unit: `Axis::new("calcium", "mg/L").starting_at(0.0)`.
    pub axis: Axis,
    /// Before the treatment.
    pub before: f64,
    /// After it.
    pub after: f64,
    /// Where it should land.
    pub aim: Option<Aim>,
    /// Values not to pass, with words: (50.0, "health limit 50").
    pub limits: Vec<(f64, String)>,
}

impl Shift {
    /// A row without aim and limits.
    #[must_use]
    pub fn new(axis: Axis, before: f64, after: f64) -> Self {
        Self {
            axis,
            before,
            after,
            aim: None,
            limits: Vec::new(),
        }
    }

    /// The same with an aim.
    #[must_use]
    pub fn aiming(self, low: f64, high: f64, label: impl Into<String>) -> Self {
        let label = label.into();
        Self {
            aim: Some(Aim { low, high, label }),
            ..self
        }
    }

    /// The same with one more limit and its words.
    #[must_use]
    pub fn limited(mut self, at: f64, words: impl Into<String>) -> Self {
        self.limits.push((at, words.into()));
        self
    }

    /// "96 → 54", or the one that there is.
    fn value(&self) -> String {
        let say = |v| show(v, self.axis.decimals);
        match (self.before.is_finite(), self.after.is_finite()) {
            (true, true) if say(self.before) != say(self.after) => {
                format!("{} → {}", say(self.before), self.axis.say(self.after))
            }
            (_, true) => self.axis.say(self.after),
            (true, false) => self.axis.say(self.before),
            (false, false) => "–".to_owned(),
        }
    }

    fn aim_words(&self) -> Option<String> {
        let aim = self.aim.as_ref()?;
        let reach = if show(aim.low, self.axis.decimals) == show(aim.high, self.axis.decimals) {
            show(aim.low, self.axis.decimals)
        } else {
            with_reach(aim.low, f64::NAN, aim.high, self.axis.decimals)
        };
        Some(format!("{} {reach}", aim.label).trim().to_owned())
    }
}

/// Quantities below one another, each on a scale of its own: a ring before, a dot
/// after, the aim as a band, limits as ticks with their words.
///
/// A limit far beyond the values stands as an arrow at the end of its scale.
///
/// ```
/// use chart::{Axis, Chart, Heading, Shift, ShiftChart};
///
/// let mg = |name| Axis::new(name, "mg/L").starting_at(0.0).decimals(0);
/// let chart = ShiftChart {
///     heading: Heading::new("moved", "What the treatment moves", "Calcium lands in its aim."),
///     rows: vec![
///         Shift::new(mg("calcium"), 96.0, 54.0).aiming(50.0, 60.0, "aim"),
///         Shift::new(mg("nitrate"), 12.0, 7.0).limited(50.0, "health limit 50"),
///     ],
/// };
/// assert_eq!(chart.tips()[0].lines[2], ("aim".to_owned(), "50–60".to_owned()));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ShiftChart {
    /// Name, title and message.
    pub heading: Heading,
    /// From top to bottom.
    pub rows: Vec<Shift>,
}

impl Chart for ShiftChart {
    fn heading(&self) -> &Heading {
        &self.heading
    }

    fn draw(&self, size: Size) -> Drawing {
        draw::draw(&self.rows, size)
    }

    fn tips(&self) -> Vec<Tip> {
        let tip = |row: &Shift| {
            let mut lines = vec![
                ("before".to_owned(), row.axis.say(row.before)),
                ("after".to_owned(), row.axis.say(row.after)),
            ];
            let aim = row.aim.as_ref().map(|aim| {
                let reach = with_reach(aim.low, f64::NAN, aim.high, row.axis.decimals);
                (aim.label.clone(), reach)
            });
            lines.extend(aim);
            let limits = row.limits.iter().filter(|l| l.0.is_finite());
            lines.extend(limits.map(|(at, words)| (words.clone(), row.axis.say(*at))));
            Tip {
                head: row.axis.label.clone(),
                lines,
            }
        };
        self.rows.iter().map(tip).collect()
    }

    fn grid(&self) -> Grid {
        let row = |row: &Shift| {
            let number = |v| Cell::number(v, row.axis.decimals);
            let aim = |of: fn(&Aim) -> f64| row.aim.as_ref().map_or(f64::NAN, of);
            let words: Vec<&str> = row.limits.iter().map(|l| l.1.as_str()).collect();
            vec![
                Cell::text(&row.axis.label),
                Cell::text(&row.axis.unit),
                number(row.before),
                number(row.after),
                number(aim(|a| a.low)),
                number(aim(|a| a.high)),
                Cell::text(words.join("; ")),
            ]
        };
        Grid {
            columns: [
                "quantity", "unit", "before", "after", "aim from", "aim to", "limits",
            ]
            .map(str::to_owned)
            .to_vec(),
            rows: self.rows.iter().map(row).collect(),
        }
    }

    fn notes(&self) -> Vec<String> {
        if self.rows.is_empty() {
            return Vec::new();
        }
        vec!["A ring is before, a dot is after; each row has a scale of its own".to_owned()]
    }
}

//! What the glass holds, against what can be smelled and tasted.

use crate::chart::{Chart, Drawing, Size};
use crate::grid::{Cell, Grid};
use crate::heading::Heading;
use crate::intervals::{self, Ground, Item, Stretch, Upright};
use crate::number::{show, two_digits, with_reach};
use crate::rows::RowText;
use crate::scale::Axis;
use crate::tip::Tip;

/// What is known of a compound's odour activity, its concentration over its threshold.
#[derive(Debug, Clone, PartialEq)]
pub enum Activity {
    /// A number with its interval; missing ends are not a number.
    Known {
        /// Lower end.
        low: f64,
        /// The value itself.
        value: f64,
        /// Upper end.
        high: f64,
    },
    /// No sound number, but words that bound the risk.
    Graded(String),
}

/// One row: a compound and its activity.
#[derive(Debug, Clone, PartialEq)]
pub struct Compound {
    /// What it smells or tastes of, or its name: "clove", "4-vinylguaiacol (clove)".
    pub label: String,
    /// Its odour activity.
    pub activity: Activity,
}

impl Compound {
    /// A compound with a number.
    #[must_use]
    pub fn known(label: impl Into<String>, low: f64, value: f64, high: f64) -> Self {
        Self {
            label: label.into(),
            activity: Activity::Known { low, value, high },
        }
    }

    /// A compound with a graded risk in place of a number.
    #[must_use]
    pub fn graded(label: impl Into<String>, words: impl Into<String>) -> Self {
        Self {
            label: label.into(),
            activity: Activity::Graded(words.into()),
        }
    }
}

/// A stretch of activity and what it means in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Where it begins; minus infinity if it is open.
    pub from: f64,
    /// Where it ends; infinity if it is open.
    pub to: f64,
    /// "clear".
    pub label: String,
}

impl Zone {
    /// Four words for what an odour activity means. The limits are judgement.
    #[must_use]
    pub fn in_words() -> Vec<Self> {
        let ends = [f64::NEG_INFINITY, 0.5, 2.0, 10.0, f64::INFINITY];
        ["not noticed", "faint", "clear", "strong"]
            .into_iter()
            .zip(ends.windows(2))
            .filter_map(|(label, pair)| match pair {
                [from, to] => Some(Self {
                    from: *from,
                    to: *to,
                    label: label.to_owned(),
                }),
                _ => None,
            })
            .collect()
    }
}

/// Odour activities on a logarithmic axis from 0.01 to 100, with the threshold at 1.
#[derive(Debug, Clone, PartialEq)]
pub struct ActivityChart {
    /// Name, title and message.
    pub heading: Heading,
    /// From top to bottom.
    pub rows: Vec<Compound>,
    /// What stretches of the axis mean, from low to high.
    pub zones: Vec<Zone>,
}

impl ActivityChart {
    /// A chart with [`Zone::in_words`].
    #[must_use]
    pub fn new(heading: Heading, rows: Vec<Compound>) -> Self {
        Self {
            heading,
            rows,
            zones: Zone::in_words(),
        }
    }

    fn axis() -> Axis {
        Axis::new("odour activity (concentration ÷ threshold)", "")
            .log()
            .between(0.01, 100.0)
    }

    fn zone_of(&self, value: f64) -> Option<&str> {
        let holds = |z: &&Zone| z.from <= value && value < z.to;
        self.zones.iter().find(holds).map(|z| z.label.as_str())
    }

    fn stretch((i, zone): (usize, &Zone)) -> Stretch {
        Stretch {
            from: zone.from,
            to: zone.to,
            label: zone.label.clone(),
            class: format!("chart-zone-{}", i.min(3)),
            edge: None,
        }
    }
}

/// Thresholds are known to a factor of two or so: more than two digits would pretend.
fn said_activity(low: f64, value: f64, high: f64) -> String {
    with_reach(two_digits(low), two_digits(value), two_digits(high), None)
}

fn item(row: &Compound) -> Item {
    let (low, value, high, said) = match &row.activity {
        Activity::Known { low, value, high } => (*low, *value, *high, String::new()),
        Activity::Graded(words) => (f64::NAN, f64::NAN, f64::NAN, words.clone()),
    };
    let shown = match row.activity {
        Activity::Known { .. } => said_activity(low, value, high),
        Activity::Graded(_) => String::new(),
    };
    Item {
        text: RowText {
            label: row.label.clone(),
            value: shown,
            ..RowText::default()
        },
        low,
        value,
        high,
        said,
    }
}

impl Chart for ActivityChart {
    fn heading(&self) -> &Heading {
        &self.heading
    }

    fn draw(&self, size: Size) -> Drawing {
        let items: Vec<Item> = self.rows.iter().map(item).collect();
        let ground = Ground {
            zones: self.zones.iter().enumerate().map(Self::stretch).collect(),
            bands: Vec::new(),
            uprights: vec![Upright {
                at: 1.0,
                label: "threshold".to_owned(),
                class: "chart-threshold",
            }],
        };
        intervals::draw(&items, &Self::axis(), &ground, size)
    }

    fn tips(&self) -> Vec<Tip> {
        let tip = |row: &Compound| {
            let lines = match &row.activity {
                Activity::Known { low, value, high } => {
                    let figure = (
                        "odour activity".to_owned(),
                        said_activity(*low, *value, *high),
                    );
                    let meaning = self
                        .zone_of(*value)
                        .map(|word| ("in words".to_owned(), word.to_owned()));
                    std::iter::once(figure).chain(meaning).collect()
                }
                Activity::Graded(words) => vec![("risk".to_owned(), words.clone())],
            };
            Tip {
                head: row.label.clone(),
                lines,
            }
        };
        self.rows.iter().map(tip).collect()
    }

    fn grid(&self) -> Grid {
        let row = |row: &Compound| match &row.activity {
            Activity::Known { low, value, high } => {
                let figures = [*value, *low, *high].map(|v| Cell::number(v, None));
                let word = self.zone_of(*value).map_or(Cell::Blank, Cell::text);
                std::iter::once(Cell::text(&row.label))
                    .chain(figures)
                    .chain([word])
                    .collect()
            }
            Activity::Graded(words) => {
                vec![
                    Cell::text(&row.label),
                    Cell::Blank,
                    Cell::Blank,
                    Cell::Blank,
                    Cell::text(words),
                ]
            }
        };
        Grid {
            columns: ["compound", "odour activity", "low", "high", "in words"]
                .map(str::to_owned)
                .to_vec(),
            rows: self.rows.iter().map(row).collect(),
        }
    }

    fn notes(&self) -> Vec<String> {
        let threshold = "The threshold is at an odour activity of 1".to_owned();
        let zones: Vec<String> = self.zones.iter().filter_map(zone_in_words).collect();
        match zones.is_empty() {
            true => vec![threshold],
            false => vec![threshold, format!("Words: {}", zones.join(", "))],
        }
    }
}

fn zone_in_words(zone: &Zone) -> Option<String> {
    let (from, to) = (show(zone.from, None), show(zone.to, None));
    match (zone.from.is_finite(), zone.to.is_finite()) {
        (true, true) => Some(format!("{} {from}–{to}", zone.label)),
        (true, false) => Some(format!("{} above {from}", zone.label)),
        (false, true) => Some(format!("{} below {to}", zone.label)),
        (false, false) => None,
    }
}

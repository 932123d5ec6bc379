//! From one value to another, step by step: what each thing adds.

use maud::{Markup, html};

use crate::chart::{Chart, Drawing, Size};
use crate::grid::{Cell, Grid};
use crate::heading::Heading;
use crate::mark::{Area, c, rule, slab};
use crate::number::{drawable, show, with_unit};
use crate::rows::{self, Across, RowText};
use crate::scale::{Axis, Domain};
use crate::tip::Tip;
use crate::tone::Tone;

/// Height of a step.
const BAR: f64 = 16.0;

/// What one thing adds.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What it is.
    pub label: String,
    /// What it adds; below nought it takes away.
    pub by: f64,
}

impl Step {
    /// A step of some size.
    #[must_use]
    pub fn new(label: impl Into<String>, by: f64) -> Self {
        let label = label.into();
        Self { label, by }
    }
}

/// Steps that lead from one value to another, each beginning where the one above it ends.
///
/// The axis need not begin at nought: what is read is the length of a step and where it
/// ends.
///
/// ```
/// use chart::{Axis, Chart, Heading, Step, StepsChart};
///
/// let chart = StepsChart {
///     heading: Heading::new("alcohol", "What made the alcohol differ", "More malt, mostly."),
///     axis: Axis::new("alcohol", "% vol").decimals(1),
///     from: ("first brewing".to_owned(), 5.2),
///     steps: vec![Step::new("0.6 kg more malt", 0.9), Step::new("cooler mash", 0.3)],
///     to: ("second brewing".to_owned(), 6.4),
/// };
/// assert!(chart.csv().contains("0.6 kg more malt,0.9,6.1"));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct StepsChart {
    /// Name, title and message.
    pub heading: Heading,
    /// The quantity.
    pub axis: Axis,
    /// Where it begins, and its name.
    pub from: (String, f64),
    /// The steps, in their order.
    pub steps: Vec<Step>,
    /// Where it ends, and its name.
    pub to: (String, f64),
}

impl StepsChart {
    /// The steps that can be drawn, each with where it begins and ends.
    fn placed(&self) -> Vec<(&Step, f64, f64)> {
        let begins = drawable(self.from.1);
        let drawn = self.steps.iter().filter(|s| begins && drawable(s.by));
        let placed = drawn.scan(self.from.1, |at, step| {
            let begins = *at;
            *at += step.by;
            Some((step, begins, *at))
        });
        placed.collect()
    }

    fn signed(&self, by: f64) -> String {
        let size = with_unit(&show(by.abs(), self.axis.decimals), &self.axis.unit);
        if by < 0.0 {
            format!("−{size}")
        } else {
            format!("+{size}")
        }
    }

    fn texts(&self) -> Vec<RowText> {
        let row = |label: &str, value: String| RowText {
            label: label.to_owned(),
            value,
            ..RowText::default()
        };
        let mut texts = vec![row(&self.from.0, self.axis.say(self.from.1))];
        let steps = self.placed();
        texts.extend(steps.iter().map(|(s, ..)| row(&s.label, self.signed(s.by))));
        texts.push(row(&self.to.0, self.axis.say(self.to.1)));
        texts
    }
}

/// A step from where it begins to where it ends.
fn bar(from: f64, to: f64, middle: f64) -> Markup {
    let tone = if to < from { Tone::Copper } else { Tone::Water };
    // A step that is hardly there is still a line.
    let (left, right) = (from.min(to), from.max(to).max(from.min(to) + 1.5));
    let area = Area {
        left,
        top: middle - BAR / 2.0,
        right,
        bottom: middle + BAR / 2.0,
    };
    let class = format!("chart-segment {} {}", tone.fill(), tone.line());
    html! { (slab(&class, area)) }
}

impl Chart for StepsChart {
    fn heading(&self) -> &Heading {
        &self.heading
    }

    fn draw(&self, size: Size) -> Drawing {
        let texts = self.texts();
        let across = Across::new(&texts, size);
        let steps = self.placed();
        let ends = steps.iter().flat_map(|(_, a, b)| [*a, *b]);
        let values = [self.from.1, self.to.1].into_iter().chain(ends);
        let about = ((across.right - across.left) / 60.0) as usize;
        let domain = Domain::covering(&self.axis, values.filter(|v| drawable(*v)), about.max(2));
        let x = |v: f64| across.left + domain.held(v).unwrap_or(0.0) * (across.right - across.left);
        let none = vec![0.0; texts.len()];
        let placed = rows::place(&texts, &across, 4.0, &vec![BAR; texts.len()], &none);
        let plot = Area {
            left: across.left,
            top: 2.0,
            right: across.right,
            bottom: placed.bottom,
        };
        let middles: Vec<f64> = placed.places.iter().map(|p| p.middle).collect();
        // Where each row ends: the value that the next one begins with. Lines down to it
        // would cross labels that stand above the rows.
        let mut at: Vec<f64> = vec![self.from.1];
        at.extend(steps.iter().map(|(.., end)| *end));
        let joins = at
            .iter()
            .zip(middles.windows(2))
            .filter(|(v, _)| across.beside && drawable(**v));
        let body = html! {
            (rows::grid(&domain, plot))
            @for (value, pair) in joins { (rule("chart-way", (x(*value), pair[0]), (x(*value), pair[1]))) }
            @for ((_, begins, ends), middle) in steps.iter().zip(middles.iter().skip(1)) {
                (bar(x(*begins), x(*ends), *middle))
            }
            @if let (Some(middle), true) = (middles.first(), drawable(self.from.1)) { circle.chart-ring cx=(c(x(self.from.1))) cy=(c(*middle)) r="4.2" {} }
            @if let (Some(middle), true) = (middles.last(), drawable(self.to.1)) { circle.chart-dot cx=(c(x(self.to.1))) cy=(c(*middle)) r="5.2" {} }
            (rows::texts(&texts, &across, &placed))
            (rows::axis_below(&self.axis, &domain, plot, size.width()))
        };
        rows::drawing(size, plot, &placed, placed.bottom + rows::AXIS + 2.0, body)
    }

    fn tips(&self) -> Vec<Tip> {
        let end = |(name, value): &(String, f64)| Tip {
            head: name.clone(),
            lines: vec![(self.axis.label.clone(), self.axis.say(*value))],
        };
        let mut tips = vec![end(&self.from)];
        tips.extend(self.placed().iter().map(|(step, _, ends)| Tip {
            head: step.label.clone(),
            lines: vec![
                ("adds".to_owned(), self.signed(step.by)),
                ("then".to_owned(), self.axis.say(*ends)),
            ],
        }));
        tips.push(end(&self.to));
        tips
    }

    fn grid(&self) -> Grid {
        let number = |v| Cell::number(v, self.axis.decimals);
        let end =
            |(name, value): &(String, f64)| vec![Cell::text(name), Cell::text(""), number(*value)];
        let mut rows = vec![end(&self.from)];
        let steps = self.placed();
        let step = |(s, _, ends): &(&Step, f64, f64)| {
            vec![Cell::text(&s.label), number(s.by), number(*ends)]
        };
        rows.extend(steps.iter().map(step));
        rows.push(end(&self.to));
        Grid {
            columns: vec![
                "what".to_owned(),
                self.axis.column("adds"),
                self.axis.column("then"),
            ],
            rows,
        }
    }

    fn notes(&self) -> Vec<String> {
        vec![
            "A ring is where it begins, a dot where it ends; blue adds, copper takes away"
                .to_owned(),
        ]
    }
}

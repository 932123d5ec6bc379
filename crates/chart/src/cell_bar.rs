//! A small bar inside a cell of a table.

use crate::mark::{Area, c, path_through, rule, slab};
use crate::number::drawable;
use crate::tone::Tone;
use maud::{Markup, html};

const WIDTH: f64 = 120.0;
const HEIGHT: f64 = 16.0;
/// Room at both ends, so that a dot at an end is whole.
const EDGE: f64 = 6.0;

/// A value with its reach on a scale from nought that all cells of a column share.
///
/// It repeats what the cell says in words, and is hidden from screen readers.
/// What lies beyond the scale is an arrow at its end.
///
/// ```
/// use chart::CellBar;
///
/// let bar = CellBar { low: 0.1, value: 0.3, high: 0.8, most: 2.0, threshold: Some(0.1) };
/// assert!(bar.markup().into_string().contains("circle"));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellBar {
    /// Lower end of the reach; not a number if there is none.
    pub low: f64,
    /// The value.
    pub value: f64,
    /// Upper end of the reach; not a number if there is none.
    pub high: f64,
    /// The value at the scale's end, the same for a column.
    pub most: f64,
    /// A level to come below.
    pub threshold: Option<f64>,
}

impl CellBar {
    /// The drawing, for a cell beside the value in words.
    #[must_use]
    pub fn markup(&self) -> Markup {
        let y = HEIGHT / 2.0;
        html! {
            svg.chart-svg.chart-cell viewBox=(format!("0 0 {} {}", c(WIDTH), c(HEIGHT))) aria-hidden="true" {
                (rule("chart-axis", (EDGE, y), (WIDTH - EDGE, y)))
                (self.reach(y))
                @if let Some(x) = self.threshold.filter(|&t| t <= self.most).and_then(|t| self.place(t)) {
                    (rule("chart-threshold", (x, 1.0), (x, HEIGHT - 1.0)))
                }
                @match self.place(self.value) {
                    Some(x) if self.value <= self.most => { circle.chart-dot cx=(c(x)) cy=(c(y)) r="4" {} },
                    Some(x) => {
                        @let corners = [(x + EDGE, y), (x - 3.0, y - 4.5), (x - 3.0, y + 4.5)];
                        path.chart-arrow d=(path_through(&corners, true)) {}
                    },
                    None => {},
                }
            }
        }
    }

    fn reach(&self, y: f64) -> Markup {
        let ends = self.place(self.low).zip(self.place(self.high));
        html! {
            @if let Some((a, b)) = ends {
                @let area = Area { left: a.min(b), right: a.max(b).max(a.min(b) + 1.0), top: y - 4.0, bottom: y + 4.0 };
                (slab(&format!("chart-reach {} {}", Tone::Water.fill(), Tone::Water.line()), area))
            }
        }
    }

    /// Where a value stands, held to the scale.
    fn place(&self, value: f64) -> Option<f64> {
        let possible = drawable(value) && drawable(self.most) && self.most > 0.0;
        possible.then(|| EDGE + (value / self.most).clamp(0.0, 1.0) * (WIDTH - 2.0 * EDGE))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use roxmltree::Document;

    fn bar(value: f64, most: f64) -> String {
        let bar = CellBar {
            low: value * 0.5,
            value,
            high: value * 1.5,
            most,
            threshold: Some(most * 0.1),
        };
        bar.markup().into_string()
    }

    #[test]
    fn a_value_stands_at_its_share() {
        let text = bar(1.0, 2.0);
        let page = Document::parse(&text).unwrap();
        let dot = page.descendants().find(|n| n.has_tag_name("circle"));
        assert_eq!(dot.unwrap().attribute("cx"), Some("60"));
        let reach = page.descendants().find(|n| n.has_tag_name("rect")).unwrap();
        assert_eq!(reach.attribute("x"), Some("33"));
        assert_eq!(reach.attribute("width"), Some("54"));
    }

    #[test]
    fn what_lies_beyond_is_an_arrow_and_what_is_none_is_not_drawn() {
        assert!(bar(5.0, 2.0).contains("chart-arrow"));
        for (value, most) in [
            (f64::NAN, 2.0),
            (1.0, f64::NAN),
            (1.0, 0.0),
            (f64::MAX, 1e-300),
        ] {
            let text = bar(value, most);
            assert!(Document::parse(&text).is_ok());
            assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
            assert!(!text.contains("circle"));
        }
    }
}

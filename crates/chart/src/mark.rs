//! The smallest pieces of a drawing.

use crate::tone::Shape;
use maud::{Markup, html};

/// A box in the drawing's units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Area {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) right: f64,
    pub(crate) bottom: f64,
}

impl Area {
    pub(crate) fn width(self) -> f64 {
        self.right - self.left
    }

    pub(crate) fn height(self) -> f64 {
        self.bottom - self.top
    }

    /// A place given as shares of the width from the left and of the height from the bottom.
    pub(crate) fn place(self, (u, v): (f64, f64)) -> (f64, f64) {
        (
            self.left + u * self.width(),
            self.bottom - v * self.height(),
        )
    }
}

/// A coordinate with one decimal; never "NaN", which would spoil the whole drawing.
pub(crate) fn c(v: f64) -> String {
    let rounded = (v * 10.0).round() / 10.0;
    if !rounded.is_finite() || rounded.abs() < 0.05 {
        return "0".to_owned();
    }
    format!("{rounded}")
}

/// A path through places, closed if asked.
pub(crate) fn path_through(places: &[(f64, f64)], closed: bool) -> String {
    let mut d = String::new();
    for (i, (x, y)) in places.iter().enumerate() {
        d.push(if i == 0 { 'M' } else { 'L' });
        d.push_str(&format!("{} {}", c(*x), c(*y)));
    }
    if closed {
        d.push('Z');
    }
    d
}

/// A straight line.
pub(crate) fn rule(class: &str, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) -> Markup {
    html! { line class=(class) x1=(c(x1)) y1=(c(y1)) x2=(c(x2)) y2=(c(y2)) {} }
}

/// A filled box; nothing if it has no size.
pub(crate) fn slab(class: &str, area: Area) -> Markup {
    html! {
        @if area.width() > 0.0 && area.height() > 0.0 {
            rect class=(class) x=(c(area.left)) y=(c(area.top))
                width=(c(area.width())) height=(c(area.height())) {}
        }
    }
}

/// Slanted lines across a box; drawn one by one, as a saved file knows no shared patterns.
pub(crate) fn hatch(class: &str, area: Area) -> Markup {
    const STEP: f64 = 5.0;
    let (wide, high) = (area.width(), area.height());
    if !(wide > 0.5 && high > 0.0) {
        return html! {};
    }
    let count = ((wide + high) / STEP).floor().clamp(0.0, 400.0) as usize;
    let mut d = String::new();
    for i in 1..=count {
        let t = i as f64 * STEP;
        let (start, end) = (
            (t.min(wide), (t - wide).max(0.0)),
            ((t - high).max(0.0), t.min(high)),
        );
        let on = |(x, y): (f64, f64)| (area.left + x, area.top + y);
        d.push_str(&path_through(&[on(start), on(end)], false));
    }
    html! { @if !d.is_empty() { path class=(class) d=(d) {} } }
}

/// Where a label is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Hold {
    Start,
    Middle,
    End,
}

impl Hold {
    fn anchor(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Middle => "middle",
            Self::End => "end",
        }
    }
}

/// A label on its baseline.
pub(crate) fn label(class: &str, x: f64, y: f64, hold: Hold, text: &str) -> Markup {
    html! {
        @if !text.is_empty() {
            text class=[(!class.is_empty()).then_some(class)] x=(c(x)) y=(c(y))
                text-anchor=(hold.anchor()) { (text) }
        }
    }
}

/// Labels on lines below one another; the baseline of the first is given.
pub(crate) fn labels(class: &str, x: f64, y: f64, hold: Hold, lines: &[String]) -> Markup {
    html! {
        @for (i, line) in lines.iter().enumerate() {
            (label(class, x, y + crate::text::LINE * i as f64, hold, line))
        }
    }
}

/// A reading's shape around its middle.
pub(crate) fn point(class: &str, shape: Shape, (x, y): (f64, f64)) -> Markup {
    let corners: &[(f64, f64)] = match shape {
        Shape::Circle => {
            return html! { circle class=(class) cx=(c(x)) cy=(c(y)) r="3.6" {} };
        }
        Shape::Square => &[(-3.2, -3.2), (3.2, -3.2), (3.2, 3.2), (-3.2, 3.2)],
        Shape::Diamond => &[(0.0, -4.6), (4.6, 0.0), (0.0, 4.6), (-4.6, 0.0)],
        Shape::Triangle => &[(0.0, -4.4), (4.2, 3.2), (-4.2, 3.2)],
    };
    let places: Vec<_> = corners.iter().map(|(dx, dy)| (x + dx, y + dy)).collect();
    html! { path class=(class) d=(path_through(&places, true)) {} }
}

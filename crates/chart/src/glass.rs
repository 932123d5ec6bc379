//! A drawn glass, filled with the colour of the beer.

use crate::heading::{Heading, plain_name};
use crate::saved;
use maud::{Markup, html};

/// A glass of beer as a small picture with a text in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Glass {
    /// Name within the page; unique there.
    pub id: String,
    /// What the picture says: "amber, 22 EBC, with foam".
    pub label: String,
    /// Colour of the beer in sRGB.
    pub colour: (u8, u8, u8),
    /// Height of the foam as a share of the glass, 0 to 1; 0.18 looks usual.
    pub foam: f64,
}

const WIDTH: f64 = 48.0;
const HEIGHT: f64 = 64.0;

impl Glass {
    /// A glass with the usual foam.
    #[must_use]
    pub fn new(id: &str, label: impl Into<String>, colour: (u8, u8, u8)) -> Self {
        Self {
            id: plain_name(id),
            label: label.into(),
            colour,
            foam: 0.18,
        }
    }

    /// The picture for a page.
    #[must_use]
    pub fn markup(&self) -> Markup {
        html! {
            svg.chart-glass role="img" viewBox=(format!("0 0 {WIDTH} {HEIGHT}"))
                aria-labelledby={ (self.id) "-title" } {
                title id={ (self.id) "-title" } { (self.label) }
                (self.body())
            }
        }
    }

    /// The picture as an SVG file that stands alone.
    #[must_use]
    pub fn standalone_svg(&self) -> String {
        let heading = Heading::new(&self.id, &self.label, &self.label);
        saved::file(&heading, &self.label, (WIDTH, HEIGHT), &self.body())
    }

    fn body(&self) -> Markup {
        let (r, g, b) = self.colour;
        let share = if self.foam.is_finite() {
            self.foam.clamp(0.0, 0.6)
        } else {
            0.0
        };
        // The inside of the glass reaches from 8 to 58 and narrows from 40 to 30 units.
        let level = 8.0 + 50.0 * share;
        let half = |y: f64| 20.0 - 5.0 * (y - 8.0) / 50.0;
        let side = |y: f64, sign: f64| 24.0 + sign * (half(y) - 1.0);
        let beer = format!(
            "M{:.1} {level:.1}L{:.1} {level:.1}L{:.1} 56Q{:.1} 58 {:.1} 58L{:.1} 58Q{:.1} 58 {:.1} 56Z",
            side(level, -1.0),
            side(level, 1.0),
            side(56.0, 1.0),
            side(56.0, 1.0),
            side(56.0, 1.0) - 2.5,
            side(56.0, -1.0) + 2.5,
            side(56.0, -1.0),
            side(56.0, -1.0),
        );
        html! {
            path fill=(format!("#{r:02x}{g:02x}{b:02x}")) d=(beer) {}
            @if share > 0.0 {
                path.chart-glass-foam d=(foam(level, side(level, -1.0), side(level, 1.0))) {}
            }
            path.chart-glass-line d="M3.5 5L8.6 58Q9 61 12 61L36 61Q39 61 39.4 58L44.5 5" {}
        }
    }
}

/// A head of foam that rises a little above the rim.
fn foam(level: f64, left: f64, right: f64) -> String {
    format!(
        "M{left:.1} {level:.1}L5.6 9Q5 3.5 11 4Q14 1.2 19 3Q24 0.8 29 3Q34 1.2 37 4Q43 3.5 42.4 9L{right:.1} {level:.1}Z"
    )
}

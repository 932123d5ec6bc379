//! A course over time: stacked panels on one time axis.

mod beside;
mod data;
mod draw;
mod legend;
mod panel;
mod reading;

pub use data::{
    Band, BandPoint, Level, Line, Marker, Panel, Reading, Readings, Reference, Spot, Stretch,
};

use crate::chart::{Chart, Drawing, Size};
use crate::grid::Grid;
use crate::heading::Heading;
use crate::number::{with_reach, with_unit};
use crate::scale::Axis;
use crate::tip::Tip;

/// Quantities over time: what is planned, forecast, and measured.
///
/// Panels lie below one another and share the time axis; each has an axis of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseChart {
    /// Name, title and message.
    pub heading: Heading,
    /// The time axis.
    pub x: Axis,
    /// From top to bottom.
    pub panels: Vec<Panel>,
    /// Moments that cross all panels.
    pub markers: Vec<Marker>,
}

impl CourseChart {
    /// A course without panels yet.
    #[must_use]
    pub fn new(heading: Heading, x: Axis) -> Self {
        Self {
            heading,
            x,
            panels: Vec::new(),
            markers: Vec::new(),
        }
    }

    /// The same with one more panel below.
    #[must_use]
    pub fn panel(mut self, panel: Panel) -> Self {
        self.panels.push(panel);
        self
    }

    /// The same with one more moment.
    #[must_use]
    pub fn marker(mut self, x: f64, label: impl Into<String>) -> Self {
        self.markers.push(Marker {
            x,
            label: label.into(),
        });
        self
    }
}

impl Chart for CourseChart {
    fn heading(&self) -> &Heading {
        &self.heading
    }

    fn draw(&self, size: Size) -> Drawing {
        draw::draw(self, size)
    }

    fn tips(&self) -> Vec<Tip> {
        let panels = || self.panels.iter();
        reading::places(self)
            .into_iter()
            .map(|x| Tip {
                head: self.x.say(x),
                lines: panels()
                    .flat_map(|panel| reading::lines_at(panel, &self.x, x))
                    .collect(),
            })
            .collect()
    }

    fn grid(&self) -> Grid {
        reading::grid(self)
    }

    fn notes(&self) -> Vec<String> {
        let references = self.panels.iter().flat_map(|panel| {
            let said = |r: &Reference| {
                format!("{}, {}: {}", panel.axis.label, r.label, panel.axis.say(r.y))
            };
            let stretch = |s: &Stretch| {
                let reach = with_reach(s.low, f64::NAN, s.high, panel.axis.decimals);
                let reach = with_unit(&reach, &panel.axis.unit);
                format!("{}, {}: {reach}", panel.axis.label, s.label)
            };
            let spot = |s: &Spot| {
                let [x, y] = [self.x.say(s.x), panel.axis.say(s.y)];
                format!("{}: {} {y} at {x}", s.label, panel.axis.label)
            };
            let levels = panel.references.iter().filter(|r| r.y.is_finite());
            let stretches = panel
                .stretches
                .iter()
                .filter(|s| s.low.is_finite() && s.high.is_finite());
            let spots = panel
                .spots
                .iter()
                .filter(|s| s.x.is_finite() && s.y.is_finite());
            levels
                .map(said)
                .chain(stretches.map(stretch))
                .chain(spots.map(spot))
                .collect::<Vec<_>>()
        });
        let markers = self
            .markers
            .iter()
            .filter(|m| m.x.is_finite())
            .map(|m| format!("{}: {}", m.label, self.x.say(m.x)));
        references.chain(markers).collect()
    }
}

//! What a dose of chlorine becomes in water that holds ammonia.

use crate::course::{CourseChart, Line, Panel};
use crate::heading::Heading;
use crate::scale::Axis;
use crate::tone::{Stroke, Tone};

/// The forms of chlorine at one dose, each \[mg/L as Cl2\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BreakpointPlace {
    /// What was added.
    pub dose: f64,
    /// Free chlorine.
    pub free: f64,
    /// Monochloramine.
    pub mono: f64,
    /// Dichloramine.
    pub di: f64,
    /// All of them together.
    pub total: f64,
}

/// A breakpoint curve: the forms of chlorine against the dose.
///
/// ```
/// use chart::{Breakpoint, BreakpointPlace, Chart, Heading};
///
/// let place = |dose, free, mono, total| BreakpointPlace { dose, free, mono, di: 0.0, total };
/// let curve = Breakpoint {
///     heading: Heading::new("breakpoint", "Breakpoint", "Free chlorine stays from 4 mg/L on."),
///     places: vec![
///         place(0.0, 0.0, 0.0, 0.0),
///         place(2.5, 0.0, 2.5, 2.5),
///         place(4.0, 0.0, 0.0, 0.0),
///         place(6.0, 2.0, 0.0, 2.0),
///     ],
///     breakpoint: Some(4.0),
///     yours: Some(1.8),
/// };
/// let chart = curve.chart();
/// assert_eq!(chart.notes(), ["breakpoint: 4.00 mg/L", "your water: 1.80 mg/L"]);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Breakpoint {
    /// Name, title and message.
    pub heading: Heading,
    /// By dose.
    pub places: Vec<BreakpointPlace>,
    /// The dose \[mg/L as Cl2\] from which added chlorine stays free.
    pub breakpoint: Option<f64>,
    /// The dose \[mg/L as Cl2\] that stands for the water at hand.
    pub yours: Option<f64>,
}

impl Breakpoint {
    /// The chart of it.
    #[must_use]
    pub fn chart(&self) -> CourseChart {
        let line = |label: &str, of: fn(&BreakpointPlace) -> f64, tone, stroke| {
            let points = self.places.iter().map(|p| (p.dose, of(p))).collect();
            Line::new(label, points, tone, stroke)
        };
        let panel = Panel::new(
            Axis::new("chlorine found", "mg/L as Cl2")
                .starting_at(0.0)
                .decimals(2),
        )
        .labelled_inside()
        .line(line("total", |p| p.total, Tone::Ink, Stroke::Solid))
        .line(line("free", |p| p.free, Tone::Water, Stroke::Dashed))
        .line(line("NH2Cl", |p| p.mono, Tone::Copper, Stroke::DashDot))
        .line(line("NHCl2", |p| p.di, Tone::Plum, Stroke::Dotted));
        let x = Axis::new("chlorine added", "mg/L")
            .starting_at(0.0)
            .decimals(2);
        let marks = [(self.breakpoint, "breakpoint"), (self.yours, "your water")];
        marks
            .into_iter()
            .filter_map(|(at, word)| Some((at?, word)))
            .fold(
                CourseChart::new(self.heading.clone(), x).panel(panel),
                |chart, (at, word)| chart.marker(at, word),
            )
    }
}

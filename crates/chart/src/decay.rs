//! How much is left over time, by way of taking it out.

use crate::course::{Band, BandPoint, CourseChart, Level, Line, Panel};
use crate::heading::Heading;
use crate::scale::Axis;
use crate::tone::{Stroke, Tone};

/// What is left at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// Time since the start \[min\].
    pub min: f64,
    /// What is expected.
    pub expected: f64,
    /// What it is at most; not a number if no bound is known.
    pub at_most: f64,
}

/// One way of taking it out.
#[derive(Debug, Clone, PartialEq)]
pub struct DecayWay {
    /// "boil", "stand open".
    pub label: String,
    /// By time.
    pub places: Vec<Left>,
}

/// What is left over time, from minutes to weeks, by way.
///
/// Ways get their colours and dashes in their order; up to six look different.
///
/// ```
/// use chart::{Axis, Chart, Decay, DecayWay, Heading, Left};
///
/// let left = |min, expected| Left { min, expected, at_most: expected * 1.5 };
/// let decay = Decay {
///     heading: Heading::new("left", "Chlorine left over time", "Boiling takes an hour."),
///     axis: Axis::new("total chlorine", "mg/L").log().between(0.01, 3.0),
///     ways: vec![DecayWay {
///         label: "boil".to_owned(),
///         places: vec![left(5.0, 1.6), left(60.0, 0.4), left(240.0, 0.01)],
///     }],
///     threshold: Some((0.1, "not detectable, 0.1 mg/L".to_owned())),
/// };
/// assert_eq!(decay.chart().tips()[1].head, "1 h");
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Decay {
    /// Name, title and message.
    pub heading: Heading,
    /// The upright axis, linear or logarithmic.
    pub axis: Axis,
    /// In the order of the key.
    pub ways: Vec<DecayWay>,
    /// A level to come below, with words for it.
    pub threshold: Option<(f64, String)>,
}

const TONES: [Tone; 6] = [
    Tone::Copper,
    Tone::Water,
    Tone::Plum,
    Tone::Moss,
    Tone::Slate,
    Tone::Ink,
];
const STROKES: [Stroke; 4] = [
    Stroke::Solid,
    Stroke::Dashed,
    Stroke::DashDot,
    Stroke::Dotted,
];

impl Decay {
    /// The chart of it.
    #[must_use]
    pub fn chart(&self) -> CourseChart {
        let mut panel = Panel::new(self.axis.clone()).labelled_inside();
        panel.bands_mean = Some("from expected to at most".to_owned());
        let looks = TONES.into_iter().zip(STROKES.into_iter().cycle()).cycle();
        for (way, (tone, stroke)) in self.ways.iter().zip(looks) {
            panel = panel.line(line(way, tone, stroke));
            if way.places.iter().any(|p| p.at_most.is_finite()) {
                panel = panel.band(band(way, tone));
            }
        }
        if let Some((level, words)) = &self.threshold {
            panel = panel.reference(*level, words);
        }
        CourseChart::new(self.heading.clone(), Axis::durations("time")).panel(panel)
    }
}

fn line(way: &DecayWay, tone: Tone, stroke: Stroke) -> Line {
    let points = way.places.iter().map(|p| (p.min, p.expected)).collect();
    Line::new(&way.label, points, tone, stroke)
}

fn band(way: &DecayWay, tone: Tone) -> Band {
    let point = |p: &Left| BandPoint {
        x: p.min,
        low: p.expected,
        high: p.at_most,
    };
    Band {
        label: format!("{}, to at most", way.label),
        points: way.places.iter().map(point).collect(),
        tone,
        level: Level::Outer,
    }
}

//! What stands in the panels of a course.

use crate::scale::Axis;
use crate::tone::{Shape, Stroke, Tone};

/// One panel: an axis and what is drawn against it.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// The upright axis.
    pub axis: Axis,
    /// Lines, drawn above bands.
    pub lines: Vec<Line>,
    /// Bands, the outer ones first.
    pub bands: Vec<Band>,
    /// Measured points, drawn above lines.
    pub readings: Vec<Readings>,
    /// Level lines: an aim, a threshold.
    pub references: Vec<Reference>,
    /// Level stretches to land in.
    pub stretches: Vec<Stretch>,
    /// Single places with a label beside them.
    pub spots: Vec<Spot>,
    /// Whether labels stand beside their lines inside the panel, where there is room.
    pub labels_inside: bool,
    /// One entry of the key that stands for all bands, if they go with the lines.
    pub bands_mean: Option<String>,
}

impl Panel {
    /// An empty panel.
    #[must_use]
    pub fn new(axis: Axis) -> Self {
        Self {
            axis,
            lines: Vec::new(),
            bands: Vec::new(),
            readings: Vec::new(),
            references: Vec::new(),
            stretches: Vec::new(),
            spots: Vec::new(),
            labels_inside: false,
            bands_mean: None,
        }
    }

    /// The same with labels beside the lines, inside the panel.
    #[must_use]
    pub fn labelled_inside(self) -> Self {
        Self {
            labels_inside: true,
            ..self
        }
    }

    /// The same with one more level stretch to land in.
    #[must_use]
    pub fn stretch(mut self, low: f64, high: f64, label: impl Into<String>) -> Self {
        self.stretches.push(Stretch {
            low,
            high,
            label: label.into(),
        });
        self
    }

    /// The same with one more labelled place.
    #[must_use]
    pub fn spot(mut self, x: f64, y: f64, label: impl Into<String>, shape: Shape) -> Self {
        self.spots.push(Spot {
            x,
            y,
            label: label.into(),
            shape,
        });
        self
    }

    /// The same with one more line.
    #[must_use]
    pub fn line(mut self, line: Line) -> Self {
        self.lines.push(line);
        self
    }

    /// The same with one more band.
    #[must_use]
    pub fn band(mut self, band: Band) -> Self {
        self.bands.push(band);
        self
    }

    /// The same with one more set of readings.
    #[must_use]
    pub fn readings(mut self, readings: Readings) -> Self {
        self.readings.push(readings);
        self
    }

    /// The same with one more level line.
    #[must_use]
    pub fn reference(mut self, y: f64, label: impl Into<String>) -> Self {
        self.references.push(Reference {
            y,
            label: label.into(),
        });
        self
    }
}

/// A line through points, in their order. A point that is not a number is a gap.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What it shows: "forecast".
    pub label: String,
    /// Points (x, y).
    pub points: Vec<(f64, f64)>,
    /// Its colour.
    pub tone: Tone,
    /// Its dashes; differ within a panel, so that colour is not needed.
    pub stroke: Stroke,
}

impl Line {
    /// A line.
    #[must_use]
    pub fn new(
        label: impl Into<String>,
        points: Vec<(f64, f64)>,
        tone: Tone,
        stroke: Stroke,
    ) -> Self {
        Self {
            label: label.into(),
            points,
            tone,
            stroke,
        }
    }
}

/// How deep a band lies among nested ones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Level {
    /// The wide, pale one: 90 %.
    #[default]
    Outer,
    /// The narrow, darker one: 50 %.
    Inner,
}

/// Where a band is at one x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandPoint {
    /// Time.
    pub x: f64,
    /// Lower edge.
    pub low: f64,
    /// Upper edge.
    pub high: f64,
}

/// An interval that moves with time. A point that is not a number is a gap.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// What it holds: "90 %".
    pub label: String,
    /// Points, by x.
    pub points: Vec<BandPoint>,
    /// Its colour.
    pub tone: Tone,
    /// Its depth.
    pub level: Level,
}

/// One reading; the ends of its error bar may be missing (not a number).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Time.
    pub x: f64,
    /// What was read.
    pub y: f64,
    /// Lower end of the error bar.
    pub low: f64,
    /// Upper end of the error bar.
    pub high: f64,
}

impl Reading {
    /// A reading with a symmetric error bar.
    #[must_use]
    pub fn new(x: f64, y: f64, half: f64) -> Self {
        Self {
            x,
            y,
            low: y - half,
            high: y + half,
        }
    }

    /// A reading without an error bar.
    #[must_use]
    pub fn bare(x: f64, y: f64) -> Self {
        Self {
            x,
            y,
            low: f64::NAN,
            high: f64::NAN,
        }
    }
}

/// Readings of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// What they are: "hydrometer".
    pub label: String,
    /// The readings.
    pub points: Vec<Reading>,
    /// Their colour.
    pub tone: Tone,
    /// Their shape; differs within a panel, so that colour is not needed.
    pub shape: Shape,
}

/// A level line across a panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    /// Its height.
    pub y: f64,
    /// "aim", "threshold".
    pub label: String,
}

/// A stretch of the upright axis to land in: an aim with its tolerance.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// "aim, pH 5.3 to 5.5".
    pub label: String,
}

/// A single place with a label: where one is, where one would meet an aim.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// Where across.
    pub x: f64,
    /// How high.
    pub y: f64,
    /// "now".
    pub label: String,
    /// Its shape; differs between spots, so that colour is not needed.
    pub shape: Shape,
}

/// A moment that crosses all panels.
#[derive(Debug, Clone, PartialEq)]
pub struct Marker {
    /// When.
    pub x: f64,
    /// "ends", "rest".
    pub label: String,
}

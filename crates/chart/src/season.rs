//! How a water moves through the year.

use crate::course::{Band, BandPoint, CourseChart, Level, Panel, Reading, Readings};
use crate::heading::Heading;
use crate::scale::Axis;
use crate::tone::{Shape, Tone};

/// One quantity through the year.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonPanel {
    /// What, and in which unit.
    pub axis: Axis,
    /// Dated readings; x is the day of the year.
    pub readings: Vec<Reading>,
    /// What is usual on each day of the year.
    pub spread: Vec<BandPoint>,
    /// Values at which the answer changes, with words: (150.0, "acid needed above").
    pub levels: Vec<(f64, String)>,
}

/// Quantities of a water through the year, below one another.
///
/// ```
/// use chart::{Axis, Chart, Heading, Reading, SeasonPanel, Seasons};
///
/// let seasons = Seasons {
///     heading: Heading::new("seasons", "Alkalinity by season", "Lowest in spring."),
///     panels: vec![SeasonPanel {
///         axis: Axis::new("alkalinity", "mg/L as CaCO3").decimals(0),
///         readings: vec![Reading::new(15.0, 238.0, 8.0), Reading::new(105.0, 180.0, 8.0)],
///         spread: Vec::new(),
///         levels: vec![(200.0, "acid needed above".to_owned())],
///     }],
///     changes: vec![(74.0, "no acid needed".to_owned())],
/// };
/// assert_eq!(seasons.chart().tips()[1].head, "15 Apr");
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Seasons {
    /// Name, title and message.
    pub heading: Heading,
    /// From top to bottom.
    pub panels: Vec<SeasonPanel>,
    /// Days of the year from which something else is right, with words.
    pub changes: Vec<(f64, String)>,
}

impl Seasons {
    /// The chart of it.
    #[must_use]
    pub fn chart(&self) -> CourseChart {
        let chart = CourseChart::new(self.heading.clone(), Axis::year("month"));
        let chart = self
            .panels
            .iter()
            .map(panel)
            .fold(chart, CourseChart::panel);
        self.changes
            .iter()
            .fold(chart, |chart, (day, words)| chart.marker(*day, words))
    }
}

fn panel(of: &SeasonPanel) -> Panel {
    let mut panel = Panel::new(of.axis.clone()).labelled_inside();
    if !of.spread.is_empty() {
        panel = panel.band(Band {
            label: "usual".to_owned(),
            points: of.spread.clone(),
            tone: Tone::Water,
            level: Level::Outer,
        });
    }
    let panel = panel.readings(Readings {
        label: "measured".to_owned(),
        points: of.readings.clone(),
        tone: Tone::Copper,
        shape: Shape::Circle,
    });
    of.levels
        .iter()
        .fold(panel, |panel, (at, words)| panel.reference(*at, words))
}

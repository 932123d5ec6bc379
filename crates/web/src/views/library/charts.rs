//! Charts of a water over time.

use app::DatedAnalysis;
use batch::library::{Analysis, day_of_year};
use chart::{
    Axis, CourseChart, Heading, Panel, Reading, Readings, SeasonPanel, Seasons, Shape, Tone,
};
use quantity::{CACO3_MG_PER_MEQ, Measured, Quantity, Spread};
use store::Day;

/// The charts, by name.
pub const NAMES: [&str; 3] = ["hardness", "chlorine", "seasons"];

/// More samples than these would write their days over each other.
const MOST_MARKED: usize = 6;

/// The chart of a name; none with fewer than two analyses, which are no course.
pub fn named(name: &str, analyses: &[DatedAnalysis]) -> Option<CourseChart> {
    let samples = Samples::of(analyses)?;
    match name {
        "seasons" => Some(seasons(&samples)),
        "hardness" => Some(hardness(&samples)),
        "chlorine" => Some(chlorine(&samples)),
        _ => None,
    }
}

/// The analyses that can be read, each with its days since the first.
struct Samples<'s> {
    first: Day,
    taken: Vec<(f64, Day, &'s Analysis)>,
}

impl<'s> Samples<'s> {
    fn of(analyses: &'s [DatedAnalysis]) -> Option<Self> {
        let first = analyses.first()?.taken_on;
        let taken: Vec<_> = analyses
            .iter()
            .filter_map(|a| {
                let (analysis, _) = a.reading.as_ref().ok()?;
                Some((a.taken_on.days_since(first) as f64, a.taken_on, analysis))
            })
            .collect();
        (taken.len() > 1).then_some(Self { first, taken })
    }

    fn readings<Q: Quantity>(
        &self,
        label: &str,
        (tone, shape): (Tone, Shape),
        factor: f64,
        of: impl Fn(&Analysis) -> Option<Measured<Q>>,
    ) -> Readings {
        let points = self
            .taken
            .iter()
            .filter_map(|(x, _, a)| Some(reading(*x, &of(a)?, factor)));
        Readings {
            label: label.to_owned(),
            points: points.collect(),
            tone,
            shape,
        }
    }

    fn chart(&self, heading: Heading, panel: Panel) -> CourseChart {
        let time = Axis::new(format!("days since {}", self.first), "d")
            .starting_at(0.0)
            .decimals(0);
        let chart = CourseChart::new(heading, time).panel(panel);
        if self.taken.len() > MOST_MARKED {
            return chart;
        }
        self.taken.iter().fold(chart, |chart, (x, day, _)| {
            chart.marker(*x, day.to_string())
        })
    }
}

/// A reading with what its spread says: one standard deviation each way, or the
/// ends of a range; no bar where nothing is said.
fn reading<Q: Quantity>(x: f64, measured: &Measured<Q>, factor: f64) -> Reading {
    let y = measured.canonical() * factor;
    match measured.spread {
        Spread::Unstated => Reading::bare(x, y),
        Spread::Sd(sd) => Reading::new(x, y, sd * factor),
        Spread::Range { low, high } => Reading {
            x,
            y,
            low: low * factor,
            high: high * factor,
        },
    }
}

/// Every sample on its day of the year, whichever the year: what returns with the season
/// lies together.
fn seasons(samples: &Samples<'_>) -> CourseChart {
    fn panel<Q: Quantity>(
        samples: &Samples<'_>,
        axis: Axis,
        factor: f64,
        of: impl Fn(&Analysis) -> Measured<Q>,
    ) -> SeasonPanel {
        let taken = samples.taken.iter();
        let readings = taken.filter_map(|(_, day, analysis)| {
            let day = day_of_year(&day.to_string())?;
            Some(reading(day, &of(analysis), factor))
        });
        SeasonPanel {
            axis: axis.starting_at(0.0).decimals(0),
            readings: readings.collect(),
            spread: vec![],
            levels: vec![],
        }
    }
    let as_chalk = |name: &str| Axis::new(name, "mg/L as CaCO3");
    Seasons {
        heading: Heading::new(
            "seasons",
            "Hardness, alkalinity and sulfate by season",
            "Each analysis on its day of the year, whichever the year: one standard deviation each way, or the range that was given.",
        ),
        panels: vec![
            panel(samples, as_chalk("hardness"), CACO3_MG_PER_MEQ, Analysis::hardness),
            panel(samples, as_chalk("alkalinity"), CACO3_MG_PER_MEQ, |a| {
                a.figures.alkalinity
            }),
            panel(samples, Axis::new("sulfate", "mg/L"), 1.0, |a| a.figures.sulfate),
        ],
        changes: vec![],
    }
    .chart()
}

fn hardness(samples: &Samples<'_>) -> CourseChart {
    let heading = Heading::new(
        "hardness",
        "Hardness and alkalinity over time, mg/L as CaCO3",
        "Each analysis with its spread: one standard deviation each way, or the range that was given.",
    );
    let panel = Panel::new(Axis::new("as CaCO3", "mg/L").starting_at(0.0).decimals(0))
        .readings(samples.readings(
            "hardness",
            (Tone::Water, Shape::Circle),
            CACO3_MG_PER_MEQ,
            |a| Some(a.hardness()),
        ))
        .readings(samples.readings(
            "alkalinity",
            (Tone::Copper, Shape::Square),
            CACO3_MG_PER_MEQ,
            |a| Some(a.figures.alkalinity),
        ));
    samples.chart(heading, panel)
}

fn chlorine(samples: &Samples<'_>) -> CourseChart {
    let heading = Heading::new(
        "chlorine",
        "Chlorine over time, mg/L as Cl2",
        "Total chlorine, and free chlorine where it was measured; the rest is combined, as chloramine.",
    );
    let panel = Panel::new(Axis::new("as Cl2", "mg/L").starting_at(0.0).decimals(2))
        .readings(
            samples.readings("total chlorine", (Tone::Moss, Shape::Circle), 1.0, |a| {
                a.figures.total_chlorine
            }),
        )
        .readings(
            samples.readings("free chlorine", (Tone::Plum, Shape::Triangle), 1.0, |a| {
                a.figures.free_chlorine
            }),
        );
    samples.chart(heading, panel)
}

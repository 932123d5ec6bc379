//! Gravity, temperature, pH and pressure: planned, read, forecast.

use batch::watch::{Pressure, Watched};
use chart::{
    Axis, Band, BandPoint, CourseChart, Heading, Level, Line, Panel, Reading, Readings, Shape,
    Stroke, Tone,
};
use ferment::watch::Forecast;
use quantity::{Duration, GaugePressure, Gravity, Units, number_beside};

/// The band begins so long before the moment that is looked from \[h\].
const OVERLAP_H: f64 = 4.0;
const SHAPES: [Shape; 4] = [
    Shape::Circle,
    Shape::Square,
    Shape::Diamond,
    Shape::Triangle,
];

/// The chart of a watched batch.
pub fn chart(watched: &Watched, units: Units) -> CourseChart {
    let mut chart = CourseChart::new(
        Heading::new(
            "watch",
            "The course: planned, read, forecast",
            "Gravity as planned, as read, and as it will go; the bands hold it nine times in ten and one time in two. Below, the temperature: as planned, and as read up to now and planned from there.",
        ),
        Axis::new("time", "d").starting_at(0.0),
    )
    .panel(gravity(watched))
    .panel(temperature(watched, units));
    if !watched.log.ph.is_empty() {
        chart = chart.panel(ph(watched));
    }
    if let Some(read) = &watched.pressure {
        chart = chart.panel(pressure(read, units));
    }
    if watched.fit.points == 0 {
        return chart;
    }
    chart.marker(days(watched.course.now), "now")
}

fn days(at: Duration) -> f64 {
    at.h() / 24.0
}

fn gravity(watched: &Watched) -> Panel {
    let c = &watched.course;
    let planned = watched.planned.iter().map(|m| (days(m.at), m.gravity.sg()));
    let middle = c
        .forecast
        .iter()
        .map(|f| (days(f.at), f.gravity.middle.sg()));
    let mut panel = Panel::new(Axis::new("gravity", "SG").decimals(3))
        .band(band(
            watched,
            "nine times in ten",
            Level::Outer,
            |f| f.gravity.low,
            |f| f.gravity.high,
        ))
        .band(band(
            watched,
            "one time in two",
            Level::Inner,
            |f| f.half.0,
            |f| f.half.1,
        ))
        .line(Line::new(
            "planned",
            planned.collect(),
            Tone::Slate,
            Stroke::Dashed,
        ))
        .line(Line::new(
            "curve and forecast",
            middle.collect(),
            Tone::Water,
            Stroke::Solid,
        ));
    let instruments = watched.log.instruments.iter().enumerate();
    for ((n, (name, _)), shape) in instruments.zip(SHAPES.iter().cycle()) {
        let own = c.residuals.iter().filter(|r| r.instrument == n);
        let points: Vec<Reading> = own
            .map(|r| Reading::bare(days(r.at), r.read.sg()))
            .collect();
        if !points.is_empty() {
            panel = panel.readings(Readings {
                label: name.clone(),
                points,
                tone: Tone::Copper,
                shape: *shape,
            });
        }
    }
    panel
}

fn band(
    watched: &Watched,
    label: &str,
    level: Level,
    low: fn(&Forecast) -> Gravity,
    high: fn(&Forecast) -> Gravity,
) -> Band {
    let from_h = watched.course.now.h() - OVERLAP_H;
    let ahead = watched.course.forecast.iter();
    let points = ahead.filter(|f| f.at.h() >= from_h).map(|f| BandPoint {
        x: days(f.at),
        low: low(f).sg(),
        high: high(f).sg(),
    });
    Band {
        label: label.to_owned(),
        points: points.collect(),
        tone: Tone::Water,
        level,
    }
}

fn temperature(watched: &Watched, units: Units) -> Panel {
    let (unit, scale): (&str, fn(f64) -> f64) = match units {
        Units::Metric => ("°C", |c| c),
        Units::Us => ("°F", |c| c * 1.8 + 32.0),
    };
    let planned = watched.planned.iter();
    let planned = planned.map(|m| (days(m.at), scale(m.temperature.c())));
    let taken = watched.course.forecast.iter();
    let taken = taken.map(|f| (days(f.at), scale(f.temperature.c())));
    Panel::new(Axis::new("temperature", unit).decimals(1))
        .line(Line::new(
            "planned",
            planned.collect(),
            Tone::Slate,
            Stroke::Dashed,
        ))
        .line(Line::new(
            "read, then planned",
            taken.collect(),
            Tone::Copper,
            Stroke::Solid,
        ))
}

fn ph(watched: &Watched) -> Panel {
    let points = watched.log.ph.iter();
    Panel::new(Axis::new("pH", "").decimals(2)).readings(Readings {
        label: "read".to_owned(),
        points: points
            .map(|(at, ph)| Reading::bare(days(*at), ph.ph()))
            .collect(),
        tone: Tone::Moss,
        shape: Shape::Circle,
    })
}

/// What was read, with what the vessel bears.
fn pressure(read: &Pressure, units: Units) -> Panel {
    // In one unit, that of the last reading.
    let scale = |p: GaugePressure| number_beside(p, read.read, units).0;
    let (_, unit, decimals) = number_beside(read.read, read.read, units);
    let axis = Axis::new("pressure", unit).decimals(decimals);
    let points = read.readings.iter();
    let points = points.map(|(at, p)| Reading::bare(days(*at), scale(*p)));
    // On a phone a legend could not tell the two levels apart.
    let panel = Panel::new(axis.starting_at(0.0)).labelled_inside();
    let mut panel = panel.readings(Readings {
        label: "read".to_owned(),
        points: points.collect(),
        tone: Tone::Slate,
        shape: Shape::Circle,
    });
    for (level, label) in [(read.relief, "its valve opens"), (read.rating, "rated for")] {
        if let Some(level) = level {
            panel = panel.reference(scale(level), label);
        }
    }
    panel
}

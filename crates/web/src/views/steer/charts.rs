//! The charts of steering: a course beside the planned one, and days against flavour.

use batch::Reckoning;
use batch::steer::{Choice, SteeredBatch, figure_name};
use chart::{Axis, CourseChart, Heading, Line, Panel, Shape, Stroke, Tone};
use ferment::CourseMoment;
use ferment::steer::Figure;
use quantity::{Gravity, Units};

/// The chart of a name.
pub fn chart(
    name: &str,
    r: &Reckoning,
    found: &SteeredBatch,
    choice: &Choice,
    units: Units,
) -> Option<CourseChart> {
    match name {
        "course" => Some(course(r, found, choice, units)),
        "trade-off" => trade_off(found, choice),
        _ => None,
    }
}

type Of<'f> = &'f dyn Fn(&CourseMoment) -> f64;

fn course(r: &Reckoning, found: &SteeredBatch, choice: &Choice, units: Units) -> CourseChart {
    let steered = found.moments(r, choice);
    let planned = found.planned_moments(r, choice);
    let series = |moments: &[CourseMoment], f: Of<'_>| {
        let points = moments.iter().map(|m| (m.at.h() / 24.0, f(m)));
        points.collect::<Vec<_>>()
    };
    let pair = |axis: Axis, tone: Tone, f: Of<'_>| {
        Panel::new(axis)
            .line(Line::new("found", series(&steered, f), tone, Stroke::Solid))
            .line(Line::new(
                "planned",
                series(&planned, f),
                Tone::Slate,
                Stroke::Dashed,
            ))
    };
    let (unit, warmth): (&str, Of<'_>) = match units {
        Units::Metric => ("°C", &|m| m.temperature.c()),
        Units::Us => ("°F", &|m| m.temperature.c() * 1.8 + 32.0),
    };
    let mg = |label: &str| Axis::new(label, "mg/L").starting_at(0.0);
    let heading = Heading::new(
        "course",
        "The course found, beside the planned one",
        found.validity,
    );
    let butter: Of<'_> = &|m| m.flavour.diacetyl.mg_per_l() + m.flavour.diacetyl_to_come.mg_per_l();
    CourseChart::new(heading, Axis::new("time", "d").starting_at(0.0))
        .panel(pair(
            Axis::new("temperature", unit).decimals(1),
            Tone::Copper,
            warmth,
        ))
        .panel(pair(
            Axis::new("gravity", "SG").decimals(3),
            Tone::Water,
            &|m| m.gravity.sg(),
        ))
        .panel(pair(mg("butter").decimals(2), Tone::Amber, butter))
        .panel(pair(mg("banana").decimals(2), Tone::Moss, &|m| {
            m.flavour.isoamyl_acetate.mg_per_l()
        }))
        .panel(pair(mg("clove").decimals(2), Tone::Plum, &|m| {
            m.flavour.vinylguaiacol.mg_per_l()
        }))
        .panel(pair(mg("fusel alcohols").decimals(0), Tone::Stone, &|m| {
            m.flavour.isoamyl_alcohol.mg_per_l()
        }))
}

fn trade_off(found: &SteeredBatch, choice: &Choice) -> Option<CourseChart> {
    let figure = found.against.0;
    let value = |c: &Choice| {
        let x = c.steered.figures.of(figure);
        let shown = if figure == Figure::Gravity {
            Gravity::from_plato(x).sg()
        } else {
            x
        };
        (c.steered.figures.days, shown)
    };
    let line: Vec<(f64, f64)> = found.curve().map(value).collect();
    if line.len() < 2 {
        return None;
    }
    let (unit, decimals) = if figure == Figure::Gravity {
        ("SG", 3)
    } else {
        ("mg/L", 2)
    };
    let name = figure_name(figure);
    let label = name.split(" (").next().unwrap_or(name);
    let mut panel = Panel::new(Axis::new(label, unit).decimals(decimals)).line(Line::new(
        "for each end",
        line,
        Tone::Water,
        Stroke::Solid,
    ));
    let best = found.best();
    let (x, y) = value(best);
    panel = panel.spot(x, y, best.label.clone(), Shape::Diamond);
    if let Some(safest) = found.safest().filter(|c| c.key != best.key) {
        let (x, y) = value(safest);
        panel = panel.spot(x, y, "safest", Shape::Square);
    }
    if choice.key != best.key && !choice.safest {
        let (x, y) = value(choice);
        panel = panel.spot(x, y, "shown", Shape::Circle);
    }
    let message =
        format!("For each end of the course, what {name} comes to under the other limits.");
    let title = format!("Days against {name}");
    let heading = Heading::new("trade-off", title, message);
    Some(CourseChart::new(heading, Axis::new("ready after", "d").decimals(1)).panel(panel))
}

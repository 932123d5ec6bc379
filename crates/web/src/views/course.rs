//! The fermentation as watched: where it is going, what is wrong, the chart, a reading.

use app::OpenBatch;
use batch::liquor::Wrong;
use batch::log::What;
use batch::watch::Watched;
use chart::{
    Axis, Band, BandPoint, Chart, CourseChart, Heading, Level, Line, Panel, Reading, Readings,
    Shape, Stroke, Tone,
};
use ferment::watch::{Alarm, Forecast, Likely};
use maud::{Markup, html};
use quantity::{Gravity, Units, show};

use super::bench::common::{row, table};
use crate::page::Page;

/// What is typed in the form.
#[derive(Debug, Clone, Default)]
pub struct Typed {
    pub what: String,
    pub reading: String,
    pub at: String,
    pub instrument: String,
}

impl Typed {
    /// The instrument, or the one that hands use.
    pub fn instrument(&self) -> &str {
        if self.instrument.is_empty() {
            "hydrometer by hand"
        } else {
            &self.instrument
        }
    }
}

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub watched: &'d Watched,
    pub typed: &'d Typed,
    pub wrong: &'d [Wrong],
    pub units: Units,
}

impl Desk<'_> {
    fn wrong(&self, field: &str) -> Option<&str> {
        let wrong = self.wrong.iter().find(|w| w.field == field);
        wrong.map(|w| w.message.as_str())
    }
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    let (id, units) = (desk.open.id, desk.units);
    let chart = chart(desk.watched, units);
    frame(desk.open).render(&html! {
        div.hello {
            h2 { "The fermentation" }
            @for sentence in desk.watched.verdict(units) { p { (sentence) } }
        }
        section.bench.watch aria-label="the fermentation" {
            div {
                @for alarm in &desk.watched.course.alarms { (alarm_card(alarm)) }
                (form(desk))
            }
            div {
                section.card {
                    (chart.markup())
                    (chart.table())
                    p.save.no-print {
                        a href=(format!("/batch/{id}/course/watch.svg")) { "save as SVG" }
                        a href=(format!("/batch/{id}/course/watch.csv")) { "save as CSV" }
                    }
                }
                (figures(desk))
            }
        }
    })
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).render(&html! {
        div.trouble role="alert" {
            p { strong { "This document cannot be reckoned as it is. " } "Mend it first; then its fermentation can be watched." }
            p { a href=(format!("/batch/{}", open.id)) { "Back to the batch" } }
        }
    })
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(
            format!("/batch/{}?bench=ferment", open.id),
            "fermentation bench",
        )
}

fn alarm_card(alarm: &Alarm) -> Markup {
    html! {
        section.card.alarm.(alarm.weight.word()) {
            h3 { span.sign { (alarm.weight.word()) } " " (alarm.what) }
            ul { @for figure in &alarm.evidence { li { (figure) } } }
            p { strong { "What to do" } }
            ul { @for way in &alarm.advice { li { (way) } } }
        }
    }
}

fn form(desk: &Desk<'_>) -> Markup {
    let typed = desk.typed;
    html! {
        form.card.read method="post" action=(format!("/batch/{}/course", desk.open.id)) {
            h3 { "What you read" }
            div.field {
                label for="what" { "What" }
                select #what name="what" aria-invalid=[desk.wrong("what").map(|_| "true")] {
                    @for what in What::ALL {
                        option value=(what.word()) selected[what.word() == typed.what] { (what.word()) }
                    }
                }
                @if let Some(wrong) = desk.wrong("what") { p.fault { (wrong) } }
            }
            (text(desk, "reading", "Reading", &typed.reading, "1.020"))
            (text(desk, "at", "When; left out, now", &typed.at, "2026-03-16T18:30:00Z"))
            (text(desk, "instrument", "Instrument", &typed.instrument, "hydrometer by hand"))
            p.small.quiet { "A word in its name says how it errs: hydrometer, narrow hydrometer, refractometer, float or inline." }
            p { button.main type="submit" { "Keep this reading" } }
        }
    }
}

fn text(desk: &Desk<'_>, name: &str, label: &str, value: &str, such_as: &str) -> Markup {
    let fault = format!("{name}-fault");
    let wrong = desk.wrong(name);
    html! {
        div.field {
            label for=(name) { (label) }
            input id=(name) name=(name) type="text" value=(value) placeholder=(such_as) autocomplete="off" spellcheck="false"
                aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| &fault)];
            @if let Some(wrong) = wrong { p.fault id=(fault) { (wrong) } }
        }
    }
}

fn figures(desk: &Desk<'_>) -> Markup {
    let (c, units) = (&desk.watched.course, desk.units);
    let likely = |l: &Likely<Gravity>| {
        format!(
            "{} ({} to {})",
            show(l.middle, units),
            show(l.low, units),
            show(l.high, units)
        )
    };
    let instruments: Vec<_> = c
        .instruments
        .iter()
        .map(|i| {
            let (off, sd) = i.bias_plato;
            row(
                i.name.clone(),
                format!(
                    "{}, {} readings, off by {off:+.1} ± {sd:.1} °P",
                    i.kind.word(),
                    i.readings
                ),
            )
        })
        .collect();
    html! {
        section.card {
            h3 { "What it comes to" }
            (table("now and later, nine times in ten", &[
                row("gravity now", likely(&c.gravity)),
                row("gravity at the end", likely(&c.end)),
                row("expected beforehand", show(c.expected_end.value, units)),
                row("of the fall is done", show(c.progress.middle, units)),
                row("a point or less is left: chance", show(c.finish.little_left, units)),
            ]))
            (table("instruments", &instruments))
            @if !c.notes.is_empty() {
                ul.notes { @for note in &c.notes { li.(note.weight.word()) { (note.text) } } }
            }
            details.why {
                summary { "How it is found" }
                p { "A curve of growing yeast and saturating uptake runs on the clock of the measured temperature. It is fitted to the readings together with what the plan leads one to expect; each instrument may be off and drift, single spikes count for little, and courses wander some hours about any curve. On 24 real pilot batches and on simulated ones its intervals were held against what came: see docs/pilot-courses.md." }
            }
        }
    }
}

/// Gravity and temperature: planned, read, forecast.
pub fn chart(watched: &Watched, units: Units) -> CourseChart {
    let (unit, temperature): (&str, fn(f64) -> f64) = match units {
        Units::Metric => ("°C", |c| c),
        Units::Us => ("°F", |c| c * 1.8 + 32.0),
    };
    let days = |h: f64| h / 24.0;
    let c = &watched.course;
    let now_h = c.now.h();
    let ahead = || c.forecast.iter().filter(move |f| f.at.h() >= now_h - 4.0);
    let band =
        |label: &str, level, low: fn(&Forecast) -> Gravity, high: fn(&Forecast) -> Gravity| Band {
            label: label.to_owned(),
            points: ahead()
                .map(|f| BandPoint {
                    x: days(f.at.h()),
                    low: low(f).sg(),
                    high: high(f).sg(),
                })
                .collect(),
            tone: Tone::Water,
            level,
        };
    let planned = watched
        .planned
        .iter()
        .map(|m| (days(m.at.h()), m.gravity.sg()));
    let middle = c
        .forecast
        .iter()
        .map(|f| (days(f.at.h()), f.gravity.middle.sg()));
    let mut gravity = Panel::new(Axis::new("gravity", "SG").decimals(3))
        .band(band(
            "nine times in ten",
            Level::Outer,
            |f| f.gravity.low,
            |f| f.gravity.high,
        ))
        .band(band(
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
    let shapes = [
        Shape::Circle,
        Shape::Square,
        Shape::Diamond,
        Shape::Triangle,
    ];
    for ((n, (name, _)), shape) in watched
        .log
        .instruments
        .iter()
        .enumerate()
        .zip(shapes.iter().cycle())
    {
        let own = c.residuals.iter().filter(|r| r.instrument == n);
        gravity = gravity.readings(Readings {
            label: name.clone(),
            points: own
                .map(|r| Reading::bare(days(r.at.h()), r.read.sg()))
                .collect(),
            tone: Tone::Copper,
            shape: *shape,
        });
    }
    let warm = c
        .forecast
        .iter()
        .map(|f| (days(f.at.h()), temperature(f.temperature.c())));
    CourseChart::new(
        Heading::new(
            "watch",
            "The course: planned, read, forecast",
            "Gravity as planned, as read, and as it will go; the bands hold it nine times in ten and one time in two. Below, the temperature as read and then as planned.",
        ),
        Axis::new("time", "d").starting_at(0.0),
    )
    .panel(gravity)
    .panel(Panel::new(Axis::new("temperature", unit).decimals(1)).line(Line::new(
        "temperature",
        warm.collect(),
        Tone::Copper,
        Stroke::Solid,
    )))
    .marker(days(now_h), "now")
}

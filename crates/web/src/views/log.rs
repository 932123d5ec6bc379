//! The log of a batch: chart, readings and what is odd about them, what came and what
//! became of each row, and forms to keep more.

mod keeping;
mod rows;

use std::collections::BTreeMap;

use app::{Arrivals, HowFar, LoggedChannel, OpenBatch};
use batch::log::{BRIX, Guess, LogReading, What};
use chart::{Axis, Chart, CourseChart, Heading, Panel, Reading, Readings, Shape, Tone};
use maud::{Markup, html};
use quantity::{Gravity, Units};

use crate::page::Page;

/// What was asked of the page, and typed into it.
#[derive(Default)]
pub struct Asked {
    pub filter: BTreeMap<String, String>,
    pub typed: BTreeMap<String, String>,
    /// What is wrong, by field.
    pub wrong: BTreeMap<String, String>,
    /// A table that waits for its columns to be confirmed.
    pub guess: Option<Guess>,
}

impl Asked {
    pub fn typed(&self, field: &str) -> &str {
        self.typed.get(field).map_or("", |text| text.trim())
    }

    pub fn wrong(&mut self, field: &str, why: String) {
        self.wrong.insert(field.to_owned(), why);
    }

    fn wrong_at(&self, field: &str) -> Option<&str> {
        self.wrong.get(field).map(String::as_str)
    }

    fn filter(&self, name: &str) -> &str {
        self.filter.get(name).map_or("", String::as_str)
    }
}

/// The page.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub channels: &'d [LoggedChannel],
    pub arrivals: &'d Arrivals,
    pub units: Units,
    pub asked: &'d Asked,
}

impl Desk<'_> {
    fn home(&self) -> String {
        format!("/batch/{}/log", self.open.id)
    }
}

pub fn page(desk: &Desk<'_>) -> Markup {
    Page::new(&desk.open.name)
        .beside("the log")
        .link(format!("/batch/{}", desk.open.id), "back to the batch")
        .link(
            format!("/batch/{}/course", desk.open.id),
            "fermentation watched",
        )
        .link("/devices".to_owned(), "devices")
        .link("/instruments".to_owned(), "instruments")
        .render(&html! {
            @if !desk.asked.wrong.is_empty() {
                div.trouble role="alert" {
                    p { strong { "Not kept yet. What you typed is still in its field." } }
                    ul.notes { @for why in desk.asked.wrong.values() { li { (why) } } }
                }
            }
            @if desk.asked.guess.is_some() { (keeping::columns(desk)) }
            @if desk.channels.is_empty() {
                section.card {
                    h2 { "Nothing was read yet" }
                    p { "A reading by hand, the file of a logger, or a " a href="/devices" { "device that sends by itself" } " begins the log." }
                }
            } @else {
                (drawn(desk))
                (rows::readings(desk))
            }
            (rows::came(desk))
            // One thing after the other: a table that waits comes first.
            @if desk.asked.guess.is_none() { div.log-more { (keeping::by_hand(desk)) (keeping::upload(desk)) } }
        })
}

/// How far a long log is that is being kept.
pub fn keeping_page(open: &OpenBatch, kept: &HowFar) -> Markup {
    let home = format!("/batch/{}/log", open.id);
    Page::new(&open.name)
        .beside("keeping the log")
        .link(home.clone(), "the log")
        .render(&html! {
            section.card.keeping aria-labelledby="keeping-title" {
                h2 #keeping-title { "The log is being kept" }
                @match &kept.end {
                    Some(Err(why)) => div.trouble role="alert" {
                        p { strong { "It broke off: " } (why) }
                        p { "What was kept until then stays. " a href=(home) { "Send the same file again" } ": what is there already changes nothing." }
                    },
                    _ => {
                        p { progress aria-labelledby="keeping-title" value=(kept.rows) max=(kept.of.max(1)) { } }
                        p role="status" { (kept.rows) " of " (kept.of) " lines" }
                        p.small { "This page looks again each second. You may leave it: the log is kept all the same." }
                    }
                }
            }
        })
}

fn drawn(desk: &Desk<'_>) -> Markup {
    html! {
        @if let Some(chart) = chart(desk.channels, desk.units) {
            section.card {
                (chart.markup())
                p.save.no-print {
                    a href=(format!("{}/chart/log.svg", desk.home())) { "save as SVG" }
                    a href=(format!("{}/chart/log.csv", desk.home())) { "save as CSV" }
                }
            }
        }
    }
}

/// Points of a channel that an eye can tell apart.
const DRAWN: usize = 600;
const DAY_MS: f64 = 86_400_000.0;

/// What the instruments said over time, a panel a quantity; none without readings.
pub fn chart(channels: &[LoggedChannel], units: Units) -> Option<CourseChart> {
    let times = channels.iter().filter_map(|c| c.readings.first());
    let start = times.map(|r| r.at_ms).min()?;
    let heading = Heading::new(
        "log",
        "What the instruments said",
        "Readings as they came, in days since the first one; what looks odd is marked in the table.",
    );
    let x = Axis::new("time", "d").starting_at(0.0);
    let panels = What::ALL.into_iter().filter_map(|what| {
        let of: Vec<&LoggedChannel> = channels.iter().filter(|c| c.what == what).collect();
        (!of.is_empty()).then(|| panel(what, &of, start, units))
    });
    Some(panels.fold(CourseChart::new(heading, x), CourseChart::panel))
}

fn panel(what: What, channels: &[&LoggedChannel], start: i64, units: Units) -> Panel {
    const LOOKS: [(Tone, Shape); 4] = [
        (Tone::Water, Shape::Circle),
        (Tone::Copper, Shape::Square),
        (Tone::Moss, Shape::Diamond),
        (Tone::Plum, Shape::Triangle),
    ];
    let (axis, value) = scale(what, units);
    let drawn = channels.iter().zip(LOOKS.iter().cycle());
    drawn.fold(Panel::new(axis), |panel, (channel, (tone, shape))| {
        let each = channel.readings.len().div_ceil(DRAWN).max(1);
        let points = channel.readings.iter().enumerate().step_by(each);
        let point = |(n, r): (usize, &LogReading)| {
            let days = (r.at_ms - start) as f64 / DAY_MS;
            // A mark of a refractometer is no gravity; what it says is.
            let right = channel.corrected.get(n).and_then(Option::as_ref);
            let drawn = right
                .filter(|_| r.unit == BRIX)
                .map_or(r.canonical, |right| right.value);
            Reading::bare(days, value(drawn))
        };
        panel.readings(Readings {
            label: channel.instrument.clone(),
            points: points.map(point).collect(),
            tone: *tone,
            shape: *shape,
        })
    })
}

/// The axis of a quantity, and a canonical number on it.
fn scale(what: What, units: Units) -> (Axis, fn(f64) -> f64) {
    let us = units == Units::Us;
    match what {
        What::Gravity => (Axis::new("gravity", "SG").decimals(3), |x| {
            Gravity::from_plato(x).sg()
        }),
        What::Temperature | What::Surroundings if us => {
            (Axis::new(what.word(), "°F").decimals(1), |x| {
                x * 1.8 + 32.0
            })
        }
        What::Temperature | What::Surroundings => (Axis::new(what.word(), "°C").decimals(1), |x| x),
        What::Ph => (Axis::new("pH", "").decimals(2), |x| x),
        What::Pressure if us => (Axis::new("pressure", "psi").decimals(1), |x| {
            x / quantity::PSI_BAR
        }),
        What::Pressure => (Axis::new("pressure", "bar").decimals(2), |x| x),
    }
}

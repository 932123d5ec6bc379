//! The fermentation as watched: where it is going, what is wrong, the chart; the plan to
//! drag, a reading to keep, tests to run.

mod chart;
mod control;
mod plan;
mod reading;
mod trust;
pub mod whole;

use std::collections::BTreeMap;

use ::chart::Chart;
use app::OpenBatch;
use batch::log::What;
use batch::watch::Watched;
use batch::{Fault, Reckoning};
use ferment::watch::Alarm;
use maud::{Markup, html};
use quantity::Units;

use super::charts;
use super::form::Form;
use crate::page::Page;

pub use chart::chart;

/// What is typed in the form of a reading.
#[derive(Debug, Clone, Default)]
pub struct Typed {
    pub what: String,
    pub reading: String,
    pub at: String,
    pub instrument: String,
}

impl Typed {
    /// The instrument; for what is no gravity, a hand.
    pub fn instrument(&self, what: What) -> &str {
        if what != What::Gravity || self.instrument.is_empty() {
            "by hand"
        } else {
            &self.instrument
        }
    }
}

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    /// As the document has it, or with what is tried in it.
    pub reckoning: &'d Reckoning,
    pub watched: &'d Watched,
    /// Values of the document that are tried and not kept.
    pub tried: &'d BTreeMap<String, String>,
    pub faults: &'d [Fault],
    pub typed: &'d Typed,
    pub units: Units,
}

impl Desk<'_> {
    fn home(&self) -> String {
        format!("/batch/{}/course", self.open.id)
    }

    fn revision(&self) -> Markup {
        html! { input type="hidden" name="on" value=(self.open.revision); }
    }

    /// Fields of the document.
    fn form(&self) -> Form<'_> {
        Form::new(&self.open.written, Some(self.tried), self.faults)
    }

    /// What is wrong at a field that is none of the document.
    fn wrong(&self, field: &str) -> Option<String> {
        let fault = self.faults.iter().find(|f| f.path == field)?;
        Some(super::fields::told(fault))
    }
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    let steer = if desk.watched.fit.points > 0 {
        ("steer?running=yes", "steer the rest")
    } else {
        ("steer", "steer the course")
    };
    let frame = frame(desk.open).link(format!("/batch/{}/{}", desk.open.id, steer.0), steer.1);
    frame.render(&html! {
        section.watch aria-label="the fermentation" {
            (told(desk))
            div.bench {
                (first(desk))
                div.asks {
                    (plan::form(desk))
                    (reading::form(desk))
                    (reading::pitched(desk))
                }
            }
            (second(desk, false))
            (control::cards(desk))
        }
    })
}

/// What a plan that is tried swaps: the answer, and what stands below it.
pub fn swap(desk: &Desk<'_>) -> Markup {
    html! {
        (first(desk))
        (second(desk, true))
    }
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).unread(open.id, "its fermentation can be watched.")
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(
            format!("/batch/{}?bench=ferment", open.id),
            "fermentation bench",
        )
        .link(format!("/batch/{}/log", open.id), "its log")
        .link(format!("/batch/{}/inquiry", open.id), "what went wrong")
}

/// Something that was sent and could not be kept.
fn told(desk: &Desk<'_>) -> Markup {
    html! {
        @if !desk.faults.is_empty() {
            div.trouble role="alert" {
                p { strong { "Not kept. " } "What you typed is still there; see the field that is marked." }
                ul.notes { @for fault in desk.faults { li { (super::fields::told(fault)) } } }
            }
        }
    }
}

/// The verdict, what is wrong, the chart, and how far to trust it.
fn first(desk: &Desk<'_>) -> Markup {
    let (id, units) = (desk.open.id, desk.units);
    let chart = chart(desk.watched, units);
    html! {
        div #course {
            section.card.verdict aria-live="polite" {
                h2 { (desk.watched.headline(units)) }
                @for sentence in desk.watched.verdict(units) { p { (sentence) } }
                (tried(desk))
            }
            @for alarm in &desk.watched.course.alarms { (alarm_card(alarm, desk.units)) }
            section.card {
                (chart.markup())
                (chart.table())
                p.save.no-print {
                    a href=(format!("/batch/{id}/course/chart/watch.svg")) { "save as SVG" }
                    a href=(format!("/batch/{id}/course/chart/watch.csv")) { "save as CSV" }
                }
            }
            (trust::figures(desk))
            (trust::doubts(desk))
        }
    }
}

/// What stands below: flavours of the plan, readings.
fn second(desk: &Desk<'_>, aside: bool) -> Markup {
    html! {
        div #below .pairs hx-swap-oob=[aside.then_some("true")] {
            (charts::shown("flavour", desk.reckoning, desk.open.id, desk.units))
            (trust::readings(desk))
        }
    }
}

/// That this is a plan which nobody has kept.
fn tried(desk: &Desk<'_>) -> Markup {
    html! {
        @if !desk.tried.is_empty() {
            @if desk.faults.is_empty() {
                p.trying { strong { "A plan that is tried: " } "nothing of it is kept yet." }
            } @else {
                p.trying { strong { "The plan cannot be read as it is: " } "this is how the one that is kept stands." }
                ul.notes { @for fault in desk.faults { li { (super::fields::told(fault)) } } }
            }
        }
    }
}

fn alarm_card(alarm: &Alarm, units: Units) -> Markup {
    html! {
        section.card.alarm.(alarm.weight.word()) {
            h3 { span.sign.(alarm.weight.word()) { b { (alarm.weight.word()) } } " " (alarm.what) }
            ul.notes { @for figure in &alarm.evidence { li { (figure.text(units)) } } }
            p { strong { "What to do" } }
            ul.notes { @for way in &alarm.advice { li { (way) } } }
        }
    }
}

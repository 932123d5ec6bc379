//! Steering: a wish, the course that serves it best beside the planned one, what days are
//! traded for, and what a little of each buys.

mod charts;
mod found;
mod wish;

use app::OpenBatch;
use batch::steer::{SteeredBatch, TypedSteer};
use batch::{Fault, Reckoning};
use maud::{Markup, html};
use quantity::Units;

use crate::page::Page;

pub use charts::chart;

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub reckoning: &'d Reckoning,
    pub typed: &'d TypedSteer,
    /// What was found, or what is wrong with the wish.
    pub found: &'d Result<SteeredBatch, Vec<Fault>>,
    pub units: Units,
    /// Whether the batch has moved on since the form was made.
    pub late: bool,
}

impl Desk<'_> {
    fn home(&self) -> String {
        format!("/batch/{}/steer", self.open.id)
    }

    fn faults(&self) -> &[Fault] {
        self.found.as_ref().err().map_or(&[], Vec::as_slice)
    }

    fn wrong(&self, name: &str) -> Option<&Fault> {
        self.faults().iter().find(|fault| fault.path == name)
    }

    /// What is wrong and has no field here.
    fn elsewhere(&self) -> impl Iterator<Item = &Fault> {
        self.faults()
            .iter()
            .filter(|fault| !wish::has_field(&fault.path))
    }
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    frame(desk.open).render(&html! {
        div.hello {
            h2 { "Steer the course" }
            p { "Say what the beer should be and what the cellar can do. The temperatures and the yeast that serve it best are found on the course model; nothing is kept until you take it." }
        }
        @if desk.late {
            div.trouble role="alert" { p { strong { "Not kept. " } "The batch has changed since; this is how it stands now." } }
        }
        @if !desk.faults().is_empty() {
            div.trouble role="alert" {
                p { strong { "The wish cannot be used as it is. " } "What you typed is still there; see the field that is marked." }
                @for fault in desk.elsewhere() { p { (fault.message) "; " (fault.help) } }
            }
        }
        section.bench.brew-day.steer aria-label="steer the course" {
            div { (wish::form(desk)) }
            div { @if let Ok(found) = desk.found { (found::cards(desk, found)) } }
        }
    })
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).unread(open.id, "its course can be steered.")
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(
            format!("/batch/{}?bench=ferment", open.id),
            "fermentation bench",
        )
        .link(format!("/batch/{}/pitch", open.id), "yeast to pitch")
}

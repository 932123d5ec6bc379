//! Matching an aim, and moving a batch: what is wished, the recipes that meet it with what
//! each trades, and what stands against an aim that cannot be had.

mod form;
mod found;

use app::{OpenBatch, Standing};
use batch::Fault;
use batch::matching::{Matched, MovedBatch, TypedMatch};
use maud::{Markup, html};
use quantity::Units;
use store::{DocumentId, Job};

use crate::page::Page;

pub use found::chart;

/// Whether the batch stays where it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Where {
    Here,
    Elsewhere,
}

/// What came of a question.
pub enum Found {
    /// Nothing was asked yet.
    NotAsked,
    Here(Box<Matched>),
    Elsewhere(Box<MovedBatch>),
    /// What is wrong with it.
    Wrong(Vec<Fault>),
    /// It is still looked for, or broke off.
    NotYet(Standing, Box<Job>),
}

/// Names that the library lends.
pub struct Library {
    pub stores: Vec<(DocumentId, String)>,
    pub brewhouses: Vec<(DocumentId, String)>,
    pub waters: Vec<(DocumentId, String)>,
    /// Tastings of the batch, and how the beer beside it tasted.
    pub tastings: Vec<(String, String)>,
}

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub typed: &'d TypedMatch,
    /// All that the address or form holds.
    pub pairs: &'d [(String, String)],
    pub to: Where,
    pub found: &'d Found,
    pub library: &'d Library,
    pub units: Units,
    /// Whether the batch has moved on since the form was made.
    pub late: bool,
}

impl Desk<'_> {
    fn home(&self) -> String {
        let word = match self.to {
            Where::Here => "match",
            Where::Elsewhere => "move",
        };
        format!("/batch/{}/{word}", self.open.id)
    }

    fn value(&self, name: &str) -> &str {
        let found = self.pairs.iter().find(|(key, _)| key == name);
        found.map_or("", |(_, value)| value.trim())
    }

    fn faults(&self) -> &[Fault] {
        match self.found {
            Found::Wrong(faults) => faults,
            _ => &[],
        }
    }

    fn wrong(&self, name: &str) -> Option<&Fault> {
        self.faults().iter().find(|fault| fault.path == name)
    }
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    frame(desk).render(&html! {
        div.hello {
            @match desk.to {
                Where::Here => {
                    h2 { "Match the aim" }
                    p { "Say what the glass should hold and what may move. Recipes that get there are found with what is at hand; nothing is kept until you take one." }
                }
                Where::Elsewhere => {
                    h2 { "The same beer elsewhere" }
                    p { "Another volume, kit, height or water: what this batch comes to is the aim there. It is matched anew, since multiplying alone misses." }
                }
            }
        }
        @if desk.late {
            div.trouble role="alert" { p { strong { "Not kept. " } "The batch has changed since; this is how it stands now." } }
        }
        @if !desk.faults().is_empty() {
            div.trouble role="alert" {
                p { strong { "This cannot be used as it is. " } "What you typed is still there; see the field that is marked." }
                @for fault in desk.faults().iter().filter(|f| !form::has_field(&f.path)) { p { (fault.message) "; " (fault.help) } }
            }
        }
        section.bench.brew-day.matching aria-label="match the aim" {
            div { (form::form(desk)) }
            div { (found::cards(desk)) }
        }
    })
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    let home = format!("/batch/{}", open.id);
    Page::new(&open.name)
        .link(home, "back to the batch")
        .unread(open.id, "an aim can be matched.")
}

fn frame<'d>(desk: &Desk<'d>) -> Page<'d> {
    let id = desk.open.id;
    let (other, words) = match desk.to {
        Where::Here => ("move", "the same beer elsewhere"),
        Where::Elsewhere => ("match", "match the aim"),
    };
    let page = Page::new(&desk.open.name)
        .beside(format!("revision {}", desk.open.revision))
        .link(format!("/batch/{id}"), "back to the batch")
        .link(format!("/batch/{id}/{other}"), words);
    match desk.found {
        Found::NotYet(_, job) if job.state.is_open() => page.looks_again(),
        _ => page,
    }
}

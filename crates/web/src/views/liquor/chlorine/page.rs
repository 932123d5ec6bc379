//! The page: what is asked beside what comes of it.

use app::OpenBatch;
use batch::Reckoning;
use batch::liquor::chlorine::{Answer, Breakpoint, BreakpointQuestion, Question, Read};
use batch::liquor::minerals::Wrong;
use chart::{Chart, CourseChart};
use maud::{Markup, html};
use quantity::Units;
use store::DocumentId;

use super::{Place, charts, checking, question, supply, ways};
use crate::page::Page;
use crate::views::liquor::shelves::from_stores;

/// What became of a question.
pub enum Reply {
    /// The ways.
    Found(Box<(Read, Answer)>),
    /// The question cannot be read.
    Wrong(Vec<Wrong>),
    /// The water cannot be followed.
    None(String),
}

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub reckoning: &'d Reckoning,
    pub question: &'d Question,
    /// Stores of the library.
    pub stores: &'d [(DocumentId, String)],
    pub breakpoint: &'d BreakpointQuestion,
    pub reply: &'d Reply,
    pub curve: &'d Result<Breakpoint, Vec<Wrong>>,
    /// The question as it stands in the address.
    pub query: String,
    pub units: Units,
    /// Whether the batch has moved on since the question was asked.
    pub late: bool,
}

impl Desk<'_> {
    pub(super) fn home(&self) -> String {
        format!("/batch/{}/chlorine", self.open.id)
    }

    /// What is wrong with a field.
    pub(super) fn wrong(&self, field: &str) -> Option<&str> {
        let of_ways: &[Wrong] = match self.reply {
            Reply::Wrong(wrong) => wrong,
            _ => &[],
        };
        let of_curve = self.curve.as_ref().err().into_iter().flatten();
        of_ways
            .iter()
            .chain(of_curve)
            .find(|wrong| wrong.field == field)
            .map(|wrong| wrong.message.as_str())
    }
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    frame(desk.open).render(&html! {
        div.hello {
            h2 { "Chlorine and chloramine" }
            p { "What the tap holds, every way of taking it out, and how to be sure that it is gone. The address of the page keeps what you asked." }
        }
        @if desk.late {
            div.trouble role="alert" {
                p { strong { "Not planned. " } "The batch has changed since; this is the answer for it as it is now." }
            }
        }
        section.bench.chlorine aria-label="chlorine and chloramine" {
            div { (from_stores(&desk.home(), desk.stores)) (question::form(desk)) }
            div #chlorine aria-live="polite" { (reply(desk)) }
        }
    })
}

fn reply(desk: &Desk<'_>) -> Markup {
    html! {
        @match desk.reply {
            Reply::Found(found) => {
                @let (read, answer) = found.as_ref();
                section.card data-part="ways" {
                    h3 { "Ways to take the chlorine out" }
                    (ways(answer, Place { id: desk.open.id, revision: desk.open.revision, question: desk.question }, desk.units))
                }
                div.results {
                    (checking::doing(answer, read, desk.units))
                    (supply::supplies(desk.reckoning, desk.units))
                    (checking::tests(answer, read, desk.units))
                    (checking::carbon(desk.reckoning, answer, read, desk.units))
                    @if let Some(chart) = charts::decay(answer) { (shown(desk, "decay", &chart)) }
                    (curve(desk))
                }
            },
            Reply::Wrong(wrong) => {
                div.trouble role="alert" {
                    p { strong { "The question cannot be used as it is." } }
                    ul.notes { @for one in wrong { li { (one) } } }
                }
            },
            Reply::None(why) => div.trouble role="alert" { p { (why) "." } },
        }
    }
}

fn curve(desk: &Desk<'_>) -> Markup {
    html! {
        @match desk.curve {
            Ok(found) => {
                (shown(desk, "breakpoint", &charts::breakpoint(found, desk.reckoning)))
                ul.notes.small { @for note in &found.curve.notes { li { (note.text) } } }
            },
            Err(wrong) => {
                section.card {
                    h3 { "The breakpoint curve" }
                    div.trouble role="alert" { ul.notes { @for one in wrong { li { (one.message) } } } }
                }
            },
        }
    }
}

fn shown(desk: &Desk<'_>, name: &str, chart: &CourseChart) -> Markup {
    let home = desk.home();
    html! {
        section.card {
            (chart.markup())
            (chart.table())
            p.save.no-print {
                a href=(format!("{home}/{name}.svg?{}", desk.query)) { "save as SVG" }
                a href=(format!("{home}/{name}.csv?{}", desk.query)) { "save as CSV" }
            }
        }
    }
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).unread(open.id, "the ways can be compared.")
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(format!("/batch/{}?bench=water", open.id), "water bench")
}

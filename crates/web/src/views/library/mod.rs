//! The library: lists of waters, brewhouses and stores, and a page for each.

mod brewhouse;
pub mod charts;
mod stores;
pub mod tables;
mod water;

use std::collections::BTreeMap;

use app::{DatedAnalysis, LibraryKind, OpenEntry, Page as Rows};
use batch::{Assumption, Fault};
use maud::{Markup, html};
use quantity::Units;

use super::form::Form;
use crate::page::Page;

pub use stores::first_values;

/// The address of a list.
pub fn shelf(kind: LibraryKind) -> &'static str {
    match kind {
        LibraryKind::Water => "/waters",
        LibraryKind::Brewhouse => "/brewhouses",
        LibraryKind::Stores => "/stores",
    }
}

/// The word for a list.
pub fn title(kind: LibraryKind) -> &'static str {
    match kind {
        LibraryKind::Water => "waters",
        LibraryKind::Brewhouse => "brewhouses",
        LibraryKind::Stores => "stores",
    }
}

/// The word for one of them.
pub fn one(kind: LibraryKind) -> &'static str {
    match kind {
        LibraryKind::Water => "water",
        LibraryKind::Brewhouse => "brewhouse",
        LibraryKind::Stores => "stores",
    }
}

/// The words of the way back to one of them.
pub fn back(kind: LibraryKind) -> &'static str {
    match kind {
        LibraryKind::Water => "back to the water",
        LibraryKind::Brewhouse => "back to the brewhouse",
        LibraryKind::Stores => "back to the stores",
    }
}

/// The address of a document.
pub fn home(open: &OpenEntry) -> String {
    format!("{}/{}", shelf(open.kind), open.id)
}

fn about(kind: LibraryKind) -> &'static str {
    match kind {
        LibraryKind::Water => {
            "A water changes with the seasons. Keep each analysis with its day here, and take the one that fits the brew day into a batch."
        }
        LibraryKind::Brewhouse => {
            "The constants of a kit: what it keeps back, what it boils off, how fast it cools. Measure them once, sharpen them with each brew, and take them into a batch."
        }
        LibraryKind::Stores => {
            "The malts, hops, yeasts, salts and acids at hand, each with the figures of its own sheet."
        }
    }
}

/// A list, and the ways to add to it.
pub struct List<'l> {
    pub kind: LibraryKind,
    pub rows: &'l Rows,
    pub find: &'l str,
    /// A name that could not be used, and why.
    pub refused: Option<(&'l str, &'l str)>,
}

pub fn list(l: &List<'_>) -> Markup {
    let heading = match l.kind {
        LibraryKind::Water => "Waters",
        LibraryKind::Brewhouse => "Brewhouses",
        LibraryKind::Stores => "Stores",
    };
    Page::new(heading).render(&html! {
        div.hello {
            p { (about(l.kind)) }
            @if l.kind == LibraryKind::Stores { p.small { "What is taken where a sheet says nothing: " a href="/malts" { "the table of malts" } ", " a href="/hops" { "the table of hops" } "." } }
        }
        (kept(l))
        div.choices {
            (begin(l))
            section.card aria-labelledby="demo" {
                h2 #demo { "Or look at an example" }
                p.small { "From the town of the demo: invented, and yours to change." }
                form method="post" action=(format!("{}/demo", shelf(l.kind))) {
                    p { button type="submit" { "Add the example" } }
                }
            }
        }
    })
}

fn kept(l: &List<'_>) -> Markup {
    let at = shelf(l.kind);
    html! {
        section.card aria-labelledby="kept" {
            h2 #kept { "What you keep" }
            @if l.rows.total == 0 && l.find.is_empty() {
                p { "Nothing yet." }
            } @else {
                form.row method="get" action=(at) role="search" {
                    label for="find" { "Find by name" }
                    input #find name="find" type="text" value=(l.find);
                    button type="submit" { "Find" }
                }
                div.wide {
                    table {
                        thead { tr { th scope="col" { (one(l.kind)) } th.number scope="col" { "revision" } th scope="col" { "saved (UTC)" } } }
                        tbody {
                            @for row in &l.rows.rows {
                                tr {
                                    th scope="row" { a href=(format!("{at}/{}", row.id)) { (row.name) } }
                                    td.number { (row.revision) }
                                    td { (row.saved_at.to_string().chars().take(16).collect::<String>().replace('T', " ")) }
                                }
                            }
                        }
                    }
                }
                p.small.quiet { (l.rows.total) " in all" }
                @if l.rows.pages > 1 {
                    nav.row aria-label="Pages of the list" {
                        @if l.rows.number > 0 { a href=(format!("{at}?page={}", l.rows.number - 1)) { "newer" } }
                        @if l.rows.number + 1 < l.rows.pages { a href=(format!("{at}?page={}", l.rows.number + 1)) { "older" } }
                    }
                }
            }
        }
    }
}

fn begin(l: &List<'_>) -> Markup {
    let (typed, fault) = l
        .refused
        .map_or(("", None), |(typed, fault)| (typed, Some(fault)));
    html! {
        section.card aria-labelledby="begin" {
            h2 #begin { "Add " @if l.kind == LibraryKind::Stores { "stores" } @else { "a " (one(l.kind)) } }
            form method="post" action=(shelf(l.kind)) {
                div.field.broad {
                    label for="name" { "Name" }
                    input #name name="name" type="text" required value=(typed) autocomplete="off"
                        aria-invalid=[fault.map(|_| "true")] aria-describedby=[fault.map(|_| "name-fault")];
                    @if let Some(fault) = fault { p.fault #name-fault { (fault) } }
                }
                p { button.main type="submit" { "Add" } }
            }
            @if l.kind == LibraryKind::Water {
                p.save { a href="/waters/read" { "Or read a report of your supplier" } }
            }
        }
    }
}

/// A document of the library with what happened to it.
pub struct Desk<'d> {
    pub open: &'d OpenEntry,
    pub analyses: &'d [DatedAnalysis],
    pub units: Units,
    told: Told<'d>,
}

/// What a request came to, for the page that answers it.
enum Told<'d> {
    Nothing,
    /// An edit that was not saved.
    Refused(&'d BTreeMap<String, String>, &'d [Fault]),
    /// An edit that clashed with another.
    Conflict(&'d str),
    /// An analysis that was not kept.
    NotKept(&'d BTreeMap<String, String>, &'d [Fault]),
}

impl<'d> Desk<'d> {
    pub fn of(open: &'d OpenEntry, analyses: &'d [DatedAnalysis], units: Units) -> Self {
        Self {
            open,
            analyses,
            units,
            told: Told::Nothing,
        }
    }

    /// After an edit that was not saved.
    pub fn refused(self, typed: &'d BTreeMap<String, String>, faults: &'d [Fault]) -> Self {
        Self {
            told: Told::Refused(typed, faults),
            ..self
        }
    }

    /// After an edit that clashed with another.
    pub fn conflict(self, told: &'d str) -> Self {
        Self {
            told: Told::Conflict(told),
            ..self
        }
    }

    /// After an analysis that was not kept.
    pub fn not_kept(self, typed: &'d BTreeMap<String, String>, faults: &'d [Fault]) -> Self {
        Self {
            told: Told::NotKept(typed, faults),
            ..self
        }
    }

    /// The fields of the document.
    fn form(&self) -> Form<'_> {
        let (typed, faults) = match self.told {
            Told::Refused(typed, faults) => (Some(typed), faults),
            _ => (None, self.open.faults()),
        };
        Form::new(&self.open.written, typed, faults).over(self.open.kind.part())
    }
}

pub fn page(desk: &Desk<'_>) -> Markup {
    let home = home(desk.open);
    Page::new(&desk.open.name)
        .beside(format!("revision {}", desk.open.revision))
        .link(format!("{home}/history"), "history")
        .link(format!("{home}/text"), "as text")
        .of_people(desk.open.id)
        .render(&html! {
            p.quiet.no-print { (about(desk.open.kind)) }
            (told(desk))
            @match desk.open.kind {
                LibraryKind::Water => (water::desk(desk)),
                LibraryKind::Brewhouse => (brewhouse::desk(desk)),
                LibraryKind::Stores => (stores::desk(desk)),
            }
        })
}

fn told(desk: &Desk<'_>) -> Markup {
    let (head, faults) = match desk.told {
        Told::Refused(_, faults) => (
            "Not saved yet. What you typed is still in its field.",
            faults,
        ),
        Told::NotKept(_, faults) => (
            "Not kept yet. What you typed is still in its field.",
            faults,
        ),
        Told::Conflict(told) => {
            return html! {
                div.trouble role="alert" {
                    p { strong { "Both versions are kept. " } (told) }
                    p { a href=(format!("{}/history", home(desk.open))) { "Compare them in the history" } }
                }
            };
        }
        Told::Nothing => ("This document cannot be used as it is.", desk.open.faults()),
    };
    html! {
        @if !faults.is_empty() {
            div.trouble role="alert" {
                p { strong { (head) } }
                ul.notes {
                    @for fault in faults.iter().take(12) {
                        li { @if !fault.path.is_empty() { strong { (fault.path) } ": " } (fault.message) "; " (fault.help) }
                    }
                }
            }
        }
    }
}

/// The form of a document: its fields, and a button that saves them.
fn form(desk: &Desk<'_>, fields: &Markup) -> Markup {
    html! {
        form.card method="post" action=(format!("{}/edit", home(desk.open))) {
            // Enter in a field presses the first button of a form.
            button.hidden type="submit" tabindex="-1" aria-hidden="true" { "Save" }
            input type="hidden" name="on" value=(desk.open.revision);
            (fields)
            p { button.main type="submit" { "Save" } }
        }
    }
}

/// The gaps that defaults fill.
fn assumed(assumptions: &[Assumption]) -> Markup {
    html! {
        @if !assumptions.is_empty() {
            details.why {
                summary { (assumptions.len()) " assumptions fill gaps" }
                dl {
                    @for a in assumptions {
                        dt { (a.path) ": " (a.value) }
                        dd { (a.mark) ": " (a.source) }
                    }
                }
            }
        }
    }
}

//! A batch: the stream across the page, what the last edit moved, a bench below.

use std::collections::BTreeMap;

use app::{OpenBatch, Outcome};
use batch::{Fault, Moved, Reckoning, Stage};
use maud::{Markup, html};
use quantity::Units;
use serde::{Deserialize, Deserializer};
use store::RevisionNumber;

use super::form::Form;
use super::liquor::chlorine;
use super::take::{self, Kept};
use super::{bench, stream};
use crate::page::Page;

/// The bench that is open: that of a stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bench(pub Stage);

impl Default for Bench {
    fn default() -> Self {
        Self(Stage::Water)
    }
}

impl Bench {
    pub fn word(self) -> &'static str {
        self.0.word()
    }
}

impl<'de> Deserialize<'de> for Bench {
    /// An unknown word opens the first bench: an address is no place for errors.
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let word = String::deserialize(deserializer)?;
        let stage = Stage::ALL.into_iter().find(|s| s.word() == word);
        Ok(stage.map_or_else(Self::default, Self))
    }
}

/// Everything that the page of a batch shows.
pub struct Work<'w> {
    open: &'w OpenBatch,
    bench: Bench,
    units: Units,
    change: Option<&'w str>,
    moved: &'w [Moved],
    typed: Option<&'w BTreeMap<String, String>>,
    faults: &'w [Fault],
    conflict: Option<&'w str>,
    kept: &'w [Kept],
}

impl<'w> Work<'w> {
    pub fn of(open: &'w OpenBatch, bench: Bench, units: Units) -> Self {
        Self {
            open,
            bench,
            units,
            change: None,
            moved: &[],
            typed: None,
            faults: open.outcome.faults(),
            conflict: None,
            kept: &[],
        }
    }

    /// With what the library keeps for this bench.
    pub fn beside(mut self, kept: &'w [Kept]) -> Self {
        self.kept = kept;
        self
    }

    /// After an edit: what it was and what it moved.
    pub fn after(mut self, change: Option<&'w str>, moved: &'w [Moved]) -> Self {
        self.change = change;
        self.moved = moved;
        self
    }

    /// After an edit that was not saved.
    pub fn refused(mut self, typed: &'w BTreeMap<String, String>, faults: &'w [Fault]) -> Self {
        self.typed = Some(typed);
        self.faults = faults;
        self
    }

    /// After an edit that clashed with another.
    pub fn conflict(mut self, told: &'w str) -> Self {
        self.conflict = Some(told);
        self
    }
}

/// The whole page.
pub fn page(w: &Work<'_>) -> Markup {
    let id = w.open.id;
    Page::new(&w.open.name)
        .beside(revision(w))
        .link(format!("/batch/{id}/brew-day"), "brew day")
        .link(format!("/batch/{id}/pitch"), "yeast to pitch")
        .link(format!("/batch/{id}/log"), "its log")
        .link(format!("/batch/{id}/course"), "fermentation watched")
        .link(format!("/batch/{id}/tasting"), "blind tasting")
        .link(format!("/batch/{id}/inquiry"), "what went wrong")
        .link(format!("/batch/{id}/match"), "match the aim")
        .link(format!("/batch/{id}/certainty"), "how sure")
        .link(format!("/batch/{id}/learned"), "what batches taught")
        .link(format!("/compare?of={id}"), "compare")
        .link(format!("/batch/{id}/sheet"), "brew-day sheet")
        .link(format!("/batch/{id}/report"), "report")
        .link(format!("/batch/{id}/labels"), "labels")
        .link(format!("/batch/{id}/history"), "history")
        .link(format!("/batch/{id}/text"), "as text")
        .link(format!("/batch/{id}/recipe"), "for other programs")
        .of_people(id)
        .render(&work(w))
}

/// What an edit swaps: all below the header, and in it the name and the revision.
pub fn swap(w: &Work<'_>) -> Markup {
    html! {
        (work(w))
        h1 #title hx-swap-oob="true" { (w.open.name) }
        span #beside .quiet.small hx-swap-oob="true" { (revision(w)) }
    }
}

fn revision(w: &Work<'_>) -> String {
    format!("revision {}", w.open.revision)
}

fn work(w: &Work<'_>) -> Markup {
    html! {
        div #work {
            (stream::strip(w.open, w.bench.0, w.moved, w.units))
            (told(w))
            (small_tools(w))
            (open_bench(w, w.open.outcome.reckoning()))
        }
    }
}

/// What happened: a change and what it moved, a refusal, a clash.
fn told(w: &Work<'_>) -> Markup {
    html! {
        @if let Some(conflict) = w.conflict {
            div.trouble role="alert" {
                p { strong { "Both versions are kept. " } (conflict) }
                p { a href=(format!("/batch/{}/history", w.open.id)) { "Compare them in the history" } }
            }
        }
        @if !w.faults.is_empty() { (faults(w)) }
        @if let Some(change) = w.change { (moved(change, w)) }
    }
}

fn faults(w: &Work<'_>) -> Markup {
    let unsaved = w.typed.is_some();
    html! {
        div.trouble role="alert" {
            p {
                strong { @if unsaved { "Not saved yet. " } @else { "This document cannot be reckoned as it is. " } }
                @if unsaved { "What you typed is still in its field; mend it and it is saved at once." }
            }
            ul.notes {
                @for fault in w.faults.iter().take(12) {
                    li { @if !fault.path.is_empty() { strong { (fault.path) } ": " } (fault.message) "; " (fault.help) }
                }
            }
        }
    }
}

fn moved(change: &str, w: &Work<'_>) -> Markup {
    let said = match w.moved {
        [] => "saved; it moved no figure".to_owned(),
        [one] => format!(
            "saved; {} is now {}",
            one.after.label,
            one.after.text.text(w.units)
        ),
        many => format!("saved; {} figures moved", many.len()),
    };
    html! {
        div.moved data-said=(said) {
            strong { "Your last change" } " (" (change) ") moved "
            @if w.moved.is_empty() { "nothing that is shown." } @else {
                "these, and nothing else:"
                ul {
                    @for m in w.moved {
                        li {
                            (m.after.stage.word()) ", " (m.after.label) " "
                            b { (m.before.text.text(w.units)) " → " (m.after.text.text(w.units)) }
                        }
                    }
                }
            }
        }
    }
}

/// Take back the last change, and the other units.
fn small_tools(w: &Work<'_>) -> Markup {
    let back = format!("/batch/{}?bench={}", w.open.id, w.bench.word());
    let (other, words) = match w.units {
        Units::Metric => ("us", "show US units"),
        Units::Us => ("metric", "show metric units"),
    };
    html! {
        div.tools.no-print {
            @if w.open.revision > RevisionNumber::FIRST {
                form method="post" action=(format!("/batch/{}/undo", w.open.id)) {
                    input type="hidden" name="on" value=(w.open.revision);
                    input type="hidden" name="bench" value=(w.bench.word());
                    button type="submit" { "take back the last change" }
                }
            }
            form method="post" action="/units" {
                input type="hidden" name="back" value=(back);
                button type="submit" name="units" value=(other) { (words) }
            }
        }
    }
}

fn open_bench(w: &Work<'_>, reckoning: Option<&Reckoning>) -> Markup {
    let action = format!("/batch/{}/edit?bench={}", w.open.id, w.bench.word());
    let form = Form::new(&w.open.written, w.typed, w.faults);
    let stage = w.bench.0;
    html! {
        section.bench aria-label=(format!("{} bench", stage.word())) {
            div {
            (take::form(stage, w.open, w.kept))
            form.card data-bench="1" method="post" action=(action)
                hx-post=(action) hx-trigger="change, submit" hx-target="#work" hx-swap="outerMorph" hx-sync="this:queue all" {
                // Enter in a field presses the first button of a form.
                button.hidden type="submit" tabindex="-1" aria-hidden="true" { "Reckon" }
                input type="hidden" name="on" value=(w.open.revision);
                (bench::inputs(stage, &form))
                p { button.main type="submit" { "Reckon" } }
            }
            }
            div {
                @match (reckoning, &w.open.outcome) {
                    (Some(reckoning), _) => {
                        (bench::results(stage, reckoning, w.open.id, w.units))
                        @if stage == Stage::Water {
                            (chlorine::card(reckoning, w.open.id, w.open.revision, w.units))
                        }
                    },
                    (None, Outcome::Faulty(_)) => {
                        div.card { p { "Mend what is listed above and the results come back." } }
                    },
                    (None, Outcome::Reckoned(_)) => {},
                }
            }
        }
    }
}

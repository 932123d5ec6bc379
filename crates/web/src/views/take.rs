//! Taking what the library keeps into a batch: a small form beside a bench.

use app::{LibraryKind, OpenBatch};
use batch::Stage;
use maud::{Markup, html};
use store::{Day, DocumentId};

use super::form::Form;
use super::library;

/// Something of the library that a bench can take.
pub struct Kept {
    pub id: DocumentId,
    pub name: String,
    /// The days of its analyses, the newest first.
    pub days: Vec<Day>,
}

/// What the bench of a stage can take.
pub fn taken_at(stage: Stage) -> Option<LibraryKind> {
    match stage {
        Stage::Water => Some(LibraryKind::Water),
        Stage::Mash => Some(LibraryKind::Brewhouse),
        _ => None,
    }
}

/// The form of a bench; nothing at a bench that takes nothing.
pub fn form(stage: Stage, open: &OpenBatch, kept: &[Kept]) -> Markup {
    let Some(kind) = taken_at(stage) else {
        return html! {};
    };
    let action = format!(
        "/batch/{}/take-{}?bench={}",
        open.id,
        library::one(kind),
        stage.word()
    );
    html! {
        details.card.no-print {
            summary.name { "Take a " (library::one(kind)) " you keep" }
            @if kind == LibraryKind::Water { p.small { a href="/waters/read" { "Read a report" } " to keep its water, or to use it here at once." } }
            @if kept.is_empty() {
                p.small {
                    "Nothing to take yet. "
                    a href=(library::shelf(kind)) { "Keep your " (library::title(kind)) }
                    @if kind == LibraryKind::Water { " with their analyses and take them from here." }
                    @else { " and take their kit from here." }
                }
            } @else {
                form method="post" action=(action) hx-post=(action) hx-target="#work" hx-swap="outerMorph" {
                    input type="hidden" name="on" value=(open.revision);
                    @if kind == LibraryKind::Water { (waters(open, kept)) } @else { (brewhouses(kept)) }
                    p { button type="submit" { "Take it into this batch" } }
                }
            }
        }
    }
}

fn brewhouses(kept: &[Kept]) -> Markup {
    html! {
        div.field.broad {
            label for="take" { "Kit of" }
            select #take name="take" { @for k in kept { option value=(k.id) { (k.name) } } }
        }
    }
}

fn waters(open: &OpenBatch, kept: &[Kept]) -> Markup {
    let sources = Form::new(&open.written, None, &[]);
    html! {
        div.field.broad {
            label for="take" { "Water and analysis" }
            select #take name="take" {
                @for k in kept {
                    optgroup label=(k.name) {
                        @for day in &k.days { option value=(format!("{} {day}", k.id)) { (k.name) ", " (day) } }
                    }
                }
            }
        }
        div.field.broad {
            label for="place" { "In place of" }
            select #place name="place" {
                option value="" { "the water of that name, or beside the others" }
                @for n in 1..=sources.entries("water.source") {
                    option value=(n) { (sources.named(&format!("water.source[{n}].name"), "a water without a name")) }
                }
            }
        }
    }
}

//! The document as text, to write in.

use app::OpenBatch;
use maud::{Markup, html};

use crate::page::Page;

pub fn page(open: &OpenBatch) -> Markup {
    let faults = open.outcome.faults();
    Page::new(&open.name)
        .beside("as text")
        .link(format!("/batch/{}", open.id), "back to the batch")
        .link(format!("/batch/{}/document.toml", open.id), "save as a file")
        .render(&html! {
            @if !faults.is_empty() {
                div.trouble role="alert" {
                    p { strong { "Saved, and it cannot be reckoned as it is." } }
                    ul.notes {
                        @for fault in faults {
                            @let (line, column) = fault.line_and_column(&open.text);
                            li { "line " (line) ", character " (column) ": " (fault) }
                        }
                    }
                }
            }
            form.card method="post" action=(format!("/batch/{}/text", open.id)) {
                input type="hidden" name="on" value=(open.revision);
                p { label for="text" { "The batch document" } }
                textarea #text name="text" spellcheck="false" { (open.text) }
                p { button.main type="submit" { "Save" } }
            }
        })
}

//! The document as text, to write in.

use batch::Fault;
use maud::{Markup, html};
use store::RevisionNumber;

use crate::page::Page;

/// A document that is shown as text.
pub struct Text<'t> {
    /// Its name.
    pub name: &'t str,
    /// The revision that is open.
    pub revision: RevisionNumber,
    /// What it says.
    pub text: &'t str,
    /// What is wrong with it.
    pub faults: &'t [Fault],
    /// The address of its page.
    pub home: String,
    /// The words of the way back to it.
    pub back: &'static str,
    /// What kind of document it is.
    pub label: &'static str,
}

pub fn page(open: &Text<'_>) -> Markup {
    let faults = open.faults;
    Page::new(open.name)
        .beside("as text")
        .link(open.home.clone(), open.back)
        .link(format!("{}/document.toml", open.home), "save as a file")
        .render(&html! {
            @if !faults.is_empty() {
                div.trouble role="alert" {
                    p { strong { "Saved, and it cannot be reckoned as it is." } }
                    ul.notes {
                        @for fault in faults {
                            @let (line, column) = fault.line_and_column(open.text);
                            li { "line " (line) ", character " (column) ": " (fault) }
                        }
                    }
                }
            }
            form.card method="post" action=(format!("{}/text", open.home)) {
                input type="hidden" name="on" value=(open.revision);
                p { label for="text" { (open.label) } }
                textarea #text name="text" spellcheck="false" { (open.text) }
                p { button.main type="submit" { "Save" } }
            }
        })
}

//! The revisions of a document.

use maud::{Markup, html};
use store::{Change, Difference, Line, RevisionInfo, RevisionNumber, SideInfo, Stretch};

use crate::page::Page;

/// Lines shown before and after a change.
const CONTEXT: usize = 3;

/// The document whose history is shown.
pub struct Subject<'s> {
    /// Its name.
    pub name: &'s str,
    /// The newest revision.
    pub revision: RevisionNumber,
    /// The address of its page.
    pub home: String,
    /// The words of the way back to it.
    pub back: &'static str,
    /// The batch that it is; only batches are laid side by side.
    pub batch: Option<store::DocumentId>,
}

pub fn page(open: &Subject<'_>, revisions: &[RevisionInfo], sides: &[SideInfo]) -> Markup {
    frame(open).render(&html! {
        section.card {
            h2 { "Revisions" }
            p.small { "Every save is a revision; nothing is overwritten. Bringing one back makes a new revision of it." }
            div.wide {
                table.revisions {
                    thead { tr { th scope="col" { "revision" } th scope="col" { "saved (UTC)" } th scope="col" { "what" } th scope="col" { "" } } }
                    tbody {
                        @for revision in revisions {
                            tr {
                                th scope="row" { a href=(format!("{}/history/{}", open.home, revision.number)) { (revision.number) } }
                                td { (time(&revision.saved_at.to_string())) }
                                td.what { (revision.note.as_deref().unwrap_or("")) }
                                td {
                                    @if revision.number != open.revision {
                                        (bring_back(open, "revision", &revision.number.to_string(), "bring back"))
                                    } @else { "this is open" }
                                }
                            }
                        }
                    }
                }
            }
        }
        @if !sides.is_empty() {
            section.card {
                h2 { "Kept beside: refused because something else was saved in between" }
                ul {
                    @for side in sides {
                        li.row {
                            span { "written on revision " (side.based_on) ", kept " (time(&side.saved_at.to_string())) }
                            (bring_back(open, "side", &side.id.to_string(), "make it the newest"))
                        }
                    }
                }
            }
        }
    })
}

pub fn revision(open: &Subject<'_>, number: RevisionNumber, difference: &Difference) -> Markup {
    frame(open).render(&html! {
        section.card {
            h2 { "From revision " (number) " to " (open.revision) }
            @if difference.is_empty() { p { "Nothing differs." } }
            div.diff tabindex="0" role="region" aria-label="the lines that differ" {
                @for stretch in difference.folded(CONTEXT) {
                    @match stretch {
                        Stretch::Shown(lines) => { @for line in lines { (shown(line)) } },
                        Stretch::Folded(lines) => { span.fold { (alike(lines.len())) "\n" } },
                    }
                }
            }
            @if let (Some(id), true) = (open.batch, number != open.revision) {
                p { a.alone href=(format!("/compare?of={id}@{number}&of={id}")) { "What that made differ" } }
            }
            @if number != open.revision { (bring_back(open, "revision", &number.to_string(), "bring it back")) }
        }
    })
}

fn shown(line: &Line) -> Markup {
    // The end of the line is that of the page, whatever the document had.
    let text = line.text.trim_end_matches(['\n', '\r']);
    html! {
        @match line.change {
            Change::Removed => { span.out { "− " (text) "\n" } },
            Change::Added => { span.in { "+ " (text) "\n" } },
            Change::Same => { "  " (text) "\n" },
        }
    }
}

fn alike(lines: usize) -> String {
    match lines {
        1 => "… 1 line alike".to_owned(),
        n => format!("… {n} lines alike"),
    }
}

fn frame<'s>(open: &'s Subject<'_>) -> Page<'s> {
    Page::new(open.name)
        .beside("history")
        .link(open.home.clone(), open.back)
}

fn bring_back(open: &Subject<'_>, what: &str, value: &str, words: &str) -> Markup {
    html! {
        form method="post" action=(format!("{}/bring-back", open.home)) {
            input type="hidden" name="on" value=(open.revision);
            button type="submit" name=(what) value=(value) { (words) }
        }
    }
}

/// A time of RFC 3339 as a person reads it.
pub fn time(rfc3339: &str) -> String {
    rfc3339
        .chars()
        .take(19)
        .collect::<String>()
        .replace('T', " ")
}

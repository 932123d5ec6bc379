//! Recipes from and to other programs: the file, what it comes to, and what does not map.

use app::OpenBatch;
use batch::library::Part;
use interchange::{Exported, Fate, Found, Imported, JsonFault, ReadError, Remark};
use maud::{Markup, html};
use store::DocumentId;

use crate::page::Page;

/// Why a file is not taken.
pub struct Refused {
    what: String,
    faults: Vec<JsonFault>,
}

impl Refused {
    pub fn plain(why: &str) -> Self {
        Self {
            what: why.to_owned(),
            faults: Vec::new(),
        }
    }

    pub fn of(error: ReadError) -> Self {
        match error {
            ReadError::NotTheStandard { faults } => Self {
                what: "These places are not as the standard has them.".to_owned(),
                faults,
            },
            error => Self::plain(&error.to_string()),
        }
    }
}

/// The address of what was made.
pub fn home(made: &Imported, id: DocumentId) -> String {
    let shelf = match made.found {
        Found::Batch => "batch",
        Found::Library(Part::Water | Part::Analysis) => "waters",
        Found::Library(Part::Brewhouse) => "brewhouses",
        Found::Library(Part::Stores) => "stores",
    };
    format!("/{shelf}/{id}")
}

/// The form, and the answer to it.
pub fn page(
    text: &str,
    read: Option<&(Vec<Imported>, Vec<Remark>)>,
    refused: Option<&Refused>,
) -> Markup {
    Page::new("Recipes from a file").render(&html! {
        div.hello {
            p {
                "Takes in a file of the open recipe standard BeerJSON. First you see what it comes to, and "
                "every line of it that a batch has no place for; nothing is kept until you say so."
            }
        }
        form.recipes method="post" action="/recipes" enctype="multipart/form-data" {
            @if let Some((documents, remarks)) = read {
                (found(documents))
                (report(remarks, "The report"))
            }
            (asked(text, read.is_some(), refused))
        }
    })
}

fn asked(text: &str, read: bool, refused: Option<&Refused>) -> Markup {
    html! {
        section.card aria-labelledby="which" {
            h2 #which { @if read { "Another file" } @else { "The file" } }
            @if let Some(refused) = refused {
                div.trouble role="alert" #refused {
                    p { strong { (refused.what) } }
                    @if !refused.faults.is_empty() {
                        ul.notes {
                            @for fault in &refused.faults { li { code { (fault.pointer) } " " (fault.message) "; " (fault.help) } }
                        }
                    }
                }
            }
            div.field.broad {
                label for="file" { "Choose a file, up to 1 MB" }
                input #file name="file" type="file" accept=".json,application/json"
                    aria-invalid=[refused.map(|_| "true")] aria-describedby=[refused.map(|_| "refused")];
            }
            p { label for="text" { "or paste what is in it" } }
            textarea #text name="text" rows=(if read { "4" } else { "10" }) spellcheck="false" { (text) }
            p { button.main[!read] type="submit" name="do" value="look" { "See what it comes to" } }
        }
    }
}

fn found(documents: &[Imported]) -> Markup {
    html! {
        section.card aria-labelledby="found" {
            h2 #found { "What it comes to" }
            ul.notes {
                @for made in documents {
                    li {
                        strong { (made.name) } ", " (words(made))
                        details {
                            summary { "as text" }
                            pre { code { (made.text) } @if let Some(analysis) = &made.analysis { "\n" code { (analysis) } } }
                        }
                    }
                }
            }
            p { button.main type="submit" name="do" value="keep" { "Keep it" } }
        }
    }
}

fn words(made: &Imported) -> &'static str {
    match made.found {
        Found::Batch => "a batch",
        Found::Library(part) => part.words(),
    }
}

/// Each line of a report, the gaps first: what was taken there moves the beer.
fn report(remarks: &[Remark], title: &str) -> Markup {
    html! {
        section.card.mapped aria-labelledby="report" {
            h2 #report { (title) }
            @if remarks.is_empty() { p { "Everything mapped." } }
            @for (fate, head, about) in PARTS {
                @let lines: Vec<&Remark> = remarks.iter().filter(|r| r.fate == fate).collect();
                @if !lines.is_empty() {
                    h3 { (head) }
                    p.small.quiet { (about) }
                    div.wide tabindex="0" role="region" aria-label=(head) {
                        table {
                            thead { tr { th scope="col" { "where" } th scope="col" { "what stands there" } th scope="col" { "why" } @if fate != Fate::Left { th scope="col" { "taken" } } } }
                            tbody {
                                @for line in lines {
                                    tr {
                                        th scope="row" { code { (line.at) } }
                                        td { (line.found) }
                                        td { (line.why) }
                                        @if fate != Fate::Left { td { (line.taken) } }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

const PARTS: [(Fate, &str, &str); 3] = [
    (
        Fate::Missing,
        "Not said",
        "Something had to be taken. Put your own figure in its place.",
    ),
    (
        Fate::Changed,
        "Taken otherwise",
        "The figure is there, in another form.",
    ),
    (
        Fate::Left,
        "Left out",
        "The other side has no place for it.",
    ),
];

/// A batch as a file for other programs.
pub fn recipe(open: &OpenBatch, written: &Exported) -> Markup {
    Page::new(&open.name)
        .beside("for other programs")
        .link(format!("/batch/{}", open.id), "back to the batch")
        .render(&html! {
            section.card aria-labelledby="file" {
                h2 #file { "The recipe as a file" }
                p { "In the open standard BeerJSON. The standard has no spread, no chlorine and no strength of a bottle: what is left out stands below." }
                p { a.button.main href=(format!("/batch/{}/recipe.json", open.id)) download { "Save as a file" } }
            }
            (report(&written.remarks, "What does not map"))
        })
}

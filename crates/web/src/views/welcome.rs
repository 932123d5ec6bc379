//! The first page.

use app::{Beer, LibraryKind, Page as Batches, Tap, demos};
use maud::{Markup, html};
use quantity::Units;

use super::library;
use crate::page::Page;

/// What was answered so far.
#[derive(Debug, Default)]
pub struct Answers {
    pub tap: String,
    pub beer: String,
    pub volume: String,
    pub name: String,
}

pub fn page(
    batches: &Batches,
    find: &str,
    answers: &Answers,
    fault: Option<&str>,
    units: Units,
) -> Markup {
    Page::new("Batches").render(&html! {
        div.hello {
            p {
                "gylewright follows a beer from the tap to the glass in one model: what to weigh and do, "
                "what the beer will be, and what is at risk. Change one thing, and it shows what that moves "
                "downstream."
            }
        }
        div.choices {
            (begin(answers, fault, units))
            (demo())
        }
        (list(batches, find))
        (keep())
        (import())
    })
}

fn begin(answers: &Answers, fault: Option<&str>, units: Units) -> Markup {
    let usual = match units {
        Units::Metric => "20 L",
        Units::Us => "5 gal",
    };
    html! {
        section.card aria-labelledby="begin" {
            h2 #begin { "Start a batch: three questions" }
            @if let Some(fault) = fault { p.trouble role="alert" { (fault) } }
            form method="post" action="/begin" {
                div.field.broad {
                    label for="tap" { "Which water?" }
                    select #tap name="tap" {
                        @for (_, key, words) in Tap::ALL { option value=(key) selected[key == answers.tap] { (words) } }
                    }
                }
                p.small { "There is a report of it? " a href="/waters/read" { "Read it" } " and take its figures into the batch." }
                div.field.broad {
                    label for="beer" { "What do you want to brew?" }
                    select #beer name="beer" {
                        @for (_, key, words) in Beer::ALL { option value=(key) selected[key == answers.beer] { (words) } }
                    }
                }
                div.field.broad {
                    label for="volume" { "How much?" }
                    input #volume name="volume" type="text" required value=(if answers.volume.is_empty() { usual } else { &answers.volume });
                }
                div.field.broad {
                    label for="name" { "What is it called? (may stay empty)" }
                    input #name name="name" type="text" value=(answers.name);
                }
                p { button.main type="submit" { "Start" } }
            }
        }
    }
}

fn demo() -> Markup {
    html! {
        section.card aria-labelledby="demo" {
            h2 #demo { "Or look at the demo" }
            p.small { "A town, its two waters and its beers, all invented. Your copy is yours to change." }
            @for demo in demos() {
                form.entry.demo method="post" action=(format!("/demo/{}", demo.name)) {
                    p.small { (demo.about) }
                    button type="submit" aria-label=(format!("Open the demo {}", demo.name)) { "Open" }
                }
            }
        }
    }
}

fn list(batches: &Batches, find: &str) -> Markup {
    html! {
        section.card aria-labelledby="batches" {
            h2 #batches { "Your batches" }
            @if batches.total == 0 && find.is_empty() {
                p { "None yet." }
            } @else {
                form.row method="get" action="/" role="search" {
                    label for="find" { "Find by name" }
                    input #find name="find" type="text" value=(find);
                    button type="submit" { "Find" }
                }
                form method="get" action="/compare" {
                    input type="hidden" name="do" value="compare";
                    div.wide {
                        table.batches {
                            thead { tr { th scope="col" { span.hidden { "compare" } } th scope="col" { "batch" } th.number scope="col" { "revision" } th scope="col" { "saved (UTC)" } } }
                            tbody {
                                @for row in &batches.rows {
                                    tr {
                                        td { label.tick { input type="checkbox" name="of" value=(row.id) aria-label=(format!("compare {}", row.name)); } }
                                        th scope="row" { a href=(format!("/batch/{}", row.id)) { (row.name) } }
                                        td.number { (row.revision) }
                                        td { (row.saved_at.to_string().chars().take(16).collect::<String>().replace('T', " ")) }
                                    }
                                }
                            }
                        }
                    }
                    @if batches.total > 1 { p.row { button type="submit" { "Compare" } span.small.quiet { "Tick two batches or more to lay them side by side." } } }
                }
                p.small.quiet { (batches.total) " in all" }
                @if batches.pages > 1 {
                    nav.row aria-label="Pages of the list" {
                        @if batches.number > 0 { a href=(format!("/?page={}", batches.number - 1)) { "newer" } }
                        @if batches.number + 1 < batches.pages { a href=(format!("/?page={}", batches.number + 1)) { "older" } }
                    }
                }
            }
        }
    }
}

fn keep() -> Markup {
    html! {
        section.card aria-labelledby="keep" {
            h2 #keep { "What you keep" }
            p.small { "Waters with their analyses over the seasons, the constants of your kit, and what is in store; a batch takes its water and its kit from here." }
            p.row {
                @for kind in LibraryKind::ALL { a.button href=(library::shelf(kind)) { (library::title(kind)) } }
            }
        }
    }
}

fn import() -> Markup {
    html! {
        section.card aria-labelledby="away" {
            h2 #away { "In and out" }
            p.small { "Recipes from other programs, in the open standard BeerJSON; and everything that is kept here as plain files, to take away or to keep safe." }
            p.row {
                a.button href="/recipes" { "Take in recipes from a file" }
                a.button href="/everything.tar" download { "Save everything as plain files" }
            }
            p.small { "The figures of batches that you agree to may go into a " a href="/study" { "study over the batches of many" } "; without a word of yours none does." }
        }
        details.card {
            summary.name { "Paste a batch document" }
            form method="post" action="/import" {
                p { label for="paste" { "The document, as TOML" } }
                textarea #paste name="text" rows="12" required {}
                p { button type="submit" { "Keep it as a batch" } }
            }
        }
    }
}

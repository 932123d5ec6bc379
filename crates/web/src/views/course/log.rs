//! Taking in a log: what its columns seem to hold, for a person to confirm, and what
//! became of its rows.

use std::collections::BTreeMap;

use app::{KeptLog, OpenBatch};
use batch::log::{Guess, Role};
use ferment::watch::Instrument;
use maud::{Markup, html};

use crate::page::Page;
use crate::views::bench::common::{row, table};
use crate::views::fields;

/// Everything that the page shows.
pub struct Sheet<'s> {
    pub open: &'s OpenBatch,
    /// What was typed, by field.
    pub typed: BTreeMap<String, String>,
    /// What is wrong, by field.
    pub wrong: Vec<(String, String)>,
    pub guess: Option<Guess>,
    pub kept: Option<KeptLog>,
}

impl<'s> Sheet<'s> {
    /// Before anything was sent.
    pub fn empty(open: &'s OpenBatch) -> Self {
        Self {
            open,
            typed: BTreeMap::new(),
            wrong: Vec::new(),
            guess: None,
            kept: None,
        }
    }

    pub fn typed(&self, field: &str) -> &str {
        self.typed.get(field).map_or("", String::as_str)
    }

    fn or<'a>(&'a self, field: &str, first: &'a str) -> &'a str {
        self.typed.get(field).map_or(first, String::as_str)
    }

    fn wrong(&self, field: &str) -> Option<&str> {
        let found = self.wrong.iter().find(|(at, _)| at == field);
        found.map(|(_, why)| why.as_str())
    }

    fn home(&self) -> String {
        format!("/batch/{}/course/log", self.open.id)
    }
}

pub fn page(sheet: &Sheet<'_>) -> Markup {
    Page::new(&sheet.open.name)
        .beside("a log")
        .link(
            format!("/batch/{}/course", sheet.open.id),
            "fermentation watched",
        )
        .render(&html! {
            div.hello {
                h2 { "Take in a log" }
                p { "A table with a line for each time. What each column may hold is shown first; nothing is kept before you confirm it." }
            }
            @if !sheet.wrong.is_empty() {
                div.trouble role="alert" {
                    p { strong { "Not kept. " } "What you gave is still there." }
                    ul.notes { @for (_, why) in &sheet.wrong { li { (why) } } }
                }
            }
            @if let Some(kept) = &sheet.kept { (told(sheet, kept)) } @else { (asked(sheet)) }
        })
}

fn asked(sheet: &Sheet<'_>) -> Markup {
    let fault = |field: &str| sheet.wrong(field).map(|_| "true");
    html! {
        form.reading method="post" action=(sheet.home()) enctype="multipart/form-data" {
            section.card {
                h3 { "The log" }
                p { label for="text" { "Paste the table" } }
                textarea #text name="text" rows=(if sheet.guess.is_some() { "5" } else { "12" }) spellcheck="false"
                    aria-invalid=[fault("text")] { (sheet.typed("text")) }
                div.field.broad {
                    label for="file" { "or choose a file: text or CSV, up to 4 MB" }
                    input #file name="file" type="file" accept=".txt,.csv,.tsv,text/plain,text/csv" aria-invalid=[fault("file")];
                }
                p { button.main[sheet.guess.is_none()] type="submit" name="do" value="look" { "Look at it" } }
            }
            @if let Some(guess) = &sheet.guess { (columns(sheet, guess)) }
        }
    }
}

fn columns(sheet: &Sheet<'_>, guess: &Guess) -> Markup {
    let pitched = sheet.open.written.get("fermentation.pitched");
    let start = sheet.or("start", pitched.map_or("", String::as_str));
    let kind = sheet.or("instrument", Instrument::Float.word());
    html! {
        section.card data-part="columns" {
            h3 { "What its columns seem to hold" }
            div.wide tabindex="0" role="region" aria-label="the columns" {
                table {
                    caption { "column by column" }
                    thead { tr { th scope="col" { "column" } th scope="col" { "holds" } th scope="col" { "why" } th scope="col" { "as in" } } }
                    tbody {
                        @for (n, column) in guess.columns.iter().enumerate() {
                            @let name = format!("column.{n}");
                            @let label = if column.header.is_empty() { format!("column {}", n + 1) } else { column.header.clone() };
                            tr {
                                th scope="row" { (label) }
                                td { (roles(&name, &label, sheet.or(&name, &column.role.to_string()))) }
                                td { (column.why) }
                                td { (column.sample.join(", ")) }
                            }
                        }
                    }
                }
            }
            @if !guess.questions.is_empty() {
                ul.notes { @for question in &guess.questions { li.look { (question) } } }
            }
            div.field {
                label for="instrument" { "The instrument is a" }
                select #instrument name="instrument" {
                    @for one in Instrument::ALL { option value=(one.word()) selected[one.word() == kind] { (one.word()) } }
                }
            }
            (fields::text("name", "Its name, if there are several", sheet.typed("name"), "of tank 2", sheet.wrong("name")))
            (fields::text("start", "The start, if times count from one", start, "2026-03-14T09:00:00Z", sheet.wrong("start")))
            (fields::text("offset", "Its clock, if times have no offset", sheet.typed("offset"), "+01:00", sheet.wrong("offset")))
            p { button.main type="submit" name="do" value="keep" { "The columns are right: keep it" } }
        }
    }
}

fn roles(name: &str, label: &str, now: &str) -> Markup {
    html! {
        select name=(name) aria-label=(format!("{label} holds")) {
            @for role in Role::all() {
                @let word = role.to_string();
                option value=(word) selected[word == now] { (word) }
            }
        }
    }
}

fn told(sheet: &Sheet<'_>, kept: &KeptLog) -> Markup {
    html! {
        section.card data-part="kept" {
            h3 { "Kept" }
            (table("what became of it", &[
                row("rows", kept.rows.to_string()),
                row("readings", kept.readings.to_string()),
                row("new", kept.added.to_string()),
                row("there before", kept.already.to_string()),
                row("another value at that time, not kept", kept.contradictions.to_string()),
                row("rows with what cannot be read", kept.refusals.to_string()),
                row("times that the clock went back", kept.clock_went_back.to_string()),
            ]))
            @if !kept.refused.is_empty() || !kept.contradicted.is_empty() {
                ul.notes {
                    @for (n, why) in kept.refused.iter().take(20) { li.look { "row " (n) ": " (why) } }
                    @for said in kept.contradicted.iter().take(20) { li.look { (said) } }
                }
            }
            p { a.button.main href=(format!("/batch/{}/course", sheet.open.id)) { "See the course" } }
        }
    }
}

//! Forms that add to the log.

use batch::log::{Guess, Role, What};
use maud::{Markup, html};

use super::Desk;
use crate::views::fields;

pub fn by_hand(desk: &Desk<'_>) -> Markup {
    let asked = desk.asked;
    html! {
        section.card.no-print aria-labelledby="hand-title" {
            h2 #hand-title { "A reading by hand" }
            form method="post" action=(format!("{}/enter", desk.home())) {
                div.field {
                    label for="what" { "What was read" }
                    select #what name="what" {
                        @for what in What::ALL { option value=(what.word()) selected[asked.typed("what") == what.word()] { (what.word()) } }
                    }
                }
                (fields::text("reading", "Reading", asked.typed("reading"), "1.020", asked.wrong_at("reading")))
                (fields::text("at", "When (UTC), empty for now", asked.typed("at"), "2026-03-16T18:30:00Z", asked.wrong_at("at")))
                (fields::text("instrument", "Instrument", asked.typed("instrument"), "by hand", asked.wrong_at("instrument")))
                p { button.main type="submit" { "Keep the reading" } }
            }
        }
    }
}

pub fn upload(desk: &Desk<'_>) -> Markup {
    let wrong = desk.asked.wrong_at("text");
    html! {
        section.card.no-print aria-labelledby="upload-title" {
            h2 #upload-title { "The file of a logger" }
            p.small { "A table (CSV) or a SenML pack. What each column holds is shown first, for you to confirm." }
            form method="post" action=(desk.home()) enctype="multipart/form-data" {
                div.field.broad {
                    label for="file" { "File" }
                    input #file name="file" type="file" accept=".csv,.tsv,.txt,.json,text/csv,application/json";
                }
                p { label for="text" { "or paste it" } }
                textarea #text name="text" rows="5" spellcheck="false" aria-invalid=[wrong.map(|_| "true")]
                    aria-describedby=[wrong.map(|_| "text-fault")] { (desk.asked.typed.get("text").map_or("", String::as_str)) }
                @if let Some(why) = wrong { p.fault #text-fault { (why) } }
                p { button.main type="submit" name="do" value="look" { "Look at it" } }
            }
        }
    }
}

/// The columns as they seem to be, each to be confirmed or set right.
pub fn columns(desk: &Desk<'_>) -> Markup {
    let asked = desk.asked;
    let Some(guess) = &asked.guess else {
        return html! {};
    };
    let roles: Vec<String> = Role::all().iter().map(ToString::to_string).collect();
    html! {
        section.card.log-page.no-print aria-labelledby="columns-title" {
            h2 #columns-title { "What the columns hold" }
            p.small { "Confirm each, or choose what it holds; " em { "skip" } " leaves a column out. Nothing is kept before you say so." }
            @if !guess.questions.is_empty() {
                ul.notes { @for question in &guess.questions { li.look { (question) } } }
            }
            @if let Some(why) = asked.wrong_at("columns") { p.fault role="alert" { (why) } }
            form method="post" action=(desk.home()) enctype="multipart/form-data" {
                input type="hidden" name="name" value=(asked.typed("name"));
                textarea.hidden name="text" aria-label="the table" tabindex="-1" readonly { (asked.typed.get("text").map_or("", String::as_str)) }
                ol.columns { @for n in 0..guess.columns.len() { (column(desk, guess, n, &roles)) } }
                (settings(desk, guess))
                p.save {
                    button.main type="submit" name="do" value="keep" { "Keep it so" }
                    a href=(desk.home()) { "leave it" }
                }
            }
        }
    }
}

fn column(desk: &Desk<'_>, guess: &Guess, n: usize, roles: &[String]) -> Markup {
    let Some(column) = guess.columns.get(n) else {
        return html! {};
    };
    let field = format!("column.{n}");
    let id = format!("column-{n}");
    let seems = column.role.to_string();
    let taken = match desk.asked.typed(&field) {
        "" => seems.as_str(),
        typed => typed,
    };
    let name = if column.header.is_empty() {
        format!("Column {}", n + 1)
    } else {
        column.header.clone()
    };
    html! {
        li.field {
            label for=(id) { (name) }
            select id=(id) name=(field) { @for role in roles { option value=(role) selected[role == taken] { (role) } } }
            p.hint { (column.why) @if !column.sample.is_empty() { ", as in " (column.sample.join(", ")) } }
        }
    }
}

/// What no column says.
fn settings(desk: &Desk<'_>, guess: &Guess) -> Markup {
    let asked = desk.asked;
    let counts = guess
        .columns
        .iter()
        .any(|c| matches!(c.role, Role::Since(_)));
    let (start, offset) = (asked.wrong_at("start"), asked.wrong_at("offset"));
    html! {
        (fields::text("instrument", "Instrument, where no column names it", asked.typed("instrument"), "log", asked.wrong_at("instrument")))
        @if counts || start.is_some() {
            (fields::text("start", "The start (UTC)", asked.typed("start"), "2026-03-14T09:00:00Z", start))
        }
        (fields::text("offset", "How far its clock was from UTC, where the times do not say", asked.typed("offset"), "+01:00", offset))
    }
}

//! The small tools beside the kettle: one card each.

use std::collections::BTreeMap;

use app::{Choice, Empty, Field, Line, Measurement, Tool, tools};
use batch::Fault;
use maud::{Markup, html};

use super::bench::common::caution;
use crate::page::Page;

/// A tool that was asked, with what was typed.
pub struct Asked<'a> {
    pub tool: &'static Tool,
    pub typed: &'a BTreeMap<String, String>,
    /// What it found; nothing while a reading is still missing.
    pub answer: Option<&'a Result<Measurement, Vec<Fault>>>,
}

pub fn page(asked: Option<&Asked<'_>>) -> Markup {
    Page::new("Measure").render(&html! {
        div.hello {
            p {
                "Write a reading with its unit, and its ± where you know it: 1.048 ± 0.001. "
                "The address of the page keeps what you typed."
            }
            p.save { @for tool in tools() { a href=(format!("#{}", tool.key)) { (tool.title) } } }
        }
        div.measures {
            @for tool in tools() {
                (card(tool, asked.filter(|a| a.tool.key == tool.key)))
            }
        }
    })
}

fn card(tool: &Tool, asked: Option<&Asked<'_>>) -> Markup {
    let at = format!("#{}", tool.key);
    html! {
        section.card.measure id=(tool.key) aria-labelledby=(format!("{}-title", tool.key)) {
            h2 id=(format!("{}-title", tool.key)) { (tool.title) }
            p.small { (tool.about) }
            // A later change takes the place of one on its way, whose answer would empty the
            // fields that it does not know.
            form method="get" action=(format!("/measure{at}"))
                hx-get="/measure" hx-trigger="change" hx-sync="this:replace" hx-target=(at) hx-select=(at) hx-swap="outerMorph" hx-replace-url="true" {
                input type="hidden" name="tool" value=(tool.key);
                @for field in tool.fields { (input(tool, field, asked)) }
                p { button.main type="submit" { "Read it" } }
            }
            (answer(tool, asked))
        }
    }
}

fn input(tool: &Tool, field: &Field, asked: Option<&Asked<'_>>) -> Markup {
    let id = format!("{}-{}", tool.key, field.name);
    let hint = format!("{id}-hint");
    let fault = format!("{id}-fault");
    let typed = asked.and_then(|a| a.typed.get(field.name));
    let faults: Vec<&Fault> = faults(asked)
        .iter()
        .filter(|f| f.path == field.name)
        .collect();
    let faulty = !faults.is_empty();
    let described = if faulty {
        format!("{hint} {fault}")
    } else {
        hint.clone()
    };
    html! {
        div.field {
            label for=(id) { (field.label) }
            @if let Some(choices) = field.choices {
                (choice(field, &id, &described, faulty, &choices(), typed.map_or("", String::as_str)))
            } @else {
                input id=(id) name=(field.name) type="text" value=(typed.map_or("", String::as_str))
                    autocomplete="off" spellcheck="false" autocapitalize="off"
                    aria-invalid=[faulty.then_some("true")] aria-describedby=(described);
            }
            p.hint id=(hint) {
                @match field.empty {
                    _ if field.choices.is_some() => {},
                    Empty::Refused => { "as in " (field.example) },
                    Empty::Usual(usual) => { "left empty: " (usual) },
                    Empty::Without(words) => { "as in " (field.example) "; left empty: " (words) },
                }
            }
            @if faulty {
                p.fault id=(fault) { @for f in &faults { (f.message) "; " (f.help) " " } }
            }
        }
    }
}

/// A field of words; what is none of them stays beside them until another is taken.
fn choice(
    field: &Field,
    id: &str,
    described: &str,
    faulty: bool,
    choices: &[Choice],
    typed: &str,
) -> Markup {
    let typed = typed.trim();
    let taken = match (typed.is_empty(), field.empty) {
        (true, Empty::Usual(usual)) => usual,
        _ => typed,
    };
    html! {
        select id=(id) name=(field.name) aria-invalid=[faulty.then_some("true")] aria-describedby=(described) {
            @if !choices.iter().any(|c| c.word == taken) { option value=(taken) selected { (taken) } }
            @for c in choices { option value=(c.word) selected[c.word == taken] { (c.label) } }
        }
    }
}

fn faults<'a>(asked: Option<&'a Asked<'_>>) -> &'a [Fault] {
    match asked.and_then(|a| a.answer) {
        Some(Err(faults)) => faults,
        _ => &[],
    }
}

fn answer(tool: &Tool, asked: Option<&Asked<'_>>) -> Markup {
    let known = |f: &&Fault| !tool.fields.iter().any(|field| field.name == f.path);
    html! {
        div.answer aria-live="polite" {
            @match asked.and_then(|a| a.answer) {
                None => {},
                Some(Err(faults)) => {
                    p.trouble { "It cannot be read as it is: see the field that is marked." }
                    @for fault in faults.iter().filter(known) { p.trouble { (fault) } }
                },
                Some(Ok(found)) => (figures(found)),
            }
        }
    }
}

fn figures(found: &Measurement) -> Markup {
    html! {
        @for line in found.lines.iter().filter(|l| l.main) {
            p.found { span { (line.label) } " " strong { (line.text) } }
            @if let Some(colour) = &line.colour {
                svg.glass role="img" viewBox="0 0 48 20" aria-label={ "drawn as " (colour) } {
                    rect width="48" height="20" rx="3" fill=(colour) {}
                }
            }
            @if let Some(remark) = line.remark { p.small.quiet { (remark) } }
        }
        dl.figures {
            @for line in found.lines.iter().filter(|l| !l.main) { (row(line)) }
        }
        @if !found.notes.is_empty() {
            ul.notes {
                @for note in &found.notes { li class=(note.weight.word()) { (note.text) } }
            }
        }
        @for c in &found.cautions { (caution(*c)) }
    }
}

fn row(line: &Line) -> Markup {
    html! {
        div {
            dt { (line.label) @if let Some(remark) = line.remark { br; small { (remark) } } }
            dd { (line.text) }
        }
    }
}

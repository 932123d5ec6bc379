//! The instruments of the brewhouses: what their checks come to, and forms for more.

use app::{BatchRow, InstrumentRecord};
use batch::library::InstrumentKind;
use maud::{Markup, html};
use quantity::Units;

use super::fields;
use crate::page::Page;

/// The page, and what was typed into it.
pub struct Desk<'d> {
    pub records: &'d [InstrumentRecord],
    pub brewhouses: &'d [BatchRow],
    pub typed: &'d [(String, String)],
    /// What is wrong, by field.
    pub wrong: &'d [(String, String)],
    pub units: Units,
}

impl Desk<'_> {
    fn typed(&self, name: &str) -> &str {
        let found = self.typed.iter().find(|(key, _)| key == name);
        found.map_or("", |(_, text)| text.as_str())
    }

    fn wrong(&self, name: &str) -> Option<&str> {
        let found = self.wrong.iter().find(|(key, _)| key == name);
        found.map(|(_, why)| why.as_str())
    }

    fn text(&self, name: &str, label: &str, such_as: &str) -> Markup {
        fields::text(name, label, self.typed(name), such_as, self.wrong(name))
    }
}

pub fn page(desk: &Desk<'_>) -> Markup {
    Page::new("Instruments").render(&html! {
        div.hello {
            p {
                "A figure is no better than what read it. Check each instrument against something known, keep the check here, "
                "and readings that name the instrument are set right by it."
            }
            p.save {
                a href="/measure#thermometer-check" { "ice and boil" }
                a href="/measure#hydrometer-check" { "a hydrometer in water" }
                a href="/measure#electrode" { "a pH electrode" }
                a href="/measure#agree" { "two that disagree" }
            }
        }
        @if !desk.wrong.is_empty() {
            div.trouble role="alert" {
                p { strong { "Not kept yet. What you typed is still in its field." } }
                ul.notes { @for (_, why) in desk.wrong { li { (why) } } }
            }
        }
        (due(desk))
        (kept(desk))
        div.choices { (check(desk)) (add(desk)) }
    })
}

/// Those whose checks hold no longer, before all others.
fn due(desk: &Desk<'_>) -> Markup {
    let due: Vec<&InstrumentRecord> = desk.records.iter().filter(|r| r.lapsed()).collect();
    html! {
        @if !due.is_empty() {
            section.card aria-labelledby="due" {
                h2 #due { span.sign.act { b { "act" } } " Due for a check" }
                ul.notes { @for record in due { @if let Some(why) = record.told(desk.units).due { li { strong { (record.instrument.name) } ": " (why) } } } }
            }
        }
    }
}

fn kept(desk: &Desk<'_>) -> Markup {
    html! {
        section.card aria-labelledby="kept" {
            h2 #kept { "What you keep" }
            @if desk.records.is_empty() { p { "No instrument yet." } }
            @for record in desk.records {
                @let told = record.told(desk.units);
                article.instrument {
                    h3 { (record.instrument.name) }
                    p.small.quiet {
                        (record.instrument.kind.word()) ", " a href=(format!("/brewhouses/{}", record.home)) { (record.brewhouse) }
                        @if let Some(until) = &record.instrument.valid_until { ", its checks hold until " (until) }
                    }
                    @if let Some(due) = told.due.as_ref().filter(|_| !record.lapsed()) { p.small { span.sign.look { b { "look" } } " " (due) } }
                    p { strong { (told.correction) } }
                    @if !told.checks.is_empty() { ul.small { @for check in &told.checks { li { (check) } } } }
                    @if !told.notes.is_empty() { ul.notes { @for note in &told.notes { li { (note) } } } }
                }
            }
        }
    }
}

fn check(desk: &Desk<'_>) -> Markup {
    html! {
        section.card aria-labelledby="check-title" {
            h2 #check-title { "Keep a check" }
            @if desk.records.is_empty() { p.small { "Keep the instrument first." } } @else {
                form method="post" action="/instruments/check" {
                    div.field {
                        label for="of" { "Instrument" }
                        select #of name="of" aria-invalid=[desk.wrong("of").map(|_| "true")] {
                            @for record in desk.records {
                                option value=(record.instrument.name) selected[desk.typed("of") == record.instrument.name] { (record.instrument.name) }
                            }
                        }
                        @if let Some(why) = desk.wrong("of") { p.fault { (why) } }
                    }
                    (desk.text("reference", "What it was, with its ±", "0 ± 0.05 °C"))
                    (desk.text("read", "What it read", "0.4 °C"))
                    (desk.text("day", "Day", "2027-03-14"))
                    p { button.main type="submit" { "Keep the check" } }
                }
            }
        }
    }
}

fn add(desk: &Desk<'_>) -> Markup {
    html! {
        section.card aria-labelledby="add-title" {
            h2 #add-title { "Keep an instrument" }
            @if desk.brewhouses.is_empty() {
                p { "An instrument is kept with a brewhouse: " a href="/brewhouses" { "keep yours" } " first." }
            } @else {
                form method="post" action="/instruments" {
                    (desk.text("name", "Name, as readings name it", "cellar"))
                    div.field {
                        label for="kind" { "What it is" }
                        select #kind name="kind" {
                            @for kind in InstrumentKind::ALL { option value=(kind.word()) selected[desk.typed("kind") == kind.word()] { (kind.word()) } }
                        }
                    }
                    div.field {
                        label for="brewhouse" { "Brewhouse" }
                        select #brewhouse name="brewhouse" aria-invalid=[desk.wrong("brewhouse").map(|_| "true")] {
                            @for row in desk.brewhouses { option value=(row.name) selected[desk.typed("brewhouse") == row.name] { (row.name) } }
                        }
                        @if let Some(why) = desk.wrong("brewhouse") { p.fault { (why) } }
                    }
                    (desk.text("stem", "Temperature on the stem of a hydrometer", "20 °C"))
                    (desk.text("spread", "How well it is read", "0.2 °C, 0.001 SG or 0.05"))
                    (desk.text("valid_until", "Its checks hold until", "2027-09-14"))
                    (desk.text("set_to", "pH meter without temperature compensation: set to", "25 °C"))
                    p { button.main type="submit" { "Keep the instrument" } }
                }
            }
        }
    }
}

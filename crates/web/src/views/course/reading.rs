//! A reading taken by hand, and when the yeast was pitched.

use batch::log::What;
use ferment::watch::Instrument;
use maud::{Markup, html};

use super::Desk;
use crate::views::fields;

pub fn form(desk: &Desk<'_>) -> Markup {
    let typed = desk.typed;
    let field = |name: &str, label: &str, value: &str, such_as: &str| {
        fields::text(name, label, value, such_as, desk.wrong(name).as_deref())
    };
    html! {
        form.card.read data-part="reading" method="post" action=(format!("{}/reading", desk.home())) {
            h3 { "What you read" }
            div.field {
                label for="what" { "What" }
                select #what name="what" {
                    @for what in What::ALL {
                        option value=(what.word()) selected[what.word() == typed.what] { (label(what)) }
                    }
                }
            }
            (field("reading", "Reading", &typed.reading, "1.020"))
            div.field {
                label for="instrument" { "With, if a gravity" }
                select #instrument name="instrument" {
                    @for kind in Instrument::ALL {
                        option value=(kind.word()) selected[kind.word() == typed.instrument] { (kind.word()) }
                    }
                }
            }
            (field("at", "When, if not now", &typed.at, "4.5 d"))
            p.small.quiet {
                "A moment such as 2026-03-16T18:30:00Z, or how long after pitching. With a refractometer write what it shows: the alcohol is taken off here."
            }
            p { button.main type="submit" { "Keep this reading" } }
            p { a.alone href=(format!("/batch/{}/log", desk.open.id)) { "Take in the log of an instrument" } }
        }
    }
}

fn label(what: What) -> &'static str {
    match what {
        What::Gravity => "gravity",
        What::Temperature => "temperature of the beer",
        What::Surroundings => "temperature around it",
        What::Ph => "pH",
        What::Pressure => "pressure above it",
    }
}

pub fn pitched(desk: &Desk<'_>) -> Markup {
    html! {
        form.card data-part="pitched" method="post" action=(format!("{}/keep", desk.home())) {
            h3 { "When the yeast was pitched" }
            (desk.revision())
            (desk.form().field("fermentation.pitched", "Pitched at"))
            p.small.quiet { "Such as 2026-03-14T15:00:00+01:00. All times count from it; while it is empty, from the first reading." }
            p { button type="submit" { "Keep this" } }
        }
    }
}

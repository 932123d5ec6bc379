//! The brew day: what was read against the plan, what can be done, the run-off.

mod kept;
mod lauter;
mod stands;
mod ways;

use app::OpenBatch;
use batch::Reckoning;
use batch::brew_day::{Corrections, Lautering, TypedReading};
use batch::liquor::Wrong;
use maud::{Markup, html};
use quantity::Units;

use crate::page::Page;
use crate::views::charts;
use crate::views::fields::text;

pub use lauter::chart;

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub reckoning: &'d Reckoning,
    /// What is typed in the form.
    pub typed: &'d TypedReading,
    /// What is wrong in it.
    pub wrong: &'d [Wrong],
    /// What can be done, or why that cannot be said.
    pub found: &'d Result<Corrections, String>,
    /// The run-off; none without grain.
    pub lautering: Option<&'d Lautering>,
    pub units: Units,
    /// Whether the batch has moved on since the form was made.
    pub late: bool,
}

impl Desk<'_> {
    fn home(&self) -> String {
        format!("/batch/{}/brew-day", self.open.id)
    }

    fn revision(&self) -> Markup {
        html! { input type="hidden" name="on" value=(self.open.revision); }
    }

    fn wrong(&self, field: &str) -> Option<&str> {
        let wrong = self.wrong.iter().find(|w| w.field == field);
        wrong.map(|w| w.message.as_str())
    }
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    let id = desk.open.id;
    frame(desk.open).render(&html! {
        div.hello {
            h2 { "Brew day" }
            p { "Read volume and gravity where the plan has them. The rest of the batch follows what you read, and what would bring it back is set side by side." }
        }
        @if desk.late {
            div.trouble role="alert" {
                p { strong { "Not kept. " } "The batch has changed since; this is how it stands now." }
            }
        }
        section.bench.brew-day aria-label="brew day" {
            div {
                (form(desk))
                (kept::card(desk))
            }
            div {
                @match desk.found {
                    Ok(found) => {
                        (stands::card(desk, found))
                        (ways::card(desk, found))
                    },
                    Err(why) => { div.trouble role="alert" { p { strong { "This cannot be followed. " } (why) } } },
                }
                @if let Some(lautering) = desk.lautering { (lauter::card(lautering, id, desk.units)) }
                (charts::shown("volumes", desk.reckoning, id, desk.units))
            }
        }
    })
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).unread(open.id, "its brew day can be followed.")
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(format!("/batch/{}?bench=boil", open.id), "boil bench")
        .link(format!("/batch/{}/sheet", open.id), "brew-day sheet")
}

fn form(desk: &Desk<'_>) -> Markup {
    let typed = desk.typed;
    html! {
        form.card.read method="post" action=(desk.home()) {
            h3 { "What you read" }
            (desk.revision())
            div.field {
                label for="at" { "Where" }
                select #at name="at" aria-invalid=[desk.wrong("at").map(|_| "true")] {
                    @for place in TypedReading::places() {
                        option value=(place) selected[*place == typed.at] { (place) }
                    }
                }
                @if let Some(wrong) = desk.wrong("at") { p.fault { (wrong) } }
            }
            (text("after", "In the boil: how long after it began", &typed.after, "30 min", desk.wrong("after")))
            div.pair {
                (text("volume", "Volume", &typed.volume, "27.5 L", desk.wrong("volume")))
                (text("volume_at", "of wort at", &typed.volume_at, "95 °C", desk.wrong("volume_at")))
            }
            div.pair {
                (text("gravity", "Gravity", &typed.gravity, "1.047", desk.wrong("gravity")))
                (text("gravity_at", "of a sample at", &typed.gravity_at, "20 °C", desk.wrong("gravity_at")))
            }
            p.small.quiet { "One of the two will do. Write ± behind a figure if you know how well it reads." }
            p { button.main type="submit" { "Keep this reading" } }
        }
    }
}

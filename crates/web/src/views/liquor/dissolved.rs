//! What is dissolved in a water as what: the question beside the answer, and the card
//! of the water bench.

mod answer;
mod card;
mod curves;

use app::OpenBatch;
use batch::Reckoning;
use batch::liquor::dissolved::{Dissolved, DissolvedError, Question, Sure, Which};
use maud::{Markup, html};
use quantity::Units;
use water::acids::products;

use crate::page::Page;
use crate::views::fields::text;

#[cfg(test)]
pub use card::KEYS;
pub use card::{card, intervals as card_intervals};
pub use curves::{acid as acid_curve, lime as lime_curve};

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub reckoning: &'d Reckoning,
    /// As it was asked.
    pub question: &'d Question,
    pub answer: &'d Result<Dissolved, DissolvedError>,
    /// How sure it is; none for a batch that cannot be drawn.
    pub sure: Option<&'d Sure>,
    pub units: Units,
    /// Whether the batch has moved on since the question was asked.
    pub late: bool,
}

impl Desk<'_> {
    fn home(&self) -> String {
        format!("/batch/{}/dissolved", self.open.id)
    }

    fn wrong(&self, field: &str) -> Option<&str> {
        let found = self.answer.as_ref().ok()?;
        let wrong = found.wrong.iter().find(|w| w.field == field);
        wrong.map(|w| w.message.as_str())
    }
}

/// The question of an address.
pub fn question(pairs: &[(String, String)]) -> Question {
    let value = |name: &str| {
        let found = pairs.iter().find(|(key, _)| key == name);
        found.map_or(String::new(), |(_, value)| value.trim().to_owned())
    };
    Question {
        of: value("of"),
        temperature: value("temperature"),
        acid: value("acid"),
        to: value("to"),
        volume: value("volume"),
        lime: value("lime"),
    }
}

/// A question as the fields of a form.
fn pairs(question: &Question) -> impl Iterator<Item = (&'static str, &str)> {
    [
        ("of", question.of.as_str()),
        ("temperature", &question.temperature),
        ("acid", &question.acid),
        ("to", &question.to),
        ("volume", &question.volume),
        ("lime", &question.lime),
    ]
    .into_iter()
    .filter(|(_, value)| !value.is_empty())
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    frame(desk.open).render(&html! {
        div.hello {
            h2 { "What is dissolved as what" }
            p {
                "The chemistry of the batch's waters: what their ions pair to, what heat, air, a boil and lime do, "
                "and how much acid brings one where it should be. The address of the page keeps what you asked."
            }
        }
        @if desk.late {
            div.trouble role="alert" {
                p { strong { "Not taken. " } "The batch has changed since; this is the answer for it as it is now." }
            }
        }
        section.bench.dissolved aria-label="what is dissolved" {
            (form(desk))
            div #dissolved aria-live="polite" {
                @match desk.answer {
                    Ok(found) => (answer::shown(desk, found)),
                    Err(error) => {
                        div.trouble role="alert" { p { strong { "This water cannot be reckoned. " } (error) "." } }
                    },
                }
            }
        }
    })
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).unread(open.id, "its waters can be looked into.")
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(format!("/batch/{}?bench=water", open.id), "water bench")
}

fn form(desk: &Desk<'_>) -> Markup {
    let usual = Question::default();
    let usual = Question {
        of: desk.question.of.clone(),
        ..usual
    }
    .filled(desk.reckoning);
    let asked = desk.question;
    let acid = if asked.acid.is_empty() {
        &usual.acid
    } else {
        &asked.acid
    };
    html! {
        form.card method="get" action=(desk.home()) hx-get=(desk.home()) hx-trigger="change, submit"
            hx-target="#dissolved" hx-select="#dissolved" hx-swap="outerMorph" hx-replace-url="true" hx-sync="this:replace" {
            fieldset {
                legend { "Which water" }
                (waters(desk))
                (text("temperature", "Heated to", &asked.temperature, "the strike", desk.wrong("temperature")))
            }
            fieldset {
                legend { "Acid" }
                div.field {
                    label for="acid" { "Acid" }
                    select #acid name="acid" aria-invalid=[desk.wrong("acid").map(|_| "true")] {
                        @for product in products() {
                            option value=(product.name) selected[product.name == *acid] { (product.name) }
                        }
                    }
                    @if let Some(wrong) = desk.wrong("acid") { p.fault { (wrong) } }
                }
                (text("to", "To a pH or alkalinity", &asked.to, &usual.to, desk.wrong("to")))
                (text("volume", "For how much water", &asked.volume, &usual.volume, desk.wrong("volume")))
            }
            fieldset {
                legend { "Lime" }
                (text("lime", "Slaked lime in a litre", &asked.lime, "as practice doses", desk.wrong("lime")))
            }
            p { button.main type="submit" { "Reckon" } }
        }
    }
}

fn waters(desk: &Desk<'_>) -> Markup {
    let asked = match desk.answer {
        Ok(found) => found.of,
        Err(_) => Which::Tap,
    };
    html! {
        div.field.broad {
            label for="of" { "Water" }
            select #of name="of" aria-invalid=[desk.wrong("of").map(|_| "true")] {
                @for which in Which::all(desk.reckoning) {
                    @let key = which.key();
                    option value=(key) selected[which == asked || key == desk.question.of] { (which.name(desk.reckoning)) }
                }
            }
            @if let Some(wrong) = desk.wrong("of") { p.fault { (wrong) } }
        }
    }
}

/// A formula as it is written on paper: "Ca+2" is Ca²⁺, "CaHCO3+" is CaHCO₃⁺.
fn formula(name: &str) -> String {
    let (body, charge) = match name.find(['+', '-']) {
        Some(at) if !name.contains(' ') => name.split_at(at),
        _ => (name, ""),
    };
    if body.contains(' ') {
        return name.to_owned();
    }
    let digit = |c: char, zero: u32| {
        c.to_digit(10)
            .and_then(|d| char::from_u32(zero + d))
            .unwrap_or(c)
    };
    let below = body.chars().map(|c| digit(c, 0x2080));
    let (sign, number) = charge.split_at(charge.len().min(1));
    let above = number.chars().map(|c| match c {
        '1' => '¹',
        '2' => '²',
        '3' => '³',
        c => digit(c, 0x2070),
    });
    let sign = match sign {
        "+" => "⁺",
        "-" => "⁻",
        _ => "",
    };
    below.chain(above).chain(sign.chars()).collect()
}

#[cfg(test)]
mod tests {
    use super::formula;

    #[test]
    fn formulas_are_written_as_on_paper() {
        for (name, paper) in [
            ("Ca+2", "Ca²⁺"),
            ("CaHCO3+", "CaHCO₃⁺"),
            ("HCO3-", "HCO₃⁻"),
            ("PO4-3", "PO₄³⁻"),
            ("CO2", "CO₂"),
            ("(CO2)2", "(CO₂)₂"),
            ("lactate-", "lactate⁻"),
            ("lactic acid", "lactic acid"),
        ] {
            assert_eq!(formula(name), paper);
        }
    }
}

//! Devices that send readings by themselves.

use std::collections::BTreeMap;

use app::BatchRow;
use maud::{Markup, html};
use store::{Device, DocumentId, NewDevice};

use super::history::time;
use crate::page::Page;

/// The page, and what was typed into it.
pub struct Desk<'d> {
    pub devices: &'d [Device],
    /// The names of the batches that are sent to.
    pub names: &'d BTreeMap<DocumentId, String>,
    /// Those that a device can send to.
    pub batches: &'d [BatchRow],
    pub name: &'d str,
    /// A field and what is wrong with it.
    pub wrong: Option<(&'d str, &'d str)>,
    /// A device that was just made, with its token.
    pub made: Option<&'d NewDevice>,
}

pub fn page(desk: &Desk<'_>) -> Markup {
    Page::new("Devices").render(&html! {
        div.hello {
            p {
                "A sensor in the cellar can send its readings by itself. Each has a token of its own, "
                "so that one that is lost or given away can be shut out without the others."
            }
        }
        @if let Some(made) = desk.made { (token(made)) }
        div.devices-page { (listed(desk)) (letting_in(desk)) }
    })
}

/// The one place where a token is ever shown.
fn token(made: &NewDevice) -> Markup {
    html! {
        section.card.token role="status" aria-labelledby="token-title" {
            h2 #token-title { "The token of " (made.device.name) }
            p { "It is shown this once. Copy it into the device now; a lost token cannot be found again." }
            p { code.secret { (made.token) } }
            details.why {
                summary { "How a device sends" }
                p { "It posts SenML (RFC 8428) to " code { "/api/readings" } " with the header "
                    code { "Authorization: Bearer" } " and its token. A device on the local network needs a door: start with "
                    code { "gyle serve --sensors ADDRESS:PORT" } ", which takes readings and nothing else." }
                pre.wide { code { "[{\"bn\":\"cellar-float/\",\"n\":\"sg\",\"u\":\"/\",\"v\":1.048},\n {\"n\":\"temperature\",\"u\":\"Cel\",\"v\":19.5}]" } }
                p { "Units: Cel, K, pH, Pa. Gravity has no unit of its own there: a name that ends in sg with the unit /, or in plato with %." }
                p { "What it sends travels unencrypted: use a network that you trust." }
            }
        }
    }
}

fn listed(desk: &Desk<'_>) -> Markup {
    html! {
        section.card aria-labelledby="devices-title" {
            h2 #devices-title { "Let in" }
            @if desk.devices.is_empty() { p { "No device sends readings yet." } }
            ul.devices {
                @for device in desk.devices {
                    li.gone[device.revoked_at.is_some()] {
                        h3 { (device.name) }
                        dl.figures {
                            div { dt { "sends to" } dd {
                                a href=(format!("/batch/{}/log", device.batch)) {
                                    (desk.names.get(&device.batch).map_or("a batch", String::as_str))
                                }
                            } }
                            div { dt { "made (UTC)" } dd { (time(&device.made_at.to_string())) } }
                            div { dt { "last heard (UTC)" } dd {
                                (device.heard_at.map_or_else(|| "never".to_owned(), |at| time(&at.to_string())))
                            } }
                            @if let Some(at) = device.revoked_at {
                                div { dt { "revoked (UTC)" } dd { (time(&at.to_string())) } }
                            }
                        }
                        @if device.revoked_at.is_none() { (changes(desk, device)) }
                    }
                }
            }
        }
    }
}

fn changes(desk: &Desk<'_>, device: &Device) -> Markup {
    let select = format!("to-{}", device.id);
    html! {
        div.changes {
            form method="post" action=(format!("/devices/{}/move", device.id)) {
                label for=(select) { "Send to" }
                (choice(desk, &select, device.batch))
                button type="submit" aria-label=(format!("move {}", device.name)) { "Move" }
            }
            form method="post" action=(format!("/devices/{}/revoke", device.id)) {
                button type="submit" aria-label=(format!("revoke {}", device.name)) { "Revoke" }
            }
        }
        p.small.quiet { "Revoking shuts it out for good; what it sent stays." }
    }
}

fn choice(desk: &Desk<'_>, id: &str, chosen: DocumentId) -> Markup {
    let listed = desk.batches.iter().any(|row| row.id == chosen);
    html! {
        select id=(id) name="batch" {
            @if !listed { @if let Some(name) = desk.names.get(&chosen) { option value=(chosen) selected { (name) } } }
            @for row in desk.batches { option value=(row.id) selected[row.id == chosen] { (row.name) } }
        }
    }
}

fn letting_in(desk: &Desk<'_>) -> Markup {
    let wrong = |field: &str| {
        desk.wrong
            .filter(|(of, _)| *of == field)
            .map(|(_, why)| why)
    };
    html! {
        section.card aria-labelledby="add-title" {
            h2 #add-title { "Let a device in" }
            @if desk.batches.is_empty() {
                p { a href="/" { "Begin a batch" } " first: a device sends to one." }
            } @else {
                form method="post" action="/devices" {
                    (super::fields::text("name", "Name of the device", desk.name, "cellar-float", wrong("name")))
                    div.field {
                        label for="batch" { "It sends to" }
                        select #batch name="batch" aria-invalid=[wrong("batch").map(|_| "true")] {
                            @for row in desk.batches { option value=(row.id) { (row.name) } }
                        }
                        @if let Some(why) = wrong("batch") { p.fault { (why) } }
                    }
                    p { button.main type="submit" { "Make its token" } }
                }
            }
        }
    }
}

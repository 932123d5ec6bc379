//! The yeast to pitch: what is needed and at hand, ways to have enough, oxygen, and what
//! another start would do.

mod cases;
mod count;
mod kept;
mod need;
mod oxygen;
mod ways;

use std::collections::BTreeMap;

use app::OpenBatch;
use batch::pitch::Pitching;
use batch::{Fault, Reckoning};
use maud::{Markup, html};
use quantity::Units;

use crate::page::Page;
use crate::views::fields;

pub use count::COUNT_KEYS;
pub use ways::key_of;

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub reckoning: &'d Reckoning,
    /// The pitch, or why it cannot be said.
    pub found: &'d Result<Pitching, String>,
    /// What is typed in the forms.
    pub typed: &'d BTreeMap<String, String>,
    /// What is wrong in it.
    pub faults: &'d [Fault],
    pub units: Units,
    /// Whether the batch has moved on since the form was made.
    pub late: bool,
}

impl Desk<'_> {
    fn home(&self) -> String {
        format!("/batch/{}/pitch", self.open.id)
    }

    fn revision(&self) -> Markup {
        html! { input type="hidden" name="on" value=(self.open.revision); }
    }

    fn typed(&self, name: &str) -> Option<&str> {
        self.typed.get(name).map(String::as_str)
    }

    /// What is wrong at a field of the page or at the key of the document behind it.
    fn wrong(&self, name: &str) -> Option<&Fault> {
        let ends = format!(".{name}");
        let at = |f: &&Fault| f.path == name || f.path.ends_with(&ends);
        self.faults.iter().find(at)
    }

    /// What is wrong and has no field here.
    fn elsewhere(&self) -> impl Iterator<Item = &Fault> {
        let fields = count::FIELDS.iter().map(|f| f.name);
        let fields: Vec<&str> = fields
            .chain(["over", "dye", "starter_gravity", "vessel"])
            .collect();
        self.faults.iter().filter(move |fault| {
            let key = fault.path.rsplit('.').next().unwrap_or("");
            !fields.contains(&key)
        })
    }
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    frame(desk.open).render(&html! {
        div.hello {
            h2 { "Yeast to pitch" }
            p { "How many living cells the wort needs, how many there are, and what makes up the rest. A count under the microscope beats every rule." }
        }
        (told(desk))
        section.bench.brew-day.pitch aria-label="yeast to pitch" {
            div {
                @if let Ok(found) = desk.found { (need::card(found, desk.units)) }
                (kept::card(desk))
                @if let Ok(found) = desk.found { (ways::wish(desk, found)) }
                (count::form(desk))
            }
            div {
                @match desk.found {
                    Ok(found) => {
                        (ways::card(desk, found))
                        (cases::card(found, desk.units))
                        (oxygen::card(found, desk.units))
                    },
                    Err(why) => { div.trouble role="alert" { p { strong { "This cannot be pitched. " } (why) } } },
                }
            }
        }
    })
}

fn told(desk: &Desk<'_>) -> Markup {
    html! {
        @if desk.late {
            div.trouble role="alert" {
                p { strong { "Not kept. " } "The batch has changed since; this is how it stands now." }
            }
        }
        @if !desk.faults.is_empty() {
            div.trouble role="alert" {
                p { strong { "It cannot be read as it is. " } "What you typed is still there; see the field that is marked." }
                @for fault in desk.elsewhere() { p { (fault.message) "; " (fault.help) } }
            }
        }
    }
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).unread(open.id, "its pitch can be told.")
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(
            format!("/batch/{}?bench=ferment", open.id),
            "fermentation bench",
        )
        .link(format!("/batch/{}/steer", open.id), "steer the course")
        .link(format!("/batch/{}/sheet", open.id), "brew-day sheet")
}

/// A field of text with what is wrong in it.
fn text(desk: &Desk<'_>, name: &str, label: &str, value: &str, such_as: &str) -> Markup {
    let wrong = desk.wrong(name).map(fields::told);
    fields::text(name, label, value, such_as, wrong.as_deref())
}

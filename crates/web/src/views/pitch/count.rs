//! The form of a count in a chamber.

use batch::YeastForm;
use batch::edit::written_values;
use maud::{Markup, html};

use super::{Desk, text};

/// The keys of a count in the document.
pub const COUNT_KEYS: [&str; 8] = [
    "cells", "over", "squares", "dilution", "dead", "of", "dye", "since",
];

/// A field of text.
pub struct CountField {
    pub name: &'static str,
    label: &'static str,
    such_as: &'static str,
}

/// The fields of text.
pub const FIELDS: [CountField; 7] = [
    field("slurry", "Slurry, in all", "200 mL"),
    field("cells", "Cells counted, dead and living", "210"),
    field("squares", "How many", "5"),
    field("dilution", "Diluted 1 in", "100"),
    field("dead", "Stained: dead", "8"),
    field("of", "Looked at", "200"),
    field("since", "Counted how long ago", "0 d"),
];

const fn field(name: &'static str, label: &'static str, such_as: &'static str) -> CountField {
    CountField {
        name,
        label,
        such_as,
    }
}

pub fn form(desk: &Desk<'_>) -> Markup {
    let written = written_values(&desk.open.text).unwrap_or_default();
    let value = |name: &str| {
        let key = if name == "slurry" {
            "yeast.slurry".to_owned()
        } else {
            format!("yeast.count.{name}")
        };
        desk.typed(name)
            .or_else(|| written.get(&key).map(String::as_str))
            .unwrap_or("")
            .to_owned()
    };
    let input = |n: usize| {
        FIELDS
            .get(n)
            .map(|f| text(desk, f.name, f.label, &value(f.name), f.such_as))
    };
    let slurry = desk.reckoning.document.yeast.form == YeastForm::Slurry;
    let typed = desk.typed("cells").is_some();
    html! {
        details.card.read open[slurry || typed] data-part="count" {
            summary { h3 { "A count under the microscope" } }
            form method="post" action=(format!("{}/count", desk.home())) {
                (desk.revision())
                p.small.quiet { "Of slurry, in an improved Neubauer chamber. Count 200 cells or more, 20 to 50 over a group of small squares; dilute until it is so." }
                (input(0).unwrap_or_default())
                (input(1).unwrap_or_default())
                (choice("over", "Counted over", &value("over"), &["groups", "large squares"]))
                div.pair { (input(2).unwrap_or_default()) (input(3).unwrap_or_default()) }
                div.pair { (input(4).unwrap_or_default()) (input(5).unwrap_or_default()) }
                (choice("dye", "Dye", &value("dye"), &["methylene blue", "methylene violet"]))
                (input(6).unwrap_or_default())
                p { button.main type="submit" { "Keep this count" } }
            }
        }
    }
}

fn choice(name: &str, label: &str, now: &str, words: &[&str]) -> Markup {
    html! {
        div.field {
            label for=(name) { (label) }
            select id=(name) name=(name) {
                @for word in words { option value=(word) selected[*word == now] { (word) } }
            }
        }
    }
}

//! The card of the water bench.

use batch::Reckoning;
use batch::liquor::dissolved::{Glance, Which, saturation_words};
use maud::{Markup, html};
use quantity::{Units, show, show_interval};
use store::DocumentId;
use water::speciation::{Mineral, Speciated};

use super::answer::paired;
use crate::views::bench::common::{Row, row, table};

/// What is dissolved in the tap, at a glance.
pub fn card(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    html! {
        section.card data-part="dissolved" {
            h3 { "What is dissolved as what" }
            @match r.glance() {
                Ok(glance) => (glanced(&glance, &Which::Tap.name(r), units)),
                Err(error) => p { "It cannot be reckoned: " (error) "." },
            }
            p.no-print { a.button href=(format!("/batch/{id}/dissolved")) { "Look into the waters: acid, boil, lime" } }
        }
    }
}

fn glanced(glance: &Glance, name: &str, units: Units) -> Markup {
    let is = &glance.is;
    let mut drawn = vec![
        row("pH", show(is.ph, units)),
        row("bicarbonate, free", show(is.bicarbonate_mass(), units)),
        row("carbon dioxide", show(is.carbon_dioxide_mass(), units)),
        chalk("chalk", is),
    ];
    drawn.extend(paired(is, units));
    let boiled = &glance.boiled;
    let end = boiled.end_point.alkalinity();
    let mut treated = vec![];
    if let Some(strike) = &glance.strike {
        let label = format!("chalk at the strike, {}", show(strike.temperature, units));
        treated.push(chalk(label, strike));
    }
    treated.push(row(
        "alkalinity after a boil",
        show(boiled.alkalinity, units),
    ));
    treated.push(row("the least that a boil could leave", show(end, units)));
    if let Some(lime) = &glance.lime {
        let dose = show_interval(lime.recommended_low, lime.recommended_high, units);
        treated.push(row("slaked lime to take it out", dose));
    }
    html! {
        (table(&format!("{name}, {}", show(is.temperature, units)), &drawn))
        (table("what becomes of it", &treated))
        @for note in is.notes.iter().filter(|n| n.weight > quantity::Weight::Fine).take(1) {
            p.small.(note.weight.word()) { (note.text) }
        }
    }
}

fn chalk(label: impl Into<String>, is: &Speciated) -> Row {
    let words = is.saturation_of(Mineral::Calcite);
    row(
        label,
        words.map_or_else(|| "none of it".to_owned(), saturation_words),
    )
}

//! The card of the water bench.

use batch::Reckoning;
use batch::liquor::dissolved::{
    AS_IT_IS, BOILED_OFF, BOILED_TO_THE_END, Dissolved, Glance, HEATED, Sure, Which,
    saturation_between, saturation_words,
};
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
        row("pH", show(is.ph, units)).sure(PH),
        row("bicarbonate, free", show(is.bicarbonate_mass(), units)).sure(BICARBONATE),
        row("carbon dioxide", show(is.carbon_dioxide_mass(), units)).sure(CARBON_DIOXIDE),
        chalk("chalk", is).sure(CHALK),
    ];
    drawn.extend(paired(is, units));
    let boiled = &glance.boiled;
    let end = boiled.end_point.alkalinity();
    let mut treated = vec![];
    if let Some(strike) = &glance.strike {
        let label = format!("chalk at the strike, {}", show(strike.temperature, units));
        treated.push(chalk(label, strike).sure(HOT_CHALK));
    }
    treated.push(row("alkalinity after a boil", show(boiled.alkalinity, units)).sure(BOILED));
    treated.push(row("the least that a boil could leave", show(end, units)).sure(BOILED_OUT));
    if let Some(lime) = &glance.lime {
        let dose = show_interval(lime.recommended_low, lime.recommended_high, units);
        treated.push(
            row(
                "slaked lime by the formula",
                show(lime.stoichiometric, units),
            )
            .sure(LIME),
        );
        treated.push(row("of that, practice doses", dose));
    }
    html! {
        (table(&format!("{name}, {}", show(is.temperature, units)), &drawn))
        (table("what becomes of it", &treated))
        @for note in is.notes.iter().filter(|n| n.weight > quantity::Weight::Fine).take(1) {
            p.small.(note.weight.word()) { (note.text) }
        }
    }
}

/// The keys of the places for intervals.
#[cfg(test)]
pub const KEYS: [&str; 8] = [
    PH,
    BICARBONATE,
    CARBON_DIOXIDE,
    CHALK,
    HOT_CHALK,
    BOILED,
    BOILED_OUT,
    LIME,
];
const PH: &str = "tap_ph";
const BICARBONATE: &str = "tap_bicarbonate";
const CARBON_DIOXIDE: &str = "tap_carbon_dioxide";
const CHALK: &str = "tap_chalk";
const HOT_CHALK: &str = "strike_chalk";
const BOILED: &str = "boiled_alkalinity";
const BOILED_OUT: &str = "boiled_out_alkalinity";
const LIME: &str = "lime_by_formula";

/// The intervals of the card by the keys of their places; each is of the tap as it is asked
/// about with nothing else said.
pub fn intervals(
    r: &Reckoning,
    found: &Dissolved,
    sure: &Sure,
    units: Units,
) -> Vec<(&'static str, String)> {
    let states = found.states();
    let of = |name: &str| {
        let at = states.iter().position(|state| state.name == name)?;
        sure.states.get(at)
    };
    let is = of(AS_IT_IS);
    // Without a mash there is no strike to be heated for.
    let heated = r.mash.heat.as_ref().and_then(|_| of(HEATED));
    let alkalinity = |name| of(name).and_then(|s| s.alkalinity).map(|b| b.show(units));
    let all = [
        (PH, is.and_then(|s| s.ph).map(|b| b.show(units))),
        (BICARBONATE, sure.bicarbonate.map(|b| b.show(units))),
        (CARBON_DIOXIDE, sure.carbon_dioxide.map(|b| b.show(units))),
        (CHALK, is.and_then(|s| s.chalk).map(saturation_between)),
        (
            HOT_CHALK,
            heated.and_then(|s| s.chalk).map(saturation_between),
        ),
        (BOILED, alkalinity(BOILED_OFF)),
        (BOILED_OUT, alkalinity(BOILED_TO_THE_END)),
        (LIME, sure.lime.map(|b| b.show(units))),
    ];
    all.into_iter()
        .filter_map(|(key, interval)| Some((key, interval?)))
        .collect()
}

fn chalk(label: impl Into<String>, is: &Speciated) -> Row {
    let words = is.saturation_of(Mineral::Calcite);
    row(
        label,
        words.map_or_else(|| "none of it".to_owned(), saturation_words),
    )
}

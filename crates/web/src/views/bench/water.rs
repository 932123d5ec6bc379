//! The water bench.

use batch::Reckoning;
use maud::{Markup, html};
use quantity::{Caution, Units, show, show_measured};
use store::DocumentId;
use water::{Amount, Liquor};

use super::common::{caution, row, table};
use crate::views::charts;
use crate::views::form::Form;
use crate::views::liquor::dissolved;

pub fn inputs(form: &Form<'_>) -> Markup {
    let sources = form.entries("water.source");
    html! {
        fieldset {
            legend { "What comes from the tap" }
            @for n in 1..=sources { (source(form, n, sources)) }
            (form.adds("water.source", "Add a water"))
        }
        fieldset {
            legend { "Chlorine and chloramine" }
            (form.choice("water.treatment.way", "What is done"))
            (form.choice("water.treatment.reagent", "Reagent"))
            (form.field("water.treatment.purity", "Purity"))
            (form.field("water.treatment.excess", "Excess over the matched dose"))
            (form.field("water.treatment.dose", "Dose, if not matched"))
            (form.field("water.treatment.tablets", "Tablets, if counted"))
            (form.field("water.treatment.tablet_mass", "Active mass of a tablet"))
            (form.field("water.treatment.time", "Time, to stand, boil or blow air"))
            details.why open[form.fills("water.treatment.carbon_")] {
                summary { "activated carbon" }
                (form.field("water.treatment.carbon_volume", "Volume of the carbon"))
                (form.field("water.treatment.carbon_flow", "Flow"))
                (form.field("water.treatment.carbon_capacity", "Litres claimed"))
                (form.field("water.treatment.carbon_rated_flow", "At a flow of"))
                (form.choice("water.treatment.carbon_claim", "Claimed against"))
                (form.field("water.treatment.carbon_used", "Litres it has seen"))
            }
        }
        fieldset {
            legend { "Salts" }
            @for n in 1..=form.entries("water.salt") {
                @let at = format!("water.salt[{n}]");
                div.entry {
                    div.row { strong { (form.named(&format!("{at}.salt"), "a salt")) } (form.removes(&at, &format!("salt {n}"))) }
                    (form.choice(&format!("{at}.salt"), "Salt"))
                    (form.field(&format!("{at}.amount"), "Amount"))
                    (form.choice(&format!("{at}.into"), "Into"))
                }
            }
            (form.adds("water.salt", "Add a salt"))
        }
        fieldset {
            legend { "Acids" }
            @for n in 1..=form.entries("water.acid") {
                @let at = format!("water.acid[{n}]");
                div.entry {
                    div.row { strong { (form.named(&format!("{at}.acid"), "an acid")) } (form.removes(&at, &format!("acid {n}"))) }
                    (form.choice(&format!("{at}.acid"), "Acid"))
                    (form.field(&format!("{at}.volume"), "By volume"))
                    (form.field(&format!("{at}.mass"), "Or by mass"))
                    (form.choice(&format!("{at}.into"), "Into"))
                }
            }
            (form.adds("water.acid", "Add an acid"))
        }
    }
}

/// Keys that tell what a supply keeps.
const SUPPLY: [&str; 5] = [
    "disinfectant",
    "supplier_says",
    "chlorine_smell",
    "region",
    "ammonium",
];

fn source(form: &Form<'_>, n: usize, sources: usize) -> Markup {
    let at = |key: &str| format!("water.source[{n}].{key}");
    html! {
        div.entry {
            div.row {
                strong { (form.named(&at("name"), "a water")) }
                @if sources > 1 { (form.removes(&format!("water.source[{n}]"), &format!("water {n}"))) }
            }
            (form.field(&at("name"), "Name"))
            (form.field(&at("share"), "Share"))
            (form.field(&at("calcium"), "Calcium"))
            (form.field(&at("magnesium"), "Magnesium"))
            (form.field(&at("sodium"), "Sodium"))
            (form.field(&at("potassium"), "Potassium"))
            (form.field(&at("alkalinity"), "Alkalinity"))
            (form.field(&at("sulfate"), "Sulfate"))
            (form.field(&at("chloride"), "Chloride"))
            (form.field(&at("nitrate"), "Nitrate"))
            (form.field(&at("ph"), "pH"))
            (form.field(&at("temperature"), "Temperature"))
            (form.field(&at("total_chlorine"), "Total chlorine"))
            (form.field(&at("free_chlorine"), "Free chlorine"))
            details.why open[SUPPLY.iter().any(|key| form.fills(&at(key)))] {
                summary { "what the supply keeps" }
                (form.choice(&at("disinfectant"), "Disinfectant"))
                (form.words(&at("supplier_says"), "The supplier says"))
                (form.choice(&at("chlorine_smell"), "A glass of it smells of"))
                (form.choice(&at("region"), "Region"))
                (form.field(&at("ammonium"), "Ammonium"))
            }
        }
    }
}

pub fn results(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    let tap = &r.water.tap;
    let left = &r.water.mash.chlorine;
    html! {
        section.card {
            h3 { "What to do" }
            (steps(r, units))
            p.no-print { a.button href=(format!("/batch/{id}/minerals")) { "Find salts and acid for the aim" } }
            p.no-print { a.button href=(format!("/batch/{id}/waters")) { "Choose among the waters at hand" } }
            @for c in r.water.cautions.iter().filter(|c| !matches!(c, Caution::SulfiteLabel)) { (caution(*c)) }
        }
        section.card {
            h3 { "What it comes to" }
            (table("chlorine", &[
                row("total at the tap", show_measured(&tap.water.total_chlorine, units)),
                row("left at the mash, expected", show(left.total(), units)).sure("chlorine_left"),
                row("left at the mash, at most", show(left.at_most, units)),
                row("SO2 left, at most", show(r.water.mash.sulfur_dioxide_at_most, units)),
            ]))
            (table("the tap", &[
                row("hardness", show(tap.hardness, units)),
                row("alkalinity", show(tap.water.alkalinity, units)),
                row("residual alkalinity", show(tap.residual_alkalinity, units)),
                row("cations", show(tap.balance.cations, units)),
                row("anions", show(tap.balance.anions, units)),
            ]))
            @if r.water.cautions.contains(&Caution::SulfiteLabel) { (caution(Caution::SulfiteLabel)) }
        }
        (dissolved::card(r, id, units))
        (charts::shown("ions", r, id, units))
    }
}

/// What to weigh into which liquor.
pub fn steps(r: &Reckoning, units: Units) -> Markup {
    html! {
        @for (liquor, volume) in [(Liquor::Mash, r.volumes.mash_liquor), (Liquor::Sparge, r.volumes.sparge_liquor)] {
            @if volume.l() > 0.0 {
                @let weigh: Vec<_> = r.water.weigh.iter().filter(|w| w.into == liquor).map(|w| row(w.what.clone(), amount(w.amount, units))).collect();
                (table(&format!("into the {liquor} water, {}", show(volume, units)), &weigh))
                @if weigh.is_empty() { p.small { "into the " (liquor.to_string()) " water, " (show(volume, units)) ": nothing" } }
            }
        }
    }
}

fn amount(amount: Amount, units: Units) -> String {
    match amount {
        Amount::Mass(mass) => show(mass, units),
        Amount::Volume(volume) => show(volume, units),
    }
}

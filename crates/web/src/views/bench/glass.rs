//! The glass bench: the aim, what the glass should hold, the risks.

use batch::Reckoning;
use batch::beside::Held;
use chart::Glass;
use maud::{Markup, html};
use quantity::{Colour, Length, Units, show};
use store::DocumentId;

use super::common::{row, table};
use crate::views::charts;
use crate::views::form::Form;
use crate::views::intervals;

/// A glass of beer is about this deep \[cm\].
const DEPTH: Length = Length::from_cm(7.0);

pub fn inputs(form: &Form<'_>) -> Markup {
    html! {
        fieldset {
            legend { "The aim, with the spread that would do" }
            (form.field("aim.original_gravity", "Original gravity"))
            (form.field("aim.final_gravity", "Final gravity"))
            (form.field("aim.alcohol", "Alcohol"))
            (form.field("aim.colour", "Colour"))
            (form.field("aim.bitterness", "Bitterness"))
            (form.field("aim.carbon_dioxide", "CO2"))
            (form.field("aim.mash_ph", "Mash pH"))
            (form.field("aim.calcium", "Calcium of the mash liquor"))
            (form.field("aim.magnesium", "Magnesium of the mash liquor"))
            (form.field("aim.sodium", "Sodium of the mash liquor"))
            (form.field("aim.chloride", "Chloride of the mash liquor"))
            (form.field("aim.sulfate", "Sulfate of the mash liquor"))
            (form.field("aim.sulfate_to_chloride", "Sulfate to chloride"))
            (form.field("aim.alkalinity", "Alkalinity of the mash liquor"))
            (form.field("aim.residual_alkalinity", "Residual alkalinity of it"))
            (form.field("aim.sparge_alkalinity", "Sparge alkalinity, at most"))
            (form.field("aim.clove", "Clove"))
            (form.field("aim.banana", "Banana"))
            (form.field("aim.esters", "Esters (ethyl acetate)"))
            (form.field("aim.fusel", "Fusel (isoamyl alcohol)"))
            (form.field("aim.beer_ph", "pH of the beer"))
            (form.words("aim.flavour", "In words"))
        }
    }
}

pub fn results(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    html! {
        section.card {
            h3 { "The beer" }
            div.row.pour {
                (glass(r.glass.colour, units))
                div { (table("in the glass", &[
                    row("alcohol", show(r.glass.alcohol, units)).sure("alcohol"),
                    row("bitterness", show(r.glass.bitterness, units)).sure("bitterness"),
                    row("colour", show(r.glass.colour, units)).sure("colour"),
                    row("CO2", show(r.glass.carbon_dioxide, units)).sure("carbon_dioxide"),
                    row("gravity", r.glass.gravity.both(units)).sure("glass_gravity"),
                    row("pH", show(r.glass.ph, units)).sure("beer_ph"),
                ])) }
            }
        }
        @if !r.aim.is_empty() { (aim(r, id, units)) } @else { p.no-print { a.button href=(format!("/batch/{id}/match")) { "Find recipes for an aim" } } }
        (crate::views::held::card(&Held::of(r, None)))
        (risks(r))
        (charts::shown("glass", r, id, units))
    }
}

fn glass(colour: Colour, units: Units) -> Markup {
    let Ok([red, green, blue]) = wort::colour::glass_colour(colour, DEPTH) else {
        return html! {};
    };
    let label = format!(
        "a glass of beer of {}, {} deep",
        show(colour, units),
        show(DEPTH, units)
    );
    Glass::new("beer", label, (red, green, blue)).markup()
}

fn aim(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    html! {
        section.card {
            h3 { "Against the aim" }
            div.wide tabindex="0" role="region" aria-label="against the aim" {
                table.aim {
                    thead { tr { th scope="col" { "" } th.number scope="col" { "reckoned" } th.number scope="col" { "aim" } th scope="col" { "" } } }
                    tbody {
                        @for line in &r.aim {
                            tr {
                                th scope="row" { (line.name) }
                                td.number { (line.reckoned.text(units)) }
                                td.number { (line.aim.text(units)) }
                                td {
                                    @match line.met {
                                        Some(true) => "within",
                                        Some(false) => strong { (line.side()) },
                                        None => "",
                                    }
                                }
                            }
                            tr.beside { td colspan="4" { (intervals::of_aim(line.key)) } }
                        }
                    }
                }
            }
            p.no-print { a.button href=(format!("/batch/{id}/match")) { "Find recipes for this aim" } }
        }
    }
}

fn risks(r: &Reckoning) -> Markup {
    html! {
        section.card {
            h3 { "Risks" }
            @for risk in &r.glass.risks {
                details.why open[risk.grade >= glass::Grade::Moderate] {
                    summary { (risk.title) ": " strong { (risk.grade.word()) } @if risk.at_most > risk.grade { ", at most " (risk.at_most.word()) } }
                    p { (risk.reason) }
                    p { "What moves it: " (risk.moves) }
                    p.quiet { (risk.source.mark) ": " (risk.source.text) }
                }
            }
        }
    }
}

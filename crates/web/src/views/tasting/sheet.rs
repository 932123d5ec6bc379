//! The serving sheet: for whoever pours, and for nobody else.

use app::OpenTasting;
use batch::tasting::Tasting;
use glass::tasting::{Beer, Serving};
use maud::{Markup, html};

use crate::page::Page;

pub fn page(open: &OpenTasting, tasting: &Tasting) -> Markup {
    Page::new(&open.name)
        .beside("serving sheet, for whoever pours")
        .link(format!("/tasting/{}", open.id), "back to the tasting")
        .render(&html! {
            p.no-print { "This page is the key. Print it for whoever pours; who tastes must not see it before the last answer." }
            section.card {
                h2 { "How to stay blind" }
                ol { @for step in tasting.way() { li { (step) } } }
                @if let Some(first) = tasting.warm_up() { p { (first) } }
                p.small.quiet {
                    "50 to 100 mL in each glass, 8 to 12 °C, covered, within a quarter of an hour; water between glasses. "
                    "Four to six sets a sitting are enough, two or three of a strong or bitter beer; taste little, spit the rest (common practice)."
                }
            }
            section.card {
                h2 { "What to pour" }
                table.pour {
                    thead { tr { th scope="col" { "no." } th scope="col" { "taster" } th scope="col" { "glasses, from left to right" } } }
                    tbody {
                        @for (serving, number) in tasting.design.servings.iter().zip(1..) {
                            tr {
                                th scope="row" { (number) }
                                td { (tasting.taster_of(number)) }
                                td { (glasses(tasting, serving)) }
                            }
                        }
                    }
                }
            }
            @if !tasting.scorings.is_empty() {
                section.card {
                    h2 { "To score, after the last answer" }
                    p { "What is scored: " (tasting.scored.join(", ")) "." }
                    table.pour {
                        thead { tr { th scope="col" { "taster" } th scope="col" { "glasses, in this order" } } }
                        tbody { @for (taster, serving) in tasting.tasters.iter().zip(&tasting.scorings) {
                            tr { th scope="row" { (taster) } td { (glasses(tasting, serving)) } }
                        } }
                    }
                }
            }
        })
}

fn glasses(tasting: &Tasting, serving: &Serving) -> Markup {
    let name = |beer: Beer| match beer {
        Beer::Batch => tasting.beer.as_str(),
        Beer::Reference => tasting.reference.as_str(),
    };
    html! {
        ul.glasses {
            @if let Some(beer) = serving.shown { li { strong { "open" } " " (name(beer)) } }
            @for (code, beer) in serving.codes.iter().zip(&serving.glasses) { li { strong { (code) } " " (name(*beer)) } }
        }
    }
}

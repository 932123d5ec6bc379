//! The package bench.

use batch::Reckoning;
use maud::{Markup, html};
use quantity::{Caution, Units, show, show_measured};
use store::DocumentId;

use super::common::{caution, row, table};
use crate::views::charts;
use crate::views::form::Form;

pub fn inputs(form: &Form<'_>) -> Markup {
    html! {
        fieldset {
            legend { "Package" }
            (form.choice("package.vessel", "Into"))
            (form.choice("package.gas", "Gas by"))
            (form.field("package.carbon_dioxide", "CO2 aimed at"))
            (form.choice("package.bottle", "Class of bottle"))
            (form.field("package.bottle_volume", "A bottle holds"))
            (form.field("package.head_space", "Head space"))
            (form.choice("package.sugar", "Priming sugar"))
            (form.field("package.loss", "Left with the yeast"))
            (form.field("package.conditioning", "Conditioning at"))
            (form.field("package.warmest_storage", "Warmest storage"))
            (form.field("package.stamped", "Stamped on the keg"))
            (form.field("package.serving_temperature", "Keg served at"))
        }
    }
}

pub fn results(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    let p = &r.packaging;
    let mut todo = vec![
        row("beer to package", show(p.beer.volume, units)),
        row("CO2 left in it", show_measured(&p.residual, units)),
    ];
    if let Some(priming) = &p.priming {
        todo.push(row(priming.sugar.name.clone(), show(priming.mass, units)));
        if let Some(each) = priming.per_bottle {
            todo.push(row("in each bottle", show(each, units)));
        }
    }
    if let Some(bottles) = p.bottles {
        todo.push(row("bottles", bottles.full.to_string()));
    }
    if let Some(keg) = &p.keg {
        todo.push(row(
            "gauge pressure of the keg",
            show_measured(&keg.pressure, units),
        ));
    }
    html! {
        section.card {
            h3 { "What to do" }
            (table("package", &todo))
            @for c in p.cautions.iter().filter(|c| **c != Caution::AlcoholLaw) { (caution(*c)) }
        }
        section.card {
            h3 { "Is it safe: " (p.worst.safety.word()) }
            (table("the worst that it could come to", &[
                row("highest gauge pressure", show(p.worst.pressure, units)),
                row("in a store of", show(p.worst.at, units)),
                row("should never pass", show(p.worst.service, units)),
                row("CO2 then", show(p.worst.carbon_dioxide, units)),
                row("of it from what may still ferment", show(p.worst.from_extract, units)),
            ]))
            p { (p.worst.reason) }
            @if p.worst.safety != package::Safety::Safe { p { strong { (p.worst.remedy) } } }
        }
        (charts::shown("volumes", r, id, units))
    }
}

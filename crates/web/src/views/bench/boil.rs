//! The boil bench: hops, boil, chilling.

use batch::Reckoning;
use maud::{Markup, html};
use quantity::{Caution, Units, show, show_measured};
use store::DocumentId;
use wort::HopTime;

use super::common::{caution, row, table};
use crate::views::charts;
use crate::views::form::Form;

pub fn inputs(form: &Form<'_>) -> Markup {
    html! {
        fieldset {
            legend { "Boil" }
            (form.field("boil.time", "Time"))
            (form.field("boil.whirlpool", "Stands covered after it"))
            (form.field("boil.chilled_to", "Chilled to"))
        }
        fieldset {
            legend { "Hops" }
            @for n in 1..=form.entries("hop") {
                @let at = format!("hop[{n}]");
                div.entry {
                    div.row { strong { (form.named(&format!("{at}.hop"), "a hop")) } (form.removes(&at, &format!("hop {n}"))) }
                    (form.field(&format!("{at}.hop"), "Cultivar"))
                    (form.field(&format!("{at}.alpha"), "Alpha-acids"))
                    (form.field(&format!("{at}.amount"), "Amount"))
                    (form.choice(&format!("{at}.used"), "Used"))
                    (form.field(&format!("{at}.time"), "Time"))
                    (form.field(&format!("{at}.temperature"), "Temperature of a stand"))
                }
            }
            (form.adds("hop", "Add a hop"))
        }
        fieldset {
            legend { "Kit" }
            (form.field("kit.evaporation", "Evaporation"))
            (form.field("kit.kettle_loss", "Left in the kettle"))
            (form.field("kit.hop_absorption", "Kept by hops"))
            (form.field("kit.transfer_loss", "Left in chiller and hoses"))
            (form.field("kit.chiller_time_constant", "Chiller, time constant"))
            (form.field("kit.coolant", "Cooling water"))
        }
    }
}

pub fn results(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    let report = &r.boil.report;
    let wort = &r.boil.wort;
    html! {
        section.card {
            h3 { "What it comes to" }
            (table("boil", &[
                row("boils at", show(report.boiling_point, units)),
                row("steam", show(report.evaporated, units)),
                row("after the boil, hot", show(report.post_boil_hot, units)),
                row("after the boil, 20 °C", show(report.post_boil.volume, units)),
            ]))
            (table("into the fermenter", &[
                row("volume", show(wort.volume, units)),
                row("original gravity", wort.gravity.both(units)),
                row("pH", show(wort.ph, units)),
                row("colour", show_measured(&wort::colour::with_spread(wort.colour), units)),
                row("bitterness of the beer", show(wort.bitterness, units)),
                row("by Tinseth, boil hops alone", show(report.bitterness_by_tinseth, units)),
                row("dimethyl sulfide", show(wort.traces.dms, units)),
                row("ferulic acid, free", show(wort.traces.ferulic_acid, units)),
            ]))
            (caution(Caution::HotLiquor))
            @if let Some(day) = &r.day {
                p.small { "This is the boil from where the brew day stands; planned was " (day.planned.wort.gravity.both(units)) " and " (show(day.planned.wort.volume, units)) "." }
            }
            p { a href=(format!("/batch/{id}/brew-day")) { "Read it on brew day, and correct it" } }
        }
        (charts::shown("bitterness", r, id, units))
        (charts::shown("volumes", r, id, units))
    }
}

/// The hops in the order of use.
pub fn steps(r: &Reckoning, units: Units) -> Markup {
    let hops: Vec<_> = r
        .wort_plan
        .hops
        .iter()
        .map(|hop| {
            row(
                format!("{}, {}", hop.name, when(hop.when, units)),
                show(hop.mass, units),
            )
        })
        .collect();
    table("hops", &hops)
}

fn when(when: HopTime, units: Units) -> String {
    match when {
        HopTime::FirstWort => "as the kettle fills".to_owned(),
        HopTime::Boil(time) => format!("{} before the end", show(time, units)),
        HopTime::Whirlpool(time) => format!("{} before chilling", show(time, units)),
        HopTime::Stand {
            duration,
            temperature,
        } => {
            format!("{} at {}", show(duration, units), show(temperature, units))
        }
        HopTime::DryHop => "into the fermenter".to_owned(),
    }
}

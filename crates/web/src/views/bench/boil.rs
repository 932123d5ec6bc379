//! The boil bench: hops, boil, chilling.

use batch::Reckoning;
use batch::boil::{boil_way, dms_scale, micrograms};
use maud::{Markup, html};
use quantity::{Caution, Units, show, show_measured};
use store::DocumentId;
use wort::HopTime;
use wort::bitterness::losses;

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
                    (form.field(&format!("{at}.age"), "Age since alpha was measured"))
                    (form.field(&format!("{at}.stored_at"), "Kept at"))
                    (form.choice(&format!("{at}.packing"), "Packed"))
                }
            }
            (form.adds("hop", "Add a hop"))
        }
        fieldset {
            legend { "Kit" }
            (form.field("kit.evaporation", "Evaporation"))
            (form.field("kit.steam_escapes", "Steam that leaves, with a lid"))
            (form.field("kit.power", "Power of the kettle"))
            (form.field("kit.heat_loss", "Lost by its walls"))
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
                row("bitterness of the beer", show_measured(&report.bitterness, units)),
                row("by Tinseth, boil hops alone", show(report.bitterness_by_tinseth, units)),
                row("dimethyl sulfide", show(wort.traces.dms, units)),
                row("ferulic acid, free", show(wort.traces.ferulic_acid, units)),
            ]))
            (caution(Caution::HotLiquor))
        }
        (charts::shown("boil", r, id, units))
        section.card {
            h3 { "Hop by hop" }
            (hops(r, units))
            details.why { summary { "What is lost, and where that comes from" }
                (table("share lost, one after the other", &losses().iter().map(|loss| {
                    row(loss.what.clone(), show(loss.share, units))
                }).collect::<Vec<_>>()))
                ul { @for loss in losses() { li { (loss.what) ": " (loss.source.text) " (" (loss.source.mark) ")" } } }
            }
        }
        section.card {
            h3 { "Another boil, and its dimethyl sulfide" }
            (table("left in the wort", &report.dms_left.iter().map(|left| {
                row(boil_way(left.way), micrograms(left.dms))
            }).collect::<Vec<_>>()))
            p.small { (dms_scale()) }
        }
        section.card {
            h3 { "Heat" }
            (heat(r, units))
        }
        (charts::shown("bitterness", r, id, units))
        (charts::shown("volumes", r, id, units))
    }
}

/// What becomes of each addition.
fn hops(r: &Reckoning, units: Units) -> Markup {
    html! {
        div.wide tabindex="0" role="region" aria-label="hop by hop" {
            table {
                caption.hidden { "hop by hop" }
                thead { tr {
                    th scope="col" { "hop" }
                    th scope="col" { "iso-alpha in the kettle" }
                    @for loss in losses() { th scope="col" { "lost: " (loss.key) } }
                    th scope="col" { "in the beer" }
                } }
                tbody {
                    @for hop in &r.boil.report.hops {
                        tr {
                            th scope="row" { (hop.name) }
                            td.number { (show(hop.iso_alpha, units)) }
                            @for lost in &hop.lost { td.number { (show(*lost, units)) } }
                            td.number { (show(hop.bitterness, units)) }
                        }
                    }
                }
            }
        }
    }
}

fn heat(r: &Reckoning, units: Units) -> Markup {
    let heat = &r.boil.report.heat;
    let mut rows = vec![
        row(
            format!("from {} to the boil", show(heat.from, units)),
            show(heat.to_boil, units),
        ),
        row("in the steam", show(heat.steam, units)),
        row(
            "power that keeps up the boil",
            show(heat.power_at_boil, units),
        ),
    ];
    if let (Some(time), Some(drawn)) = (heat.heat_up, heat.drawn) {
        rows.push(row("time to the boil", show(time, units)));
        rows.push(row("drawn in all", show(drawn, units)));
    }
    table("heat", &rows)
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
        HopTime::Mash => "into the mash".to_owned(),
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

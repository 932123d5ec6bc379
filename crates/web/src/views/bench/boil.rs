//! The boil bench: hops, boil, chilling.

use batch::Reckoning;
use batch::boil::{DEPTHS, boil_way, dms_scale, formulas, glass_hex, hop_form, micrograms};
use maud::{Markup, html};
use quantity::{
    Caution, Colour, Measured, Quantity, Source, Spread, Units, show, show_interval, show_measured,
};
use store::DocumentId;
use wort::bitterness::losses;
use wort::{BoilColour, DryHopped, HopAddition, HopTime};

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
                    (form.choice(&format!("{at}.form"), "Form"))
                    (form.choice(&format!("{at}.used"), "Used"))
                    (form.field(&format!("{at}.time"), "Time"))
                    (form.field(&format!("{at}.temperature"), "Temperature of a stand"))
                    (store(form, &at))
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

/// How a hop was kept since its alpha-acids were measured.
pub fn store(form: &Form<'_>, at: &str) -> Markup {
    let key = |name: &str| format!("{at}.{name}");
    html! {
        details.why open[STORE.iter().any(|(name, _)| form.fills(&key(name)))] {
            summary { "how it was kept" }
            @for (name, label) in STORE {
                @if name == "packing" { (form.choice(&key(name), label)) } @else { (form.field(&key(name), label)) }
            }
        }
    }
}

const STORE: [(&str, &str); 6] = [
    ("age", "Age since alpha was measured"),
    ("stored_at", "Kept at"),
    ("packing", "Packed"),
    ("kept", "Keeps over six months at 20 °C"),
    ("storage_index", "Storage index (HSI) now"),
    ("storage_index_then", "HSI when alpha was measured"),
];

pub fn results(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    let report = &r.boil.report;
    let wort = &r.boil.wort;
    html! {
        section.card {
            h3 { "What it comes to" }
            (table("boil", &[
                row("boils at", show(report.boiling_point, units)),
                row("steam", show(report.evaporated, units)).sure("steam"),
                row("after the boil, hot", show(report.post_boil_hot, units)).sure("post_boil_hot"),
                row("after the boil, 20 °C", show(report.post_boil.volume, units)),
            ]))
            (table("into the fermenter", &[
                row("volume", show(wort.volume, units)).sure("into_fermenter"),
                row("original gravity", wort.gravity.both(units)).sure("original_gravity"),
                row("pH", show(wort.ph, units)).sure("wort_ph"),
                row("colour", show_measured(&report.colour.wort, units)).sure("colour"),
                row("bitterness of the beer", show_measured(&report.bitterness, units)).sure("bitterness"),
                row("by Tinseth, boil hops alone", show(report.bitterness_by_tinseth, units)),
                row("dimethyl sulfide", show(wort.traces.dms, units)).sure("dms"),
                row("ferulic acid, free", show(wort.traces.ferulic_acid, units)).sure("ferulic_acid"),
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
        @if let Some(dry) = &report.dry_hops { (dry_hops(dry, units)) }
        (colour(r, units))
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

/// What becomes of each addition: a column an addition, down to the beer.
fn hops(r: &Reckoning, units: Units) -> Markup {
    let shares = &r.boil.report.hops;
    let line = |label: &str, cells: Vec<String>| {
        html! { tr { th scope="row" { (label) } @for cell in cells { td.number { (cell) } } } }
    };
    let added = &r.wort_plan.hops;
    html! {
        div.wide tabindex="0" role="region" aria-label="hop by hop" {
            table {
                caption.hidden { "hop by hop" }
                thead { tr {
                    th scope="col" { "" span.hidden { "from alpha-acids to the beer" } }
                    @for hop in added { th.number scope="col" { (hop.name) @if let Some(form) = hop.form { ", " (hop_form(form)) } } }
                } }
                tbody {
                    (line("alpha on brew day", added.iter().map(|hop| show_measured(&alpha(hop), units)).collect()))
                    (line("iso-alpha in the kettle", shares.iter().map(|hop| show(hop.iso_alpha, units)).collect()))
                    @for (n, loss) in losses().iter().enumerate() {
                        (line(&format!("lost: {}", loss.key), shares.iter().filter_map(|hop| Some(show(*hop.lost.get(n)?, units))).collect()))
                    }
                    (line("in the beer", shares.iter().map(|hop| show(hop.bitterness, units)).collect()))
                }
            }
        }
    }
}

/// Alpha-acids on brew day with what is known of their spread.
fn alpha(added: &HopAddition) -> Measured<quantity::Fraction> {
    Measured {
        value: added.alpha,
        spread: added
            .alpha_sd
            .map_or(Spread::Unstated, |sd| Spread::Sd(sd.ratio())),
    }
}

/// What dry hops do to bitterness.
fn dry_hops(dry: &DryHopped, units: Units) -> Markup {
    html! {
        section.card {
            h3 { "Dry hops and bitterness" }
            (table("in the beer", &[
                row("dry hops in a litre", show(dry.dose, units)),
                row("humulinones that they bring", interval(&dry.humulinones, units)),
                row("iso-alpha-acids that they strip", interval(&dry.stripped, units)),
                row("a laboratory would read", interval(&dry.measured, units)),
                row("as bitter as", interval(&dry.tasted, units)),
            ]))
            p.small { "Humulinones are oxidised alpha-acids, two thirds as bitter as iso-alpha-acids. The bitterness above does not count them." }
            (sources("Where that comes from", &DryHopped::sources()))
        }
    }
}

/// The colour, what the boil forms of it, and what other formulas say.
fn colour(r: &Reckoning, units: Units) -> Markup {
    let colour = &r.boil.report.colour;
    html! {
        section.card {
            h3 { "Colour" }
            (table("colour", &[
                row("by the grist, an hour's boil in it", show(colour.by_grist, units)),
                row("formed by this boil", interval(&colour.formed, units)),
                row("of which the formula holds", show(colour.in_fit, units)),
                row("together", show_measured(&colour.wort, units)),
                row("the wort, before the yeast", interval(&colour.before_fermentation, units)),
            ]))
            p.small { "The yeast takes 10 to 30 % of the wort's colour. The formula was fitted to beers, so that is in it." }
            (other_formulas(r, units))
            (sources("Where the browning comes from", &BoilColour::sources()))
        }
    }
}

fn other_formulas(r: &Reckoning, units: Units) -> Markup {
    html! {
        div.wide tabindex="0" role="region" aria-label="other formulas" {
            table {
                caption { "other formulas say of the grist, and the glass in daylight" }
                thead { tr {
                    th scope="col" { "formula" }
                    th scope="col" { "colour" }
                    @for depth in DEPTHS { th scope="col" { (show(depth, units)) } }
                } }
                tbody {
                    @for formula in formulas(r) {
                        tr {
                            th scope="row" { (formula.who) }
                            @if let Some(colour) = formula.colour {
                                td.number { (show(colour, units)) }
                                @for depth in DEPTHS { td { (swatch(colour, depth, units)) } }
                            } @else {
                                td colspan="4" { "does not hold here" }
                            }
                        }
                    }
                }
            }
        }
        details.why { summary { "Where each formula holds" }
            ul { @for formula in formulas(r) { li { (formula.who) ": " (formula.holds) } } }
        }
    }
}

/// A patch of the beer's colour through a depth.
fn swatch(colour: Colour, depth: quantity::Length, units: Units) -> Markup {
    let label = format!("{} through {}", show(colour, units), show(depth, units));
    html! {
        @if let Some(fill) = glass_hex(colour, depth) {
            svg.swatch role="img" viewBox="0 0 48 20" aria-label=(label) {
                rect width="48" height="20" rx="3" fill=(fill) {}
            }
        }
    }
}

fn interval<Q: Quantity>(figure: &Measured<Q>, units: Units) -> String {
    show_interval(figure.lower(), figure.upper(), units)
}

fn sources(summary: &str, sources: &[Source]) -> Markup {
    html! {
        details.why { summary { (summary) }
            ul { @for source in sources { li { (source.text) " (" (source.mark) ")" } } }
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

//! The parts of a report, from the tap to the glass.

use app::OpenTasting;
use batch::certainty::Certainty;
use batch::certainty::words::of_ten;
use batch::{KeyFigure, Reckoning, Stage};
use maud::{Markup, html};
use package::{Container, Safety};
use quantity::{Units, show, show_interval, show_measured};

use crate::views::bench::common::{Row, row, table};
use crate::views::intervals;
use crate::views::stream::asks;

/// The name, the beer at a glance, and how each stage stands.
pub fn opening(r: &Reckoning, sure: Option<&Certainty>, units: Units) -> Markup {
    let glance = |f: KeyFigure| {
        let interval = sure.map_or_else(String::new, |s| intervals::text(s, f.key, units));
        let figure = f.text.text(units);
        if interval.is_empty() {
            row(f.label, figure)
        } else {
            row(f.label, format!("{figure} ({interval})"))
        }
    };
    let shown = r.figures().into_iter().filter(|f| f.shown);
    let figures: Vec<Row> = shown.map(glance).collect();
    let document = &r.document.batch;
    html! {
        p.quiet.small { "Batch report" }
        h1 { (document.name) }
        @if let Some(day) = &document.brewed { p { "Brewed " (day) } }
        @if let Some(notes) = &document.notes { p { (notes) } }
        (table("The batch at a glance", &figures))
        @if sure.is_some() { p.quiet.small { "In brackets: between what nine of ten batches of this plan would come to." } }
        @if !r.aim.is_empty() { (aim(r, sure, units)) }
        h3 { "How each stage stands" }
        ul {
            @for stage in Stage::ALL {
                @if let Some(sign) = r.sign(stage) {
                    li class=(sign.weight.word()) {
                        strong { (stage.word()) ": " (sign.weight.word()) }
                        @if let Some(reason) = sign.reason() { ". " (reason) }
                    }
                }
            }
        }
    }
}

fn aim(r: &Reckoning, sure: Option<&Certainty>, units: Units) -> Markup {
    let met = |met: Option<bool>| match met {
        Some(true) => "met",
        Some(false) => "missed",
        None => "no spread said",
    };
    html! {
        div.wide tabindex="0" role="region" aria-label="against the aim" { table {
            caption { "Against the aim" }
            thead { tr { th scope="col" { "" } th scope="col" { "aim" } th scope="col" { "reckoned" } th scope="col" { "" } } }
            tbody {
                @for line in &r.aim {
                    tr { th scope="row" { (line.name) } td { (line.aim.text(units)) } td { (line.reckoned.text(units)) } td { (met(line.met)) @if let Some(chance) = sure.and_then(|s| s.chance_of(line)) { ", " (of_ten(chance)) } } }
                }
            }
        } }
    }
}

pub fn water(r: &Reckoning, units: Units) -> Markup {
    let v = &r.volumes;
    html! {
        h2 { "Water" }
        p {
            (show(v.total_water, units)) " were drawn: " (show(v.mash_liquor, units)) " for the mash and "
            (show(v.sparge_liquor, units)) " for the sparge. "
            "After treatment up to " (show(r.water.mash.chlorine.at_most, units)) " of chlorine can be left in the mash liquor."
        }
        (remarks(r, Stage::Water))
    }
}

pub fn wort(r: &Reckoning, units: Units) -> Markup {
    let v = &r.volumes;
    let mut rows = vec![];
    if let Some(heat) = &r.mash.heat {
        let strike = format!(
            "{} at {}",
            show(heat.strike_water, units),
            show(heat.strike_temperature, units)
        );
        rows.push(row("strike water", strike));
    }
    if let Some(ph) = r.mash_stands() {
        rows.push(row("pH of the mash", show_measured(&ph, units)));
    }
    rows.extend([
        row(
            "kettle full",
            format!(
                "{}, {}",
                show(v.pre_boil.volume, units),
                v.pre_boil.gravity.both(units)
            ),
        ),
        row("into the fermenter", show(r.boil.wort.volume, units)),
        row("original gravity", r.boil.wort.gravity.both(units)),
        row("bitterness", show(r.boil.wort.bitterness, units)),
        row("colour", show(r.boil.wort.colour, units)),
    ]);
    html! {
        h2 { "Wort" }
        div.wide tabindex="0" role="region" aria-label="grist" { table {
            caption { "Grist" }
            tbody {
                @for g in &r.document.grist {
                    tr { th scope="row" { (g.name.as_deref().unwrap_or(&g.class)) } td { (show_measured(&g.amount, units)) } }
                }
            }
        } }
        @if !r.document.hops.is_empty() {
            div.wide tabindex="0" role="region" aria-label="hops" { table {
                caption { "Hops" }
                tbody {
                    @for h in &r.document.hops {
                        tr { th scope="row" { (h.hop) } td { (show_measured(&h.amount, units)) } td { @if let Some(time) = &h.time { (show(time.value, units)) } } }
                    }
                }
            } }
        }
        (table("Mash and boil", &rows))
        (remarks(r, Stage::Mash))
        (remarks(r, Stage::Boil))
    }
}

pub fn fermentation(r: &Reckoning, units: Units) -> Markup {
    let f = &r.fermentation;
    let mut rows = vec![
        row("cells at hand", show_measured(&f.pitch.at_hand, units)),
        row("cells needed", show(f.pitch.needed, units)),
        row("final gravity", show_measured(&f.final_gravity, units)),
    ];
    if let Some(time) = f.ninety_percent_at {
        rows.push(row("nine tenths fermented", show(time, units)));
    }
    html! {
        h2 { "Fermentation" }
        @if let Some(name) = &r.document.yeast.name { p { (name) ", " (r.document.yeast.class) } }
        (table("Yeast and end", &rows))
        p.small.quiet { (f.validity) }
        (remarks(r, Stage::Ferment))
    }
}

pub fn package(r: &Reckoning, units: Units) -> Markup {
    let (p, worst) = (&r.packaging, &r.packaging.worst);
    let (low, high) = (worst.interval.lower(), worst.interval.upper());
    let mut rows = vec![
        row("beer to package", show(p.beer.volume, units)),
        row("CO2 left in it", show_measured(&p.residual, units)),
    ];
    if let Some(priming) = &p.priming {
        rows.push(row(priming.sugar.name.clone(), show(priming.mass, units)));
    }
    if let Some(keg) = &p.keg {
        rows.push(row(
            "gauge pressure of the keg",
            show_measured(&keg.pressure, units),
        ));
    }
    rows.extend([
        row(
            "pressure in the warmest store, likely",
            show(worst.interval.value, units),
        ),
        row("from and to", show_interval(low, high, units)),
        row("in a store of", show(worst.at, units)),
        row("still to ferment", p.left.words()),
        row("should never pass", show(worst.service, units)),
    ]);
    let stop = worst.safety == Safety::Stop;
    html! {
        h2 { "Package" }
        div .stop[stop] {
            p { strong { (worst.safety.word()) ". " } (worst.reason.text(units)) "." }
            @if worst.safety != Safety::Safe { p { strong { (worst.remedy) "." } } }
        }
        (table("Gas and pressure", &rows))
        @if !r.cleaning.steps.is_empty() {
            h3 { "Cleaning" }
            ul {
                @for step in &r.cleaning.steps {
                    li {
                        strong { (step.vessel.word()) ": " } (step.agent.name)
                        @if let Some(strength) = step.strength { ", " (strength.show(units)) }
                        @if let Some(left) = step.residue.at_most { "; at most " (show(left, units)) " in the beer" }
                    }
                }
            }
        }
        (remarks(r, Stage::Package))
    }
}

pub fn glass(r: &Reckoning, units: Units) -> Markup {
    let g = &r.glass;
    html! {
        h2 { "The glass" }
        (table("In the glass", &[
            row("alcohol", show(g.alcohol, units)),
            row("bitterness", show(g.bitterness, units)),
            row("colour", show(g.colour, units)),
            row("CO2", show(g.carbon_dioxide, units)),
            row("gravity", g.gravity.both(units)),
        ]))
        h3 { "Risks" }
        ul {
            @for risk in &g.risks {
                li { strong { (risk.title) ": " (risk.grade.word()) } ", at most " (risk.at_most.word()) ". " (risk.reason) }
            }
        }
        (remarks(r, Stage::Glass))
    }
}

/// What blind tastings said; nothing where there was none.
pub fn tasted(tastings: &[OpenTasting]) -> Markup {
    let read = tastings.iter().filter_map(|t| {
        t.contents
            .as_ref()
            .ok()
            .map(|(_, judged)| (&t.name, judged))
    });
    let read: Vec<_> = read.collect();
    html! {
        @if !read.is_empty() {
            h2 { "Tasted blind" }
            @for (name, judged) in read {
                h3 { (name) }
                p { (judged.headline) }
                @for said in &judged.can_say { p { (said) } }
                @for said in &judged.cannot_say { p.quiet { (said) } }
            }
        }
    }
}

pub fn cautions(r: &Reckoning) -> Markup {
    html! {
        h2 { "Cautions" }
        p { "Local codes and licensed practice decide, and the safety data sheet of what you use." }
        @for caution in r.cautions() {
            @let text = caution.text();
            div.caution {
                strong { (text.title) ". " } (text.text)
                " " span.quiet { "Source: " (text.source) " (" (text.mark) ")." }
            }
        }
    }
}

/// Where figures come from, and what was assumed.
pub fn sources(r: &Reckoning, units: Units) -> Markup {
    let container = Container::find(&r.document.package.bottle).ok();
    html! {
        h2 { "Sources" }
        ul.small {
            @for figure in r.figures() { li { strong { (figure.label) ", " (figure.text.text(units)) ": " } (figure.how) } }
            @if let Some(priming) = &r.packaging.priming { li { strong { (priming.sugar.name) ": " } (priming.sugar.source.text) " (" (priming.sugar.source.mark) ")" } }
            @if let Some(class) = container { li { strong { (class.name) ": " } (class.source.text) " (" (class.source.mark) ")" } }
            @for step in &r.cleaning.steps { li { strong { (step.agent.name) ": " } (step.agent.source.text) " (" (step.agent.source.mark) ")" } }
        }
        h3 { "Assumptions" }
        @if r.assumptions.is_empty() { p { "None: the document says everything." } }
        @else {
            div.wide tabindex="0" role="region" aria-label="assumptions" { table.small {
                thead { tr { th scope="col" { "key" } th scope="col" { "taken as" } th scope="col" { "why" } } }
                tbody { @for a in &r.assumptions { tr { th scope="row" { (a.path) } td { (a.value) } td { (a.source) " (" (a.mark) ")" } } } }
            } }
        }
    }
}

fn remarks(r: &Reckoning, stage: Stage) -> Markup {
    html! {
        @if let Some(sign) = r.sign(stage) {
            @if !sign.notes.is_empty() {
                ul.small {
                    @for note in &sign.notes {
                        li class=(note.weight.word()) { @if asks(note.weight) { strong { (note.weight.word()) ": " } } (note.text) }
                    }
                }
            }
        }
    }
}

//! Chlorine and chloramine: every way of taking them out, side by side, and the one
//! to take.

use batch::Reckoning;
use batch::liquor::chlorine::OVERNIGHT;
use chart::CellBar;
use maud::{Markup, html};
use quantity::{Units, show};
use store::{DocumentId, RevisionNumber};
use water::dechlorination::Dechlorination;
use water::disinfectant::{Compared, Comparison, Way};

use crate::views::bench::common::caution;

/// The batch that the card stands in.
#[derive(Clone, Copy)]
pub struct Place {
    pub id: DocumentId,
    pub revision: RevisionNumber,
}

/// The card of the ways, with a button for each that a plan can hold.
pub fn ways(r: &Reckoning, place: Place, units: Units) -> Markup {
    let compared = match r.ways_out(OVERNIGHT) {
        Ok(compared) => compared,
        Err(error) => {
            return html! { section.card { h3 { "Ways to take the chlorine out" } p { (error.to_string()) "." } } };
        }
    };
    html! {
        section.card.span data-part="ways" {
            h3 { "Ways to take the chlorine out" }
            (taken(&compared))
            (table(&compared, r, place, units))
            p.small.quiet { "Costs are in units of money at prices to start from, without the work; the time is counted from the evening before. " }
            (why_not(&compared))
            @for c in &compared.cautions { (caution(*c)) }
        }
    }
}

fn taken(compared: &Comparison) -> Markup {
    html! {
        @match &compared.recommendation {
            Some(taken) => {
                p {
                    strong { "Take " (taken.way.to_string()) } @if taken.to_get { ", which is to be got first" } ". "
                    @for reason in &taken.reasons { (reason) " " }
                }
            },
            None => { p { strong { "No way here is both safe and sure. " } "Draw other water, or ask for help with this one." } },
        }
        @for note in &compared.notes { p.small.(note.weight.word()) { (note.text) } }
    }
}

fn table(compared: &Comparison, r: &Reckoning, place: Place, units: Units) -> Markup {
    let most = compared
        .ways
        .iter()
        .map(|way| way.out.residual.at_most.mg_per_l())
        .fold(0.1, f64::max);
    html! {
        div.wide {
            table.ways {
                caption.hidden { "The ways side by side, the better first" }
                thead { tr {
                    th scope="col" { "way" } th scope="col" { "chlorine left, mg/L" } th scope="col" { "it leaves" }
                    th scope="col" { "time" } th.number scope="col" { "cost" } th scope="col" { "how sure" } th scope="col" { span.hidden { "choose" } }
                } }
                tbody { @for way in &compared.ways { (line(way, most, r, place, units)) } }
            }
        }
    }
}

fn line(way: &Compared, most: f64, r: &Reckoning, place: Place, units: Units) -> Markup {
    let out = &way.out;
    let expected = out.residual.total();
    let bar = CellBar {
        low: expected.mg_per_l(),
        value: expected.mg_per_l(),
        high: out.residual.at_most.mg_per_l(),
        most,
        threshold: Some(0.1),
    };
    html! {
        tr {
            th scope="row" { (out.way.to_string()) @if !out.at_hand { br; span.small.quiet { "not at hand" } } }
            td { (bar.markup()) " " (format!("{:.2}, at most {:.2}", expected.mg_per_l(), out.residual.at_most.mg_per_l())) }
            td { (leaves(way, units)) }
            td { (show(out.time, units)) @if !way.in_time { br; span.small.quiet { "too long" } } }
            td.number { (show(out.cost, units)) }
            td { (out.reliability.word()) }
            td { (choose(way, r, place)) }
        }
    }
}

/// What stays in the water, apart from chlorine.
fn leaves(way: &Compared, units: Units) -> String {
    let leaves = &way.out.leaves;
    let ions = &leaves.ions;
    let mut parts = Vec::new();
    let mut add = |some: bool, text: String| {
        if some {
            parts.push(text);
        }
    };
    let sulfur_dioxide = leaves.sulfur_dioxide_at_most;
    add(
        sulfur_dioxide.mg_per_l() > 0.0,
        format!("SO2 at most {}", show(sulfur_dioxide, units)),
    );
    add(
        ions.sulfate.mg_per_l() > 0.0,
        format!("sulfate {}", show(ions.sulfate, units)),
    );
    add(
        ions.sodium.mg_per_l() > 0.0,
        format!("sodium {}", show(ions.sodium, units)),
    );
    add(
        ions.potassium.mg_per_l() > 0.0,
        format!("potassium {}", show(ions.potassium, units)),
    );
    if parts.is_empty() {
        "nothing to mind".to_owned()
    } else {
        parts.join(", ")
    }
}

/// A button that puts the way into the plan, where the document has a word for it.
fn choose(way: &Compared, r: &Reckoning, place: Place) -> Markup {
    let Some((word, reagent, time)) = plan_words(way) else {
        return html! {};
    };
    let treatment = &r.document.water.treatment;
    let now = planned_word(treatment.way) == word
        && (reagent.is_none() || treatment.reagent.as_deref() == reagent.as_deref());
    html! {
        @if now { span.small { "planned" } } @else {
            form.no-print method="post" action=(format!("/batch/{}/edit?bench=water", place.id)) {
                input type="hidden" name="on" value=(place.revision);
                input type="hidden" name="water.treatment.way" value=(word);
                @if let Some(reagent) = &reagent { input type="hidden" name="water.treatment.reagent" value=(reagent); }
                @if let Some(time) = &time { input type="hidden" name="water.treatment.time" value=(time); }
                button type="submit" aria-label=(format!("plan {}", way.out.way)) { "plan this" }
            }
        }
    }
}

fn planned_word(way: batch::Way) -> &'static str {
    match way {
        batch::Way::None => "none",
        batch::Way::Reagent => "reagent",
        batch::Way::Stand => "stand",
        batch::Way::Boil => "boil",
    }
}

/// The words of the document for a way: what, with which reagent, for how long.
fn plan_words(way: &Compared) -> Option<(&'static str, Option<String>, Option<String>)> {
    match (way.out.way, way.out.plan?) {
        (Way::Nothing, _) => Some(("none", None, None)),
        (Way::Reagent(reagent), _) => Some(("reagent", Some(reagent.to_string()), None)),
        (_, Dechlorination::Stand { time }) => Some(("stand", None, Some(time.to_string()))),
        (_, Dechlorination::BoilLiquor { time }) => Some(("boil", None, Some(time.to_string()))),
        _ => None,
    }
}

fn why_not(compared: &Comparison) -> Markup {
    html! {
        details.why {
            summary { "why not the others" }
            dl {
                @for way in &compared.ways {
                    @if let Some(why) = &way.why_not { dt { (way.out.way.to_string()) } dd { (why) } }
                }
            }
        }
    }
}

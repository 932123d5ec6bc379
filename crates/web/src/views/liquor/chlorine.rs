//! Chlorine and chloramine: every way of taking them out, side by side, the one to
//! take, and a page for what is asked about them.

pub mod charts;
mod checking;
mod page;
mod question;
mod supply;

use batch::Reckoning;
use batch::liquor::chlorine::{Answer, Question, plan_of};
use chart::CellBar;
use maud::{Markup, html};
use quantity::{Units, show};
use store::{DocumentId, RevisionNumber};
use water::disinfectant::{Compared, WayOut, refused};

use crate::views::bench::common::caution;

pub use checking::confirm;
pub use page::{Desk, Reply, page, unread};
pub use supply::supply;

/// The batch that the ways stand in, and the question that they answer.
#[derive(Clone, Copy)]
pub struct Place<'p> {
    pub id: DocumentId,
    pub revision: RevisionNumber,
    pub question: &'p Question,
}

/// The card of the water bench: the ways for what the plan has at hand.
pub fn card(r: &Reckoning, id: DocumentId, revision: RevisionNumber, units: Units) -> Markup {
    let question = Question::usual(r);
    let place = Place {
        id,
        revision,
        question: &question,
    };
    let answer = question
        .read(r)
        .ok()
        .and_then(|read| r.ways_out(&read).ok());
    html! {
        section.card.span data-part="ways" {
            h3 { "Ways to take the chlorine out" }
            @match &answer {
                Some(answer) => (ways(answer, place, units)),
                None => p { "The water of this batch cannot be followed." },
            }
            p.no-print {
                a href=(format!("/batch/{id}/chlorine")) { "Say what you have, see what the supply keeps, how to check it, and the charts" }
            }
        }
    }
}

/// The ways side by side, with a button for each that a plan can hold.
pub fn ways(answer: &Answer, place: Place<'_>, units: Units) -> Markup {
    html! {
        (taken(answer))
        (table(answer, place, units))
        p.small.quiet { "Costs are in units of money, without the work. Ways not at hand are reckoned with what is common." }
        (why_not(answer))
        @for c in &answer.compared.cautions { (caution(*c)) }
    }
}

fn taken(answer: &Answer) -> Markup {
    html! {
        @match &answer.compared.recommendation {
            Some(taken) => {
                p {
                    strong { "Take " (taken.way.to_string()) @if taken.to_get { ", which is to be got first" } ". " }
                    @for reason in &taken.reasons { (reason) " " }
                }
            },
            None => p { strong { "No way here is both safe and sure. " } "Draw other water, or ask for help with this one." },
        }
        ul.notes { @for note in &answer.compared.notes { li.(note.weight.word()) { (note.text) } } }
    }
}

fn table(answer: &Answer, place: Place<'_>, units: Units) -> Markup {
    let rows = answer.compared.ways.iter().map(|way| &way.out);
    let most = rows
        .chain([&answer.planned])
        .map(|way| way.residual.at_most.mg_per_l())
        .fold(0.1, f64::max);
    html! {
        div.wide tabindex="0" role="region" aria-label="The ways side by side" {
            table.ways {
                caption.hidden { "The ways side by side, the better first" }
                thead { tr {
                    th scope="col" { "way" } th scope="col" { "chlorine left, mg/L" } th scope="col" { "it leaves" }
                    th scope="col" { "time" } th.number scope="col" { "cost" } th scope="col" { "how sure" } th scope="col" { span.hidden { "choose" } }
                } }
                tbody {
                    tr.planned {
                        th scope="row" { "as planned" br; span.small.quiet { (answer.planned.way.to_string()) } }
                        (figures(&answer.planned, true, most, units))
                        td { span.small.quiet { "the plan now" } }
                    }
                    @for way in &answer.compared.ways { (line(answer, way, most, place, units)) }
                }
            }
        }
    }
}

fn line(answer: &Answer, way: &Compared, most: f64, place: Place<'_>, units: Units) -> Markup {
    let out = &way.out;
    html! {
        tr {
            th scope="row" { (out.way.to_string()) @if !out.at_hand { br; span.small.quiet { "not at hand" } } }
            (figures(out, way.in_time, most, units))
            td { (choose(answer, out, place)) }
        }
    }
}

fn figures(out: &WayOut, in_time: bool, most: f64, units: Units) -> Markup {
    let expected = out.residual.total();
    let bar = CellBar {
        low: expected.mg_per_l(),
        value: expected.mg_per_l(),
        high: out.residual.at_most.mg_per_l(),
        most,
        threshold: Some(0.1),
    };
    html! {
        td.left { (bar.markup()) " " (format!("{:.2}, at most {:.2}", expected.mg_per_l(), out.residual.at_most.mg_per_l())) }
        td data-label="leaves" { (leaves(out, units)) }
        td data-label="time" { (show(out.time, units)) @if !in_time { br; span.small.quiet { "too long" } } }
        td.number data-label="cost" { (show(out.cost, units)) }
        td data-label="sure" { (out.reliability.word()) }
    }
}

/// What stays in the water, apart from chlorine.
fn leaves(out: &WayOut, units: Units) -> String {
    let leaves = &out.leaves;
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
        format!("sulfite at most {}", show(sulfur_dioxide, units)),
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

/// A button that puts the way into the plan, where a plan can hold it.
fn choose(answer: &Answer, way: &WayOut, place: Place<'_>) -> Markup {
    if plan_of(&answer.task, way).is_none() {
        return html! { span.small.quiet { "not in a plan" } };
    }
    html! {
        form.no-print method="post" action=(format!("/batch/{}/chlorine", place.id)) {
            input type="hidden" name="on" value=(place.revision);
            input type="hidden" name="asked" value="1";
            input type="hidden" name="way" value=(way.way.to_string());
            @for (name, value) in place.question.fields() { input type="hidden" name=(name) value=(value); }
            button type="submit" aria-label=(format!("do this: {}", way.way)) { "do this" }
        }
    }
}

fn why_not(answer: &Answer) -> Markup {
    html! {
        details.why {
            summary { "why not the others" }
            dl {
                @for way in &answer.compared.ways {
                    @if let Some(why) = &way.why_not { dt { (way.out.way.to_string()) } dd { (why) } }
                }
                @for way in refused() { dt { (way.name) } dd { (way.why) } }
            }
        }
    }
}

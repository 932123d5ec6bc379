//! How to check that chlorine is gone; tablets, a stock solution, a carbon bed.

use batch::Reckoning;
use batch::liquor::chlorine::{Answer, Question, Read};
use maud::{Markup, html};
use quantity::{Units, show};
use water::disinfectant::{DosePlan, Stock, TabletStep, TestKind, Way, WayOut, stock};

use crate::views::bench::common::{row, table};

/// What a test that shows nothing leaves open behind the plan.
pub fn tests(answer: &Answer, asked: &Read, units: Units) -> Markup {
    let after = answer.planned.reads_none(asked.test);
    html! {
        section.card data-part="checking" {
            h3 { "How to check it" }
            p { "Test total chlorine after the treatment; it should read below 0.1 mg/L." }
            p { strong { (asked.test.data().name) ", after the plan as it is: " } (after.says) }
            div.wide tabindex="0" role="region" aria-label="Tests for chlorine" {
                table {
                    thead { tr { th scope="col" { "test" } th scope="col" { "shows from" } th scope="col" { "time" } th scope="col" { "left open after the plan" } } }
                    tbody { @for test in TestKind::ALL {
                        @let data = test.data();
                        tr {
                            th scope="row" { (data.name) }
                            td { (show(data.step, units)) }
                            td { (show(data.time, units)) }
                            td { "up to " (show(answer.planned.reads_none(test).at_most, units)) }
                        }
                    } }
                }
            }
            details.why {
                summary { "how each is done" }
                dl { @for test in TestKind::ALL {
                    @let data = test.data();
                    dt { (data.name) } dd { (data.how) " (" (data.source.mark.words()) ": " (data.source.text) ")" }
                } }
            }
        }
    }
}

/// What to do for the way to take, with tablets and a stock solution.
pub fn doing(answer: &Answer, asked: &Read, units: Units) -> Markup {
    let way = answer
        .compared
        .recommendation
        .as_ref()
        .and(answer.compared.ways.first());
    html! {
        @if let Some(way) = way.map(|way| &way.out).filter(|way| !way.steps.is_empty()) {
            section.card data-part="doing" {
                h3 { "How " (way.way.to_string()) " is done" }
                ol { @for step in &way.steps { li { (step) } } }
                ul.notes { @for note in &way.notes { li.(note.weight.word()) { (note.text) } } }
                @if let Some(dose) = &way.dose { (tablets(dose, units)) (solution(dose, asked, units)) }
            }
        }
    }
}

fn tablets(dose: &DosePlan, units: Units) -> Markup {
    html! {
        @if !dose.tablets.is_empty() {
            div.wide tabindex="0" role="region" aria-label="Tablets" {
                table {
                    caption { "Tablets" }
                    thead { tr { th scope="col" { "broken into" } th.number scope="col" { "tablets" } th scope="col" { "covers" } th scope="col" { "SO2 left, at most" } } }
                    tbody { @for plan in &dose.tablets {
                        tr {
                            th scope="row" { (match plan.step { TabletStep::Whole => "whole ones", TabletStep::Half => "halves", TabletStep::Quarter => "quarters" }) }
                            td.number { (quantity::rounded(plan.count.number())) }
                            td { (show(plan.covers, units)) }
                            td { (show(plan.sulfur_dioxide_at_most, units)) }
                        }
                    } }
                }
            }
        }
    }
}

/// The stock solution that was asked for, else the one that a coarse scale wants.
fn solution(dose: &DosePlan, asked: &Read, units: Units) -> Markup {
    if !dose.tablets.is_empty() {
        return html! {};
    }
    let wanted = asked
        .stock
        .map(|(salt, volume)| stock(&dose.dose, salt, volume));
    let made: Option<Stock> = match wanted {
        Some(Err(error)) => return html! { p.fault { (error) } },
        Some(Ok(stock)) => Some(stock),
        None => dose.stock,
    };
    html! {
        @match made {
            Some(stock) => (table("A stock solution", &[
                row("weigh", show(stock.salt, units)),
                row("make up to", show(stock.volume, units)),
                row("into the mash liquor", show(stock.mash, units)),
                row("into the sparge liquor", show(stock.sparge, units)),
                row("it keeps for", show(stock.keeps, units)),
            ])),
            None => p.small.quiet { "Say the step of your scale, or salt and bottle, for a stock solution." },
        }
    }
}

/// The carbon of the question: contact, the flow that suits, what is left.
pub fn carbon(r: &Reckoning, answer: &Answer, asked: &Read, units: Units) -> Markup {
    let reckoned = r.carbon(asked);
    html! {
        section.card data-part="carbon" {
            h3 { "Activated carbon" }
            (table("the bed", &[
                row("carbon", show(reckoned.bed.volume, units)),
                row("flow that suits this water", show(reckoned.suitable, units)),
                row("flow", show(reckoned.flow, units)),
                row("contact at that flow", show(reckoned.contact, units)),
                row("time for the liquor", show(reckoned.time, units)),
                row("good for", reckoned.left.map_or("no claim, so nobody knows".to_owned(), |left| format!("{} more of this water", show(left, units)))),
            ]))
            p.small.quiet {
                @if answer.task.at_hand.carbon.is_none() { "Not at hand: a common household block is reckoned unless you give yours. " }
                "The space of the carbon alone counts, not the housing."
            }
        }
    }
}

/// How the treatment that is planned is done and checked, for the brew-day sheet.
pub fn confirm(r: &Reckoning, units: Units) -> Markup {
    let Some(way) = planned(r) else {
        return html! {};
    };
    if way.way == Way::Nothing {
        return html! {
            p {
                strong { "Nothing is planned against chlorine. " }
                (show(way.residual.total(), units)) " is left, at most " (show(way.residual.at_most, units)) "."
            }
        };
    }
    html! {
        p { strong { "Against chlorine: " (way.way.to_string()) } }
        ol { @for step in &way.steps { li { (step) } } }
        p {
            strong { "Check: " }
            "test total chlorine after it; it should read below 0.1 mg/L. " (way.reads_none(TestKind::Strip).says)
        }
    }
}

/// What the plan does; none where the water holds no chlorine to take out.
fn planned(r: &Reckoning) -> Option<WayOut> {
    if r.supplies().is_empty() {
        return None;
    }
    let read = Question::usual(r).read(r).ok()?;
    r.ways_out(&read).ok().map(|answer| answer.planned)
}

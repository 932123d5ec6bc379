//! What was found, or why nothing was.

use batch::certainty::words::of_ten;
use batch::liquor::minerals::{Found, LineSure, MineralsError, SLAKED_LIME};
use chart::Chart;
use maud::{Markup, html};
use quantity::{Units, show};
use water::Amount;
use water::design::{DesignedLiquor, Line, Rung};

use super::{Answer, Desk, moves, pairs};
use crate::views::bench::common::{caution, filled_gaps, row, table};
use crate::views::intervals::known;

pub fn shown(desk: &Desk<'_>) -> Markup {
    match desk.answer {
        Answer::Found(found, sure) => whole(desk, found, sure.as_deref()),
        Answer::Wrong(wrong) => html! {
            div.trouble role="alert" {
                p { strong { "It cannot be read as it is." } }
                ul.notes { @for w in wrong { li { strong { (w.field) } ": " (w.message) } } }
            }
        },
        Answer::None(error) => html! {
            div.trouble role="alert" {
                p { strong { "Nothing is found. " } (error) "." }
                @if matches!(error, MineralsError::NoAim) {
                    p { a href=(format!("/batch/{}?bench=glass", desk.open.id)) { "Set the aim at the glass bench" } }
                }
            }
        },
    }
}

fn whole(desk: &Desk<'_>, found: &Found, sure: Option<&[LineSure]>) -> Markup {
    let units = desk.units;
    let design = &found.design;
    html! {
        section.card {
            h3 { "What to weigh" }
            @for liquor in &design.liquors { (into(found, liquor, units)) }
            @if let Some(malt) = &design.acid_malt {
                (table("into the grist", &[row("acidulated malt", show(malt.mass, units))]))
            }
            @if let Some(cost) = found.cost() { p { "Cost: " (format!("{:.2}", cost.amount())) } }
            (take(desk))
            @for c in found.cautions() { (caution(c)) }
        }
        section.card {
            h3 { "How near the aim" }
            (aims(&design.lines, sure, units))
            @if !design.binding.is_empty() {
                h4 { "Limits that bind" }
                ul.notes { @for binding in &design.binding { li { (binding) } } }
            }
        }
        (chart(desk, found))
        @if design.ladder.len() > 1 { (ladder(&design.ladder, units)) }
        section.card {
            h3 { "Remarks" }
            ul.notes { @for note in found.notes() { li.(note.weight.word()) { (note.text) } } }
            (filled_gaps(&found.asked.assumptions))
        }
    }
}

fn into(found: &Found, liquor: &DesignedLiquor, units: Units) -> Markup {
    let waters = liquor.blend.iter().flat_map(|part| {
        let lime = found.lime(part);
        let lime = lime.map(|lime| row(SLAKED_LIME, show(lime, units)));
        let water = row(part.name.clone(), show(part.volume, units));
        std::iter::once(water).chain(lime)
    });
    let weigh = liquor.additions.iter();
    let weigh = weigh.map(|w| row(w.what.clone(), amount(w.amount, units)));
    let rows: Vec<_> = waters.chain(weigh).collect();
    html! {
        (table(&format!("the {} water", liquor.liquor), &rows))
        @if liquor.additions.is_empty() { p.small { "Nothing to add to the " (liquor.liquor.to_string()) " water." } }
    }
}

fn amount(amount: Amount, units: Units) -> String {
    match amount {
        Amount::Mass(mass) => show(mass, units),
        Amount::Volume(volume) => show(volume, units),
    }
}

/// The question once more, so that taking it and saving its chart ask the same.
fn take(desk: &Desk<'_>) -> Markup {
    html! {
        form method="post" action=(desk.home()) {
            input type="hidden" name="on" value=(desk.open.revision);
            (hidden(desk))
            p { button.main type="submit" { "Take these into the batch" } }
        }
    }
}

fn hidden(desk: &Desk<'_>) -> Markup {
    html! { @for (name, value) in pairs(desk.question) { input type="hidden" name=(name) value=(value); } }
}

fn chart(desk: &Desk<'_>, found: &Found) -> Markup {
    let chart = moves(desk.reckoning, found);
    html! {
        @if !chart.rows.is_empty() {
            section.card {
                (chart.markup())
                (chart.table())
                form.save.no-print method="get" {
                    (hidden(desk))
                    button type="submit" formaction=(format!("{}/moves.svg", desk.home())) { "save as SVG" }
                    " "
                    button type="submit" formaction=(format!("{}/moves.csv", desk.home())) { "save as CSV" }
                }
            }
        }
    }
}

fn aims(lines: &[Line], sure: Option<&[LineSure]>, units: Units) -> Markup {
    let sure = |at: usize| sure.and_then(|sure| sure.get(at));
    let between = |at: usize| sure(at).and_then(|sure| sure.show(units));
    let chance = |at: usize| {
        let unsure = sure(at).filter(|sure| sure.between.is_some());
        unsure.map(|sure| of_ten(sure.chance))
    };
    html! {
        div.wide tabindex="0" role="region" aria-label="aim by aim" {
            table {
                thead { tr { th scope="col" { "figure" } th.number scope="col" { "aim" } th.number scope="col" { "reached" } th scope="col" { "" } } }
                tbody {
                    @for (at, line) in lines.iter().enumerate() {
                        tr {
                            th scope="row" {
                                (line.figure.to_string())
                                @if let Some(liquor) = line.liquor { small.quiet { ", " (liquor.to_string()) } }
                            }
                            td.number { (line.target.show(units)) " " small.sure { "± " (line.tolerance.show(units)) } }
                            td.number { (line.reached.show(units)) (known(between(at).as_deref())) }
                            td { (verdict(line)) (known(chance(at).as_deref())) }
                        }
                    }
                }
            }
        }
    }
}

/// In words, how an aim was met.
fn verdict(line: &Line) -> Markup {
    let off = line.off_in_tolerances;
    html! {
        @if line.met() { "met" } @else {
            strong { @if off > 0.0 { "too high" } @else { "too low" } }
            @if let Some(held_by) = &line.held_by { "; held by " (held_by) }
        }
    }
}

fn ladder(rungs: &[Rung], units: Units) -> Markup {
    html! {
        section.card {
            h3 { "What one more addition buys" }
            div.wide tabindex="0" role="region" aria-label="the best with so many kinds of addition" {
                table {
                    thead { tr { th scope="col" { "kinds" } th scope="col" { "which" } th.number scope="col" { "distance" } } }
                    tbody {
                        @for rung in rungs {
                            tr {
                                th scope="row" { (rung.kinds) }
                                td { (which(rung, units)) }
                                td.number { (format!("{:.2}", rung.misfit.weighed)) }
                            }
                        }
                    }
                }
            }
            details.why {
                summary { "What the distance is" }
                p { "Each aim's distance in parts of its ±, squared, and all of them added. Below 1, every aim is met." }
            }
        }
    }
}

fn which(rung: &Rung, units: Units) -> String {
    let doses = rung.additions.iter();
    let doses = doses.map(|(name, dose)| format!("{name} {}", amount(*dose, units)));
    let malt = rung
        .acid_malt
        .map(|mass| format!("acidulated malt {}", show(mass, units)));
    let all: Vec<String> = doses.chain(malt).collect();
    if all.is_empty() {
        "none".to_owned()
    } else {
        all.join(", ")
    }
}

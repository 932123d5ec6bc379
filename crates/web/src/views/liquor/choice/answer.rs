//! The ranking, what the best takes season by season, and what is left out.

use batch::liquor::choice::Chosen;
use chart::Chart;
use maud::{Markup, html};
use quantity::{Units, show, show_measured};
use water::Amount;
use water::choice::{Dated, Ranked};

use super::{Desk, pairs, seasons};
use crate::views::bench::common::{caution, filled_gaps};

pub fn shown(desk: &Desk<'_>, found: &Chosen) -> Markup {
    html! {
        @if let Some(best) = found.choice.ranked.first() {
            section.card {
                h3 { "Take " (best.name) }
                (reasons(desk, found, 0))
                (poured(best, desk.units))
                (takes(desk, best))
                @for c in found.cautions() { (caution(c)) }
            }
        }
        (ranking(desk, found))
        (chart(desk, found))
        (others(desk, found))
        (refused(found))
        (remarks(desk, found))
    }
}

fn reasons(desk: &Desk<'_>, found: &Chosen, place: usize) -> Markup {
    html! { ul.notes { @for reason in found.reasons(place, desk.units) { li { (reason) } } } }
}

fn ranking(desk: &Desk<'_>, found: &Chosen) -> Markup {
    let units = desk.units;
    html! {
        section.card {
            h3 { "All of them, the best first" }
            div.wide tabindex="0" role="region" aria-label="all waters and blends" {
                table {
                    thead { tr {
                        th scope="col" { "water" } th.number scope="col" { "aims missed" } th.number scope="col" { "additions" }
                        th.number scope="col" { "mash pH" } th.number scope="col" { "to carry" }
                        @if found.priced { th.number scope="col" { "cost" } }
                    } }
                    tbody {
                        @for ranked in &found.choice.ranked {
                            tr {
                                th scope="row" { (ranked.name) }
                                td.number { (ranked.unmet) }
                                td.number { (ranked.additions) }
                                td.number { (ph(ranked, units)) }
                                td.number { (show(ranked.bought, units)) }
                                @if found.priced { td.number { (format!("{:.2}", ranked.cost.amount())) } }
                            }
                        }
                    }
                }
            }
            details.why {
                summary { "How they are ranked" }
                p { "By the aims that the worst season misses; then by how near it comes, in whole squared tolerances, as less cannot be told apart in the glass; then by cost, additions and litres to carry. One water comes before a blend that is as near. That order is a judgement." }
                p { "What holds before the first analysis of a water is taken to be that analysis. Boiling and lime are left aside here: the page of salts and acid has them." }
            }
        }
    }
}

fn ph(ranked: &Ranked, units: Units) -> String {
    match ranked.mash_ph {
        Some((low, high)) if show(low, units) == show(high, units) => show(low, units),
        Some((low, high)) => format!("{} to {}", show(low, units), show(high, units)),
        None => "none".to_owned(),
    }
}

/// What to pour: a row for each water and addition, a column for each season; what
/// differs from the season before stands out.
fn poured(ranked: &Ranked, units: Units) -> Markup {
    let columns: Vec<Vec<(String, String)>> = ranked
        .seasons
        .iter()
        .map(|dated| amounts(dated, units))
        .collect();
    let mut rows: Vec<&String> = vec![];
    for (name, _) in columns.iter().flatten() {
        if !rows.contains(&name) {
            rows.push(name);
        }
    }
    let cell = |column: &[(String, String)], row: &String| {
        let found = column.iter().find(|(name, _)| name == row);
        found.map_or_else(|| "none".to_owned(), |(_, amount)| amount.clone())
    };
    html! {
        div.wide tabindex="0" role="region" aria-label=(format!("what to pour with {}", ranked.name)) {
            table {
                thead { tr {
                    th scope="col" { "what to pour" }
                    @for dated in &ranked.seasons { th.number scope="col" { (from(dated)) } }
                } }
                tbody {
                    @for row in rows {
                        tr {
                            th scope="row" { (row) }
                            @for (at, column) in columns.iter().enumerate() {
                                @let now = cell(column, row);
                                @let turned = at > 0 && cell(&columns[at - 1], row) != now;
                                td.number { @if turned { strong { (now) } } @else { (now) } }
                            }
                        }
                    }
                    tr { th scope="row" { "mash pH" } @for dated in &ranked.seasons { td.number { (dated.design.mash_ph.as_ref().map_or(String::new(), |m| show_measured(&m.ph, units))) } } }
                    tr { th scope="row" { "aims missed" } @for dated in &ranked.seasons { td.number { (dated.unmet()) } } }
                }
            }
        }
    }
}

fn from(dated: &Dated) -> String {
    match dated.from.as_str() {
        "" => "all year".to_owned(),
        from => format!("from {from}"),
    }
}

fn amounts(dated: &Dated, units: Units) -> Vec<(String, String)> {
    let design = &dated.design;
    let mut all = vec![];
    for liquor in &design.liquors {
        let named = |what: &str| format!("{}: {what}", liquor.liquor);
        for part in &liquor.blend {
            all.push((named(&part.name), show(part.volume, units)));
        }
        for weigh in &liquor.additions {
            all.push((named(&weigh.what), amount(weigh.amount, units)));
        }
    }
    if let Some(malt) = &design.acid_malt {
        all.push(("grist: acidulated malt".to_owned(), show(malt.mass, units)));
    }
    all
}

fn amount(amount: Amount, units: Units) -> String {
    match amount {
        Amount::Mass(mass) => show(mass, units),
        Amount::Volume(volume) => show(volume, units),
    }
}

/// A button for each season that puts the waters into the batch.
fn takes(desk: &Desk<'_>, ranked: &Ranked) -> Markup {
    html! {
        form.no-print.save method="post" action=(desk.home()) {
            input type="hidden" name="on" value=(desk.open.revision);
            input type="hidden" name="take" value=(ranked.name);
            (hidden(desk))
            @for dated in &ranked.seasons {
                @let words = if dated.from.is_empty() { "Take this into the batch".to_owned() } else { format!("Take it as it is {}", from(dated)) };
                button.main[ranked.seasons.len() == 1] type="submit" name="season" value=(dated.from) { (words) }
            }
        }
        p.small.no-print { "That sets the waters and their shares; salts and acid come after it, on the page of salts and acid." }
    }
}

fn hidden(desk: &Desk<'_>) -> Markup {
    html! { @for (name, value) in pairs(desk.question) { input type="hidden" name=(name) value=(value); } }
}

fn chart(desk: &Desk<'_>, found: &Chosen) -> Markup {
    html! {
        @if let Some(chart) = seasons(desk.reckoning, found) {
            section.card {
                (chart.markup())
                (chart.table())
                form.save.no-print method="get" {
                    (hidden(desk))
                    button type="submit" formaction=(format!("{}/seasons.svg", desk.home())) { "save as SVG" }
                    " "
                    button type="submit" formaction=(format!("{}/seasons.csv", desk.home())) { "save as CSV" }
                }
            }
        }
    }
}

/// Every other water and blend, one step away.
fn others(desk: &Desk<'_>, found: &Chosen) -> Markup {
    let others = found.choice.ranked.iter().enumerate().skip(1);
    html! {
        @if found.choice.ranked.len() > 1 {
            section.card {
                h3 { "The others" }
                @for (place, ranked) in others {
                    details.why {
                        summary { (place + 1) ". " (ranked.name) }
                        (reasons(desk, found, place))
                        (poured(ranked, desk.units))
                        (takes(desk, ranked))
                    }
                }
            }
        }
    }
}

fn refused(found: &Chosen) -> Markup {
    html! {
        @if !found.choice.refused.is_empty() {
            section.card {
                h3 { "Left out" }
                ul.notes { @for refused in &found.choice.refused { li.act { strong { (refused.name) } ": " (refused.error) "." } } }
            }
        }
    }
}

fn remarks(desk: &Desk<'_>, found: &Chosen) -> Markup {
    html! {
        section.card {
            h3 { "Remarks" }
            ul.notes {
                @if let Some(text) = found.needs_acid(desk.units) { li { (text) } }
                @for note in found.notes() { li.(note.weight.word()) { (note.text) } }
            }
            (filled_gaps(&found.asked.assumptions))
        }
    }
}

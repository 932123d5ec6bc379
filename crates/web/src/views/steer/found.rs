//! What was found: the best course, the trade-off, what a little of each buys.

use batch::steer::{
    Choice, FIGURES, SteeredBatch, between_words, block_words, chance_words, course_words,
    difference, figure_name, figure_words, limit_words, pitch_words,
};
use chart::Chart;
use ferment::steer::Figure;
use maud::{Markup, html};
use quantity::{Units, show};

use super::{Desk, chart};
use crate::views::address;
use crate::views::bench::common::{row, table_of_words};

pub fn cards(desk: &Desk<'_>, found: &SteeredBatch) -> Markup {
    let choice = found.choice(desk.typed.get("show"));
    html! {
        (answer(desk, found, choice))
        (drawn(desk, found, choice, "course"))
        (trade_off(desk, found, choice))
        (changes(found))
        (grounds(found, desk.units))
    }
}

/// The address of the wish as it stands, with another course shown.
fn query(desk: &Desk<'_>, show: &str) -> String {
    let wished = desk.typed.pairs();
    let wished = wished.filter(|(name, text)| !["show", "on"].contains(name) && !text.is_empty());
    let pairs = wished.chain([("show", show)]);
    address::query(pairs)
}

fn answer(desk: &Desk<'_>, found: &SteeredBatch, choice: &Choice) -> Markup {
    let (units, steered) = (desk.units, &choice.steered);
    let mut rows = vec![row("yeast", pitch_words(steered, units))];
    let figures = [Figure::Days]
        .into_iter()
        .chain(FIGURES.map(|(_, figure)| figure));
    rows.extend(figures.map(|figure| {
        let mut words = format!(
            "{} (as planned {})",
            figure_words(figure, steered.figures.of(figure), units),
            figure_words(figure, found.planned.of(figure), units)
        );
        if let Some(between) = between_words(figure, &choice.chances, units) {
            words += &format!("; {between}");
        }
        row(figure_name(figure), words)
    }));
    rows.push(row(
        "in other batches",
        chance_words(&choice.chances, units),
    ));
    html! {
        section.card #answer data-part="answer" {
            @if found.kept {
                h3 { "The course: " (choice.label) @if choice.safest { ", the safest" } }
            } @else {
                h3 { "The wish cannot be kept whole" }
                p { "This comes nearest. It does not keep: "
                    @for (n, limit) in steered.unmet.iter().filter_map(|i| found.limits.get(*i)).enumerate() { @if n > 0 { "; " } (limit_words(limit, units)) }
                    "."
                }
                ul.notes {
                    @for block in &found.blocks { li { (block_words(*block, &found.limits, units)) "." } }
                    @if found.blocks.is_empty() { li { "No one limit alone stands against it: give up two of them, or ask for less." } }
                }
            }
            @if let Some(standing) = &found.standing {
                p { "Now, " (show(standing.now, units)) " after pitching, it stands at " (standing.gravity.both(units)) " and is going to " (standing.end.both(units)) "; it runs at " (quantity::rounded(standing.speed)) " times the speed of its class." }
            }
            p.figures { (course_words(steered, units)) }
            (table_of_words("what it comes to", &rows))
            ul.notes { @for note in &found.notes { li.(note.weight.word()) { (note.text) } } }
            form method="post" action=(desk.home()) {
                input type="hidden" name="on" value=(desk.open.revision);
                input type="hidden" name="show" value=(choice.key);
                @for (name, text) in desk.typed.pairs().filter(|(name, _)| !["show", "on"].contains(name)) {
                    input type="hidden" name=(name) value=(text);
                }
                p { button.main type="submit" { "Take this course" } }
                p.small.quiet { "It takes the place of the planned temperatures and the amount of yeast; what is kept cold at the end stays." }
            }
        }
    }
}

fn drawn(desk: &Desk<'_>, found: &SteeredBatch, choice: &Choice, name: &str) -> Markup {
    let address = format!("{}/{name}", desk.home());
    let query = query(desk, &choice.key);
    html! {
        @if let Some(chart) = chart(name, desk.reckoning, found, choice, desk.units) {
            section.card {
                (chart.markup())
                (chart.table())
                p.save.no-print {
                    a href=(format!("{address}.svg?{query}")) { "save as SVG" }
                    a href=(format!("{address}.csv?{query}")) { "save as CSV" }
                }
            }
        }
    }
}

fn trade_off(desk: &Desk<'_>, found: &SteeredBatch, choice: &Choice) -> Markup {
    let (units, figure) = (desk.units, found.against.0);
    html! {
        (drawn(desk, found, choice, "trade-off"))
        section.card data-part="choices" {
            h3 { "Other courses" }
            div.wide tabindex="0" role="region" aria-label="courses to choose from" {
                table {
                    caption { "choose one to see its course" }
                    thead { tr {
                        th scope="col" { "" } th scope="col" { "days" } th scope="col" { (figure_name(figure)) } th scope="col" { "yeast" }
                        th scope="col" { "keeps the wish" } th scope="col" { "nine in ten ready after" }
                    } }
                    tbody { @for c in &found.choices {
                        tr {
                            th scope="row" {
                                @if c.key == choice.key { strong { (c.label) } " (shown)" }
                                @else { a href=(format!("{}?{}#answer", desk.home(), query(desk, &c.key))) { (c.label) } }
                                @if c.safest { " " span.quiet { "safest" } }
                            }
                            td { (figure_words(Figure::Days, c.steered.figures.days, units)) }
                            td { (figure_words(figure, c.steered.figures.of(figure), units)) }
                            td { (pitch_words(&c.steered, units)) }
                            td { (c.keeps_words()) }
                            td { (c.chances.surely_ready.map_or("not within a fortnight more".to_owned(), |at| show(at, units))) }
                        }
                    } }
                }
            }
            p.small.quiet { "Keeps the wish: in how many of a hundred batches whose speed, lag, butter and levels differ as batches do. The safest keeps it most often, and does best where it goes badly." }
        }
    }
}

fn changes(found: &SteeredBatch) -> Markup {
    let best = &found.best().steered.figures;
    html! {
        section.card data-part="changes" {
            h3 { "What a little of each buys" }
            div.wide tabindex="0" role="region" aria-label="what small changes would do" {
                table {
                    caption { "against " (found.best().label) }
                    thead { tr { th scope="col" { "" } @for (_, figure) in FIGURES { th scope="col" { (figure_name(figure)) } } th scope="col" { (figure_name(Figure::LeftToFerment)) } } }
                    tbody { @for change in &found.changes {
                        tr {
                            th scope="row" { (change.label) }
                            @for (_, figure) in FIGURES { td { (difference(figure, &change.figures, best)) } }
                            td { (difference(Figure::LeftToFerment, &change.figures, best)) }
                        }
                    } }
                }
            }
        }
    }
}

fn grounds(found: &SteeredBatch, units: Units) -> Markup {
    html! {
        section.card data-part="grounds" {
            h3 { "What it rests on" }
            p { "The wish:" }
            ul.notes { @for line in &found.wish { li { (line.text(units)) } } }
            @if !found.assumed.is_empty() {
                p { "Taken, since nothing was said:" }
                ul.notes { @for line in &found.assumed { li { (line.text(units)) } } }
            }
            details.why {
                summary { "Which model, and where it holds" }
                p { (found.validity) }
                ul.notes { @for source in &found.sources { li { (source.text) " (" (source.mark) ")" } } }
                p { "Six temperatures at even times, straight lines between them, the first that of the wort; a search with exact slopes from several starts. A better course may exist, and one of many days has its points further apart, so that it can do less early on." }
            }
        }
    }
}

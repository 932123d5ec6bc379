//! What was found: the recipe, the figures against the aim, the other answers, and what
//! stands against an aim that cannot be had.

use batch::matching::words::{block_words, chance_words, missed_words, of_hundred, trade_words};
use batch::matching::{Answer, Goal, Matched, MovedBatch, Moves, Reached};
use chart::{Axis, Chart, Heading, Interval, RangeChart};
use maud::{Markup, html};
use quantity::Caution;

use super::{Desk, Found, Where};
use crate::views::address;
use crate::views::bench::common::{caution, filled_gaps};
use crate::views::jobs::card;

pub fn cards(desk: &Desk<'_>) -> Markup {
    match desk.found {
        Found::Here(found) => of(desk, found),
        Found::Elsewhere(moved) => html! {
            (multiplied(desk, moved))
            (of(desk, &moved.matched))
        },
        Found::NotAsked => html! {
            section.card {
                h3 { "Nothing is asked yet" }
                @match desk.to {
                    Where::Here => p { "As it is, the aim of the batch is met with what the recipe has. Change what you like, and find recipes." },
                    Where::Elsewhere => p { "Say where the batch goes; what multiplying alone would give is shown beside what is found." },
                }
            }
        },
        Found::Wrong(_) => html! {},
        Found::NotYet(standing, job) => {
            let here = format!("{}?{}", desk.home(), query(desk, desk.value("show")));
            card(job, standing, &here)
        }
    }
}

fn of(desk: &Desk<'_>, found: &Matched) -> Markup {
    let answer = found.answer(desk.value("show"));
    html! {
        (recipe(desk, found, answer))
        (against(desk, found, answer))
        (others(desk, found, answer))
        (drawn(desk, found, answer))
        section.card {
            h3 { "How it was found" }
            p.small { (found.reckoned) " recipes were reckoned from tap to glass. Steps follow the slopes of the figures and are kept as far as they prove true; salts and acid have their own search. What is found is on the steps of your scale." }
            (filled_gaps(&found.assumptions))
        }
    }
}

/// The question as it stands, with another answer shown.
fn query(desk: &Desk<'_>, show: &str) -> String {
    let asked = desk
        .pairs
        .iter()
        .filter(|(k, v)| !["show", "on", "as_new"].contains(&k.as_str()) && !v.is_empty());
    let pairs = asked
        .map(|(k, v)| (k.as_str(), v.as_str()))
        .chain([("show", show)]);
    address::query(pairs)
}

fn recipe(desk: &Desk<'_>, found: &Matched, answer: &Answer) -> Markup {
    let units = desk.units;
    let moved: Vec<_> = answer.moved(&found.levers).collect();
    html! {
        section.card data-part="answer" {
            @if answer.met() {
                h3 { "The recipe: " (answer.label) }
            } @else {
                h3 { "The aim cannot be met; this is the nearest" }
                ul.notes data-part="blocks" {
                    @for missed in missed_words(found, answer, units) { li.look { (missed) "." } }
                    @for block in &found.blocks { li { (block_words(found, block, units)) "." } }
                    @if found.blocks.is_empty() { li { "No one limit alone stands against it: give up an aim, or let more move." } }
                }
            }
            p { (trade_words(answer)) "." }
            @if moved.is_empty() && answer.additions.is_empty() {
                p { "The recipe stays as it is: it meets the aim." }
            }
            @if !moved.is_empty() {
                table {
                    caption { "What becomes of it" }
                    thead { tr { th scope="col" { "" } th.number scope="col" { "now" } th.number scope="col" { "becomes" } } }
                    tbody { @for (lever, value) in &moved { tr {
                        th scope="row" { (lever.name) }
                        td.number { (lever.print(lever.now, units)) }
                        td.number { strong { (lever.print(*value, units)) } }
                    } } }
                }
            }
            @if !answer.additions.is_empty() {
                p { "Salts and acid:" }
                ul.notes { @for line in &answer.additions { li { (line) } } }
            }
            ul.notes { @for note in &answer.notes { li.(note.weight.word()) { (note.text) } } }
            @let (beside, apart) = cautions(answer, moved.iter().any(|(lever, _)| lever.moves == Moves::Gas));
            @for one in &beside { (caution(*one)) }
            @if !apart.is_empty() {
                details.why {
                    summary { "What else can hurt someone when this is brewed" }
                    @for one in &apart { (caution(*one)) }
                }
            }
            form method="post" action=(desk.home()) {
                input type="hidden" name="on" value=(desk.open.revision);
                input type="hidden" name="show" value=(answer.key);
                @for (name, text) in desk.pairs.iter().filter(|(name, _)| !["show", "on", "as_new"].contains(&name.as_str())) {
                    input type="hidden" name=(name) value=(text);
                }
                p.take {
                    button.main type="submit" { "Take this recipe" }
                    button type="submit" name="as_new" value="yes" { "Keep it as a new batch" }
                }
            }
        }
    }
}

/// Cautions of what is new in this recipe, and those of the rest of it.
fn cautions(answer: &Answer, gas: bool) -> (Vec<Caution>, Vec<Caution>) {
    let new = |one: &Caution| {
        !answer.additions.is_empty() && answer.of_additions.contains(one)
            || gas && *one == Caution::BottlePressure
    };
    answer.cautions.iter().copied().partition(new)
}

fn against(desk: &Desk<'_>, found: &Matched, answer: &Answer) -> Markup {
    let units = desk.units;
    let rows = found.goals.iter().zip(&answer.figures).zip(&found.before);
    let drawn = answer.chance.is_some();
    html! {
        section.card {
            h3 { "Held against the aim" }
            div.wide tabindex="0" role="region" aria-label="figures against the aim" {
                table.small data-part="aims" {
                    thead { tr {
                        th scope="col" { "figure" }
                        th.number scope="col" { "aim" }
                        th.number scope="col" { "now" }
                        th.number scope="col" { "reached" }
                        @if drawn { th.number scope="col" { "nine of ten" } th.number scope="col" { "chance" } }
                        th scope="col" { "" }
                    } }
                    tbody { @for ((goal, reached), before) in rows { tr {
                        th scope="row" { (goal.figure.name) }
                        td.number { (goal.words(units)) }
                        td.number { (goal.figure.print(*before, units)) }
                        td.number { strong { (goal.figure.print(reached.value, units)) } }
                        @if drawn {
                            td.number { @if let Some((low, high)) = reached.between { (goal.figure.print_between(low, high, units)) } }
                            td.number { @if let Some(chance) = reached.chance { (chance_words(chance)) } }
                        }
                        td { (sign(reached)) }
                    } } }
                }
            }
            @if let Some(chance) = answer.chance {
                p { "Every figure at once is within the aim in " (of_hundred(chance)) " of this recipe, by all that is not known of malts, kit, yeast and models." }
            }
        }
    }
}

fn sign(reached: &Reached) -> Markup {
    html! {
        @if reached.beyond > 1e-9 { span.sign.look { "off by " (format!("{:.1}", reached.beyond)) } }
        @else { span.sign.fine { "met" } }
    }
}

fn others(desk: &Desk<'_>, found: &Matched, shown: &Answer) -> Markup {
    html! {
        @if found.answers.len() > 1 {
            section.card {
                h3 { "Different answers" }
                ul.notes data-part="answers" {
                    @for answer in &found.answers { li {
                        @if answer.key == shown.key { strong { (answer.label) } }
                        @else { a href=(format!("{}?{}", desk.home(), query(desk, answer.key))) { (answer.label) } }
                        ": " (trade_words(answer))
                    } }
                }
            }
        }
    }
}

fn multiplied(desk: &Desk<'_>, moved: &MovedBatch) -> Markup {
    let units = desk.units;
    let goals = moved.matched.goals.iter();
    let rows: Vec<(&Goal, (&f64, &f64))> = goals
        .zip(moved.reached.iter().zip(&moved.matched.before))
        .collect();
    let off = rows
        .iter()
        .filter(|(goal, (_, there))| !goal.met(**there))
        .count();
    html! {
        section.card {
            h3 { "Multiplied alone" }
            p {
                "Amounts times " (quantity::rounded(moved.factor)) " in the new place "
                @if off == 0 { "would do." } @else { "would miss " (off) " of " (rows.len()) " figures." }
            }
            div.wide tabindex="0" role="region" aria-label="multiplied alone" {
                table.small data-part="multiplied" {
                    thead { tr { th scope="col" { "figure" } th.number scope="col" { "here" } th.number scope="col" { "multiplied" } th scope="col" { "" } } }
                    tbody { @for (goal, (here, there)) in rows { tr {
                        th scope="row" { (goal.figure.name) }
                        td.number { (goal.figure.print(*here, units)) }
                        td.number { (goal.figure.print(*there, units)) }
                        td { @if goal.met(*there) { span.sign.fine { "within" } } @else { span.sign.look { "off" } } }
                    } } }
                }
            }
        }
    }
}

fn drawn(desk: &Desk<'_>, found: &Matched, answer: &Answer) -> Markup {
    let chart = chart(found, answer);
    let file = |kind: &str| format!("{}/aims.{kind}?{}", desk.home(), query(desk, answer.key));
    html! {
        section.card {
            (chart.markup())
            (chart.table())
            p.save.no-print {
                a href=(file("svg")) { "save as SVG" }
                a href=(file("csv")) { "save as CSV" }
            }
        }
    }
}

/// How far each figure is from the middle of its aim, with its interval, in tolerances.
pub fn chart(found: &Matched, answer: &Answer) -> RangeChart {
    let row = |(goal, reached): (&Goal, &Reached)| {
        let middle = match (goal.low, goal.high) {
            (Some(low), Some(high)) => 0.5 * (low + high),
            (Some(low), None) => low + goal.tolerance,
            (None, Some(high)) => high - goal.tolerance,
            (None, None) => reached.value,
        };
        let off = |x: f64| (x - middle) / goal.tolerance;
        let (low, high) = reached.between.unwrap_or((f64::NAN, f64::NAN));
        Interval::new(goal.figure.name, off(low), off(reached.value), off(high))
    };
    RangeChart {
        heading: Heading::new(
            "aims",
            "Distance from the aim, in tolerances",
            "Within the band a figure would do; the line holds nine of ten brewings.",
        ),
        axis: Axis::new("distance from the aim", "tolerances").decimals(1),
        rows: found.goals.iter().zip(&answer.figures).map(row).collect(),
        aim: Some(::chart::Aim {
            low: -1.0,
            high: 1.0,
            label: "aim".to_owned(),
        }),
    }
}

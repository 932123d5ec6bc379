//! Batches side by side: what differs, what made it differ, and what tasting said.

use app::{Page as Listed, Picked, Standing};
use batch::comparing::words::{REACH, apart_words, how, made_by};
use batch::comparing::{Against, Comparison, Difference, Part};
use chart::{Axis, Chart, Heading, Step, StepsChart};
use maud::{Markup, html};
use quantity::{Units, Weight};

use store::Job;

use crate::page::Page;
use crate::views::address;
use crate::views::jobs::card;

/// Everything that the page shows.
pub struct Desk<'d> {
    pub picked: &'d [Picked],
    pub found: &'d Comparison,
    /// The figure whose steps are drawn; the foremost where there is none of that key.
    pub figure: &'d str,
    /// Which of the others it is drawn for, counted from nought.
    pub with: usize,
    pub units: Units,
}

/// The page while they are still being compared; `asked` is what its address holds.
pub fn working(
    picked: &[Picked],
    asked: &[(String, String)],
    job: &Job,
    standing: &Standing,
) -> Markup {
    let pairs = asked
        .iter()
        .map(|(key, value)| (key.as_str(), value.as_str()));
    let here = format!("/compare?{}", address::query(pairs));
    let page = Page::new("Side by side").beside(format!("{} batches", picked.len()));
    let page = if job.state.is_open() {
        page.looks_again()
    } else {
        page
    };
    page.render(&html! {
        section.bench.comparing aria-label="batches side by side" { div { (card(job, standing, &here)) } }
    })
}

/// A list to tick batches in.
pub struct Picking<'p> {
    pub listed: &'p Listed,
    /// Those that are picked already, as the address writes them.
    pub kept: &'p [(String, Picked)],
    pub find: &'p str,
    pub told: Option<&'p str>,
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    let found = desk.found;
    Page::new("Side by side")
        .beside(format!("{} batches", found.batches.len()))
        .link(again(desk), "pick others")
        .render(&html! {
            div.hello {
                p { @for (n, batch) in desk.picked.iter().enumerate() {
                    @if n > 0 { " beside " }
                    a href=(format!("/batch/{}", batch.id)) { (batch.name) }
                    span.quiet { " (revision " (batch.revision) @if !batch.newest { ", not the newest" } ")" }
                } }
            }
            section.bench.comparing aria-label="batches side by side" {
                div {
                    @for (n, against) in found.against.iter().enumerate() { (differs(desk, n, against)) }
                    (said(desk))
                }
                div {
                    @for (n, against) in found.against.iter().enumerate() { (made(desk, n, against)) }
                    (drawn(desk))
                    (stream(desk))
                    (signs(desk))
                }
            }
        })
}

/// The address of the list, with what is picked.
fn again(desk: &Desk<'_>) -> String {
    format!("/compare?{}&do=pick", of(desk))
}

fn of(desk: &Desk<'_>) -> String {
    let of: Vec<String> = desk
        .picked
        .iter()
        .map(|p| format!("of={}", written(p)))
        .collect();
    of.join("&")
}

/// A batch as an address names it.
fn written(picked: &Picked) -> String {
    if picked.newest {
        picked.id.to_string()
    } else {
        format!("{}@{}", picked.id, picked.revision)
    }
}

/// The name of a batch; with its revision where another has the same.
fn name(desk: &Desk<'_>, n: usize) -> String {
    let Some(one) = desk.picked.get(n) else {
        return String::new();
    };
    let same = desk.picked.iter().filter(|p| p.name == one.name);
    if same.count() > 1 {
        format!("{}, revision {}", one.name, one.revision)
    } else {
        one.name.clone()
    }
}

fn differs(desk: &Desk<'_>, n: usize, against: &Against) -> Markup {
    html! {
        section.card {
            h3 { "What differs" }
            p.small.quiet { (name(desk, 0)) " → " (name(desk, n + 1)) }
            @if against.parts.is_empty() { p { "Nothing that the stream is reckoned from." } }
            ul.notes { @for (at, part) in against.parts.iter().enumerate() { (differing(part, against.still.contains(&at))) } }
            @if !against.told.is_empty() {
                details.why {
                    summary { "and what is no part of the stream: " (against.told.len()) }
                    ul.notes { @for change in &against.told { li { (change.told()) } } }
                }
            }
        }
    }
}

fn differing(part: &Part, still: bool) -> Markup {
    html! {
        li {
            @if part.changes.len() > 1 {
                details.why {
                    summary { (part.what) ": " (part.changes.len()) " things" }
                    ul { @for change in &part.changes { li { (change.words()) } } }
                }
            } @else { (part.phrase()) }
            @if still { span.quiet { " – moves none of the figures" } }
        }
    }
}

fn made(desk: &Desk<'_>, n: usize, against: &Against) -> Markup {
    let units = desk.units;
    html! {
        section.card {
            h3 { "What made it differ" }
            p.small.quiet { (name(desk, 0)) " → " (name(desk, n + 1)) }
            @if against.figures.is_empty() { p { "No figure differs." } }
            ul.made { @for d in &against.figures { (one(against, d, units)) } }
            @for note in &against.notes { p.small { (note) "." } }
            @if !against.figures.is_empty() {
                details.why {
                    summary { "how it was split" }
                    p { (how(against)) "." }
                    p { "Only what is reckoned is split: what was read or tasted is not. The amounts of sugar and salts that a plan reckons from its own figures are reckoned anew." }
                    p { (REACH) }
                }
            }
        }
    }
}

fn one(against: &Against, d: &Difference, units: Units) -> Markup {
    html! {
        li {
            p.figure {
                b { (d.label) } " "
                span.from { (d.print(d.from, units)) " → " (d.print(d.to, units)) } " "
                strong.by { (d.change(units)) }
            }
            p.small { "from " (made_by(against, d, units)) }
            @if let Some(words) = apart_words(d, units) { p.small.quiet { (words) } }
        }
    }
}

/// The steps of one figure as a chart, and a choice of the others.
fn drawn(desk: &Desk<'_>) -> Markup {
    let with = desk.with.min(desk.found.against.len().saturating_sub(1));
    let Some(against) = desk.found.against.get(with) else {
        return html! {};
    };
    let figure = against.figure(desk.figure).or_else(|| against.foremost());
    let chart = figure.and_then(|d| Some((d, chart(desk.found, with, d, desk.units)?)));
    html! {
        @if let Some((d, chart)) = chart {
            section.card #steps {
                (chart.markup())
                (chart.table())
                p.save.no-print {
                    a href=(format!("/compare/{}.svg?{}&with={with}", d.key, of(desk))) { "save as SVG" }
                    a href=(format!("/compare/{}.csv?{}&with={with}", d.key, of(desk))) { "save as CSV" }
                }
                form.row.no-print method="get" action="/compare#steps" {
                    @for one in desk.picked { input type="hidden" name="of" value=(written(one)); }
                    label for="figure" { "Draw" }
                    select #figure name="figure" {
                        @for other in &against.figures { option value=(other.key) selected[other.key == d.key] { (other.label) } }
                    }
                    @if desk.found.against.len() > 1 {
                        label for="with" { "beside" }
                        select #with name="with" {
                            @for n in 0..desk.found.against.len() { option value=(n) selected[n == with] { (name(desk, n + 1)) } }
                        }
                    }
                    button type="submit" { "Draw" }
                }
            }
        }
    }
}

/// The steps that lead from one batch's figure to the other's.
pub fn chart(found: &Comparison, with: usize, d: &Difference, units: Units) -> Option<StepsChart> {
    let against = found.against.get(with)?;
    let steps = d.steps(against, units)?;
    let names = (
        &found.batches.first()?.name,
        &found.batches.get(with + 1)?.name,
    );
    Some(StepsChart {
        heading: Heading::new(
            "made-by",
            format!("What made it differ: {}", d.label),
            format!("{} from {}", d.change(units), made_by(against, d, units)),
        ),
        axis: Axis::new(d.label, steps.unit).decimals(steps.decimals),
        from: (names.0.clone(), steps.from),
        steps: steps
            .steps
            .into_iter()
            .map(|(what, by)| Step::new(what, by))
            .collect(),
        to: (names.1.clone(), steps.to),
    })
}

fn stream(desk: &Desk<'_>) -> Markup {
    let system = usize::from(desk.units == Units::Us);
    html! {
        section.card {
            h3 { "Along the stream" }
            @if desk.found.rows.is_empty() { p { "Every figure is the same." } }
            @else {
                div.wide tabindex="0" role="region" aria-label="figures that differ" {
                    table.small {
                        thead { tr {
                            th scope="col" { "stage" }
                            th scope="col" { "figure" }
                            @for n in 0..desk.picked.len() { th.number scope="col" { (name(desk, n)) } }
                        } }
                        tbody { @for row in &desk.found.rows { tr {
                            td.quiet { (row.stage.word()) }
                            th scope="row" { (row.label) }
                            @for value in &row.values { td.number { @if let Some(value) = value { (value[system]) } @else { "–" } } }
                        } } }
                    }
                }
            }
            p.small.quiet { (desk.found.same) " figures are the same." }
        }
    }
}

fn signs(desk: &Desk<'_>) -> Markup {
    html! {
        @if !desk.found.stood.is_empty() {
            section.card {
                h3 { "How the stages stand" }
                @for stage in &desk.found.stood {
                    h4 { (stage.stage.word()) }
                    ul.notes { @for (n, (weight, why)) in stage.signs.iter().enumerate() {
                        li.(weight.word()) {
                            b { (name(desk, n)) ": " (weight.word()) }
                            @if let (Some(why), true) = (why, *weight > Weight::Fine) { ". " (why) }
                        }
                    } }
                }
            }
        }
    }
}

/// Tastings, findings, tests and what the inquiry comes to.
fn said(desk: &Desk<'_>) -> Markup {
    html! {
        section.card {
            h3 { "What tasting said" }
            @for (n, batch) in desk.found.batches.iter().enumerate() {
                h4 { (name(desk, n)) }
                @let tastings = desk.picked.get(n).map_or(&[][..], |p| &p.tastings);
                @if tastings.is_empty() && batch.found.is_empty() && batch.tests.is_empty() { p.quiet { "Nothing yet." } }
                ul.notes {
                    @for line in tastings { li { (line) } }
                    @for line in &batch.found { li { (line) } }
                    @for line in &batch.tests { li { (line) } }
                }
                @if let (Some(verdict), Some(picked)) = (&batch.verdict, desk.picked.get(n)) {
                    p { (verdict) " " a href=(format!("/batch/{}/inquiry/story", picked.id)) aria-label=(format!("the story of {}", name(desk, n))) { "the story" } }
                }
            }
        }
    }
}

/// The list to tick batches in.
pub fn picking(p: &Picking<'_>) -> Markup {
    let held = |id: &str| p.kept.iter().any(|(of, _)| of == id);
    html! {
        (Page::new("Side by side").beside("pick two batches or more").render(&html! {
            @if let Some(told) = p.told { div.trouble role="alert" { p { (told) } } }
            section.card.picking {
                h2 { "Which batches?" }
                p { "The first is what the others are held against. What differs is split among what made it, from the tap to the glass." }
                form.row method="get" action="/compare" role="search" {
                    @for (of, _) in p.kept { input type="hidden" name="of" value=(of); }
                    label for="find" { "Find by name" }
                    input #find name="find" type="text" value=(p.find);
                    button type="submit" { "Find" }
                }
                form method="get" action="/compare" {
                    input type="hidden" name="do" value="compare";
                    ul.ticks {
                        @for (of, one) in p.kept { (tick(of, &format!("{}, revision {}", one.name, one.revision), true)) }
                        @for row in p.listed.rows.iter().filter(|r| !held(&r.id.to_string())) {
                            (tick(&row.id.to_string(), &format!("{}, revision {}", row.name, row.revision), false))
                        }
                    }
                    @if p.listed.rows.is_empty() && p.kept.is_empty() { p { "There is no batch to compare." } }
                    p { button.main type="submit" { "Compare" } }
                }
                @if p.listed.pages > 1 { p.small.quiet { "The list shows the newest; find others by name." } }
            }
        }))
    }
}

fn tick(of: &str, words: &str, ticked: bool) -> Markup {
    html! {
        li { label.tick { input type="checkbox" name="of" value=(of) checked[ticked]; span { (words) } } }
    }
}

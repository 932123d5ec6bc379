//! How sure the figures of a batch are, what they are unsure of, and what to know better.

use app::{OpenBatch, Standing};
use batch::certainty::words::{better_words, how, unsure_of};
use batch::certainty::{Certainty, Question, Sure};
use chart::{Axis, Chart, Contribution, ContributionChart, Heading, Segment, Tone};
use maud::{Markup, html};
use quantity::Units;

use store::Job;

use crate::page::Page;
use crate::views::jobs::card;

/// How closely to look.
#[derive(Debug)]
pub struct Look {
    pub word: &'static str,
    pub label: &'static str,
    pub question: Question,
}

/// A glance takes about a second, the closest some ten.
pub static LOOKS: [Look; 3] = [
    Look {
        word: "glance",
        label: "at a glance",
        question: Question {
            draws: 256,
            points: 24,
            seed: 1,
        },
    },
    Look {
        word: "closely",
        label: "closely",
        question: Question {
            draws: 2048,
            points: 128,
            seed: 1,
        },
    },
    Look {
        word: "very-closely",
        label: "very closely, some ten seconds",
        question: Question {
            draws: 8192,
            points: 512,
            seed: 1,
        },
    },
];

/// Doubts that are named beside a figure.
const NAMED: usize = 3;

/// What to know better that is shown at once.
const FIRST: usize = 6;

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub found: &'d Certainty,
    pub look: &'d Look,
    pub units: Units,
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    let found = desk.found;
    frame(desk.open).render(&html! {
        div.hello {
            h2 { "How sure it is" }
            p { "Every figure with a spread is drawn, all together, and each draw is reckoned from tap to glass. What is decided stays as it is; the kit, the malts, the yeast and the models differ." }
        }
        section.bench.brew-day.certainty aria-label="how sure it is" {
            div {
                (better(desk))
                section.card {
                    h3 { "How it was reckoned" }
                    p { (how(found)) "." }
                    p.small { "Nine of ten draws lie between the two figures. Shares are of the variance: what a doubt makes alone and together with others. A figure of which no spread is said counts as known. Liquors, salts, reagent and priming sugar stay as the plan weighs them. Doubts are drawn as if none knew of another, but for those that the document says move together." }
                    (closer(desk))
                }
            }
            div {
                (figures(desk))
                (shares(desk))
                (doubts(desk))
            }
        }
    })
}

/// The page while it is still being drawn.
pub fn working(open: &OpenBatch, look: &Look, job: &Job, standing: &Standing) -> Markup {
    let here = format!("/batch/{}/certainty?look={}", open.id, look.word);
    let page = frame(open);
    let page = if job.state.is_open() {
        page.looks_again()
    } else {
        page
    };
    page.render(&html! {
        div.hello {
            h2 { "How sure it is" }
            p { "Every figure with a spread is drawn, all together, and each draw is reckoned from tap to glass." }
        }
        section.bench.brew-day.certainty aria-label="how sure it is" { div { (card(job, standing, &here)) } }
    })
}

fn figures(desk: &Desk<'_>) -> Markup {
    let print = |figure: &Sure, x: f64| figure.print(x, desk.units);
    html! {
        section.card {
            h3 { "From tap to glass" }
            div.wide tabindex="0" role="region" aria-label="figures and their intervals" {
                table.small {
                    thead { tr {
                        th scope="col" { "figure" }
                        th.number scope="col" { "reckoned" }
                        th.number scope="col" { "from" }
                        th.number scope="col" { "to" }
                        th scope="col" { "unsure of" }
                    } }
                    tbody { @for figure in &desk.found.figures {
                        tr {
                            th scope="row" { (figure.label) }
                            td.number { (print(figure, figure.reckoned)) }
                            td.number { (print(figure, figure.low)) }
                            td.number { (print(figure, figure.high)) }
                            td.quiet { (unsure_of(desk.found, figure, NAMED)) }
                        }
                    } }
                }
            }
        }
    }
}

fn better(desk: &Desk<'_>) -> Markup {
    let better = desk.found.better();
    html! {
        section.card {
            h3 { "What to know better" }
            @if better.is_empty() {
                p { "Nothing stands out: no one doubt makes a fifth of what a figure is unsure of." }
            }
            @let (first, more) = better.split_at(better.len().min(FIRST));
            ol.notes { @for one in first { li { (better_words(one, desk.units)) } } }
            @if !more.is_empty() {
                details.why {
                    summary { (more.len()) " more" }
                    ol.notes start=(FIRST + 1) { @for one in more { li { (better_words(one, desk.units)) } } }
                }
            }
        }
    }
}

fn shares(desk: &Desk<'_>) -> Markup {
    let chart = chart(desk.found);
    let file = |kind: &str| {
        format!(
            "/batch/{}/certainty/shares.{kind}?look={}",
            desk.open.id, desk.look.word
        )
    };
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

/// What each figure is unsure of, by where the doubt stands.
pub fn chart(found: &Certainty) -> ContributionChart {
    let kinds = [
        ("figures of the document", Tone::Water),
        ("usual for a class", Tone::Sand),
        ("models", Tone::Copper),
        ("several together", Tone::Stone),
    ];
    let row = |figure: &Sure| {
        let shares = found.by_origin(figure);
        let segments = kinds.iter().zip(shares);
        let segment = |(&(label, tone), share)| Segment::new(label, share, tone);
        Contribution::stacked(figure.label, segments.map(segment).collect())
    };
    let shared = found.figures.iter().filter(|f| !f.shares.is_empty());
    ContributionChart {
        heading: Heading::new(
            "certainty",
            "What the figures are unsure of, % of the variance",
            "Blue can be measured, sand stands on a sheet of its own, copper is the model.",
        ),
        axis: Axis::new("share", "%").starting_at(0.0).decimals(0),
        rows: shared.map(row).collect(),
    }
}

fn doubts(desk: &Desk<'_>) -> Markup {
    let doubts = &desk.found.doubts;
    html! {
        section.card {
            details.why {
                summary { "All " (doubts.len()) " doubts" }
                dl { @for doubt in doubts {
                    dt { (doubt.what) ": " (doubt.text(desk.units)) }
                    dd {
                        (doubt.origin.word()) "; " (doubt.settle)
                        @if let Some(source) = &doubt.source { " (" (source.text) "; " (source.mark) ")" }
                    }
                } }
            }
        }
    }
}

fn closer(desk: &Desk<'_>) -> Markup {
    html! {
        form method="get" action=(format!("/batch/{}/certainty", desk.open.id)) {
            div.row {
                label for="look" { "Look" }
                select #look name="look" {
                    @for look in &LOOKS {
                        option value=(look.word) selected[look.word == desk.look.word] { (look.label) }
                    }
                }
                button { "Reckon again" }
            }
        }
    }
}

/// The page of a batch of which it cannot be said.
pub fn unread(open: &OpenBatch, why: &str) -> Markup {
    frame(open).render(&html! {
        div.trouble role="alert" {
            p { strong { "It cannot be said how sure this batch is. " } (why) "." }
            p { a href=(format!("/batch/{}", open.id)) { "Back to the batch" } }
        }
    })
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(format!("/batch/{}", open.id), "back to the batch")
        .link(format!("/batch/{}/sheet", open.id), "brew-day sheet")
}

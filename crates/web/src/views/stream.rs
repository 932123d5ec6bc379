//! The stream: the stages drawn as one pipe with the liquid in its own colour,
//! each with its figures and its sign.

use app::OpenBatch;
use batch::{KeyFigure, Moved, Reckoning, Stage};
use maud::{Markup, PreEscaped, html};
use quantity::{Units, Weight};

use super::intervals::{self, Beside};

/// The pipe and the six stages.
pub fn strip(open: &OpenBatch, current: Stage, moved: &[Moved], units: Units) -> Markup {
    let reckoning = open.outcome.reckoning();
    let figures = reckoning.map(Reckoning::figures).unwrap_or_default();
    html! {
        section.stream aria-label="the stream, from tap to glass" {
            (pipe(reckoning))
            @if reckoning.is_some() { (intervals::asked(open, Beside::Bench(current))) }
            ol.stages {
                @for stage in Stage::ALL {
                    li { (stage_link(open, stage, current, reckoning, &figures, moved, units)) }
                }
            }
        }
    }
}

fn stage_link(
    open: &OpenBatch,
    stage: Stage,
    current: Stage,
    reckoning: Option<&Reckoning>,
    figures: &[KeyFigure],
    moved: &[Moved],
    units: Units,
) -> Markup {
    html! {
        a.stage href=(format!("/batch/{}?bench={}", open.id, stage.word()))
            aria-current=[(stage == current).then_some("step")] {
            h2 { (title(stage)) }
            dl.figures {
                @for figure in figures.iter().filter(|f| f.stage == stage && f.shown) {
                    div {
                        dt { (figure.label) }
                        dd {
                            span.reckoned {
                                @if let Some(m) = moved.iter().find(|m| m.after.key == figure.key) {
                                    small.quiet { (m.before.text.text(units)) " → " }
                                }
                                (figure.text.text(units))
                            }
                            (intervals::of_figure(figure.key))
                        }
                    }
                }
            }
            @if let Some(sign) = reckoning.and_then(|r| r.sign(stage)) {
                p class=(format!("sign {}", sign.weight.word())) {
                    b { (sign.weight.word()) }
                    @if let Some(reason) = sign.reason() { ": " (shortened(reason)) }
                }
            }
        }
    }
}

/// The name of a stage on the page.
pub fn title(stage: Stage) -> &'static str {
    match stage {
        Stage::Water => "Water",
        Stage::Mash => "Mash",
        Stage::Boil => "Boil",
        Stage::Ferment => "Ferment",
        Stage::Package => "Package",
        Stage::Glass => "Glass",
    }
}

/// The first clause of a reason: the bench says the rest.
fn shortened(reason: &str) -> String {
    const MOST: usize = 90;
    // The point of a number ends nothing.
    let end = reason
        .match_indices(['.', ';', ':'])
        .map(|(at, _)| at)
        .filter(|at| *at > 12)
        .find(|at| {
            reason[at + 1..]
                .chars()
                .next()
                .is_none_or(char::is_whitespace)
        })
        .unwrap_or(reason.len());
    let clause = reason.get(..end).unwrap_or(reason);
    if clause.chars().count() <= MOST {
        return clause.to_owned();
    }
    let cut: String = clause.chars().take(MOST).collect();
    match cut.rfind(' ') {
        Some(space) => format!("{}…", &cut[..space]),
        None => format!("{cut}…"),
    }
}

/// Whether a sign asks for anything.
pub fn asks(weight: Weight) -> bool {
    weight > Weight::Fine
}

/// Colour of the liquid at a stage, as SVG gradient stops.
fn colours(reckoning: Option<&Reckoning>) -> [String; 6] {
    let water = "#a9d3da".to_owned();
    let Some(r) = reckoning else {
        return std::array::from_fn(|_| water.clone());
    };
    let hex = |ebc: quantity::Colour, depth_cm: f64| {
        wort::colour::glass_colour(ebc, quantity::Length::from_cm(depth_cm)).map_or_else(
            |_| water.clone(),
            |[red, green, blue]| format!("#{red:02x}{green:02x}{blue:02x}"),
        )
    };
    let kettle = hex(r.mash.wort.colour, 5.0);
    let boiled = hex(r.boil.wort.colour, 5.0);
    let beer = hex(r.glass.colour, 5.0);
    [
        water.clone(),
        kettle.clone(),
        boiled.clone(),
        beer.clone(),
        beer.clone(),
        beer,
    ]
}

/// The drawing: decoration, the list below it says everything.
fn pipe(reckoning: Option<&Reckoning>) -> Markup {
    let stops = colours(reckoning);
    let places = ["0", ".24", ".42", ".62", ".8", "1"];
    html! {
        svg.pipe viewBox="0 0 1320 74" aria-hidden="true" focusable="false" {
            defs {
                linearGradient #liquid gradientUnits="userSpaceOnUse" x1="0" x2="1320" y1="0" y2="0" {
                    @for (place, colour) in places.iter().zip(&stops) { stop offset=(place) stop-color=(colour) {} }
                }
            }
            rect.wall x="8" y="36" width="1304" height="16" rx="8" {}
            rect x="10" y="38.5" width="1300" height="11" rx="5.5" fill="url(#liquid)" {}
            path.flowing d="M14 44H1306" fill="none" stroke="#ffffff" stroke-opacity=".45" stroke-width="2" stroke-dasharray="10 38" {}
            (PreEscaped(VESSELS))
        }
    }
}

/// Vessels as plain line drawings: water jug, mash tun, kettle, fermenter,
/// bottle, glass.
const VESSELS: &str = concat!(
    r#"<path class="vessel" d="M62 12h38l-3 44q0 5-5 5H70q-5 0-5-5z"/><path class="line" d="M100 20q12 2 9 15t-11 13M66 26h30"/>"#,
    r#"<path class="vessel" d="M288 20h46v34q0 7-7 7h-32q-7 0-7-7z"/><path class="line" d="M282 20h58M311 20V6M303 6h16M295 34l8 5 8-5 8 5 8-5"/>"#,
    r#"<path class="vessel" d="M504 22h52v32q0 7-7 7h-38q-7 0-7-7z"/><path class="line" d="M498 22h64M516 14q4-4 0-8M530 13q4-5 0-10M544 14q4-4 0-8"/>"#,
    r#"<path class="vessel" d="M726 10h44v28l-16 24h-12l-16-24z"/><path class="line" d="M748 10V4h8M726 22h44"/>"#,
    r#"<path class="vessel" d="M961 6h10v13q9 6 9 15v24q0 4-4 4h-20q-4 0-4-4V34q0-9 9-15z"/><path class="line" d="M952 40h28"/>"#,
    r#"<path class="vessel" d="M1164 12h40l-5 46q0 4-4 4h-22q-4 0-4-4z"/><path class="line" d="M1166 24h36M1172 17h2M1182 18h2M1192 17h2"/>"#,
);

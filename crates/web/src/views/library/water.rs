//! The page of a water: its analyses over time, and what the newest one says.

use std::collections::BTreeMap;

use app::DatedAnalysis;
use batch::library::{Analysis, Part};
use batch::liquor::chlorine::judgement;
use chart::Chart;
use maud::{Markup, html};
use quantity::{Fraction, Measured, Quantity, Units, show, show_measured};

use super::{Desk, Told, assumed, charts, form, home};
use crate::views::bench::common::{caution, row, table};
use crate::views::form::Form;
use crate::views::liquor::chlorine::supply;
use crate::views::stream::asks;

pub fn desk(desk: &Desk<'_>) -> Markup {
    let fields = desk.form();
    html! {
        div.bench {
            div {
                (add(desk))
                (form(desk, &html! {
                    fieldset {
                        legend { "The water" }
                        (fields.words("water.name", "Name"))
                        (fields.words("water.place", "Where it is drawn"))
                        (fields.words("water.notes", "Notes"))
                    }
                }))
            }
            div {
                div.results {
                    (newest(desk))
                    @for name in charts::NAMES { (chart(desk, name)) }
                }
                (all(desk))
            }
        }
    }
}

const FIGURES: [(&str, &str); 15] = [
    ("calcium", "Calcium"),
    ("magnesium", "Magnesium"),
    ("sodium", "Sodium"),
    ("potassium", "Potassium"),
    ("alkalinity", "Alkalinity"),
    ("sulfate", "Sulfate"),
    ("chloride", "Chloride"),
    ("nitrate", "Nitrate"),
    ("nitrite", "Nitrite"),
    ("iron", "Iron"),
    ("manganese", "Manganese"),
    ("ph", "pH"),
    ("temperature", "Temperature"),
    ("total_chlorine", "Total chlorine"),
    ("free_chlorine", "Free chlorine"),
];

/// Keys that tell what a supply keeps.
const SUPPLY: [&str; 6] = [
    "disinfectant",
    "supplier_says",
    "chlorine_smell",
    "region",
    "ammonium",
    "kind",
];

/// The form of a new analysis.
fn add(desk: &Desk<'_>) -> Markup {
    let nothing = BTreeMap::new();
    let (typed, faults) = match desk.told {
        Told::NotKept(typed, faults) => (Some(typed), faults),
        _ => (None, [].as_slice()),
    };
    let fields = Form::new(&nothing, typed, faults).over(Part::Analysis);
    let open = typed.is_some() || desk.analyses.is_empty();
    html! {
        details.card open[open] {
            summary.name { "Add an analysis" }
            form method="post" action=(format!("{}/analysis", home(desk.open))) {
                p.hint {
                    "Each figure with its unit, and its spread where you know it: 88 ± 3 mg/L. "
                    "Calcium, magnesium, alkalinity, sulfate and chloride are needed. Chlorine that nobody measured is judged by what the supply keeps."
                }
                (fields.field("taken_on", "Sampled on, as 2026-03-14"))
                @for (key, label) in FIGURES { (fields.field(key, label)) }
                details.why open[SUPPLY.iter().any(|key| fields.fills(key))] {
                    summary { "what the supply keeps" }
                    (fields.choice("disinfectant", "Disinfectant"))
                    (fields.words("supplier_says", "The supplier says"))
                    (fields.choice("chlorine_smell", "A glass of it smells of"))
                    (fields.choice("region", "Region"))
                    (fields.field("ammonium", "Ammonium"))
                    (fields.choice("kind", "Where it is drawn"))
                }
                (fields.words("laboratory", "Laboratory"))
                (fields.words("notes", "Notes"))
                p { button.main type="submit" { "Keep the analysis" } }
            }
        }
    }
}

fn newest(desk: &Desk<'_>) -> Markup {
    let Some(newest) = desk.analyses.last() else {
        return html! {
            section.card {
                h2 { "No analysis yet" }
                p { "Add the first one: a report of the supplier, a laboratory, or drop tests at home." }
            }
        };
    };
    html! {
        section.card {
            h2 { "What the newest analysis says, " (newest.taken_on) }
            @match &newest.reading {
                Ok((analysis, assumptions)) => {
                    (says(analysis, desk.units))
                    (assumed(assumptions))
                },
                Err(faults) => {
                    p { "It cannot be read." }
                    ul.notes { @for fault in faults { li { (fault) } } }
                },
            }
        }
    }
}

fn says(analysis: &Analysis, units: Units) -> Markup {
    let says = match analysis.says() {
        Ok(says) => says,
        Err(why) => return html! { p { "Its figures contradict each other: " (why) } },
    };
    let balance = &says.balance;
    html! {
        @for c in &says.cautions { (caution(*c)) }
        (table("hardness", &[
            row("hardness", show_measured(&analysis.hardness(), units)),
            row("of it temporary, which boiling can drop", show(says.temporary_hardness, units)),
            row("alkalinity", show_measured(&analysis.figures.alkalinity, units)),
            row("residual alkalinity", show(says.residual_alkalinity, units)),
        ]))
        (table("whether the ions add up", &[
            row("cations", show(balance.cations, units)),
            row("anions", show(balance.anions, units)),
            row("apart by", show(Fraction::from_ratio(balance.relative_error.abs()), units)),
        ]))
        (chlorine(analysis, units))
        @if !says.notes.is_empty() {
            ul.notes {
                @for note in &says.notes {
                    li.(note.weight.word()) {
                        @if asks(note.weight) { strong { (note.weight.word()) ": " } }
                        (note.text)
                    }
                }
            }
        }
    }
}

/// What disinfectant the supply keeps, by this analysis.
fn chlorine(analysis: &Analysis, units: Units) -> Markup {
    html! {
        h3 { "Chlorine" }
        @match judgement(&analysis.figures) {
            Ok(Some(judged)) => (supply(&judged, units)),
            Ok(None) => p { "No chlorine that a test would show." },
            Err(why) => p { "Its figures contradict each other: " (why) },
        }
    }
}

fn chart(desk: &Desk<'_>, name: &str) -> Markup {
    html! {
        @if let Some(chart) = charts::named(name, desk.analyses) {
            section.card {
                (chart.markup())
                (chart.table())
                p.save.no-print {
                    a href=(format!("{}/chart/{name}.svg", home(desk.open))) { "save as SVG" }
                    a href=(format!("{}/chart/{name}.csv", home(desk.open))) { "save as CSV" }
                }
            }
        }
    }
}

/// All analyses, the newest first, one a column.
fn all(desk: &Desk<'_>) -> Markup {
    let columns: Vec<(&DatedAnalysis, &Analysis)> = desk
        .analyses
        .iter()
        .rev()
        .filter_map(|a| Some((a, &a.reading.as_ref().ok()?.0)))
        .collect();
    let values: Vec<_> = columns
        .iter()
        .map(|(_, a)| figures(a, desk.units))
        .collect();
    html! {
        @if let Some(first) = values.first() {
            section.card {
                h2 { "All analyses" }
                div.wide tabindex="0" role="region" aria-label="all analyses" {
                    table {
                        thead { tr {
                            th scope="col" { "" }
                            @for (dated, _) in &columns {
                                th.number scope="col" {
                                    (dated.taken_on)
                                    @if dated.number.get() > 1 { " (correction " (dated.number.get() - 1) ")" }
                                }
                            }
                        } }
                        tbody {
                            @for (n, (label, _)) in first.iter().enumerate() {
                                tr {
                                    th scope="row" { (label) }
                                    @for column in &values { td.number { (column.get(n).map_or("", |(_, v)| v)) } }
                                }
                            }
                            tr {
                                th scope="row" { "laboratory" }
                                @for (_, a) in &columns { td { (a.laboratory.as_deref().unwrap_or("")) } }
                            }
                            tr {
                                th scope="row" { "notes" }
                                @for (_, a) in &columns { td { (a.notes.as_deref().unwrap_or("")) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn figures(a: &Analysis, units: Units) -> Vec<(&'static str, String)> {
    let f = &a.figures;
    vec![
        ("hardness", show_measured(&a.hardness(), units)),
        ("alkalinity", show_measured(&f.alkalinity, units)),
        ("calcium", show_measured(&f.calcium, units)),
        ("magnesium", show_measured(&f.magnesium, units)),
        ("sodium", show_measured(&f.sodium, units)),
        ("potassium", show_measured(&f.potassium, units)),
        ("sulfate", show_measured(&f.sulfate, units)),
        ("chloride", show_measured(&f.chloride, units)),
        ("nitrate", show_measured(&f.nitrate, units)),
        ("nitrite", known(f.nitrite, units)),
        ("iron", known(f.iron, units)),
        ("manganese", known(f.manganese, units)),
        ("pH", known(f.ph, units)),
        ("temperature", show_measured(&f.temperature, units)),
        ("total chlorine", known(f.total_chlorine, units)),
        ("free chlorine", known(f.free_chlorine, units)),
    ]
}

fn known<Q: Quantity>(value: Option<Measured<Q>>, units: Units) -> String {
    value.map_or_else(|| "not measured".to_owned(), |m| show_measured(&m, units))
}

//! Planned against read, and what comes of it.

use batch::brew_day::Corrections;
use maud::{Markup, html};
use quantity::{Units, show, show_measured};
use wort::correct::{Cooled, Point, PointFigures};

use super::Desk;
use crate::views::bench::common::{row, table};
use crate::views::intervals::{self, Beside};

pub fn card(desk: &Desk<'_>, found: &Corrections) -> Markup {
    let stands = &found.stands;
    let units = desk.units;
    html! {
        section.card data-part="stands" {
            h3 { "Planned and read" }
            div.wide tabindex="0" role="region" aria-label="planned and read" {
                table {
                    caption { "wort at 20 °C; ± standard deviation" }
                    thead { tr {
                        th scope="col" { "" } th.number scope="col" { "planned" } th.number scope="col" { "read" } th.number scope="col" { "stands at" }
                    } }
                    tbody {
                        @for point in &stands.points {
                            tr {
                                th scope="row" { (place(point.at, units)) }
                                td.number { (planned(point, units)) }
                                td.number { @for read in &point.read { div { (reading(read, units)) } } }
                                td.number { (now(point, units)) }
                            }
                        }
                    }
                }
            }
            details.why {
                summary { "how plan and readings come together" }
                p {
                    "Each counts by its spread: a sure reading moves the figure most of the way. The plan's own spread is a judgement of how far kits stray: "
                    "5 % of the extract dissolved, half of what stays in the tun, 6 % of the water, 15 % of the steam where the kit says none, 30 % of the losses. "
                    "Extract is neither made nor lost in a boil, so a reading later says something of those before."
                }
            }
            (ends(desk, found))
            @if let Some(learned) = &stands.learned {
                details.why {
                    summary { "what this says of the kit" }
                    (table("learned, ± standard deviation", &[
                        row("conversion, of coarse-grind extract", show_measured(&learned.conversion, units)),
                        row("extract into the kettle, of the laboratory's", show_measured(&learned.into_kettle, units)),
                        row("evaporation", show_measured(&learned.evaporation, units)),
                    ]))
                }
            }
            ul.notes { @for note in &stands.notes { li.(note.weight.word()) { (note.text) } } }
        }
    }
}

/// A point, with its minute.
pub fn place(at: Point, units: Units) -> String {
    match at {
        Point::Boil(after) => format!("boil, {}", show(after, units)),
        _ => at.name().to_owned(),
    }
}

fn pair(volume: Option<String>, gravity: Option<String>) -> Markup {
    html! {
        @if let Some(volume) = volume { span.nowrap { (volume) } " " }
        @if let Some(gravity) = gravity { span.nowrap { (gravity) } }
    }
}

fn planned(point: &PointFigures, units: Units) -> Markup {
    pair(
        point.planned_volume.map(|v| show(v, units)),
        Some(show(point.planned_gravity, units)),
    )
}

fn reading(read: &Cooled, units: Units) -> Markup {
    pair(
        read.volume.as_ref().map(|v| show_measured(v, units)),
        read.gravity.as_ref().map(|g| show_measured(g, units)),
    )
}

fn now(point: &PointFigures, units: Units) -> Markup {
    pair(
        point.volume.as_ref().map(|v| show_measured(v, units)),
        Some(show_measured(&point.gravity, units)),
    )
}

fn ends(desk: &Desk<'_>, found: &Corrections) -> Markup {
    let units = desk.units;
    let stands = &found.stands;
    let (plan, now) = (&found.aim, &found.now);
    html! {
        (intervals::asked(desk.open, Beside::BrewDay))
        table {
            caption { "in the fermenter" }
            thead { tr { th scope="col" { "" } th.number scope="col" { "planned" } th.number scope="col" { "as it stands" } } }
            tbody {
                (end("original gravity", "original_gravity", show(plan.0.original_gravity, units), show_measured(&stands.original_gravity, units)))
                (end("volume", "into_fermenter", show(plan.0.volume, units), show_measured(&stands.volume, units)))
                (end("bitterness", "bitterness", show(plan.0.bitterness, units), show(now.0.bitterness, units)))
                (end("colour", "colour", show(plan.0.colour, units), show(now.0.colour, units)))
                @if let (Some(a), Some(b)) = (plan.1, now.1) {
                    (end("alcohol", "green_alcohol", show(a.alcohol, units), show(b.alcohol, units)))
                    (end("final gravity", "final_gravity", show(a.final_gravity, units), show(b.final_gravity, units)))
                }
            }
        }
    }
}

/// A figure of the fermenter, with the interval that nine of ten batches of the plan lie in.
fn end(label: &str, key: &str, planned: String, now: String) -> Markup {
    html! { tr { th scope="row" { (label) } td.number { (planned) (intervals::of_row(key)) } td.number { (now) } } }
}

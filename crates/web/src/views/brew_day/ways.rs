//! What can be done, each way with what it comes to and a button that does it.

use batch::brew_day::{Beer, Corrections, WayOn};
use maud::{Markup, html};
use quantity::{Caution, Units, show};
use wort::correct::{HopShift, Outcome, Point};

use super::Desk;
use super::stands::place;
use crate::views::bench::common::caution;

pub fn card(desk: &Desk<'_>, found: &Corrections) -> Markup {
    html! {
        section.card #ways data-part="ways" {
            h3 { "What can be done" }
            (where_from(desk, found.at))
            ol.ways {
                @for on in &found.ways {
                    @if let Some((comes_to, _)) = &on.way.outcome { (way(desk, found, on, comes_to)) }
                }
            }
            @if !found.impossible.is_empty() {
                details.why {
                    summary { "what does not help" }
                    ul.notes { @for way in &found.impossible { li { (way.text) ": " (way.says) "." } } }
                }
            }
            details.why {
                summary { "how they are ranked" }
                p { "By how far original gravity, volume, bitterness and attenuation stay from the plan, and by what it costs in time and goods. What counts as near, and what a minute or a kilogram weighs, is a judgement." }
            }
            (caution(Caution::HotLiquor))
        }
    }
}

/// The point from which is corrected can be another than that of the last reading.
fn where_from(desk: &Desk<'_>, at: Point) -> Markup {
    html! {
        form.row method="get" action=(desk.home()) {
            div.field {
                label for="from" { "From" }
                select #from name="at" {
                    @for place in batch::brew_day::TypedReading::places() {
                        option value=(place) selected[*place == at.name()] { (place) }
                    }
                }
            }
            div.field {
                label for="from-after" { "in the boil, after" }
                input #from-after name="after" type="text" value=(minutes(at, desk.units)) placeholder="30 min" autocomplete="off";
            }
            button type="submit" { "Show the ways from there" }
        }
    }
}

fn minutes(at: Point, units: Units) -> String {
    match at {
        Point::Boil(after) => show(after, units),
        _ => String::new(),
    }
}

fn way(desk: &Desk<'_>, found: &Corrections, on: &WayOn, comes_to: &Outcome) -> Markup {
    let (way, units) = (&on.way, desk.units);
    html! {
        li {
            p { strong { (way.text) } }
            p.figures { (figures(comes_to, on.beer, units)) }
            @if !way.says.is_empty() { p.small { (way.says) "." } }
            @if !way.changes.is_empty() {
                form method="post" action=(format!("{}/do", desk.home())) {
                    (desk.revision())
                    input type="hidden" name="way" value=(way.key);
                    input type="hidden" name="at" value=(found.at.name());
                    input type="hidden" name="after" value=(minutes(found.at, Units::Metric));
                    @if let Some(shift) = &way.hops { (hops(way.key, shift, units)) }
                    button.main type="submit" aria-label=(format!("Do this at {}: {}", place(found.at, units), way.text)) { "Do this" }
                }
            }
        }
    }
}

fn hops(key: &str, shift: &HopShift, units: Units) -> Markup {
    let id = format!("hops-{}", key.replace(' ', "-"));
    html! {
        p.check {
            input id=(id) type="checkbox" name="hops" value="yes" checked;
            label for=(id) {
                "and hold the bitterness: "
                @for (n, (name, planned, then)) in shift.hops.iter().enumerate() {
                    @if n > 0 { ", " }
                    span.nowrap { (show(*then, units)) " of " (name) } " in place of " (show(*planned, units))
                }
            }
        }
    }
}

fn figures(of: &Outcome, beer: Option<Beer>, units: Units) -> Markup {
    html! {
        span.nowrap { (show(of.original_gravity, units)) } ", "
        span.nowrap { (show(of.volume, units)) } ", "
        span.nowrap { (show(of.bitterness, units)) } ", "
        span.nowrap { (show(of.colour, units)) } ", "
        span.nowrap { "DMS " (show(of.dms, units)) }
        @if let Some(beer) = beer { ", " span.nowrap { (show(beer.alcohol, units)) } }
    }
}

//! The fermentation bench: yeast, oxygen, course.

use batch::Reckoning;
use batch::pitch::{ahead_words, step_words};
use maud::{Markup, html};
use quantity::{Caution, Units, show, show_interval, show_measured};
use store::DocumentId;

use super::common::{caution, row, table, table_of_words};
use crate::views::charts;
use crate::views::form::Form;

pub fn inputs(form: &Form<'_>) -> Markup {
    html! {
        fieldset {
            legend { "Yeast" }
            (form.field("yeast.name", "Name on the packet"))
            (form.choice("yeast.class", "Class"))
            (form.choice("yeast.form", "Form"))
            (form.field("yeast.packets", "Packets"))
            (form.field("yeast.packet_mass", "Mass of a dry packet"))
            (form.field("yeast.cells_per_gram", "Living cells, dry"))
            (form.field("yeast.cells", "Living cells in a liquid packet"))
            (form.field("yeast.slurry", "Slurry"))
            (form.field("yeast.age", "Age"))
            (form.field("yeast.stored_at", "Stored at"))
            (form.field("yeast.starter", "Still starter"))
            @for n in 1..=form.entries("yeast.step") {
                @let at = format!("yeast.step[{n}]");
                div.entry {
                    div.row { strong { "Starter, step " (n) } (form.removes(&at, &format!("step {n} of the starter"))) }
                    (form.field(&format!("{at}.volume"), "Wort"))
                    (form.field(&format!("{at}.gravity"), "Gravity"))
                    (form.choice(&format!("{at}.way"), "Kept"))
                }
            }
            @if form.entries("yeast.step") > 0 { (form.choice("yeast.starter_liquid", "Its liquid")) }
            (form.choice("yeast.aim", "The pitch is for"))
            (form.field("yeast.pitch_rate", "Pitching rate aimed at"))
            (form.field("yeast.attenuation", "Attenuation, if known"))
        }
        fieldset {
            legend { "Oxygen" }
            (form.choice("fermentation.aeration", "How"))
            (form.field("fermentation.aeration_time", "For how long"))
        }
        fieldset {
            legend { "Pressure" }
            (form.field("fermentation.rating", "Fermenter rated for"))
            (form.field("fermentation.relief", "Its valve opens at"))
            (form.field("fermentation.head_space", "Room above the beer"))
        }
        fieldset {
            legend { "Temperature plan" }
            @for n in 1..=form.entries("fermentation.course") {
                @let at = format!("fermentation.course[{n}]");
                div.entry {
                    div.row { strong { "Point " (n) } (form.removes(&at, &format!("point {n}"))) }
                    (form.field(&format!("{at}.at"), "After"))
                    (form.field(&format!("{at}.temperature"), "Temperature"))
                }
            }
            (form.adds("fermentation.course", "Add a point"))
        }
    }
}

pub fn results(r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    let f = &r.fermentation;
    let told = |at: Option<quantity::Duration>| {
        at.map_or("not in the time planned".to_owned(), |t| show(t, units))
    };
    html! {
        section.card {
            h3 { "What to pitch" }
            (table("yeast", &[
                row("cells needed", show(f.pitch.needed, units)),
                row("living cells at hand", show_measured(&f.pitch.at_hand, units)).sure("cells"),
                row("packets short", f.pitch.packets_to_buy.map_or("none".to_owned(), |n| n.to_string())),
            ]))
            p { a.alone href=(format!("/batch/{id}/pitch")) { "Ways to have enough, a starter, a count" } }
            (table("oxygen", &[
                row("in the wort", show(f.oxygen.dissolved, units)).sure("oxygen"),
                row("wanted", show_interval(f.oxygen.wanted_from, f.oxygen.wanted_to, units)),
            ]))
            @for c in &f.cautions { @if *c != Caution::AlcoholLaw { (caution(*c)) } }
        }
        section.card {
            h3 { "What it comes to" }
            (table("course", &[
                row("nine tenths fermented after", told(f.ninety_percent_at)).sure("ninety"),
                row("ended after", told(f.ended_at)).sure("ends"),
                row("final gravity", show_measured(&f.final_gravity, units)).sure("final_gravity"),
                row("attenuation, apparent", show(f.apparent_attenuation, units)).sure("attenuation"),
                row("attenuation, real", show(f.real_attenuation, units)).sure("real_attenuation"),
                row("alcohol", show(f.alcohol, units)).sure("green_alcohol"),
            ]))
            p { a.alone href=(format!("/batch/{id}/steer")) { "Steer the course: sooner, cleaner, more banana" } }
            details.why { summary { "Which model, and where it holds" } p { (f.validity) } }
            p.no-print { a.alone href=(format!("/batch/{id}/course")) { "Watch it: readings, forecast, alarms" } }
        }
        (charts::shown("course", r, id, units))
        (charts::shown("flavour", r, id, units))
        (charts::shown("cells", r, id, units))
    }
}

/// The starter and the temperature plan.
pub fn steps(r: &Reckoning, units: Units) -> Markup {
    html! {
        (starter(r, units))
        (plan(r, units))
    }
}

fn starter(r: &Reckoning, units: Units) -> Markup {
    let Some(starter) = &r.fermentation.pitch.starter else {
        return html! {};
    };
    let mut rows: Vec<_> = starter
        .steps
        .iter()
        .enumerate()
        .map(|(n, step)| row(format!("step {}", n + 1), step_words(step, units)))
        .collect();
    rows.push(row("when", ahead_words(starter.ahead, units)));
    table_of_words("starter", &rows)
}

fn plan(r: &Reckoning, units: Units) -> Markup {
    let points: Vec<_> = r
        .document
        .fermentation
        .course
        .iter()
        .map(|p| {
            row(
                format!("after {}", show(p.at.value, units)),
                show(p.temperature.value, units),
            )
        })
        .collect();
    table("temperature plan", &points)
}

//! What the document keeps of the day, each with a way to take it out.

use batch::brew_day::{DayReading, entry_of};
use maud::{Markup, html};
use quantity::{Units, show, show_measured};
use wort::correct::{Change, Done};

use super::Desk;
use super::stands::place;

pub fn card(desk: &Desk<'_>) -> Markup {
    let day = &desk.reckoning.document.brew_day;
    let nothing = day.readings.is_empty() && day.done.is_empty();
    html! {
        @if !nothing {
            section.card data-part="kept" {
                h3 { "Kept so far" }
                ul.kept {
                    @for (n, reading) in day.readings.iter().enumerate() {
                        li { span { "read, " (words(reading, desk.units)) } (removes(desk, "reading", n + 1)) }
                    }
                    @for (n, done) in day.done.iter().enumerate() {
                        @if let Some(done) = &done.done {
                            li { span { "done, " (done_words(done, desk.units)) } (removes(desk, "done", n + 1)) }
                        }
                    }
                }
            }
        }
    }
}

fn words(reading: &DayReading, units: Units) -> String {
    let at = reading.at.map_or(String::new(), |at| place(at, units));
    let mut parts = vec![at];
    if let Some(volume) = &reading.volume {
        let warm = reading
            .volume_at
            .map_or(String::new(), |t| format!(" at {}", show(t.value, units)));
        parts.push(format!("{}{warm}", show_measured(volume, units)));
    }
    if let Some(gravity) = &reading.gravity {
        parts.push(format!(
            "{} at {}",
            show_measured(gravity, units),
            show(reading.gravity_at.value, units)
        ));
    }
    parts.join(", ")
}

/// Something done, in words.
pub fn done_words(done: &Done, units: Units) -> String {
    let at = place(done.at, units);
    match &done.what {
        Change::Add { fermentable, mass } => {
            format!("{at}: {} of {} added", show(*mass, units), fermentable.name)
        }
        Change::Dilute(water) => format!("{at}: {} of water poured in", show(*water, units)),
        Change::BoilBy(_) | Change::Hops(_) => {
            let said = entry_of(done)
                .into_iter()
                .filter(|(key, _)| key != "at" && key != "after");
            let said: Vec<String> = said.map(|(_, value)| value).collect();
            format!("{at}: {}", said.join(" "))
        }
    }
}

fn removes(desk: &Desk<'_>, list: &str, number: usize) -> Markup {
    html! {
        form method="post" action=(format!("{}/forget", desk.home())) {
            (desk.revision())
            input type="hidden" name="list" value=(list);
            input type="hidden" name="number" value=(number);
            button type="submit" aria-label=(format!("take out {list} {number}")) { "take out" }
        }
    }
}

//! The figures of a watched batch, how far to trust them, and every reading with its fate.

use batch::inquiry::percent;
use batch::watch::{
    HOLDS, MODEL, ReadingFate, SECOND, TakenReading, Watched, date_words, fit_words, moment_words,
    off_words,
};
use ferment::watch::Likely;
use maud::{Markup, html};
use quantity::{Gravity, Units, show, show_measured};

use super::Desk;
use crate::views::bench::common::{row, table, table_of_words};

/// Readings that are shown one by one; the newest, after those that ask for a look.
const SHOWN: usize = 60;

fn likely(l: &Likely<Gravity>, units: Units) -> String {
    format!(
        "{} ({} to {})",
        show(l.middle, units),
        show(l.low, units),
        show(l.high, units)
    )
}

pub fn figures(desk: &Desk<'_>) -> Markup {
    let (w, units) = (desk.watched, desk.units);
    let c = &w.course;
    let pitched = w.pitching.dated.then(|| {
        let said = if w.pitching.said {
            ""
        } else {
            ", the first reading"
        };
        row("pitched", format!("{}{said}", date_words(w.pitching.at_ms)))
    });
    let rows = [
        row("gravity now", likely(&c.gravity, units)),
        row("gravity at the end", likely(&c.end, units)),
        row("expected beforehand", show_measured(&c.expected_end, units)),
        row("of the fall is done", show(c.progress.middle, units)),
        row(
            "a point or less is left: chance",
            percent(c.finish.little_left.ratio()),
        ),
    ];
    let rows: Vec<_> = pitched.into_iter().chain(rows).collect();
    html! {
        section.card data-part="figures" {
            h3 { "What it comes to" }
            (table_of_words("nine times in ten", &rows))
        }
    }
}

pub fn doubts(desk: &Desk<'_>) -> Markup {
    let (w, units) = (desk.watched, desk.units);
    let mut rows = Vec::new();
    if let Some(off) = fit_words(&w.fit) {
        rows.push(row("the curve is off the readings", off));
    }
    if let Some(second) = &w.second {
        let agrees = if second.agrees { "agrees" } else { "disagrees" };
        let end = show(second.fit.end.value, units);
        rows.push(row(
            "a plain curve would end at",
            format!("{end}: it {agrees}"),
        ));
    }
    for i in w.course.instruments.iter().filter(|i| i.readings > 0) {
        rows.push(row(
            i.name.clone(),
            format!(
                "{}, {} used; {}",
                i.kind.word(),
                i.readings,
                off_words(i.bias_plato)
            ),
        ));
    }
    html! {
        section.card data-part="trust" {
            h3 { "How far to trust it" }
            (table_of_words("fit and instruments", &rows))
            @if !w.notes.is_empty() {
                ul.notes { @for note in &w.notes { li.(note.weight.word()) { (note.text) } } }
            }
            details.why { summary { "Which model, and where it holds" } p { (MODEL) } p { (HOLDS) } p { (desk.reckoning.fermentation.validity) } }
            form.no-print method="get" action=(format!("/batch/{}/course/whole", desk.open.id)) {
                button type="submit" { "Sample the whole posterior" }
                p.small.quiet { "It takes some seconds." }
            }
            @if w.second.is_some() { details.why { summary { "What the plain curve is" } p { (SECOND) } } }
        }
    }
}

/// Those that ask for a look, then the newest.
fn shown(w: &Watched) -> Vec<&TakenReading> {
    let told = |t: &&TakenReading| t.fate != ReadingFate::Used;
    let plain = w.readings.iter().rev().filter(|t| !told(t));
    let mut shown: Vec<&TakenReading> = w
        .readings
        .iter()
        .filter(told)
        .chain(plain)
        .take(SHOWN)
        .collect();
    shown.sort_by_key(|t| std::cmp::Reverse(t.at_ms));
    shown
}

pub fn readings(desk: &Desk<'_>) -> Markup {
    let (w, units) = (desk.watched, desk.units);
    let shown = shown(w);
    let used = w
        .readings
        .iter()
        .filter(|t| !matches!(t.fate, ReadingFate::LeftOut(_)))
        .count();
    html! {
        section.card data-part="readings" {
            h3 { "Readings" }
            @if w.readings.is_empty() {
                p { "None yet. Keep one by hand, or take in the log of an instrument." }
            } @else {
                (table("of all", &[
                    row("readings", w.readings.len().to_string()),
                    row("used", used.to_string()),
                    row("left out", (w.readings.len() - used).to_string()),
                ]))
                @if shown.len() < w.readings.len() {
                    p.small.quiet { (shown.len()) " are shown: those that ask for a look, and the newest." }
                }
                div.wide tabindex="0" role="region" aria-label="the readings" {
                    table {
                        caption { "reading by reading, the newest first" }
                        thead { tr { th scope="col" { "after" } th scope="col" { "what" } th scope="col" { "with" } th.number scope="col" { "reading" } th scope="col" { "what became of it" } } }
                        tbody { @for t in shown { (line(t, w.pitching.dated, units)) } }
                    }
                }
            }
        }
    }
}

fn line(t: &TakenReading, dated: bool, units: Units) -> Markup {
    html! {
        tr {
            th scope="row" title=[dated.then(|| moment_words(t.at_ms))] { (show(t.at, units)) }
            td { (t.what.word()) }
            td { (t.instrument) }
            td.number {
                (t.what.show(t.canonical, units))
                @if let Some(corrected) = t.corrected { br; small { "without alcohol " (show(corrected, units)) } }
            }
            td { (t.fate.word()) @if let Some(why) = t.fate.why() { ": " (why) } }
        }
    }
}

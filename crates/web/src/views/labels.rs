//! Labels for the package, to print.

use app::OpenBatch;
use batch::Label;
use maud::{Markup, html};
use quantity::{Units, show};

use crate::page::Page;

/// Labels on a sheet where nobody says how many.
const USUAL: usize = 12;
/// More than this nobody prints at once.
const MOST: usize = 240;

/// How many labels a text asks for, and whether it can be read.
pub fn count(text: &str) -> (usize, bool) {
    match text.trim() {
        "" => (USUAL, true),
        text => match text.parse() {
            Ok(count) if (1..=MOST).contains(&count) => (count, true),
            _ => (USUAL, false),
        },
    }
}

/// The page.
pub fn page(open: &OpenBatch, label: &Label, typed: &str, many: usize, units: Units) -> Markup {
    let (_, fine) = count(typed);
    Page::new(&open.name)
        .beside("labels")
        .link(format!("/batch/{}", open.id), "back to the batch")
        .render(&html! {
            form.card.no-print method="get" action=(format!("/batch/{}/labels", open.id)) {
                div.field {
                    label for="count" { "How many labels" }
                    input #count name="count" type="text" inputmode="numeric" value=(typed) placeholder=(USUAL)
                        aria-invalid=[(!fine).then_some("true")] aria-describedby=[(!fine).then_some("count-fault")];
                    @if !fine { p.fault #count-fault { (typed) " is no number of labels; write one from 1 to " (MOST) } }
                }
                p { button type="submit" { "Lay them out" } " Then print this page." }
                p.small {
                    "What a label must say is set by local food law, above all for beer that is given away or sold. "
                    "Allergens come from the grist and the sulfite that was dosed; what else went in you must add."
                }
            }
            div.labels { @for _ in 0..many { (one(label, units)) } }
        })
}

fn one(label: &Label, units: Units) -> Markup {
    html! {
        section.label {
            h2 { (label.name) }
            p { @if let Some(day) = &label.brewed { "Brewed " (day) } @else { "Brewed " span.write {} } }
            p.strength {
                strong { (show(label.alcohol, units)) }
                @if let Some(holds) = label.holds { " · " (show(holds, units)) }
            }
            @if !label.contains.is_empty() { p.contains { "Contains: " strong { (label.contains.join(", ")) } } }
            @for may in &label.may_contain { p.small { "May contain " (may) } }
            p.small { "Keep cool. Open with care: under pressure." }
        }
    }
}

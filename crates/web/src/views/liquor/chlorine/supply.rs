//! What the supplies of a batch keep, and what would settle it.

use batch::Reckoning;
use batch::liquor::chlorine::Judged;
use maud::{Markup, html};
use quantity::{Units, show, show_measured};

use crate::views::bench::common::{row, table};

/// A card for each source that holds chlorine.
pub fn supplies(r: &Reckoning, units: Units) -> Markup {
    let judged = r.supplies();
    html! {
        section.card data-part="supply" {
            h3 { "What the supply keeps" }
            @if judged.is_empty() { p { "No water of this batch holds chlorine that a test would show." } }
            @for one in &judged { (supply(one, units)) }
            p.small.quiet { "What the supplier says, the smell and the region are fields of the water bench." }
        }
    }
}

/// What one supply keeps, why, and what would settle it.
pub fn supply(judged: &Judged, units: Units) -> Markup {
    let judgement = &judged.judgement;
    html! {
        h4 { (judged.name) }
        p {
            strong { (judged.words()) "." } " "
            @if judged.measured() { "Free and total chlorine were measured." }
            @else if !judged.total_measured { "Total chlorine was not measured: what stands here is what may be there, and a dose has to cover the top of it." }
            @else { "Free chlorine was not measured: its share is a judgement, and every figure here carries its width." }
        }
        (table("chlorine as Cl2", &[
            row("total", show_measured(&judgement.total, units)),
            row("free", show_measured(&judgement.free, units)),
            row("combined", show_measured(&judgement.combined, units)),
        ]))
        ul.notes { @for note in &judgement.notes { li.(note.weight.word()) { (note.text) } } }
        details.why {
            summary { "why: chloramine with " (show(judgement.chloramine, units)) " (judgement)" }
            ul { @for reason in &judgement.reasons {
                li { (reason.says) " (" (reason.mark.words()) "): odds of chloramine times " (quantity::rounded(reason.times)) }
            } }
            p { (judgement.source.text) }
        }
        @if !judgement.ask.is_empty() {
            p.small { strong { "Ask the supplier" } }
            ul.small { @for question in &judgement.ask { li { (question) } } }
        }
        @if !judgement.settle.is_empty() {
            p.small { strong { "Or settle it yourself" } }
            ul.small { @for test in &judgement.settle { li { (test) } } }
        }
    }
}

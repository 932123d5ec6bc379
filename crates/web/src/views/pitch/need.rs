//! Cells needed beside cells at hand.

use batch::pitch::{Pitching, percent_words, rehydration_words};
use maud::{Markup, html};
use quantity::{Units, show, show_interval, show_measured};

use crate::views::bench::common::{row, table};

pub fn card(p: &Pitching, units: Units) -> Markup {
    let (q, report) = (&p.question, &p.report);
    html! {
        section.card data-part="need" {
            h3 { "Needed and at hand" }
            (table("cells", &[
                row("cells needed", show(p.need.cells, units)),
                row("the range that would do", show_interval(p.need.range.0, p.need.range.1, units)),
                row("living cells at hand", show_measured(&report.at_hand, units)),
                row("of those needed", percent_words(report.ratio)),
                row("alive, before a starter", show(report.viability, units)),
                row("pitching rate aimed at", show(q.target.rate, units)),
            ]))
            p.small { (q.strain.name) ", " (show(q.volume, units)) " of " (q.gravity.both(units)) ". The pitch is for: " (q.target.aim.word()) ", " (q.target.about) "." }
            ul.notes { @for note in &report.notes { li.(note.weight.word()) { (note.text) } } }
            @if let Some(wet) = &p.rehydration {
                p.small { "Wetting dry yeast: " (rehydration_words(wet, units)) ". The sheet of its maker decides." }
            }
            details.why {
                summary { "where the rate comes from" }
                ul.notes { @for source in &q.target.sources { li { (source.text) " (" (source.mark) ")" } } }
                @if let Some(wet) = &p.rehydration { p { (wet.source.text) " (" (wet.source.mark) ")" } }
            }
        }
    }
}

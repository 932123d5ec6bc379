//! Oxygen: what is wanted, and how long each way takes.

use batch::pitch::{Pitching, oxygen_words};
use ferment::{OXYGEN_AFTER_PITCHING, oxygen_classes};
use maud::{Markup, html};
use quantity::{Caution, Units, show, show_interval};

use crate::views::bench::common::{caution, row, table_of_words};

pub fn card(p: &Pitching, units: Units) -> Markup {
    let rows: Vec<_> = p
        .oxygen
        .iter()
        .map(|way| row(way.name, oxygen_words(way, units)))
        .collect();
    html! {
        section.card data-part="oxygen" {
            h3 { "Oxygen" }
            p { (show_interval(p.oxygen_wanted.0, p.oxygen_wanted.1, units)) " is wanted in this wort." }
            (table_of_words(&format!("time to {}, in brackets one standard deviation", show(p.oxygen_aim, units)), &rows))
            p { (OXYGEN_AFTER_PITCHING) }
            (caution(Caution::Oxygen))
            details.why {
                summary { "how fast it goes in, and what kinds of yeast ask for" }
                ul.notes {
                    @for way in &p.oxygen {
                        li { (way.name) ": k" sub { "L" } "a " (show(way.transfer, units)) ", saturation " (show(way.saturation, units)) "; " (way.source.text) " (" (way.source.mark) ")" }
                    }
                    @for class in oxygen_classes() {
                        li { "some strains ask for " (class.name) ": " @if class.more { "above " } (show(class.need, units)) "; " (class.source.text) " (" (class.source.mark) ")" }
                    }
                    li { "Solubility: Benson & Krause 1984, thinned by extract after The Oxford Companion to Beer 2012 (read). A meter decides." }
                }
            }
        }
    }
}

//! What another start would do to the same batch.

use batch::pitch::{Pitching, effect_words, percent_words, when_words};
use ferment::{PitchCase, known_effects};
use maud::{Markup, html};
use quantity::{Units, show};

pub fn card(p: &Pitching, units: Units) -> Markup {
    html! {
        @if !p.cases.is_empty() {
            section.card data-part="cases" {
                h3 { "What another start would do" }
                div.wide tabindex="0" role="region" aria-label="what another start would do" {
                    table {
                        caption { "against the cells needed" }
                        thead { tr {
                            th scope="col" { "" } th scope="col" { "works after" } th scope="col" { "nine tenths after" } th scope="col" { "diacetyl gone after" } th scope="col" { "ends at" }
                            th scope="col" { "esters" } th scope="col" { "fusel alcohols" } th scope="col" { "clove" }
                        } }
                        tbody { @for case in &p.cases { (line(case, units)) } }
                    }
                }
                p.small.quiet { "In brackets one standard deviation. Not sure: that reaches over to the other direction. Two batches of the same plan differ by about a third besides (judgement). Works: a twentieth of what can ferment is gone. Diacetyl gone: what is there and to come is below 0.10 mg/L." }
                details.why {
                    summary { "what is known of it" }
                    ul.notes {
                        @for e in known_effects() {
                            li { (e.cause) ", " (e.on) ": " (e.text) " (" (e.source.mark) ": " (e.source.text) ")" }
                        }
                    }
                }
            }
        }
    }
}

fn line(case: &PitchCase, units: Units) -> Markup {
    html! {
        tr {
            th scope="row" { (case.label) span.quiet.small { " " (percent_words(case.ratio)) ", " (show(case.start, units)) } }
            td { (when_words(case.works_after, units)) }
            td { (when_words(case.ninety_percent_at, units)) }
            td { (when_words(case.clears_after, units)) }
            td { (show(case.final_gravity.value, units)) }
            @for effect in [&case.esters, &case.fusels, &case.phenolics] { td { (effect_words(effect)) } }
        }
    }
}

//! What goes into the study over the batches of many, and the words on it.

use app::{StudyState, WHAT_LEAVES};
use maud::{Markup, html};

use crate::page::Page;

pub fn page(state: &StudyState) -> Markup {
    Page::new("The study").render(&html! {
        div.choices { (card(state, "kept here", true)) }
    })
}

/// How things stand, and for who may say it the words.
pub fn card(state: &StudyState, whose: &str, says: bool) -> Markup {
    let every = state.every_batch();
    html! {
        section.card aria-labelledby="study-title" {
            h2 #study-title { "The study over the batches of many" }
            p { "It asks what the batches of many brewers say together: how yeast behaves with temperature and pitch, how waters differ, how good the forecasts were. Nothing goes in that was not agreed to." }
            p role="status" {
                strong { (state.agreed.len()) " of " (state.batches) " batches " (whose) " go in." }
                @if every { " Those to come go in too; one that was withdrawn by itself stays out." }
            }
            h3 { "What leaves" }
            p.small { (WHAT_LEAVES) }
            @if says {
                @if !every { (word("yes", "Agree for every batch")) }
                @if every || !state.agreed.is_empty() { (word("no", "Withdraw every batch")) }
            } @else {
                p.small.quiet { "A keeper of the group agrees or withdraws." }
            }
        }
    }
}

fn word(agree: &str, says: &str) -> Markup {
    html! {
        form method="post" action="/study" {
            input type="hidden" name="agree" value=(agree);
            p { button type="submit" { (says) } }
        }
    }
}

//! The page of a taster, for a phone: codes and the question, and nothing of what is
//! in a glass.

use batch::Fault;
use batch::tasting::Tasting;
use glass::tasting::Protocol;
use maud::{DOCTYPE, Markup, html};

use crate::assets::VERSION;

/// The page of a taster whose answers go to `action`.
pub fn page(tasting: &Tasting, taster: &str, action: &str, wrong: Option<&Fault>) -> Markup {
    frame(taster, &body(tasting, taster, action, wrong))
}

/// A page for a phone that has no taster yet.
pub fn phone(body: &Markup) -> Markup {
    frame("", body)
}

/// A page of its own: without the names of beers, and without ways to other pages.
fn frame(taster: &str, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Blind tasting" }
                link rel="icon" href=(format!("/assets/icon.svg?v={VERSION}")) type="image/svg+xml";
                link rel="stylesheet" href=(format!("/assets/gyle.css?v={VERSION}"));
            }
            body.taster {
                header.top { h1 { "Blind tasting" } span.quiet { (taster) } }
                main #main { (body) }
            }
        }
    }
}

fn body(tasting: &Tasting, taster: &str, action: &str, wrong: Option<&Fault>) -> Markup {
    let next = tasting.next_of(taster);
    let serving = next.and_then(|n| tasting.design.servings.get(n as usize - 1).map(|s| (n, s)));
    let done = tasting
        .tastings_of(taster)
        .filter(|n| tasting.answer(*n).is_some())
        .count();
    let all = tasting.tastings_of(taster).count();
    html! {
        @if let Some(fault) = wrong {
            div.trouble role="alert" { p { strong { "Not kept. " } (fault.message) "; " (fault.help) "." } }
        }
        @match serving {
            None => div.card { h2 { "That was all. Thank you." } p { "Every answer is kept. Say nothing to the others until they are done." } },
            Some((number, serving)) => form.card method="post" action=(action) {
                input type="hidden" name="tasting" value=(number);
                fieldset {
                    legend { (tasting.question()) }
                    p { "Taste from left to right. You may go back. Choose, even by a guess." }
                    @if serving.shown.is_some() { p { "Taste the open glass first: it is the reference." } }
                    @for code in &serving.codes {
                        label.code {
                            @if tasting.protocol == Protocol::Tetrad { input type="checkbox" name="glass" value=(code); }
                            @else { input type="radio" name="glass" value=(code) required; }
                            span { (code) }
                        }
                    }
                }
                p { button.main type="submit" { "Keep this answer" } }
            },
        }
        p.quiet { (done) " of " (all) " answered" }
    }
}

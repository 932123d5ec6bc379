//! The page of a taster, for a phone: codes and the question, and nothing of what is
//! in a glass.

use batch::tasting::Tasting;
use glass::tasting::{Protocol, Serving};
use maud::{DOCTYPE, Markup, html};

use super::Refused;
use crate::assets::VERSION;

/// The page of a taster whose answers go to `action`.
pub fn page(tasting: &Tasting, taster: &str, action: &str, refused: &Refused<'_>) -> Markup {
    frame(taster, &body(tasting, taster, action, refused))
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

/// Both glasses side by side, each thing from none to very strong.
fn scoring(tasting: &Tasting, glasses: &Serving, action: &str, typed: &Refused<'_>) -> Markup {
    html! {
        form.card method="post" action=(action) {
            input type="hidden" name="scoring" value="1";
            h2 { "How strong is it in each glass?" }
            p { "0 is none, 10 is very strong; halves will do. Taste " (codes(glasses)) ", in this order; you may go back." }
            @for (place, attribute) in tasting.scored.iter().enumerate() {
                fieldset.points {
                    legend { (attribute) }
                    @for code in &glasses.codes {
                        @let name = points_field(*code, place);
                        div.field {
                            label for=(name) { (code) }
                            input id=(name) name=(name) type="number" min="0" max="10" step="0.5" inputmode="decimal" required
                                value=(typed.value(&name));
                        }
                    }
                }
            }
            p { button.main type="submit" { "Keep these points" } }
        }
    }
}

fn codes(glasses: &Serving) -> String {
    let codes: Vec<String> = glasses.codes.iter().map(ToString::to_string).collect();
    codes.join(", then ")
}

/// One glass, and what it may be called.
fn single(serving: &Serving, first: &str) -> Markup {
    html! {
        p.small { (first) }
        p { "Taste glass " strong { (codes(serving)) } ". Choose, even by a guess." }
        @for (word, said) in [("same", "the reference"), ("other", "another beer")] {
            label.code {
                input type="radio" name="glass" value=(word) required;
                span { (said) }
            }
        }
    }
}

/// The name of the field for the points of a glass, `place` being that of the attribute.
pub fn points_field(code: u16, place: usize) -> String {
    format!("points-{code}-{place}")
}

fn body(tasting: &Tasting, taster: &str, action: &str, refused: &Refused<'_>) -> Markup {
    let next = tasting.next_of(taster);
    let serving = next.and_then(|n| tasting.design.servings.get(n as usize - 1).map(|s| (n, s)));
    let done = tasting
        .tastings_of(taster)
        .filter(|n| tasting.answer(*n).is_some())
        .count();
    let all = tasting.tastings_of(taster).count();
    html! {
        @if let Some(fault) = refused.faults.first() {
            div.trouble role="alert" { p { strong { "Not kept. " } (fault.message) "; " (fault.help) "." } }
        }
        @match serving {
            None => @match tasting.scoring_of(taster) { Some(glasses) => (scoring(tasting, glasses, action, refused)), None => div.card { h2 { "That was all. Thank you." } p { "Every answer is kept. Say nothing to the others until they are done." } } },
            Some((number, serving)) => form.card method="post" action=(action) {
                input type="hidden" name="tasting" value=(number);
                fieldset {
                    legend { (tasting.question()) }
                    @if let Some(first) = tasting.warm_up() { (single(serving, first)) } @else {
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
                }
                p { button.main type="submit" { "Keep this answer" } }
            },
        }
        p.quiet { (done) " of " (all) " answered" }
    }
}

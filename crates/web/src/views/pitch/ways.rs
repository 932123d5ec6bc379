//! Ways to have enough yeast, each with a button where the document can keep it.

use batch::pitch::{Pitching, comes_to_words, step_uses, step_words, way_words};
use ferment::{WayKind, WayToPitch, Yeast};
use maud::{Markup, html};

use super::{Desk, text};
use crate::views::bench::common::caution;

/// The word of a way in a form.
pub fn key_of(way: &WayToPitch) -> String {
    match &way.kind {
        WayKind::Starter(plan) => {
            let stirring = plan.starter.steps.first().map(|s| s.stirring.word());
            format!("starter {}", stirring.unwrap_or("still"))
        }
        other => other.word().to_owned(),
    }
}

/// What a starter may be.
pub fn wish(desk: &Desk<'_>, found: &Pitching) -> Markup {
    let typed = |name: &str| desk.typed(name).unwrap_or("").to_owned();
    let usual = found.question.wish.gravity.both(desk.units);
    let dry = matches!(found.question.yeast, Yeast::Dry { .. });
    html! {
        @if !dry { form.card.read method="get" action=(desk.home()) data-part="wish" {
            h3 { "What a starter may be" }
            div.pair {
                (text(desk, "starter_gravity", "Gravity of its wort", &typed("starter_gravity"), &usual))
                (text(desk, "vessel", "Its vessel holds", &typed("vessel"), "2 L"))
            }
            p { button type="submit" { "Look for starters" } }
        } }
    }
}

pub fn card(desk: &Desk<'_>, found: &Pitching) -> Markup {
    html! {
        section.card #ways data-part="ways" {
            h3 { "Ways to have enough" }
            ol.ways { @for way in &found.ways.ways { (one(desk, way)) } }
            @if let Some(starter) = found.ways.ways.iter().find(|w| matches!(w.kind, WayKind::Starter(_))) {
                @for c in &starter.cautions { (caution(*c)) }
            }
            ul.notes { @for note in &found.ways.unwise { li.(note.weight.word()) { (note.text) } } }
            details.why {
                summary { "how they are ranked, and how starters are reckoned" }
                p { "Those that reach the need before those that do not, then the sooner, then the surer. The chance takes the cells as lognormal." }
                p { "A standing starter grows 12.02 times the inoculum (million/mL) to the power −0.452, from 5 to 100: a fit to a table of White & Zainasheff 2010 for 9 °P (from memory but for one entry). A stirred one makes 1.4 billion new cells of a gram of extract while it begins with no more than that (K. Troester 2012-13, from memory). Starters differ by a fifth from each other (judgement)." }
                p { "Wort is poured off between steps and, unless the document says otherwise, before pitching: chill it until the yeast has dropped." }
            }
        }
    }
}

fn one(desk: &Desk<'_>, way: &WayToPitch) -> Markup {
    let units = desk.units;
    html! {
        li {
            p { strong { (way_words(way, units)) } @if !way.reaches() { " " span.quiet { "(falls short)" } } }
            p.figures { (comes_to_words(way, units)) }
            @if let WayKind::Starter(plan) = &way.kind {
                @for step in &plan.grown.steps {
                    p.small { (step_words(step, units)) ". " (step_uses(step, units)) "." }
                }
            }
            @for note in &way.notes { p.small.(note.weight.word()) { (note.text) } }
            @if matches!(way.kind, WayKind::Starter(_) | WayKind::Packets(_)) { (button(desk, way)) }
        }
    }
}

fn button(desk: &Desk<'_>, way: &WayToPitch) -> Markup {
    html! {
        form method="post" action=(format!("{}/do", desk.home())) {
            (desk.revision())
            input type="hidden" name="way" value=(key_of(way));
            @for name in ["starter_gravity", "vessel"] {
                @if let Some(typed) = desk.typed(name) { input type="hidden" name=(name) value=(typed); }
            }
            button.main type="submit" aria-label=(format!("Keep this: {}", way.words(desk.units))) { "Keep this" }
        }
    }
}

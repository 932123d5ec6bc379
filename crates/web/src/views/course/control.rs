//! Tests to run on the beer: how, what the figures mean, what came out, and where that is
//! written down.

use batch::watch::{ControlTest, Outcome};
use maud::{Markup, html};

use super::Desk;
use crate::views::bench::common::caution;

pub fn cards(desk: &Desk<'_>) -> Markup {
    html! {
        h2.part { "Tests to run" }
        div.choices {
            @for test in desk.watched.tests(desk.units) { (card(desk, &test)) }
        }
    }
}

fn card(desk: &Desk<'_>, test: &ControlTest) -> Markup {
    html! {
        section.card.control data-part=(test.key) {
            h3 { (test.name) }
            (outcome(test.outcome.as_ref()))
            (result(desk, test.key))
            details.why open[test.outcome.is_none()] {
                summary { "How it is done" }
                ol { @for step in test.how { li { (step) } } }
            }
            details.why {
                summary { "What the figures mean" }
                ul.notes { @for what in test.means { li { (what) } } }
                p.small.quiet { (test.source) }
            }
            (caution(test.caution))
        }
    }
}

fn outcome(outcome: Option<&Outcome>) -> Markup {
    html! {
        @match outcome {
            None => { p.quiet { "No result yet." } },
            Some(o) => {
                @let (class, word) = match o.passed {
                    Some(true) => ("fine", "passed"),
                    Some(false) => ("look", "not yet"),
                    None => ("look", "open"),
                };
                p { span.sign.(class) { b { (word) } } " " (o.words) }
            },
        }
    }
}

/// The form that writes a result into the document.
fn result(desk: &Desk<'_>, key: &str) -> Markup {
    let form = desk.form();
    match key {
        "forced-fermentation" => {
            // Where it was said with the package, it stays there.
            let section = if desk.reckoning.document.package.forced_gravity.is_some() {
                "package"
            } else {
                "fermentation"
            };
            keeps(
                desk,
                &html! {
                    (form.field(&format!("{section}.forced_gravity"), "The sample ended at"))
                    (form.field(&format!("{section}.forced_time"), "It was kept warm for"))
                },
            )
        }
        "forced-diketone" => butter(desk),
        _ => keeps(
            desk,
            &html! { (form.field("package.gravity", "Gravity before packaging")) },
        ),
    }
}

fn keeps(desk: &Desk<'_>, fields: &Markup) -> Markup {
    html! {
        form method="post" action=(format!("{}/keep", desk.home())) {
            (desk.revision())
            (fields)
            p { button type="submit" { "Keep this result" } }
        }
    }
}

fn butter(desk: &Desk<'_>) -> Markup {
    html! {
        form method="post" action=(format!("{}/diketone", desk.home())) {
            (desk.revision())
            div.row {
                button type="submit" name="butter" value="no" { "No butter in either" }
                button type="submit" name="butter" value="yes" { "Butter in the heated one" }
            }
        }
    }
}

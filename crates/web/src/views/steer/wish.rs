//! The wish as a form: plain words and figures, by GET.

use batch::steer::{FIGURES, WANTS, figure_name, want_label};
use ferment::steer::Figure;
use maud::{Markup, html};

use super::Desk;
use crate::views::fields;

/// Fields of text: name, label, example.
const DAYS: [(&str, &str, &str); 1] = [("by", "Ready after, at the latest", "12 d")];
const CELLAR: [(&str, &str, &str); 5] = [
    ("coldest", "The coldest that can be had", "8 °C"),
    ("warmest", "The warmest", "22 °C"),
    (
        "steepest",
        "The most that it may change in an hour",
        "0.25 K",
    ),
    (
        "yeast_least",
        "The least yeast, times what is at hand",
        "0.75",
    ),
    ("yeast_most", "The most yeast, times what is at hand", "1.5"),
];
const RUNNING: [(&str, &str, &str); 1] = [("now", "Now is, after pitching", "3 d")];

/// Whether a fault has its place in the form.
pub fn has_field(path: &str) -> bool {
    let plain = DAYS.iter().chain(&CELLAR).chain(&RUNNING);
    let figures = FIGURES.iter().any(|(key, _)| {
        let rest = path.strip_prefix(key);
        rest.is_some_and(|rest| ["", "_amount", "_weight"].contains(&rest))
    });
    figures
        || ["read", "running", "soon"].contains(&path)
        || plain.into_iter().any(|(name, _, _)| *name == path)
}

pub fn form(desk: &Desk<'_>) -> Markup {
    let soon = desk.typed.get("soon");
    let read = desk.typed.get("read");
    let told = |name: &&str| !desk.typed.get(name).is_empty();
    let running = ["read", "now", "running"].iter().any(told);
    let wrong = desk.wrong("read").map(fields::told);
    html! {
        form.card.read method="get" action=(desk.home()) data-part="wish" {
            h3 { "The wish" }
            @for (name, label, example) in DAYS { (text(desk, name, label, example)) }
            div.field.check {
                label { input type="checkbox" name="soon" value="yes" checked[!soon.is_empty()]; " as few days as can be" }
            }
            @for (key, figure) in FIGURES { (one(desk, key, figure)) }
            p.small.quiet { "With nothing wished: the fewest days, butter gone, hardly more esters and fusel alcohols than planned. A weight sets \"as little\" and \"as much\" against each other." }
            details open[CELLAR.iter().any(|(name, _, _)| !desk.typed.get(name).is_empty() || desk.wrong(name).is_some())] {
                summary { "What the cellar can do" }
                @for (name, label, example) in CELLAR { (text(desk, name, label, example)) }
            }
            details open[running] {
                summary { "The batch runs already" }
                div.field.check {
                    label { input type="checkbox" name="running" value="yes" checked[!desk.typed.get("running").is_empty()]; " go on from the readings that are kept with it" }
                    @if let Some(fault) = desk.wrong("running") { p.fault { (fields::told(fault)) } }
                }
                @for (name, label, example) in RUNNING { (text(desk, name, label, example)) }
                div.field {
                    label for="read" { "Or from these: time, gravity, temperature" }
                    textarea id="read" name="read" rows="4" placeholder="2 d, 1.040, 18 °C" spellcheck="false"
                        aria-invalid=[wrong.as_ref().map(|_| "true")] aria-describedby=[wrong.as_ref().map(|_| "read-fault")] { (read) }
                    @if let Some(wrong) = &wrong { p.fault id="read-fault" { (wrong) } }
                }
                p.small.quiet { "One reading a line. Only the rest of the course is planned then; speed and end of the batch are taken from what was read." }
            }
            p { button.main type="submit" { "Find the course" } }
        }
    }
}

fn text(desk: &Desk<'_>, name: &str, label: &str, example: &str) -> Markup {
    let wrong = desk.wrong(name).map(fields::told);
    fields::text(name, label, desk.typed.get(name), example, wrong.as_deref())
}

/// A figure and what is wished of it.
fn one(desk: &Desk<'_>, key: &str, figure: Figure) -> Markup {
    let [want, amount, weight] = desk.typed.parts(key);
    let name = figure_name(figure);
    let wrong = |part: &str| desk.wrong(&format!("{key}{part}")).map(fields::told);
    let told = wrong("").or(wrong("_amount")).or(wrong("_weight"));
    let fault = format!("{key}-fault");
    let invalid = told.as_ref().map(|_| "true");
    let about = told.as_ref().map(|_| fault.clone());
    let known = want.is_empty() || WANTS.contains(&want.as_str());
    let example = if figure == Figure::Gravity {
        "1.010"
    } else {
        "0.1 mg/L"
    };
    html! {
        fieldset.want data-figure=(key) {
            legend { (name) }
            div.thirds {
                select name=(key) aria-label=(format!("{name}: wish")) aria-invalid=[invalid] aria-describedby=[about.clone()] {
                    option value="" selected[want.is_empty()] { (want_label("")) }
                    @for word in WANTS { option value=(word) selected[want == word] { (want_label(word)) } }
                    @if !known { option value=(want) selected { (want) } }
                }
                input type="text" name=(format!("{key}_amount")) value=(amount) placeholder=(example) aria-label=(format!("{name}: amount"))
                    autocomplete="off" spellcheck="false" aria-invalid=[invalid] aria-describedby=[about.clone()];
                input type="text" name=(format!("{key}_weight")) value=(weight) placeholder="weight" aria-label=(format!("{name}: weight"))
                    autocomplete="off" spellcheck="false" aria-invalid=[invalid] aria-describedby=[about];
            }
            @if let Some(told) = told { p.fault id=(fault) { (told) } }
        }
    }
}

//! The temperature plan to drag: each point with its fields, and a slider over each field
//! where the script is there to move it. A change asks for the course under that plan;
//! nothing is kept before the button is pressed.

use maud::{Markup, html};
use quantity::Units;

use super::Desk;

/// How far sliders reach: days at least, and °C (judgement: where yeast works).
const DAYS: f64 = 14.0;
const CELSIUS: (f64, f64) = (0.0, 40.0);

pub fn form(desk: &Desk<'_>) -> Markup {
    let form = desk.form();
    let home = desk.home();
    let keep = format!("{home}/keep");
    html! {
        form.card.plan data-part="plan" method="get" action=(home)
            hx-get=(home) hx-trigger="input delay:120ms" hx-target="#course" hx-swap="outerMorph" hx-sync="this:replace" {
            h3 { "The temperature plan" }
            p.small.quiet { "Move a point, and the forecast moves at once. Nothing is kept before you say so." }
            (desk.revision())
            @for n in 1..=form.entries("fermentation.course") {
                @let at = format!("fermentation.course[{n}]");
                div.entry {
                    div.row {
                        strong { "Point " (n) }
                        button type="submit" formmethod="post" formaction=(keep) name="remove" value=(at)
                            aria-label=(format!("take out point {n}")) { "take out" }
                    }
                    (form.field(&format!("{at}.at"), "After"))
                    (slider(desk, n, &format!("{at}.at"), Which::At))
                    (form.field(&format!("{at}.temperature"), "Temperature"))
                    (slider(desk, n, &format!("{at}.temperature"), Which::Temperature))
                }
            }
            div.row {
                button type="submit" { "Try this plan" }
                button.main type="submit" formmethod="post" formaction=(keep) { "Keep this plan" }
                button type="submit" formmethod="post" formaction=(keep) name="add" value="fermentation.course" { "Add a point" }
            }
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Which {
    At,
    Temperature,
}

/// A slider that writes into a field; the script shows it.
fn slider(desk: &Desk<'_>, n: usize, field: &str, which: Which) -> Markup {
    let course = &desk.reckoning.document.fermentation.course;
    let Some(point) = course.get(n - 1) else {
        return html! {};
    };
    let longest = course.iter().map(|p| p.at.value.h() / 24.0);
    let scale: fn(f64) -> f64 = match desk.units {
        Units::Metric => |c| c,
        Units::Us => |c| c * 1.8 + 32.0,
    };
    let (value, low, high, step, unit, label) = match which {
        Which::At => (
            point.at.value.h() / 24.0,
            0.0,
            longest.fold(DAYS, f64::max).ceil(),
            0.25,
            "d",
            "when",
        ),
        Which::Temperature => (
            scale(point.temperature.value.c()),
            scale(CELSIUS.0),
            scale(CELSIUS.1),
            0.5,
            if desk.units == Units::Us {
                "°F"
            } else {
                "°C"
            },
            "temperature",
        ),
    };
    html! {
        input.slide type="range" hidden data-slides=(field) data-unit=(unit)
            min=(low) max=(high) step=(step) value=(format!("{value:.2}")) autocomplete="off"
            aria-label=(format!("point {n}: {label}")) aria-valuetext=(format!("{value:.1} {unit}"));
    }
}

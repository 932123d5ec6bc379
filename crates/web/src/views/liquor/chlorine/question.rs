//! The form of the question. Its address keeps it.

use crate::views::fields;
use batch::liquor::chlorine::{Have, prices};
use maud::{Markup, html};
use quantity::{Units, show};
use water::dechlorination::Reagent;
use water::disinfectant::TestKind;

use super::page::Desk;

pub fn form(desk: &Desk<'_>) -> Markup {
    let home = desk.home();
    html! {
        form.card method="get" action=(home) hx-get=(home) hx-trigger="change, submit"
            hx-target="#chlorine" hx-select="#chlorine" hx-swap="outerMorph" hx-replace-url="true" hx-sync="this:replace" {
            input type="hidden" name="asked" value="1";
            (text(desk, "time", "Time until it is needed", "12 h"))
            fieldset {
                legend { "What is at hand" }
                @if let Some(wrong) = desk.wrong("have") { p.fault role="alert" { (wrong) } }
                @for reagent in Reagent::ALL { (tick(desk, &reagent.to_string())) }
                @for have in Have::ALL { (tick(desk, have.word())) }
                (text(desk, "purity", "Purity of powder", "95 %"))
                (select(desk, "tablet", "Tablets of", "none", &Reagent::ALL.map(|r| r.to_string())))
                (text(desk, "tablet_mass", "Active salt in a tablet", "0.44 g"))
                (text(desk, "scale", "Step of the scale", "any"))
                (text(desk, "heater", "Heater of the kettle", "as usual"))
                p.tick {
                    input #sensitive type="checkbox" name="sensitive" value="yes" checked[!desk.question.get("sensitive").is_empty()];
                    label for="sensitive" { "Someone is sensitive to sulfite" }
                }
            }
            fieldset {
                legend { "A stock solution" }
                (text(desk, "stock_salt", "Salt", "2 g"))
                (text(desk, "stock_volume", "Made up to", "100 mL"))
            }
            fieldset {
                legend { "The carbon" }
                (text(desk, "carbon_volume", "Volume of the carbon", "as planned"))
                (text(desk, "carbon_flow", "Flow", "that suits"))
                (text(desk, "carbon_capacity", "Litres claimed", "no claim"))
                (text(desk, "carbon_rated_flow", "At a flow of", "no claim"))
                (select(desk, "carbon_claim", "Claimed against", "no claim", &["free chlorine".to_owned(), "chloramine".to_owned()]))
                (text(desk, "carbon_used", "Litres it has seen", "0 L"))
            }
            fieldset {
                legend { "The check" }
                (select(desk, "test", "Test", "the first of the table", &TestKind::ALL.map(|t| t.data().name.clone())))
            }
            fieldset {
                legend { "The breakpoint curve" }
                (text(desk, "ammonia", "Ammonium", &desk.breakpoint.ammonia))
                (text(desk, "ph", "pH", &desk.breakpoint.ph))
                (text(desk, "temperature", "Temperature", &desk.breakpoint.temperature))
                (text(desk, "alkalinity", "Alkalinity", &desk.breakpoint.alkalinity))
                (text(desk, "contact", "Contact", &desk.breakpoint.contact))
            }
            details.why {
                summary { "Prices" }
                p.small { "In units of money, of a kilogram where nothing else is said. A place to start (judgement): enter your own." }
                @for (name, price) in prices() {
                    (text(desk, &format!("price.{name}"), &format!("Price, {name}"), &show(price, Units::Metric)))
                }
            }
            p { button.main type="submit" { "Compare" } }
        }
    }
}

fn tick(desk: &Desk<'_>, word: &str) -> Markup {
    let id = format!("have-{}", word.replace(' ', "-"));
    html! {
        p.tick {
            input id=(id) type="checkbox" name="have" value=(word) checked[desk.question.has(word)];
            label for=(id) { (word) }
        }
    }
}

fn text(desk: &Desk<'_>, name: &str, label: &str, empty: &str) -> Markup {
    fields::text(
        name,
        label,
        desk.question.get(name),
        empty,
        desk.wrong(name),
    )
}

fn select(desk: &Desk<'_>, name: &str, label: &str, empty: &str, words: &[String]) -> Markup {
    let now = desk.question.get(name);
    let wrong = desk.wrong(name);
    let fault = format!("{name}-fault");
    html! {
        div.field {
            label for=(name) { (label) }
            select id=(name) name=(name) aria-describedby=[wrong.map(|_| &fault)] {
                option value="" selected[now.is_empty()] { (empty) }
                @for word in words { option value=(word) selected[word == now] { (word) } }
            }
            @if let Some(wrong) = wrong { p.fault id=(fault) { (wrong) } }
        }
    }
}

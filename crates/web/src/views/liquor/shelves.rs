//! The fields of what is at hand: salts, acids, malt and water, and how finely they are
//! weighed.

use crate::views::fields;
use batch::liquor::Wrong;
use batch::liquor::minerals::{DISTILLED, MALT, Question};
use maud::{Markup, html};
use store::DocumentId;
use water::acids::products;
use water::salts::salts;

/// A form that fills a question with what stores hold.
pub fn from_stores(home: &str, stores: &[(DocumentId, String)]) -> Markup {
    html! {
        @if !stores.is_empty() {
            form.card method="get" action=(home) {
                div.field.broad {
                    label for="stores" { "Take what is at hand from" }
                    select #stores name="stores" {
                        @for (id, name) in stores { option value=(id) { (name) } }
                    }
                }
                p { button type="submit" { "Fill in from these stores" } }
            }
        }
    }
}

/// Fields and what is wrong in them.
pub struct Shelves<'q> {
    pub question: &'q Question,
    pub wrong: &'q [Wrong],
}

impl Shelves<'_> {
    fn wrong(&self, field: &str) -> Option<&Wrong> {
        self.wrong.iter().find(|w| w.field == field)
    }

    /// What is wrong with names that no field shows.
    pub fn fault(&self) -> Markup {
        html! { @if let Some(wrong) = self.wrong("have") { p.fault role="alert" { (wrong.message) } } }
    }

    /// Everything that can be at hand.
    pub fn all(&self) -> Markup {
        let salts: Vec<&str> = salts().iter().map(|s| s.name.as_str()).collect();
        let acids: Vec<&str> = products().iter().map(|p| p.name.as_str()).collect();
        html! {
            (self.shelf("Salts", &salts))
            (self.shelf("Acids", &acids))
            (self.shelf("Malt and water", &[MALT, DISTILLED]))
        }
    }

    /// How finely, and how many kinds.
    pub fn steps(&self) -> Markup {
        let question = self.question;
        html! {
            (self.text("scale", "Step of the scale", &question.scale, "0.1 g"))
            (self.text("syringe", "Step of the syringe", &question.syringe, "0.1 mL"))
            (self.text("most", "Kinds of addition, at most", &question.most, "any number"))
        }
    }

    fn shelf(&self, legend: &str, names: &[&str]) -> Markup {
        let said = |name: &&str| {
            let have = self.question.has(name);
            have.is_some_and(|h| !h.amount.is_empty() || !h.price.is_empty())
        };
        let few = names.len() < 3;
        let has = |name: &&&str| few || self.question.has(name).is_some();
        let (ticked, others): (Vec<&&str>, Vec<&&str>) = names.iter().partition(has);
        html! {
            fieldset {
                legend { (legend) }
                @for name in &ticked { (self.tick(name)) }
                @if !others.is_empty() {
                    details.why {
                        summary { "others" }
                        @for name in &others { (self.tick(name)) }
                    }
                }
                details.why open[names.iter().any(said)] {
                    summary { "amounts and prices" }
                    p.small.quiet { "Left empty there is plenty, at no price. A price is for a kilogram, of what is measured for a litre." }
                    @for name in ticked.iter().chain(&others) { (self.amounts(name)) }
                }
            }
        }
    }

    fn tick(&self, name: &str) -> Markup {
        let id = format!("have {name}").replace(' ', "-");
        html! {
            p.tick {
                input id=(id) type="checkbox" name="have" value=(name) checked[self.question.has(name).is_some()];
                label for=(id) { (name) }
            }
        }
    }

    fn amounts(&self, name: &str) -> Markup {
        let have = self.question.has(name);
        let amount = have.map_or("", |h| h.amount.as_str());
        let price = have.map_or("", |h| h.price.as_str());
        html! {
            (self.text(&format!("amount.{name}"), &format!("{name}, at hand"), amount, "plenty"))
            (self.text(&format!("price.{name}"), &format!("{name}, price"), price, "none"))
        }
    }

    /// A field.
    pub fn text(&self, name: &str, label: &str, value: &str, empty: &str) -> Markup {
        let wrong = self.wrong(name).map(|w| w.message.as_str());
        fields::text(name, label, value, empty, wrong)
    }
}

//! Salts and acid by search: what is at hand beside what comes nearest to the aim.

mod answer;
mod moves;

use app::OpenBatch;
use batch::Reckoning;
use batch::liquor::minerals::{DISTILLED, Found, Have, MALT, MineralsError, Question, Wrong};
use maud::{Markup, html};
use quantity::Units;
use store::DocumentId;
use water::acids::products;
use water::salts::salts;

use crate::page::Page;

pub use moves::moves;

/// What became of a question.
pub enum Answer {
    /// A design.
    Found(Box<Found>),
    /// The question cannot be read.
    Wrong(Vec<Wrong>),
    /// There is none.
    None(MineralsError),
}

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub reckoning: &'d Reckoning,
    pub question: &'d Question,
    /// Stores of the library.
    pub stores: &'d [(DocumentId, String)],
    pub answer: &'d Answer,
    pub units: Units,
    /// Whether the batch has moved on since the question was asked.
    pub late: bool,
}

impl Desk<'_> {
    fn home(&self) -> String {
        format!("/batch/{}/minerals", self.open.id)
    }

    fn wrong(&self, field: &str) -> Option<&Wrong> {
        match self.answer {
            Answer::Wrong(wrong) => wrong.iter().find(|w| w.field == field),
            _ => None,
        }
    }
}

/// The choices of a question and their words.
const CHOICES: [(&str, &str); 5] = [
    ("free_blend", "Find the shares of the waters too"),
    ("boiled", "A water may be boiled first"),
    ("limed", "A water may be limed first"),
    ("taste", "Keep below what can be tasted"),
    ("sparge_alike", "Sparge water like mash water"),
];

/// The question of an address; the usual one where nothing was asked yet.
pub fn question(pairs: &[(String, String)], r: &Reckoning) -> Question {
    let value = |name: &str| {
        let found = pairs.iter().find(|(key, _)| key == name);
        found.map_or(String::new(), |(_, value)| value.clone())
    };
    let is = |name: &str| !value(name).is_empty();
    if !is("asked") {
        return Question::usual(r);
    }
    let have = pairs.iter().filter(|(key, _)| key == "have");
    Question {
        have: have
            .map(|(_, what)| Have {
                what: what.clone(),
                amount: value(&format!("amount.{what}")),
                price: value(&format!("price.{what}")),
            })
            .collect(),
        scale: value("scale"),
        syringe: value("syringe"),
        most: value("most"),
        worth: value("worth"),
        free_blend: is("free_blend"),
        boiled: is("boiled"),
        limed: is("limed"),
        taste: is("taste"),
        sparge_alike: is("sparge_alike"),
    }
}

/// A question as the fields of a form.
fn pairs(question: &Question) -> Vec<(String, String)> {
    let mut pairs = vec![("asked".to_owned(), "1".to_owned())];
    let mut push = |name: String, value: &str| {
        if !value.is_empty() {
            pairs.push((name, value.to_owned()));
        }
    };
    for have in &question.have {
        push("have".to_owned(), &have.what);
        push(format!("amount.{}", have.what), &have.amount);
        push(format!("price.{}", have.what), &have.price);
    }
    push("scale".to_owned(), &question.scale);
    push("syringe".to_owned(), &question.syringe);
    push("most".to_owned(), &question.most);
    push("worth".to_owned(), &question.worth);
    for (name, _) in CHOICES {
        push(
            name.to_owned(),
            if chosen(question, name) { "1" } else { "" },
        );
    }
    pairs
}

fn chosen(question: &Question, name: &str) -> bool {
    match name {
        "free_blend" => question.free_blend,
        "boiled" => question.boiled,
        "limed" => question.limed,
        "taste" => question.taste,
        _ => question.sparge_alike,
    }
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    frame(desk.open).render(&html! {
        div.hello {
            h2 { "Salts and acid for the aim" }
            p {
                "Say what you have; the search finds what to weigh so that the mash water comes nearest to the "
                a href=(format!("/batch/{}?bench=glass", desk.open.id)) { "aim of this batch" }
                ". The address of the page keeps what you asked."
            }
        }
        @if desk.late {
            div.trouble role="alert" {
                p { strong { "Not taken. " } "The batch has changed since; this is the answer for it as it is now." }
            }
        }
        section.bench.minerals aria-label="search for salts and acid" {
            div { (stores(desk)) (form(desk)) }
            div #minerals aria-live="polite" { (answer::shown(desk)) }
        }
    })
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).render(&html! {
        div.trouble role="alert" {
            p { strong { "This document cannot be reckoned as it is. " } "Mend it first; then salts and acid can be sought." }
            p { a href=(format!("/batch/{}", open.id)) { "Back to the batch" } }
        }
    })
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(format!("/batch/{}?bench=water", open.id), "water bench")
}

fn stores(desk: &Desk<'_>) -> Markup {
    html! {
        @if !desk.stores.is_empty() {
            form.card method="get" action=(desk.home()) {
                div.field.broad {
                    label for="stores" { "Take what is at hand from" }
                    select #stores name="stores" {
                        @for (id, name) in desk.stores { option value=(id) { (name) } }
                    }
                }
                p { button type="submit" { "Fill in from these stores" } }
            }
        }
    }
}

fn form(desk: &Desk<'_>) -> Markup {
    let salts: Vec<&str> = salts().iter().map(|s| s.name.as_str()).collect();
    let acids: Vec<&str> = products().iter().map(|p| p.name.as_str()).collect();
    html! {
        form.card method="get" action=(desk.home()) hx-get=(desk.home()) hx-trigger="change, submit"
            hx-target="#minerals" hx-select="#minerals" hx-swap="outerMorph" hx-replace-url="true" hx-sync="this:replace" {
            input type="hidden" name="asked" value="1";
            (faults_elsewhere(desk))
            (shelf(desk, "Salts", &salts))
            (shelf(desk, "Acids", &acids))
            (shelf(desk, "Malt and water", &[MALT, DISTILLED]))
            fieldset {
                legend { "How finely" }
                (text(desk, "scale", "Step of the scale", &desk.question.scale, "0.1 g"))
                (text(desk, "syringe", "Step of the syringe", &desk.question.syringe, "0.1 mL"))
                (text(desk, "most", "Kinds of addition, at most", &desk.question.most, "any number"))
                (text(desk, "worth", "What an aim is worth", &desk.question.worth, "any cost"))
            }
            fieldset {
                legend { "What may be done" }
                @for (name, words) in CHOICES {
                    p.tick {
                        input #(name) type="checkbox" name=(name) value="1" checked[chosen(desk.question, name)];
                        label for=(name) { (words) }
                    }
                }
            }
            p { button.main type="submit" { "Find salts and acid" } }
        }
    }
}

/// What is wrong with fields that the form does not show.
fn faults_elsewhere(desk: &Desk<'_>) -> Markup {
    html! { @if let Some(wrong) = desk.wrong("have") { p.fault role="alert" { (wrong.message) } } }
}

fn shelf(desk: &Desk<'_>, legend: &str, names: &[&str]) -> Markup {
    let said = |name: &&str| {
        let have = desk.question.has(name);
        have.is_some_and(|h| !h.amount.is_empty() || !h.price.is_empty())
    };
    let few = names.len() < 3;
    let has = |name: &&&str| few || desk.question.has(name).is_some();
    let (ticked, others): (Vec<&&str>, Vec<&&str>) = names.iter().partition(has);
    html! {
        fieldset {
            legend { (legend) }
            @for name in &ticked { (tick(desk, name)) }
            @if !others.is_empty() {
                details.why {
                    summary { "others" }
                    @for name in &others { (tick(desk, name)) }
                }
            }
            details.why open[names.iter().any(said)] {
                summary { "amounts and prices" }
                p.small.quiet { "Left empty there is plenty, at no price. A price is for a kilogram, of what is measured for a litre." }
                @for name in ticked.iter().chain(&others) { (amounts(desk, name)) }
            }
        }
    }
}

fn tick(desk: &Desk<'_>, name: &str) -> Markup {
    let id = format!("have {name}").replace(' ', "-");
    html! {
        p.tick {
            input id=(id) type="checkbox" name="have" value=(name) checked[desk.question.has(name).is_some()];
            label for=(id) { (name) }
        }
    }
}

fn amounts(desk: &Desk<'_>, name: &str) -> Markup {
    let have = desk.question.has(name);
    let amount = have.map_or("", |h| h.amount.as_str());
    let price = have.map_or("", |h| h.price.as_str());
    html! {
        (text(desk, &format!("amount.{name}"), &format!("{name}, at hand"), amount, "plenty"))
        (text(desk, &format!("price.{name}"), &format!("{name}, price"), price, "none"))
    }
}

fn text(desk: &Desk<'_>, name: &str, label: &str, value: &str, empty: &str) -> Markup {
    let id = name.replace([' ', '.'], "-");
    let fault = format!("{id}-fault");
    let wrong = desk.wrong(name);
    html! {
        div.field {
            label for=(id) { (label) }
            input id=(id) name=(name) type="text" value=(value) placeholder=(empty) autocomplete="off" spellcheck="false"
                aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| &fault)];
            @if let Some(wrong) = wrong { p.fault id=(fault) { (wrong.message) } }
        }
    }
}

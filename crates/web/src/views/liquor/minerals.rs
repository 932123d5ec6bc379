//! Salts and acid by search: what is at hand beside what comes nearest to the aim.

mod answer;
mod moves;

use app::OpenBatch;
use batch::Reckoning;
use batch::liquor::minerals::{Found, Have, LineSure, MineralsError, Question, Wrong};
use maud::{Markup, html};
use quantity::Units;
use store::DocumentId;

use crate::page::Page;
use crate::views::liquor::shelves::{Shelves, from_stores};

pub use moves::moves;

/// What became of a question.
pub enum Answer {
    /// A design, and how sure each of its lines is; none for a batch that cannot be drawn.
    Found(Box<Found>, Option<Vec<LineSure>>),
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

    fn all_wrong(&self) -> &[Wrong] {
        match self.answer {
            Answer::Wrong(wrong) => wrong,
            _ => &[],
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
        sparge_ph: value("sparge_ph"),
        sparge_alike: is("sparge_alike"),
    }
}

/// A question as the fields of a form.
pub fn pairs(question: &Question) -> Vec<(String, String)> {
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
    push("sparge_ph".to_owned(), &question.sparge_ph);
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
            p { "Not sure of the water yet? " a href=(format!("/batch/{}/waters", desk.open.id)) { "Choose among the waters at hand" } " first." }
        }
        @if desk.late {
            div.trouble role="alert" {
                p { strong { "Not taken. " } "The batch has changed since; this is the answer for it as it is now." }
            }
        }
        section.bench.minerals aria-label="search for salts and acid" {
            div { (from_stores(&desk.home(), desk.stores)) (form(desk)) }
            div #minerals aria-live="polite" { (answer::shown(desk)) }
        }
    })
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).unread(open.id, "salts and acid can be sought.")
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(format!("/batch/{}?bench=water", open.id), "water bench")
}

fn form(desk: &Desk<'_>) -> Markup {
    let shelves = Shelves {
        question: desk.question,
        wrong: desk.all_wrong(),
    };
    html! {
        form.card method="get" action=(desk.home()) hx-get=(desk.home()) hx-trigger="change, submit"
            hx-target="#minerals" hx-select="#minerals" hx-swap="outerMorph" hx-replace-url="true" hx-sync="this:replace" {
            input type="hidden" name="asked" value="1";
            (shelves.fault())
            (shelves.all())
            fieldset {
                legend { "How finely" }
                (shelves.steps())
                (shelves.text("worth", "What an aim is worth", &desk.question.worth, "any cost"))
            }
            fieldset {
                legend { "What may be done" }
                (shelves.text("sparge_ph", "Sparge water to pH", &desk.question.sparge_ph, "not aimed at"))
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

//! Which water for a batch: the waters at hand beside the ranking of them and their
//! blends.

mod answer;
mod seasons;

use app::OpenBatch;
use batch::Reckoning;
use batch::liquor::Wrong;
use batch::liquor::choice::{ChoiceError, Chosen, Kept, MOST_WATERS, Question, Wanted, waters};
use batch::liquor::minerals::MineralsError;
use maud::{Markup, html};
use quantity::Units;

use crate::page::Page;
use crate::views::liquor::minerals;
use crate::views::liquor::shelves::Shelves;

pub use seasons::seasons;

/// What became of a question.
pub type Answer = Result<Box<Chosen>, ChoiceError>;

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub reckoning: &'d Reckoning,
    pub kept: &'d [Kept],
    pub question: &'d Question,
    pub answer: &'d Answer,
    pub units: Units,
    /// Whether the batch has moved on since the question was asked.
    pub late: bool,
}

impl Desk<'_> {
    fn home(&self) -> String {
        format!("/batch/{}/waters", self.open.id)
    }

    fn wrong(&self) -> &[Wrong] {
        match self.answer {
            Err(ChoiceError::Wrong(wrong)) => wrong,
            _ => &[],
        }
    }
}

/// The question of an address; the usual one where nothing was asked yet.
pub fn question(pairs: &[(String, String)], r: &Reckoning, kept: &[Kept]) -> Question {
    let value = |name: &str| {
        let found = pairs.iter().find(|(key, _)| key == name);
        found.map_or(String::new(), |(_, value)| value.clone())
    };
    if value("asked").is_empty() {
        return Question::usual(r, kept);
    }
    let ticked = pairs.iter().filter(|(key, _)| key == "water");
    Question {
        waters: ticked
            .map(|(_, key)| Wanted {
                water: key.clone(),
                price: value(&format!("price.{key}")),
                amount: value(&format!("amount.{key}")),
            })
            .collect(),
        minerals: minerals::question(pairs, r),
    }
}

/// A question as the fields of a form.
fn pairs(question: &Question) -> Vec<(String, String)> {
    let mut pairs = minerals::pairs(&question.minerals);
    for wanted in &question.waters {
        pairs.push(("water".to_owned(), wanted.water.clone()));
        for (field, value) in [("price", &wanted.price), ("amount", &wanted.amount)] {
            if !value.is_empty() {
                pairs.push((format!("{field}.{}", wanted.water), value.clone()));
            }
        }
    }
    pairs
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    frame(desk.open).render(&html! {
        div.hello {
            h2 { "Which water" }
            p {
                "Every water you tick, and every blend of two, is worked out for the "
                a href=(format!("/batch/{}?bench=glass", desk.open.id)) { "aim of this batch" }
                " with what you have to add, season by season. The best comes first, with its reasons."
            }
        }
        @if desk.late {
            div.trouble role="alert" {
                p { strong { "Not taken. " } "The batch has changed since; this is the answer for it as it is now." }
            }
        }
        section.bench.minerals.waters aria-label="choice of waters" {
            div { (form(desk)) }
            div #waters aria-live="polite" { (shown(desk)) }
        }
    })
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).unread(open.id, "a water can be chosen.")
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(format!("/batch/{}?bench=water", open.id), "water bench")
        .link(format!("/batch/{}/minerals", open.id), "salts and acid")
}

fn form(desk: &Desk<'_>) -> Markup {
    let shelves = Shelves {
        question: &desk.question.minerals,
        wrong: desk.wrong(),
    };
    html! {
        form.card method="get" action=(desk.home()) hx-get=(desk.home()) hx-trigger="change, submit"
            hx-target="#waters" hx-select="#waters" hx-swap="outerMorph" hx-replace-url="true" hx-sync="this:replace" {
            input type="hidden" name="asked" value="1";
            (choices(desk, &shelves))
            (shelves.fault())
            (shelves.all())
            fieldset {
                legend { "How finely" }
                (shelves.steps())
                p.tick {
                    input #taste type="checkbox" name="taste" value="1" checked[desk.question.minerals.taste];
                    label for="taste" { "Keep below what can be tasted" }
                }
            }
            p { button.main type="submit" { "Choose a water" } }
        }
    }
}

fn choices(desk: &Desk<'_>, shelves: &Shelves<'_>) -> Markup {
    let all = waters(desk.reckoning, desk.kept);
    let written = |wanted: &Wanted| !wanted.price.is_empty() || !wanted.amount.is_empty();
    let wrong = desk.wrong().iter().find(|w| w.field == "water");
    html! {
        fieldset {
            legend { "Waters, " (MOST_WATERS) " at most" }
            @if let Some(wrong) = wrong { p.fault role="alert" { (wrong.message) } }
            @for water in &all {
                @let id = format!("water {}", water.key).replace(' ', "-");
                p.tick {
                    input id=(id) type="checkbox" name="water" value=(water.key) checked[desk.question.wants(&water.key).is_some()];
                    label for=(id) {
                        (water.title)
                        @if water.analyses.len() > 1 { span.small.quiet { " " (water.analyses.len()) " analyses" } }
                    }
                }
            }
            @if desk.kept.is_empty() {
                p.small { "Waters of the " a href="/waters" { "library" } " with an analysis can be chosen here too." }
            }
            details.why open[desk.question.waters.iter().any(written)] {
                summary { "amounts and prices of waters" }
                p.small.quiet { "A price is for a litre. What has one, even 0, is carried home, and its litres count." }
                @for water in &all {
                    @let wanted = desk.question.wants(&water.key);
                    (shelves.text(&format!("amount.{}", water.key), &format!("{}, at hand", water.title), wanted.map_or("", |w| &w.amount), "plenty"))
                    (shelves.text(&format!("price.{}", water.key), &format!("{}, price", water.title), wanted.map_or("", |w| &w.price), "none"))
                }
            }
        }
    }
}

fn shown(desk: &Desk<'_>) -> Markup {
    match desk.answer {
        Ok(found) => answer::shown(desk, found),
        Err(ChoiceError::Wrong(wrong)) => html! {
            div.trouble role="alert" {
                p { strong { "It cannot be read as it is." } }
                ul.notes { @for w in wrong { li { strong { (place_of(w)) } ": " (w.message) } } }
            }
        },
        Err(ChoiceError::Task(error)) => html! {
            div.trouble role="alert" {
                p { strong { "No water can be chosen. " } (error) "." }
                @if matches!(error, MineralsError::NoAim) {
                    p { a href=(format!("/batch/{}?bench=glass", desk.open.id)) { "Set the aim at the glass bench" } }
                }
            }
        },
    }
}

/// What is wrong, without the key of a water, which nobody typed.
fn place_of(wrong: &Wrong) -> &str {
    wrong.field.split('.').next().unwrap_or(&wrong.field)
}

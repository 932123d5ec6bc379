//! Cleaning and sanitising: a calculator, what must never meet, and all the agents.

use batch::cleaning::{MixQuestion, Mixed, Together, mix, together};
use batch::liquor::Wrong;
use maud::{Markup, html};
use package::cleaning::{Agent, Mixture, Severity, names_that_meet};
use quantity::{Units, show_interval};

use super::bench::common::{caution, row, table_of_words};
use crate::page::Page;

/// The questions of the page, and their answers where they were asked.
pub struct Desk {
    question: MixQuestion,
    mixed: Option<Result<Mixed, Vec<Wrong>>>,
    one: String,
    other: String,
    together: Option<Result<Together, Vec<Wrong>>>,
    units: Units,
}

impl Desk {
    /// Reads an address.
    pub fn of(pairs: &[(String, String)], units: Units) -> Self {
        let value = |name: &str| {
            let found = pairs.iter().find(|(key, _)| key == name);
            found.map_or(String::new(), |(_, value)| value.trim().to_owned())
        };
        let question = MixQuestion {
            agent: value("agent"),
            stock: value("stock"),
            density: value("density"),
            to: value("to"),
            volume: value("volume"),
        };
        let (one, other) = (value("one"), value("other"));
        Self {
            mixed: (!question.agent.is_empty()).then(|| mix(&question)),
            together: (!one.is_empty() || !other.is_empty()).then(|| together(&one, &other)),
            question,
            one,
            other,
            units,
        }
    }

    /// Whether all that was asked has an answer.
    pub fn fine(&self) -> bool {
        !matches!(self.mixed, Some(Err(_))) && !matches!(self.together, Some(Err(_)))
    }

    fn wrong(&self, field: &str) -> Option<&str> {
        let mixed = self.mixed.as_ref().and_then(|m| m.as_ref().err());
        let together = self.together.as_ref().and_then(|t| t.as_ref().err());
        let mut all = mixed.into_iter().chain(together).flatten();
        all.find(|w| w.field == field).map(|w| w.message.as_str())
    }
}

/// The page.
pub fn page(desk: &Desk) -> Markup {
    Page::new("Cleaning").render(&html! {
        div.hello {
            p {
                "Clean first, then sanitise: nothing kills what sits under soil. "
                "Alkaline clean, rinse, acid, rinse, sanitise, drain. Never skip the rinse between chlorine and acid."
            }
        }
        div.cleaning {
            (calculator(desk))
            (meeting(desk))
        }
        (never(Severity::Danger, "Never together"))
        (never(Severity::Spoils, "Undoes the work"))
        h2 #agents { "What vessels are cleaned with" }
        div.choices.agents { @for agent in Agent::all() { (card(agent, desk.units)) } }
    })
}

fn calculator(desk: &Desk) -> Markup {
    let q = &desk.question;
    let mixable = Agent::all().iter().filter(|a| a.strength.is_some());
    html! {
        section.card.measure #mix aria-labelledby="mix-title" {
            h2 #mix-title { "Mix a solution" }
            form method="get" action="/cleaning#mix" hx-get="/cleaning" hx-trigger="change" hx-sync="this:replace" hx-target="#mix"
                hx-select="#mix" hx-swap="outerMorph" hx-replace-url="true" {
                div.field {
                    label for="agent" { "Cleaner or sanitiser" }
                    select #agent name="agent" { @for a in mixable { option value=(a.key) selected[a.key == q.agent] { (a.name) } } }
                    (fault(desk, "agent"))
                }
                (field(desk, "stock", "Strength of the stock", &q.stock, "as in 5.25 %; left empty: the usual one"))
                (field(desk, "density", "Its density", &q.density, "where the strength is by mass, as in 1.13 g/mL"))
                (field(desk, "to", "Strength wanted", &q.to, "as in 100 mg/L, or 1.6 mL/L; left empty: the most that is usual"))
                (field(desk, "volume", "How much of it", &q.volume, "left empty: 10 L"))
                p { button.main type="submit" { "Mix it" } }
            }
            div.answer aria-live="polite" {
                @if let Some(Ok(mixed)) = &desk.mixed {
                    p.found { span { (mixed.agent.name) } " " strong { (mixed.working.amount.show(desk.units)) } }
                    p { (mixed.sentence(desk.units)) }
                    ul.notes { @for note in &mixed.notes { li class=(note.weight.word()) { (note.text) } } }
                    @for c in &mixed.cautions { (caution(*c)) }
                }
            }
        }
    }
}

fn meeting(desk: &Desk) -> Markup {
    html! {
        section.card.measure #together aria-labelledby="together-title" {
            h2 #together-title { "May these meet?" }
            form method="get" action="/cleaning#together" hx-get="/cleaning" hx-trigger="change" hx-sync="this:replace" hx-target="#together"
                hx-select="#together" hx-swap="outerMorph" hx-replace-url="true" {
                (pick(desk, "one", "This", &desk.one))
                (pick(desk, "other", "with this", &desk.other))
                p { button.main type="submit" { "Look it up" } }
            }
            div.answer aria-live="polite" {
                @if let Some(Ok(found)) = &desk.together {
                    @let danger = found.mixtures.iter().any(|m| m.severity == Severity::Danger);
                    div .trouble[danger] role=[danger.then_some("alert")] { p { strong { (found.sentence()) } } }
                    @for mixture in &found.mixtures { p.small.quiet { (mixture.source.text) " (" (mixture.source.mark) ")" } }
                }
            }
        }
    }
}

fn pick(desk: &Desk, name: &str, label: &str, now: &str) -> Markup {
    html! {
        div.field {
            label for=(name) { (label) }
            select id=(name) name=(name) aria-invalid=[desk.wrong(name).map(|_| "true")] {
                @for m in names_that_meet() { option value=(m.key) selected[m.key == now] { (m.name) } }
            }
            (fault(desk, name))
        }
    }
}

fn field(desk: &Desk, name: &str, label: &str, typed: &str, hint: &str) -> Markup {
    let faulty = desk.wrong(name).is_some();
    let hint_id = format!("{name}-hint");
    let described = if faulty {
        format!("{hint_id} {name}-fault")
    } else {
        hint_id.clone()
    };
    html! {
        div.field {
            label for=(name) { (label) }
            input id=(name) name=(name) type="text" value=(typed) autocomplete="off" spellcheck="false"
                aria-invalid=[faulty.then_some("true")] aria-describedby=(described);
            p.hint id=(hint_id) { (hint) }
            (fault(desk, name))
        }
    }
}

fn fault(desk: &Desk, name: &str) -> Markup {
    html! {
        @if let Some(wrong) = desk.wrong(name) { p.fault id=(format!("{name}-fault")) { (wrong) } }
    }
}

fn never(severity: Severity, title: &str) -> Markup {
    html! {
        section.card {
            h2 { (title) }
            ul.notes {
                @for m in Mixture::all().iter().filter(|m| m.severity == severity) {
                    li { strong { (m.a) " and " (m.b) } ": " (m.gives) ". " span.quiet.small { (m.source.text) " (" (m.source.mark) ")" } }
                }
            }
        }
    }
}

fn card(agent: &Agent, units: Units) -> Markup {
    let mut rows = vec![];
    if let Some((low, high)) = agent.strength {
        let of = agent.of.as_deref().unwrap_or("it");
        rows.push(row(
            "strength",
            format!("{} to {} of {of}", low.show(units), high.show(units)),
        ));
    }
    rows.push(row(
        "contact",
        show_interval(agent.contact.0, agent.contact.1, units),
    ));
    if let Some((coldest, warmest)) = agent.temperature {
        rows.push(row("temperature", show_interval(coldest, warmest, units)));
    }
    rows.push(row(
        "rinse",
        match agent.rinse_above {
            Some(free) => format!("not up to {}, always above", free.show(units)),
            None if agent.strength.is_some() => "always".to_owned(),
            None => "no".to_owned(),
        },
    ));
    html! {
        section.card id=(format!("agent-{}", agent.key)) {
            h3 { (agent.name) }
            p.small.quiet { (agent.does.word()) }
            (table_of_words("", &rows))
            p.small { (agent.usage) }
            @if !agent.leaves.is_empty() {
                p.small { strong { "What it can leave in beer" } }
                ul.notes { @for l in &agent.leaves { li { strong { (l.fault) } ": " (l.what) "; " (l.when) } } }
            }
            details.why {
                summary { "Cautions and source" }
                @for c in &agent.cautions { (caution(*c)) }
                p { (agent.source.text) " (" (agent.source.mark) ")" }
            }
        }
    }
}

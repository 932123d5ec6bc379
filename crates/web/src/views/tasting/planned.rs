//! The plan of a tasting: the question beside what it can show, and the way to draw it.

use app::{OpenBatch, OpenTasting};
use batch::Fault;
use batch::tasting::{Plan, Pours, percent};
use glass::tasting::Protocol;
use maud::{Markup, html};

use super::Refused;
use crate::page::Page;

/// The fields of the form that are keys of the document.
pub const FIELDS: [&str; 11] = [
    "name",
    "reference",
    "protocol",
    "about",
    "tastings",
    "difference",
    "stop",
    "pours",
    "alike",
    "scored",
    "seed",
];

/// Everything that the page shows.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub tastings: &'d [OpenTasting],
    pub refused: Refused<'d>,
    /// What the plan can show, or why it cannot be reckoned.
    pub plan: Result<Plan, String>,
}

impl Desk<'_> {
    fn home(&self) -> String {
        format!("/batch/{}/tasting", self.open.id)
    }

    fn value<'v>(&'v self, name: &str, usual: &'v str) -> &'v str {
        let typed = self.refused.typed.iter().find(|(key, _)| key == name);
        typed.map_or(usual, |(_, value)| value.as_str())
    }

    fn wrong(&self, name: &str) -> Option<&Fault> {
        let path = format!("tasting.{name}");
        self.refused.faults.iter().find(|f| f.path == path)
    }
}

/// The page.
pub fn page(desk: &Desk<'_>) -> Markup {
    Page::new(&desk.open.name)
        .beside("blind tasting")
        .link(format!("/batch/{}", desk.open.id), "back to the batch")
        .render(&html! {
            div.hello {
                h2 { "Beside the aim, blind" }
                p {
                    "Is the batch told from the beer that was its aim? First see what a tasting of your size can show; "
                    "then draw orders and codes."
                }
            }
            section.tasting.bench aria-label="plan of a tasting" {
                (form(desk))
                div #shows aria-live="polite" { (shown(desk)) (kept(desk)) }
            }
        })
}

fn shown(desk: &Desk<'_>) -> Markup {
    let plan = match &desk.plan {
        Ok(plan) => plan,
        Err(why) => {
            return html! { div.trouble role="alert" { p { strong { "This plan cannot be reckoned. " } (why) "." } } };
        }
    };
    html! {
        div.card {
            h2 { "What it can show" }
            ul.notes { @for line in &plan.says { li { (line) } } }
            table {
                caption { "Chance that a difference is seen" }
                thead { tr { th scope="col" { "difference, d'" } th.number scope="col" { "seen in" } } }
                tbody { @for (d, power) in &plan.power.by_difference {
                    tr { th scope="row" { (batch::tasting::plain(*d)) } td.number { (percent(*power)) } }
                } }
            }
            table {
                caption { "The other ways, with as many tastings" }
                thead { tr { th scope="col" { "way" } th.number scope="col" { "seen in" } th.number scope="col" { "tastings it takes" } } }
                tbody { @for other in &plan.beside {
                    tr {
                        th scope="row" { (said(other.protocol)) }
                        td.number { (percent(other.power)) }
                        td.number { @match other.needed.and_then(|n| n.stable) { Some(n) => (n), None => "too many to reckon" } }
                    }
                } }
            }
            details.why {
                summary { "How this is reckoned" }
                p {
                    "d' is the distance of the beers in steps of what one glass varies from sip to sip: about 1 is hard to tell, 2 plain, 3 gross (judgement). "
                    "Chances by the exact binomial law at the right answers of each way (Ennis 1993; tetrad: Ennis and others 1998, from memory). "
                    "Risk of a false alarm 5 %, wanted chance 90 %. Power climbs in teeth: the number given is the one from which every larger one is enough."
                }
            }
        }
    }
}

fn kept(desk: &Desk<'_>) -> Markup {
    html! {
        @if !desk.tastings.is_empty() {
            div.card {
                h2 { "Tastings of this batch" }
                ul { @for open in desk.tastings {
                    li {
                        a href=(format!("/tasting/{}", open.id)) { (open.name) }
                        @if let Ok((_, judged)) = &open.contents { ": " (judged.headline) }
                    }
                } }
            }
        }
    }
}

fn form(desk: &Desk<'_>) -> Markup {
    let home = desk.home();
    let people = desk
        .refused
        .faults
        .iter()
        .find(|f| f.path.is_empty() || f.path.starts_with("taster"));
    html! {
        form.card method="post" action=(home) {
            fieldset {
                legend { "How it is asked" }
                (choice(desk, "protocol", "Way", &Protocol::OFFERED.map(|p| (p.word(), said(p)))))
                (text(desk, "about", "What is asked about, for pairs and 3-AFC", ""))
                (text(desk, "tastings", "Tastings in all", "6"))
                (text(desk, "difference", "Difference that matters, d'", "2"))
                p { button type="submit" formmethod="get" { "See what it can show" } }
            }
            fieldset {
                legend { "Who and what" }
                (text(desk, "name", "Name of the tasting", &format!("{} beside the aim", desk.open.name)))
                (text(desk, "reference", "The beer beside it", "the beer that was the aim"))
                div.field.broad {
                    label for="tasters" { "Who tastes, one a line; one alone will do" }
                    textarea #tasters name="tasters" rows="5" aria-invalid=[people.map(|_| "true")]
                        aria-describedby=[people.map(|_| "tasters-fault")] { (desk.value("tasters", "")) }
                    @if let Some(fault) = people { p.fault #tasters-fault { (fault.message) "; " (fault.help) } }
                }
                (choice(desk, "pours", "Who pours", &[
                    (Pours::Helper.word(), "somebody who does not taste"),
                    (Pours::OwnHand.word(), "the taster, cups shuffled blind"),
                    (Pours::SealedKey.word(), "coded weeks before, key sealed"),
                ]))
                (choice(desk, "stop", "When it ends", &[
                    ("fixed", "after all tastings"),
                    ("early", "as soon as enough is known"),
                ]))
                (text(desk, "alike", "Share that may tell them apart if they are to count as alike", ""))
                (text(desk, "scored", "Scored in both beers afterwards, between commas", ""))
                p { button.main type="submit" { "Draw orders and codes" } }
            }
        }
    }
}

const fn said(protocol: Protocol) -> &'static str {
    match protocol {
        Protocol::Triangle => "triangle: which of three is odd",
        Protocol::Tetrad => "tetrad: which two of four pair up",
        Protocol::DuoTrio => "duo-trio: which is the reference",
        Protocol::Paired => "pair: which has more, side fixed",
        Protocol::PairedEither => "pair: which has more, either side",
        Protocol::ThreeChoices => "3-AFC: which of three has most",
        Protocol::OneGlass => "one glass at a time: is it the reference",
    }
}

fn choice(desk: &Desk<'_>, name: &str, label: &str, words: &[(&str, &str)]) -> Markup {
    let now = desk.value(name, words.first().map_or("", |(word, _)| word));
    let wrong = desk.wrong(name);
    html! {
        div.field.broad {
            label for=(name) { (label) }
            select id=(name) name=(name) aria-invalid=[wrong.map(|_| "true")] {
                @for (word, said) in words { option value=(word) selected[*word == now] { (said) } }
            }
            @if let Some(fault) = wrong { p.fault { (fault.message) "; " (fault.help) } }
        }
    }
}

fn text(desk: &Desk<'_>, name: &str, label: &str, usual: &str) -> Markup {
    super::field(name, label, desk.value(name, usual), desk.wrong(name))
}

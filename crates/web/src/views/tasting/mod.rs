//! A batch beside the beer that was its aim, blind: the plan, the tasting, the sheet
//! of whoever pours, the page of a taster.

mod planned;
mod sheet;
mod taster;

use app::OpenTasting;
use batch::Fault;
use batch::beside::Held;
use batch::tasting::{Judged, Tasting, percent, plain};
use glass::tasting::AttributeJudged;
use maud::{Markup, html};

use crate::page::Page;
use crate::views::{fields, held};

pub use planned::{Desk, FIELDS, page as plan_page};
pub use sheet::page as serving_page;
pub use taster::{page as taster_page, phone as phone_page, points_field};

/// What a form of the page could not keep.
#[derive(Default)]
pub struct Refused<'r> {
    /// As it was typed.
    pub typed: &'r [(String, String)],
    pub faults: &'r [Fault],
}

impl Refused<'_> {
    fn value(&self, name: &str) -> &str {
        let found = self.typed.iter().find(|(key, _)| key == name);
        found.map_or("", |(_, value)| value.as_str())
    }
}

/// The door for phones, as the page of a tasting shows it.
pub enum Door {
    /// The server has none.
    None,
    /// No codes are shown.
    Shut,
    /// New addresses, one a taster.
    Open(Vec<String>),
}

/// The page of a tasting.
pub fn page(open: &OpenTasting, held: Option<&Held>, refused: &Refused<'_>, door: &Door) -> Markup {
    let mut frame = Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .of_people(open.id);
    if let Ok((tasting, _)) = &open.contents {
        if let Some(batch) = &tasting.batch {
            frame = frame.link(format!("/batch/{batch}/tasting"), "tastings of the batch");
        }
        frame = frame.link(format!("/tasting/{}/serving", open.id), "serving sheet");
    }
    frame.render(&html! {
        @match &open.contents {
            Ok((tasting, judged)) => {
                (body(open, tasting, judged, refused, door))
                @if let Some(held) = held { (held::card(held)) }
            }
            Err(faults) => div.trouble role="alert" {
                p { strong { "This tasting cannot be read as it is." } }
                (fault_list(faults))
            },
        }
    })
}

fn fault_list(faults: &[Fault]) -> Markup {
    html! { ul { @for fault in faults { li { (fault.message) "; " (fault.help) } } } }
}

fn body(
    open: &OpenTasting,
    tasting: &Tasting,
    judged: &Judged,
    refused: &Refused<'_>,
    door: &Door,
) -> Markup {
    html! {
        section.tasting aria-label="the tasting" {
            div.card {
                h2 { (judged.headline) }
                p.quiet { (tasting.beer) " beside " (tasting.reference) ", " (tasting.protocol.word()) "." }
                @if !judged.can_say.is_empty() {
                    h3 { "What this says" }
                    ul.notes { @for line in &judged.can_say { li { (line) } } }
                }
                h3 { "What this cannot say" }
                ul.notes { @for line in &judged.cannot_say { li { (line) } } }
            }
            div.card {
                h2 { "Said before pouring" }
                ul.notes { @for line in &judged.plan.says { li { (line) } } }
                (why(tasting))
            }
            (who(open, judged))
            (phones(open, tasting, door))
            (answer_form(open, refused))
            (scores(open, tasting, judged, refused))
        }
    }
}

fn why(tasting: &Tasting) -> Markup {
    html! {
        details.why {
            summary { "How this is reckoned" }
            p {
                "Right answers against guessing by the exact binomial law (ISO 4120, ISO 10399, ISO 5495); intervals by Clopper and Pearson 1934; "
                "d' is the distance of the beers in steps of what one glass varies from sip to sip (Ennis 1993). "
                "Risk of a false alarm " (percent(tasting.false_alarm)) ", of missing d' = " (plain(tasting.difference)) " " (percent(tasting.missed)) ". "
                "Orders and codes were drawn from the number " (tasting.seed) "."
            }
        }
    }
}

fn who(open: &OpenTasting, judged: &Judged) -> Markup {
    html! {
        div.card {
            h2 { "Who tastes" }
            table {
                thead { tr {
                    th scope="col" { "taster" } th.number scope="col" { "answered" } th.number scope="col" { "planned" }
                    @if judged.over { th.number scope="col" { "right" } }
                } }
                tbody {
                    @for (place, taster) in judged.tasters.iter().enumerate() {
                        tr {
                            th scope="row" { a href=(format!("/tasting/{}/taster/{}", open.id, place + 1)) { (taster.name) } }
                            td.number { (taster.answered) }
                            td.number { (taster.planned) }
                            @if judged.over { td.number { (taster.right) } }
                        }
                    }
                }
            }
            p.small.quiet { "A name leads to the taster's own page: codes and nothing else." }
        }
    }
}

fn phones(open: &OpenTasting, tasting: &Tasting, door: &Door) -> Markup {
    let act = |rest: &str| format!("/tasting/{}/{rest}", open.id);
    html! {
        div.card {
            h2 { "Phones" }
            @match door {
                Door::None => p {
                    "Tasters can answer on their own phones. Start the server for it with "
                    code { "gyle serve --phones ADDRESS:PORT" }
                    ", the address of this machine on the local network."
                },
                Door::Shut => {
                    p { "Each taster gets a code that works once, for one phone, and shows that taster's page alone." }
                    form method="post" action=(act("phones")) { p { button type="submit" { "Let phones in" } } }
                }
                Door::Open(codes) => {
                    p { strong { "Give each taster their own address now: it is shown this once." } }
                    ul { @for (name, address) in tasting.tasters.iter().zip(codes) { li { (name) ": " code { (address) } } } }
                    form method="post" action=(act("phones/shut")) { p { button type="submit" { "Shut phones out" } } }
                }
            }
        }
    }
}

fn answer_form(open: &OpenTasting, refused: &Refused<'_>) -> Markup {
    let wrong = refused.faults.iter().find(|f| f.path.starts_with("answer"));
    html! {
        form.card method="post" action=(format!("/tasting/{}/answer", open.id)) {
            h2 { "Write down an answer from paper" }
            (field("tasting", "Number of the tasting", refused.value("tasting"), wrong.filter(|f| !f.path.ends_with("glass"))))
            (field("glass", "Code that was named; two for a tetrad; same or other for a single glass", refused.value("glass"), wrong.filter(|f| f.path.ends_with("glass"))))
            p { button.main type="submit" { "Keep the answer" } }
        }
    }
}

fn scores(open: &OpenTasting, tasting: &Tasting, judged: &Judged, refused: &Refused<'_>) -> Markup {
    let at = |key: &str| {
        let mut all = refused.faults.iter();
        all.find(|f| f.path.starts_with("score") && f.path.ends_with(key))
    };
    html! {
        div.card {
            h2 { "Scores, batch less reference" }
            @if judged.attributes.is_empty() { p.quiet { "Nothing is scored yet." } }
            @else { (score_table(&judged.attributes)) }
            form method="post" action=(format!("/tasting/{}/score", open.id)) {
                h3 { "Write down points" }
                (field("attribute", "What was scored", refused.value("attribute"), at("attribute")))
                (field("taster", "Who scored it", refused.value("taster"), at("taster")))
                @if tasting.scored.is_empty() {
                    (field("batch", "Points of the batch", refused.value("batch"), at("batch")))
                    (field("reference", "Points of the reference", refused.value("reference"), at("reference")))
                } @else {
                    (field("points", "Points by code, such as 417 5, 528 6.5", refused.value("points"), at("score").or_else(|| at("batch")).or_else(|| at("reference"))))
                }
                p { button type="submit" { "Keep the points" } }
            }
        }
    }
}

fn score_table(attributes: &[AttributeJudged]) -> Markup {
    let points = |value: Option<f64>| value.map_or_else(|| "not known".to_owned(), plain);
    let between = |a: &AttributeJudged| match (a.mean.low, a.mean.high) {
        (Some(low), Some(high)) => format!("{} to {}", plain(low), plain(high)),
        _ => "not known".to_owned(),
    };
    html! {
        div.wide tabindex="0" role="region" aria-label="scores" { table.scores {
            thead { tr {
                th scope="col" { "attribute" } th.number scope="col" { "tasters" } th.number scope="col" { "mean" }
                th.number scope="col" { "95 % interval" } th.number scope="col" { "chance" }
            } }
            tbody {
                @for a in attributes {
                    tr {
                        th scope="row" { (a.attribute) }
                        td.number { (a.tasters) }
                        td.number { (points(a.mean.value)) }
                        td.number { (between(a)) }
                        td.number { (percent(a.adjusted_p)) }
                    }
                }
            }
        } }
        p.small.quiet { "Chance: by exact ranks (Wilcoxon 1945), raised for the number of attributes (Holm 1979)." }
    }
}

fn field(name: &str, label: &str, value: &str, wrong: Option<&Fault>) -> Markup {
    let wrong = wrong.map(fields::told);
    fields::text(name, label, value, "", wrong.as_deref())
}

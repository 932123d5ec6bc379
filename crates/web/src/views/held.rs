//! What the glass should hold, against what was found: a chart and a table.

use batch::beside::{Agreement, Beside, Held};
use batch::tasting::plain;
use chart::{ActivityChart, Chart, Compound, Heading};
use maud::{Markup, html};

/// The part of a page; nothing where nothing was scored or found.
pub fn card(held: &Held) -> Markup {
    let any = held.told().next().is_some();
    html! {
        @if any || !held.unreckoned.is_empty() {
            section.card.held {
                h2 { "What the glass should hold, against what was found" }
                @if any {
                    (chart(held).markup())
                    div.wide tabindex="0" role="region" aria-label="reckoned beside found" { (table(held)) }
                }
                @if !held.unreckoned.is_empty() { p { "Nothing is reckoned of: " (held.unreckoned.join("; ")) "." } }
                details.why {
                    summary { "How this is told" }
                    p {
                        "Reckoned: the concentration over its threshold, from the highest to the lowest threshold in print. "
                        "A panel's points and the strength of a finding stand for levels: faint from half a threshold or 1 point of 10, clear from 2 or 3, strong from 10 or 6 (judgement). "
                        "They agree where the levels meet. Points with a 95 % interval by t over the tasters; against the reference by exact ranks, raised for the number of attributes."
                    }
                }
            }
        }
    }
}

fn table(held: &Held) -> Markup {
    html! {
        table {
            thead { tr {
                th scope="col" { "compound" } th scope="col" { "reckoned, of its threshold" }
                th scope="col" { "found" } th scope="col" { "" }
            } }
            tbody { @for b in held.told() {
                @for (n, found) in b.found.iter().enumerate() {
                    tr {
                        @if n == 0 {
                            th scope="row" rowspan=(b.found.len()) { (b.reckoned.compound.name) }
                            td rowspan=(b.found.len()) { (reckoned(b)) }
                        }
                        td { (found.words) }
                        td class=[(found.agreement != Agreement::Agrees).then_some("look")] { (found.agreement.words()) }
                    }
                }
            } }
        }
    }
}

fn reckoned(b: &Beside) -> Markup {
    let a = &b.reckoned;
    html! {
        (plain(a.typical)) " (" (plain(a.low)) " to " (plain(a.high)) "): " (b.levels.words())
        @if a.bound != glass::Bound::Expected { ", " (a.bound.words()) }
    }
}

/// Each compound, and under it what was found of it where its levels stand.
fn chart(held: &Held) -> ActivityChart {
    let rows = held.told().flat_map(|b| {
        let a = &b.reckoned;
        let own = Compound::known(a.compound.name.clone(), a.low, a.typical, a.high);
        let found = b.found.iter().map(|f| {
            let (low, middle, high) = f.levels.drawn();
            let by = if f.points.is_some() {
                "scored"
            } else {
                "found"
            };
            Compound::known(format!("{by}: {}", f.what), low, middle, high)
        });
        std::iter::once(own).chain(found).collect::<Vec<_>>()
    });
    ActivityChart::new(
        Heading::new(
            "held",
            "Reckoned, and as it was found",
            "Concentration divided by its threshold; what was scored or found is drawn over the levels that it stands for.",
        ),
        rows.collect(),
    )
}

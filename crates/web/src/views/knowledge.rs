//! The tables of causes, findings and tests, to be read.

use batch::inquiry::{cause_name, costs, percent, takes};
use inquiry::{Cause, FindingRow, Knowledge, Test};
use maud::{Markup, html};

use crate::page::Page;
use crate::views::bench::common::caution;

fn frame(title: &str, body: &Markup) -> Markup {
    Page::new(title)
        .link("/knowledge".to_owned(), "causes, findings, tests")
        .render(&html! { div.reader { (body) } })
}

/// All of them.
pub fn shelf() -> Markup {
    let k = Knowledge::built_in();
    let mut stages: Vec<&str> = k.causes.iter().map(|c| c.stage.as_str()).collect();
    stages.sort_unstable();
    stages.dedup();
    frame(
        "Causes, findings, tests",
        &html! {
            div.knowledge {
                section.card {
                    h2 { "Causes" }
                    @for stage in stages {
                        h3 { (stage) }
                        ul { @for c in k.causes.iter().filter(|c| c.stage == stage) { li { a href=(format!("/knowledge/cause/{}", c.key)) { (c.name) } } } }
                    }
                }
                section.card {
                    h2 { "Findings" }
                    ul { @for f in &k.findings { li { a href=(format!("/knowledge/finding/{}", f.key)) { (f.name) } } } }
                }
                section.card {
                    h2 { "Tests" }
                    ul { @for t in &k.tests { li { a href=(format!("/knowledge/test/{}", t.key)) { (t.name) } ", " (takes(t)) } } }
                }
            }
        },
    )
}

/// One cause.
pub fn cause(c: &Cause) -> Markup {
    let k = Knowledge::built_in();
    let compound = |key: &str| {
        k.compounds
            .iter()
            .find(|x| x.key == key)
            .map(|x| x.name.as_str())
    };
    frame(
        &c.name,
        &html! {
            section.card {
                p { (c.mechanism) }
                p { "How common: " (percent(c.prior)) " of batches, before anything is known of one. " (c.usual_because) }
                p { "What moves it: " (c.moved_by) "." }
                h2 { "What it shows as" }
                div.wide tabindex="0" role="region" aria-label="what it shows as" { table {
                    thead { tr { th scope="col" { "finding" } th.number scope="col" { "by this alone" } th scope="col" { "through" } } }
                    tbody { @for (key, chance, through) in &c.signs {
                        tr {
                            th scope="row" { a href=(format!("/knowledge/finding/{key}")) { (name_of(key)) } }
                            td.number { (percent(*chance)) }
                            td { (through.as_deref().and_then(compound).unwrap_or("")) }
                        }
                    } }
                } }
                h2 { "Tests that speak of it" }
                ul { @for t in k.tests.iter().filter(|t| t.positive.contains_key(&c.key)) { li { a href=(format!("/knowledge/test/{}", t.key)) { (t.name) } } } }
                h2 { "What to change" }
                p { (c.remedy) }
                @for each in &c.cautions { (caution(*each)) }
                p.quiet.small { "Source of the mechanism: " (c.source.text) " (" (c.source.mark.words()) "). Every chance is judgement." }
            }
        },
    )
}

fn name_of(key: &str) -> &'static str {
    let k = Knowledge::built_in();
    k.finding(key).map_or("", |at| k.findings[at].name.as_str())
}

/// One finding.
pub fn finding(f: &FindingRow) -> Markup {
    let k = Knowledge::built_in();
    let chance = |c: &Cause| c.signs.iter().find(|s| s.0 == f.key).map(|s| s.1);
    let makers: Vec<(&Cause, f64)> = k
        .causes
        .iter()
        .filter_map(|c| Some((c, chance(c)?)))
        .collect();
    frame(
        &f.name,
        &html! {
            section.card {
                p { "By " (f.sense) ", of the family " (f.family) ". With none of the listed causes it is told of " (percent(f.leak)) " of batches (judgement)." }
                h2 { "What makes it" }
                div.wide tabindex="0" role="region" aria-label="what makes it" { table {
                    thead { tr { th scope="col" { "cause" } th.number scope="col" { "shows so" } } }
                    tbody { @for (c, chance) in makers {
                        tr { th scope="row" { a href=(format!("/knowledge/cause/{}", c.key)) { (c.name) } } td.number { (percent(chance)) } }
                    } }
                } }
            }
        },
    )
}

/// One test.
pub fn test(t: &Test) -> Markup {
    frame(
        &t.name,
        &html! {
            section.card {
                p.quiet { (takes(t)) "; costs " (costs(t)) "." }
                p { (t.how) }
                p { "If so: " (t.if_positive) "." }
                p { "If not: " (t.if_negative) "." }
                @for c in &t.cautions { (caution(*c)) }
                h2 { "How often it comes out positive" }
                div.wide tabindex="0" role="region" aria-label="how often it comes out positive" { table {
                    thead { tr { th scope="col" { "cause" } th.number scope="col" { "positive" } } }
                    tbody {
                        @for (key, chance) in &t.positive {
                            tr { th scope="row" { a href=(format!("/knowledge/cause/{key}")) { (cause_name(key)) } } td.number { (percent(*chance)) } }
                        }
                        tr { th scope="row" { "none of them" } td.number { (percent(t.otherwise)) } }
                    }
                } }
                p.quiet.small { "Every chance is judgement." }
            }
        },
    )
}

//! The tables of malts and hops: what is taken where a sheet says nothing.

use batch::tables::{Entry, UNUSED, found};
use maud::{Markup, html};

use crate::page::Page;

/// One of the two tables.
pub struct Table<'t> {
    pub title: &'static str,
    pub address: &'static str,
    pub entries: Vec<Entry>,
    pub find: &'t str,
}

pub fn page(table: Table<'_>) -> Markup {
    let Table {
        title,
        address,
        entries,
        find,
    } = table;
    let is_malts = address == "/malts";
    let all = entries.clone();
    let rows = found(entries, find);
    let narrowed = !find.trim().is_empty();
    Page::new(title).render(&html! {
        div.hello {
            p { "Usual ranges, and how each is known. A figure of your own sheet stands in its place, in a batch or with your stores: its key stands beside it." }
        }
        section.card aria-labelledby="table" {
            h2 #table { "The table" }
            form.row method="get" action=(address) role="search" {
                label for="find" { "Find by name" }
                input #find name="find" type="text" value=(find);
                button type="submit" { "Find" }
            }
            @if rows.is_empty() { p role="status" { "No name holds “" (find) "”. " a href=(address) { "Show all of them" } } }
            div.ingredients {
                @for entry in &rows { (row(entry, narrowed && rows.len() <= 3)) }
            }
        }
        section.card aria-labelledby="marks" {
            h2 #marks { "How a figure is known" }
            table {
                caption { "marks" }
                tbody {
                    tr { th scope="row" { "read" } td { "stands in the source that is named, or in a text that quotes it" } }
                    tr { th scope="row" { "from memory" } td { "recalled; the source was not opened" } }
                    tr { th scope="row" { "common practice" } td { "a rule of the trade without a single source" } }
                    tr { th scope="row" { "judgement" } td { "somebody’s judgement, not measured" } }
                }
            }
            (sources(&all))
            @if is_malts { p.small { "Of a malt’s sheet, nothing here asks for: " (UNUSED) "." } }
            p.small {
                @if is_malts { a href="/hops" { "The table of hops" } } @else { a href="/malts" { "The table of malts" } }
                " · " a href="/stores" { "Your stores" }
            }
        }
    })
}

/// Figures that have another source than the rest of their row.
fn sources(entries: &[Entry]) -> Markup {
    let mut seen: Vec<(&str, &str)> = Vec::new();
    for entry in entries {
        let own = entry
            .figures
            .iter()
            .filter(|f| f.source != entry.source.text);
        for figure in own {
            let pair = (figure.label, figure.source.as_str());
            if !seen.contains(&pair) {
                seen.push(pair);
            }
        }
    }
    html! {
        @if !seen.is_empty() {
            table {
                caption { "figures with a source of their own" }
                tbody { @for (label, source) in &seen { tr { th scope="row" { (label) } td { (source) } } } }
            }
        }
    }
}

fn row(entry: &Entry, open: bool) -> Markup {
    html! {
        details open[open] {
            summary { (entry.name) span.quiet.small { " " (entry.kind) } }
            table {
                caption { (entry.name) }
                thead { tr { th scope="col" { "figure" } th.number scope="col" { "usual" } th scope="col" { "known" } } }
                tbody {
                    @for figure in &entry.figures {
                        tr {
                            th scope="row" { (figure.label) @if let Some(key) = figure.own { " " code { (key) } } }
                            td.number { (figure.text) }
                            td { (figure.mark) }
                        }
                    }
                }
            }
            p.small.quiet { "Source: " (entry.source.text) "." }
        }
    }
}

//! Findings looked for by flavour words, and chosen from by sense and family.

use inquiry::{FindingRow, Knowledge};
use maud::{Markup, html};

use super::{Desk, here, typed};

/// The search: a question of its own, so that it works without scripts; with them the
/// list follows what is typed.
pub fn form(d: &Desk<'_>) -> Markup {
    html! {
        form.find method="get" action=(here(d)) hx-get=(here(d)) hx-trigger="input delay:250ms, submit"
            hx-target="#what" hx-select="#what" hx-swap="outerMorph" hx-replace-url="true" hx-sync="this:replace" {
            div.field.broad {
                label for="find" { "Look for a finding by a word of flavour" }
                input #find type="text" name="find" value=(d.find) placeholder="such as buttery, DMS, wet cardboard" autocomplete="off" spellcheck="false" maxlength="80";
            }
            button type="submit" { "Look" }
        }
    }
}

/// The list to choose a finding from, narrowed to what was looked for.
pub fn what(d: &Desk<'_>) -> Markup {
    let found = Knowledge::built_in().search(d.find);
    let asked = !d.find.trim().is_empty();
    let rows: Vec<&FindingRow> = if found.is_empty() {
        Knowledge::built_in().findings.iter().collect()
    } else {
        found.clone()
    };
    let first = found.first().map_or("", |row| row.key.as_str());
    let now = if typed(d, "what").is_empty() {
        first
    } else {
        typed(d, "what")
    };
    html! {
        div.field.broad #what {
            label for="of-what" { "Finding" }
            select #of-what name="what" required aria-describedby=[asked.then_some("what-said")] {
                option value="" { "choose" }
                @for (family, rows) in families(&rows) {
                    optgroup label=(family) {
                        @for row in rows { option value=(row.key) selected[row.key == now] { (row.name) } }
                    }
                }
            }
            @if asked {
                p.small #what-said role="status" {
                    @if found.is_empty() { "No finding has that word: all are listed." }
                    @else if let [one] = found.as_slice() { "One finding has that word: " (one.name) "." }
                    @else { (found.len()) " findings have that word: " (names(&found)) }
                }
            }
        }
    }
}

/// The names of what was found; the first few.
fn names(found: &[&FindingRow]) -> String {
    const TOLD: usize = 4;
    let told: Vec<&str> = found
        .iter()
        .take(TOLD)
        .map(|row| row.name.as_str())
        .collect();
    let end = if found.len() > TOLD { "; …" } else { "." };
    format!("{}{end}", told.join("; "))
}

/// Findings by sense and family, in the order of the table.
fn families<'k>(rows: &[&'k FindingRow]) -> Vec<(String, Vec<&'k FindingRow>)> {
    let mut families: Vec<(String, Vec<&FindingRow>)> = Vec::new();
    for row in rows {
        let name = format!("{}: {}", row.sense, row.family);
        match families.iter_mut().find(|(family, _)| *family == name) {
            Some((_, rows)) => rows.push(row),
            None => families.push((name, vec![row])),
        }
    }
    families.sort_by(|a, b| a.0.cmp(&b.0));
    families
}

//! What is wished and what may move, as a form by GET.

use batch::matching::{AIMED, Aimed, FIELDS, GROUPS};
use maud::{Markup, html};
use store::DocumentId;

use super::{Desk, Where};
use crate::views::address::query;
use crate::views::fields;

/// Figures that stand open; the others are one step away.
const FIRST: [&str; 9] = [
    "original_gravity",
    "final_gravity",
    "alcohol",
    "colour",
    "bitterness",
    "carbon_dioxide",
    "clove",
    "banana",
    "mash_ph",
];
const ADMIRED: [(&str, &str, &str); 5] = [
    ("label_alcohol", "Alcohol on its label", "5.0 %"),
    ("label_colour", "Colour on its label", "12 EBC"),
    ("sample_gravity", "Gravity of a sample without gas", "1.010"),
    (
        "sample_refractometer",
        "Refractometer in that sample",
        "6.2 °Bx",
    ),
    ("tasted", "How it tasted", "clove clear; banana faint"),
];
const PLAIN: [(&str, &str, &str); 4] = [
    (
        "lock",
        "What stays, by name or key",
        "Perle, grist[1], mash",
    ),
    ("most", "The most malts, sugars and hops", "5"),
    ("malt_scale", "Step of the scale for malt", "10 g"),
    ("hop_scale", "Step of the scale for hops", "1 g"),
];
const ELSEWHERE: [(&str, &str, &str); 2] = [
    ("volume", "Wort into the fermenter", "50 L"),
    ("altitude", "Height above the sea", "1500 m"),
];

/// Whether a fault has its place in the form.
pub fn has_field(path: &str) -> bool {
    AIMED.iter().any(|a| a.key == path)
        || FIELDS.contains(&path)
        || ELSEWHERE.iter().any(|(name, ..)| *name == path)
}

pub fn form(desk: &Desk<'_>) -> Markup {
    let elsewhere = desk.to == Where::Elsewhere;
    html! {
        form.card.read method="get" action=(desk.home()) data-part="wish" {
            input type="hidden" name="find" value="yes";
            @if elsewhere {
                h3 { "Where it goes" }
                @for (name, label, example) in ELSEWHERE { (text(desk, name, label, example)) }
                (choice(desk, "brewhouse", "Brewhouse there", "as it is", &desk.library.brewhouses))
                (choice(desk, "water_of", "Water there", "as it is", &desk.library.waters))
            } @else {
                h3 { "What the glass should hold" }
                p.small.quiet { "Left open, a figure has the aim of the batch. Write it as in 28 ± 4 IBU, at most 30 IBU, at least 5 %, or free for no aim." }
                @for figure in first() { (aim(desk, figure)) }
                details open[others().any(|f| filled(desk, f.key))] {
                    summary { "Further figures: water, esters, beer pH" }
                    @for figure in others() { (aim(desk, figure)) }
                }
                details open[ADMIRED.iter().any(|(name, ..)| filled(desk, name))] {
                    summary { "From the beer you admire" }
                    @for (name, label, example) in ADMIRED { (text(desk, name, label, example)) }
                    p.small.quiet { "From gravity and refractometer together come original gravity and alcohol; shake the gas out first and read both at 20 °C. How it tasted is not noticed, faint, clear or strong, of clove, banana, esters or fusel; the words are read as bands of odour activity (judgement)." }
                    @if !desk.library.tastings.is_empty() {
                        ul.notes { @for (name, words) in &desk.library.tastings {
                            li { a href=(admired(desk, words)) { "as " (name) " has it: " (words) } }
                        } }
                    }
                }
            }
            (what_moves(desk))
            (choice(desk, "stores", "Stores to brew from", "what the recipe has", &desk.library.stores))
            div.field.check {
                label { input type="checkbox" name="only_stores" value="yes" checked[desk.typed.get("only_stores") == "yes"]; " nothing that is not there" }
            }
            details open[PLAIN.iter().any(|(name, ..)| filled(desk, name)) || filled(desk, "limits") || filled(desk, "prices")] {
                summary { "Locked, limits, scales, prices" }
                @for (name, label, example) in PLAIN { (text(desk, name, label, example)) }
                (lines(desk, "limits", "Limits, one a line", "roast barley at most 100 g"))
                (lines(desk, "prices", "Prices of a kilogram, a packet of yeast or a litre of acid, one a line; those of the stores count without being asked", "pilsner malt 1.80"))
            }
            p { button.main type="submit" { @if elsewhere { "Find it there" } @else { "Find recipes" } } }
            p.small.quiet { "It takes a moment: every trial is reckoned from tap to glass." }
        }
    }
}

/// The question with how the admired beer tasted in it.
fn admired(desk: &Desk<'_>, words: &str) -> String {
    let others = desk.typed.pairs().filter(|(name, _)| *name != "tasted");
    let all = others.chain([("tasted", words)]);
    format!("{}?{}", desk.home(), query(all))
}

fn first() -> impl Iterator<Item = &'static Aimed> {
    FIRST.iter().filter_map(|key| batch::matching::aimed(key))
}

fn others() -> impl Iterator<Item = &'static Aimed> {
    AIMED.iter().filter(|a| !FIRST.contains(&a.key))
}

fn filled(desk: &Desk<'_>, name: &str) -> bool {
    !desk.value(name).is_empty() || desk.wrong(name).is_some()
}

/// A figure: empty, it says what the batch aims at.
fn aim(desk: &Desk<'_>, figure: &Aimed) -> Markup {
    let mut label = figure.name.to_owned();
    if let Some(first) = label.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    let of_batch = desk.open.outcome.reckoning().and_then(|r| {
        let line = r.aim.iter().find(|line| line.key == figure.key)?;
        Some(line.aim.text(desk.units).to_owned())
    });
    let shown = of_batch.unwrap_or_else(|| format!("no aim; {}", figure.example));
    text(desk, figure.key, &label, &shown)
}

fn text(desk: &Desk<'_>, name: &str, label: &str, example: &str) -> Markup {
    let wrong = desk.wrong(name).map(fields::told);
    fields::text(name, label, desk.value(name), example, wrong.as_deref())
}

fn lines(desk: &Desk<'_>, name: &str, label: &str, example: &str) -> Markup {
    let wrong = desk.wrong(name).map(fields::told);
    let fault = format!("{name}-fault");
    html! {
        div.field {
            label for=(name) { (label) }
            textarea id=(name) name=(name) rows="3" placeholder=(example) spellcheck="false"
                aria-invalid=[wrong.as_ref().map(|_| "true")] aria-describedby=[wrong.as_ref().map(|_| &fault)] { (desk.value(name)) }
            @if let Some(wrong) = &wrong { p.fault id=(fault) { (wrong) } }
        }
    }
}

/// What may move, a tick each.
fn what_moves(desk: &Desk<'_>) -> Markup {
    let nothing_said = desk.typed.get("move").is_empty();
    let moves = |group: &str| match desk.to {
        // Everything but the times of hops moves with the batch.
        Where::Elsewhere if nothing_said => group != "hop times",
        _ => desk.typed.moves(group),
    };
    html! {
        fieldset.ticks {
            legend { "What may move" }
            @for (group, words) in GROUPS {
                div.field.check {
                    label { input type="checkbox" name="move" value=(group) checked[moves(group)]; " " (words) }
                }
            }
            @if let Some(wrong) = desk.wrong("move").map(fields::told) { p.fault { (wrong) } }
        }
    }
}

fn choice(
    desk: &Desk<'_>,
    name: &str,
    label: &str,
    none: &str,
    of: &[(DocumentId, String)],
) -> Markup {
    let now = desk.value(name);
    html! {
        div.field {
            label for=(name) { (label) }
            select id=(name) name=(name) {
                option value="" selected[now.is_empty()] { (none) }
                @for (id, words) in of { option value=(id) selected[now == id.to_string()] { (words) } }
            }
        }
    }
}

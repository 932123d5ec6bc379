//! The page of stores: what is at hand.

use std::collections::BTreeMap;

use app::Contents;
use batch::library::Stores;
use maud::{Markup, html};
use quantity::{Caution, Units, show_measured};
use water::salts::Salt;

use super::{Desk, form};
use crate::views::bench::boil;
use crate::views::bench::common::{Row, caution, row, table};
use crate::views::bench::mash::MALT_SHEET;
use crate::views::form::Form;

pub fn desk(desk: &Desk<'_>) -> Markup {
    let fields = desk.form();
    html! {
        div.bench {
            (form(desk, &html! {
                fieldset {
                    legend { "The stores" }
                    (fields.words("stores.name", "Name"))
                    (fields.words("stores.notes", "Notes"))
                }
                @for list in &LISTS { (entries(&fields, list)) }
            }))
            div.results {
                @match &desk.open.contents {
                    Ok((Contents::Stores(stores), _)) => { (at_hand(desk)) (faded(stores, desk.units)) (with_care(stores)) },
                    _ => { section.card { p { "Mend what is listed above and the lists come back." } } },
                }
            }
        }
    }
}

/// A list of the document: its fields, and what a new entry starts with.
struct List {
    key: &'static str,
    legend: &'static str,
    add: &'static str,
    /// The key whose value names an entry.
    named: &'static str,
    fields: &'static [Field],
    /// Figures of its own analysis.
    sheet: &'static [(&'static str, &'static str)],
    first: &'static [(&'static str, &'static str)],
}

enum Field {
    Value(&'static str, &'static str),
    Choice(&'static str, &'static str),
}

use Field::{Choice, Value};

static LISTS: [List; 6] = [
    List {
        key: "malt",
        legend: "Malts, adjuncts, sugars",
        add: "Add a malt or sugar",
        named: "class",
        fields: &[
            Choice("class", "Class"),
            Value("name", "Name on the sack"),
            Value("amount", "Amount"),
            Value("lot", "Lot"),
            Value("best_before", "Best before"),
            Value("price", "Price of a kilogram"),
        ],
        sheet: &MALT_SHEET,
        first: &[("class", "pale ale malt"), ("amount", "1 kg")],
    },
    List {
        key: "hop",
        legend: "Hops",
        add: "Add a hop",
        named: "hop",
        fields: &[
            Value("hop", "Cultivar"),
            Value("alpha", "Alpha-acids"),
            Value("amount", "Amount"),
            Choice("form", "Form"),
            Value("harvest", "Year of harvest"),
            Value("lot", "Lot"),
            Value("price", "Price of a kilogram"),
        ],
        sheet: &[],
        first: &[("hop", "Saaz"), ("amount", "100 g")],
    },
    List {
        key: "yeast",
        legend: "Yeasts",
        add: "Add a yeast",
        named: "class",
        fields: &[
            Choice("class", "Class"),
            Value("name", "Name on the packet"),
            Choice("form", "Comes"),
            Value("packets", "Packets"),
            Value("packet_mass", "Mass of a dry packet"),
            Value("cells", "Cells in a liquid packet"),
            Value("slurry", "Slurry"),
            Value("packed", "Packed on"),
            Value("stored_at", "Stored at"),
            Value("price", "Price of a packet"),
        ],
        sheet: &[],
        first: &[
            ("class", "neutral ale"),
            ("form", "dry"),
            ("packets", "1"),
            ("packet_mass", "11.5 g"),
        ],
    },
    List {
        key: "salt",
        legend: "Salts",
        add: "Add a salt",
        named: "salt",
        fields: &[
            Choice("salt", "Salt"),
            Value("amount", "Amount"),
            Value("price", "Price of a kilogram"),
        ],
        sheet: &[],
        first: &[("salt", "gypsum"), ("amount", "100 g")],
    },
    List {
        key: "acid",
        legend: "Acids",
        add: "Add an acid",
        named: "acid",
        fields: &[
            Choice("acid", "Acid"),
            Value("volume", "By volume"),
            Value("mass", "Or by mass"),
            Value("price", "Price of a litre, or a kilogram by mass"),
        ],
        sheet: &[],
        first: &[("acid", "lactic acid 80 %"), ("volume", "100 mL")],
    },
    List {
        key: "reagent",
        legend: "Against chlorine",
        add: "Add a reagent",
        named: "reagent",
        fields: &[
            Choice("reagent", "Reagent"),
            Value("purity", "Purity"),
            Value("amount", "Amount"),
            Value("opened", "Opened on"),
        ],
        sheet: &[],
        first: &[("reagent", "potassium metabisulfite"), ("amount", "50 g")],
    },
];

/// What a new entry of a list of the stores starts with.
pub fn first_values(list: &str) -> Vec<(String, String)> {
    let first = LISTS
        .iter()
        .find(|l| l.key == list)
        .map_or([].as_slice(), |l| l.first);
    first
        .iter()
        .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
        .collect()
}

fn entries(form: &Form<'_>, list: &List) -> Markup {
    html! {
        fieldset {
            legend { (list.legend) }
            @for n in 1..=form.entries(list.key) {
                @let at = format!("{}[{n}]", list.key);
                @let name = form.named(&format!("{at}.name"), &form.named(&format!("{at}.{}", list.named), list.key));
                div.entry {
                    div.row { strong { (name) } (form.removes(&at, &format!("{} {n}", list.key))) }
                    @for field in list.fields {
                        @match field {
                            Value(key, label) => (form.field(&format!("{at}.{key}"), label)),
                            Choice(key, label) => (form.choice(&format!("{at}.{key}"), label)),
                        }
                    }
                    @if !list.sheet.is_empty() {
                        details.why {
                            summary { "its own analysis" }
                            @for (key, label) in list.sheet { (form.field(&format!("{at}.{key}"), label)) }
                        }
                    }
                    @if list.key == "hop" { (boil::store(form, &at)) }
                }
            }
            (form.adds(list.key, list.add))
        }
    }
}

/// What there is, as it was written down.
fn at_hand(desk: &Desk<'_>) -> Markup {
    let shelf = Shelf(&desk.open.written);
    let lists = [
        (
            "malts, adjuncts, sugars",
            shelf.rows("malt", |e| {
                (
                    e.first(&["name", "class"]),
                    e.list(&[
                        ("lot ", "lot"),
                        ("best before ", "best_before"),
                        ("price of a kilogram ", "price"),
                    ]),
                    e.first(&["amount"]),
                )
            }),
        ),
        (
            "hops",
            shelf.rows("hop", |e| {
                (
                    e.first(&["hop"]),
                    e.list(&[
                        ("alpha ", "alpha"),
                        ("of ", "harvest"),
                        ("lot ", "lot"),
                        ("price of a kilogram ", "price"),
                    ]),
                    e.first(&["amount"]),
                )
            }),
        ),
        (
            "yeasts",
            shelf.rows("yeast", |e| {
                (
                    e.first(&["name", "class"]),
                    e.list(&[
                        ("packed ", "packed"),
                        ("at ", "stored_at"),
                        ("price of a packet ", "price"),
                    ]),
                    e.yeast(),
                )
            }),
        ),
        (
            "salts",
            shelf.rows("salt", |e| {
                (
                    e.first(&["salt"]),
                    e.list(&[("price of a kilogram ", "price")]),
                    e.first(&["amount"]),
                )
            }),
        ),
        (
            "acids",
            shelf.rows("acid", |e| {
                (
                    e.first(&["acid"]),
                    e.list(&[("price of a litre or kilogram ", "price")]),
                    e.first(&["volume", "mass"]),
                )
            }),
        ),
        (
            "against chlorine",
            shelf.rows("reagent", |e| {
                (
                    e.first(&["reagent"]),
                    e.list(&[("purity ", "purity"), ("opened ", "opened")]),
                    e.first(&["amount"]),
                )
            }),
        ),
    ];
    html! {
        section.card {
            h2 { "At hand" }
            @if lists.iter().all(|(_, rows)| rows.is_empty()) { p { "Nothing yet: add the first entry." } }
            @for (caption, rows) in &lists { (table(caption, rows)) }
        }
    }
}

/// What storage has left of the alpha-acids of hops of which something is said of it.
fn faded(stores: &Stores, units: Units) -> Markup {
    let left: Vec<Row> = stores
        .hops
        .iter()
        .filter_map(|hop| {
            let left = match hop.alpha_left() {
                Ok(left) => show_measured(&left?, units),
                Err(why) => why.to_string(),
            };
            Some(row(hop.hop.clone(), left))
        })
        .collect();
    html! {
        @if !left.is_empty() {
            section.card {
                h2 { "Hops as they are now" }
                (table("alpha-acids that storage has left", &left))
                p.small { "By the storage index where one is given, else by age, packing and temperature." }
            }
        }
    }
}

/// What can hurt someone among the things at hand.
fn with_care(stores: &Stores) -> Markup {
    let salts = stores
        .salts
        .iter()
        .filter_map(|s| Salt::named(&s.salt).ok()?.caution);
    let acid = (!stores.acids.is_empty()).then_some(Caution::Acid);
    let sulfite = stores
        .reagents
        .iter()
        .any(|r| r.reagent.contains("sulfite"))
        .then_some(Caution::Sulfite);
    let mut cautions: Vec<Caution> = Vec::new();
    for c in acid.into_iter().chain(sulfite).chain(salts) {
        if !cautions.contains(&c) {
            cautions.push(c);
        }
    }
    html! {
        @if !cautions.is_empty() {
            section.card {
                h2 { "To be kept with care" }
                @for c in cautions { (caution(c)) }
            }
        }
    }
}

/// The values of the stores as they are written.
struct Shelf<'s>(&'s BTreeMap<String, String>);

/// One entry of a list.
struct Entry<'s> {
    shelf: &'s Shelf<'s>,
    at: String,
}

impl Shelf<'_> {
    /// A row for each entry of a list: what it is, what else is said of it, how much.
    fn rows(&self, list: &str, say: impl Fn(&Entry<'_>) -> (String, String, String)) -> Vec<Row> {
        let entries = Form::new(self.0, None, &[]).entries(list);
        let entry = |n| Entry {
            shelf: self,
            at: format!("{list}[{n}]"),
        };
        (1..=entries)
            .map(|n| {
                let (what, more, amount) = say(&entry(n));
                row(format!("{what}{more}"), amount)
            })
            .collect()
    }
}

impl Entry<'_> {
    fn get(&self, key: &str) -> Option<&str> {
        let value = self.shelf.0.get(&format!("{}.{key}", self.at))?.trim();
        (!value.is_empty()).then_some(value)
    }

    /// The first of these keys that says something.
    fn first(&self, keys: &[&str]) -> String {
        keys.iter()
            .find_map(|key| self.get(key))
            .unwrap_or_default()
            .to_owned()
    }

    /// What else is said: ", lot 7, best before …".
    fn list(&self, keys: &[(&str, &str)]) -> String {
        keys.iter()
            .filter_map(|(word, key)| Some(format!(", {word}{}", self.get(key)?)))
            .collect()
    }

    fn yeast(&self) -> String {
        let each = self.first(&["packet_mass", "cells", "slurry"]);
        match self.get("packets") {
            Some(packets) if self.get("slurry").is_none() => format!("{packets} × {each}"),
            _ => each,
        }
    }
}

//! Records of a file as documents of the library: waters, kits and stores.

use batch::library::Part;
use quantity::{Fraction, Mass};

use super::at::At;
use super::draft::Draft;
use super::{Found, Imported, grist, kit, water};
use crate::units::{MASS, PERCENT};

/// What a file holds beside its recipes. `alone`: it has one recipe, and a single set of
/// equipment is the kit of that.
pub(super) fn documents(file: &At<'_>, alone: bool) -> Vec<Imported> {
    let mut found: Vec<Imported> = file
        .each("profiles")
        .iter()
        .filter_map(|at| profile(at, file))
        .collect();
    let sets = file.each("equipments");
    if !(alone && sets.len() == 1) {
        found.extend(sets.iter().filter_map(brewhouse));
    }
    found.extend(stores(file));
    for list in ["mashes", "fermentations", "boil", "packaging", "styles"] {
        if let Some(at) = file.get(list) {
            at.left("a procedure or a style stands within a batch here, not by itself");
        }
    }
    found
}

fn imported(part: Part, name: &str, draft: Draft) -> Imported {
    Imported {
        found: Found::Library(part),
        name: name.to_owned(),
        text: draft.into_text(),
        analysis: None,
    }
}

/// A water that no recipe of the file takes by its name.
fn profile(at: &At<'_>, file: &At<'_>) -> Option<Imported> {
    let name = at.peek("name")?.trim();
    let taken = file.each("recipes").iter().any(|r| {
        let waters = r.get("ingredients").map(|i| i.each("water_additions"));
        waters
            .unwrap_or_default()
            .iter()
            .any(|w| w.peek("name") == Some(name))
    });
    if taken || name.is_empty() {
        return None;
    }
    at.text_of("name");
    let mut draft = Draft::default();
    draft.table("[water]");
    draft.put("name", name);
    for (key, from) in [("place", "producer"), ("notes", "notes")] {
        if let Some(text) = at.text_of(from) {
            draft.put(key, text);
        }
    }
    let mut analysis = Draft::default();
    for (key, text) in water::figures(at) {
        analysis.put(key, &text);
    }
    at.missing(
        "day",
        "the standard has no day of a sample",
        "the day it is taken in",
    );
    Some(Imported {
        analysis: Some(analysis.into_text()),
        ..imported(Part::Water, name, draft)
    })
}

fn brewhouse(set: &At<'_>) -> Option<Imported> {
    let name = set.text_of("name")?;
    let keys = kit::of_set(set);
    if keys.is_empty() {
        return None;
    }
    let mut draft = Draft::default();
    draft.table("[brewhouse]");
    draft.put("name", name);
    draft.table("[kit]");
    for (key, value) in keys {
        draft.put(key, &value);
    }
    Some(imported(Part::Brewhouse, name, draft))
}

/// Ingredients of which the file says how much is at hand.
fn stores(file: &At<'_>) -> Option<Imported> {
    const NAME: &str = "Taken in from a file";
    let mut draft = Draft::default();
    draft.table("[stores]");
    draft.put("name", NAME);
    let mut any = false;
    for record in file.each("fermentables") {
        any |= malt(&record, &mut draft);
    }
    for record in file.each("hop_varieties") {
        any |= hop(&record, &mut draft);
    }
    any.then(|| imported(Part::Stores, NAME, draft))
}

fn at_hand(record: &At<'_>) -> Option<String> {
    let amount = record.get("inventory")?.get("amount")?;
    let told = amount.quantity::<Mass>(MASS)?;
    (told.canonical() > 0.0).then_some(told.text)
}

fn malt(record: &At<'_>, draft: &mut Draft) -> bool {
    let Some(amount) = at_hand(record) else {
        return false;
    };
    let Some(named) = grist::class(record) else {
        return false;
    };
    draft.table("[[malt]]");
    if let Some(name) = named.name {
        draft.put("name", name);
    }
    draft.put("class", &named.class);
    draft.put("amount", &amount);
    grist::sheet(record, draft);
    grist::record_sheet(record, draft);
    true
}

fn hop(record: &At<'_>, draft: &mut Draft) -> bool {
    let Some(amount) = at_hand(record) else {
        return false;
    };
    let Some(name) = record.text_of("name") else {
        return false;
    };
    draft.table("[[hop]]");
    draft.put("hop", name);
    draft.put_if(
        "alpha",
        record
            .quantity_of::<Fraction>("alpha_acid", PERCENT)
            .as_ref(),
    );
    draft.put("amount", &amount);
    true
}

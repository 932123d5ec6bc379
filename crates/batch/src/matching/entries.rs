//! Entries that may go in beside those of a text: what is in the stores, with its own
//! figures, and hops at other times.

use std::collections::BTreeMap;

use super::levers::{AtHand, moves};
use super::typed::Read;
use crate::document::{Document, HopUse};
use crate::edit::{EditError, add_entry, set_value, written_values};
use crate::library::Stores;
use crate::liquor::minerals::{Change, MALT};

/// Entries beside those of the text.
#[derive(Debug, Clone, Default)]
pub(super) struct Entries {
    /// Figures of the stores' own sheets for entries of the text.
    pub(super) adopted: Vec<Change>,
    /// Entries that the text has not: the list and its keys, without the amount.
    pub(super) new_malts: Vec<Vec<(String, String)>>,
    pub(super) new_hops: Vec<Vec<(String, String)>>,
    /// How many entries the text has itself.
    pub(super) malts: usize,
    pub(super) hops: usize,
}

/// Keys of stores that say nothing of the malt or hop itself.
const OF_THE_STORES: [&str; 5] = ["amount", "lot", "best_before", "harvest", "price"];

/// The text with every entry that may go in; amounts that are not in it yet stand for
/// nothing.
pub(super) fn gathered(
    text: &str,
    document: &Document,
    asked: &Read,
    at_hand: Option<&AtHand<'_>>,
    entries: &mut Entries,
) -> Result<String, EditError> {
    let written = written_values(text)?;
    let mut whole = text.to_owned();
    if let Some(at_hand) = at_hand {
        let stored = written_values(at_hand.text)?;
        if moves(asked, "malts") {
            stored_malts(document, &written, &stored, at_hand.stores, entries);
        }
        if moves(asked, "hops") {
            stored_hops(document, &written, &stored, at_hand.stores, entries);
        }
    }
    if moves(asked, "hop times") {
        other_times(document, &written, entries);
    }
    for change in &entries.adopted {
        if let Change::Set { path, written } = change {
            whole = set_value(&whole, path, written)?;
        }
    }
    for (list, new) in [("grist", &entries.new_malts), ("hop", &entries.new_hops)] {
        for keys in new {
            let mut keys: Vec<(&str, &str)> =
                keys.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
            keys.push(("amount", "1 g"));
            whole = add_entry(&whole, list, &keys)?;
        }
    }
    Ok(whole)
}

/// The keys of an entry as they are written, without those that are left out.
fn keys_of(written: &BTreeMap<String, String>, path: &str, not: &[&str]) -> Vec<(String, String)> {
    let prefix = format!("{path}.");
    let of = written.iter().filter_map(|(key, value)| {
        let key = key.strip_prefix(&prefix)?;
        (!not.contains(&key)).then(|| (key.to_owned(), value.clone()))
    });
    of.collect()
}

fn stored_malts(
    document: &Document,
    written: &BTreeMap<String, String>,
    stored: &BTreeMap<String, String>,
    stores: &Stores,
    entries: &mut Entries,
) {
    for (i, malt) in stores.malts.iter().enumerate() {
        // Acidulated malt belongs to the search for acid.
        if malt.class == MALT {
            continue;
        }
        let keys = keys_of(stored, &format!("malt[{}]", i + 1), &OF_THE_STORES);
        let of_class = |g: &(usize, &crate::document::GristEntry)| g.1.class == malt.class;
        let entry = document.grist.iter().enumerate().find(of_class);
        match entry {
            None => entries.new_malts.push(keys),
            Some((at, _)) => {
                let path = format!("grist[{}]", at + 1);
                adopt(&path, keys, &["class", "amount"], written, entries);
            }
        }
    }
}

fn stored_hops(
    document: &Document,
    written: &BTreeMap<String, String>,
    stored: &BTreeMap<String, String>,
    stores: &Stores,
    entries: &mut Entries,
) {
    for (i, hop) in stores.hops.iter().enumerate() {
        let keys = keys_of(stored, &format!("hop[{}]", i + 1), &OF_THE_STORES);
        let mut known = false;
        for (at, entry) in document.hops.iter().enumerate() {
            if alike(&entry.hop, &hop.hop) {
                known = true;
                let path = format!("hop[{}]", at + 1);
                let not = ["hop", "amount", "used", "time", "temperature"];
                adopt(&path, keys.clone(), &not, written, entries);
            }
        }
        if !known {
            for timing in timings(document, written) {
                let new = keys.iter().cloned().chain(timing).collect();
                entries.new_hops.push(new);
            }
        }
    }
}

/// Figures of the stores' sheet, for an entry that has none of its own.
fn adopt(
    path: &str,
    keys: Vec<(String, String)>,
    not_of_sheet: &[&str],
    written: &BTreeMap<String, String>,
    entries: &mut Entries,
) {
    let has = keys_of(written, path, not_of_sheet);
    if has.iter().all(|(key, _)| key == "name") {
        let new = keys.into_iter().filter(|(key, _)| {
            !not_of_sheet.contains(&key.as_str()) && has.iter().all(|(k, _)| k != key)
        });
        entries
            .adopted
            .extend(new.map(|(key, written)| Change::Set {
                path: format!("{path}.{key}"),
                written,
            }));
    }
}

/// The times at which hops go in, each once.
fn timings(document: &Document, written: &BTreeMap<String, String>) -> Vec<Vec<(String, String)>> {
    let mut found: Vec<Vec<(String, String)>> = Vec::new();
    for (at, hop) in document.hops.iter().enumerate() {
        if hop.used == HopUse::Dry {
            continue;
        }
        let of =
            |(key, _): &(String, String)| ["used", "time", "temperature"].contains(&key.as_str());
        let keys = keys_of(written, &format!("hop[{}]", at + 1), &[]);
        let timing: Vec<_> = keys.into_iter().filter(of).collect();
        if !found.contains(&timing) {
            found.push(timing);
        }
    }
    if found.is_empty() {
        let boil = [("used", "boil"), ("time", "60 min")];
        found.push(boil.map(|(k, v)| (k.to_owned(), v.to_owned())).to_vec());
    }
    found
}

/// The hops of the text at the times of one another.
fn other_times(document: &Document, written: &BTreeMap<String, String>, entries: &mut Entries) {
    let timings = timings(document, written);
    let times = ["used", "time", "temperature"];
    let mut seen: Vec<String> = Vec::new();
    for (at, hop) in document.hops.iter().enumerate() {
        if hop.used == HopUse::Dry || seen.iter().any(|name| alike(name, &hop.hop)) {
            continue;
        }
        seen.push(hop.hop.clone());
        let keys = keys_of(written, &format!("hop[{}]", at + 1), &["amount"]);
        let own: Vec<_> = keys
            .iter()
            .filter(|(k, _)| !times.contains(&k.as_str()))
            .cloned()
            .collect();
        for timing in &timings {
            let has = (0..document.hops.len()).any(|other| {
                let keys = keys_of(written, &format!("hop[{}]", other + 1), &[]);
                alike(&document.hops[other].hop, &hop.hop)
                    && timing.iter().all(|t| keys.contains(t))
            });
            if !has {
                entries
                    .new_hops
                    .push(own.iter().cloned().chain(timing.iter().cloned()).collect());
            }
        }
    }
}

pub(super) fn alike(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

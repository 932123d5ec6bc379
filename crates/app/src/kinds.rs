//! What differs between the kinds of document: where the name stands, and how it
//! is read.

use std::collections::BTreeMap;

use batch::library::{Brewhouse, Stores, Water};
use batch::tasting::Tasting;
use batch::{Document, Fault};
use store::Kind;

use crate::batches::Outcome;

/// The name of a document, by what its text says.
pub(crate) fn title(kind: Kind, written: &BTreeMap<String, String>) -> String {
    let key = format!("{}.name", kind.word());
    let name = written.get(&key).map_or("", |n| n.trim());
    if !name.is_empty() {
        return name.to_owned();
    }
    match kind {
        Kind::Stores => "stores without a name".to_owned(),
        kind => format!("a {kind} without a name"),
    }
}

/// What is wrong with a text as a document of its kind.
pub(crate) fn read_faults(kind: Kind, text: &str) -> Vec<Fault> {
    match kind {
        Kind::Batch => Document::read(text).err(),
        Kind::Water => Water::read(text).err(),
        Kind::Brewhouse => Brewhouse::read(text).err(),
        Kind::Stores => Stores::read(text).err(),
        Kind::Tasting => Tasting::read(text).err(),
        // Kept as they are: nothing here reads them.
        _ => None,
    }
    .unwrap_or_default()
}

/// What is wrong with a text and, of a batch, with what it plans.
pub(crate) fn faults(kind: Kind, text: &str) -> Vec<Fault> {
    match kind {
        Kind::Batch => Outcome::of(text).faults().to_vec(),
        kind => read_faults(kind, text),
    }
}

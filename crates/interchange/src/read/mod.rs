//! From a file of the standard to documents of ours.

mod at;
mod course;
mod draft;
mod grist;
mod hops;
mod kettle;
mod kit;
mod library;
mod mash;
mod recipe;
mod water;
mod yeast;

use batch::library::Part;
use serde_json::Value;

use crate::report::{Fate, Remark};
use crate::schema::{self, KNOWN};
use crate::{ReadError, json};
use at::{At, Notes};
pub(crate) use mash::{BATCH, CONTINUOUS, NO_SPARGE};
pub(crate) use recipe::AUTHOR;

/// The largest file that is read, in bytes.
pub const MAX_BYTES: usize = 1 << 20;

/// More recipes than these are no file that somebody wants to brew from.
const MOST_RECIPES: usize = 200;

/// What a document that was found is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// A batch.
    Batch,
    /// Something of the library. A water comes with its analysis.
    Library(Part),
}

/// A document made of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// What it is.
    pub found: Found,
    /// What it is called.
    pub name: String,
    /// Its text.
    pub text: String,
    /// The figures of a water, as the text of an analysis.
    pub analysis: Option<String>,
}

/// Reads a file of the standard: the documents in it, and what did not map.
///
/// # Errors
/// [`ReadError`]: what is wrong, where, and what would work.
pub fn read(text: &str) -> Result<(Vec<Imported>, Vec<Remark>), ReadError> {
    let value = json::parse(text)?;
    schema::check(&value)?;
    let notes = Notes::default();
    let documents = documents(&value, &notes);
    let mut remarks = notes.into_remarks(&value);
    remarks.extend(documents.iter().flat_map(unread));
    if documents.is_empty() {
        return Err(ReadError::Nothing { remarks });
    }
    Ok((documents, remarks))
}

fn documents(value: &Value, notes: &Notes) -> Vec<Imported> {
    let Some(file) = At::root(value, notes).get("beerjson") else {
        return Vec::new();
    };
    version(&file);
    let recipes = file.each("recipes");
    let mut found = Vec::new();
    for (n, recipe) in recipes.iter().enumerate() {
        if n >= MOST_RECIPES {
            recipe.left(&format!("the first {MOST_RECIPES} recipes are taken"));
            continue;
        }
        found.extend(recipe::batch(recipe, &file, recipes.len() == 1));
    }
    found.extend(library::documents(&file, recipes.len() == 1));
    found
}

fn version(file: &At<'_>) {
    let Some(at) = file.get("version") else {
        return;
    };
    let known = at
        .number()
        .is_some_and(|v| KNOWN.iter().any(|k| (k - v).abs() < 1e-9));
    if !known {
        at.changed(
            "no state of the standard has this version",
            "read as version 2.06",
        );
    }
}

/// What our own reader finds wrong with a document that was made.
fn unread(document: &Imported) -> Vec<Remark> {
    let faults = match document.found {
        Found::Batch => batch::Document::read(&document.text).err(),
        Found::Library(Part::Water) => batch::library::Water::read(&document.text).err(),
        Found::Library(Part::Brewhouse) => batch::library::Brewhouse::read(&document.text).err(),
        Found::Library(Part::Stores) => batch::library::Stores::read(&document.text).err(),
        Found::Library(Part::Analysis) => None,
    };
    let faults = faults.unwrap_or_default().into_iter();
    faults
        .map(|fault| Remark {
            at: fault.path,
            found: document.name.clone(),
            fate: Fate::Left,
            why: format!("{}; {}", fault.message, fault.help),
            taken: String::new(),
        })
        .collect()
}

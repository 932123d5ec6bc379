//! What a document and its versions are to a caller.

use crate::limits;
use crate::{DocumentId, Kind, RevisionNumber, SideId, StoreError, Timestamp};

/// A text to be saved.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Draft<'a> {
    /// The title for lists. The store does not look into the text for it.
    pub title: &'a str,
    /// The whole document, as TOML. The store keeps it to the byte.
    pub text: &'a str,
    /// Who wrote it, where that is known.
    pub author: Option<&'a str>,
    /// What this revision is, such as "imported".
    pub note: Option<&'a str>,
}

impl<'a> Draft<'a> {
    /// A draft with a title and a text only.
    #[must_use]
    pub const fn new(title: &'a str, text: &'a str) -> Self {
        Self {
            title,
            text,
            author: None,
            note: None,
        }
    }

    pub(crate) fn check(&self) -> Result<(), StoreError> {
        limits::line("title", self.title)?;
        limits::text("text of the document", self.text)?;
        self.author
            .map_or(Ok(()), |author| limits::name("author", author))?;
        self.note.map_or(Ok(()), |note| limits::line("note", note))
    }
}

/// A document as a list shows it: everything but its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// Its identifier.
    pub id: DocumentId,
    /// What it is about.
    pub kind: Kind,
    /// The title of the newest revision.
    pub title: String,
    /// The newest revision.
    pub current: RevisionNumber,
    /// When the newest revision was saved.
    pub saved_at: Timestamp,
    /// Since when it is hidden; none while in use.
    pub archived_at: Option<Timestamp>,
}

/// What a save made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Saved {
    /// The document.
    pub id: DocumentId,
    /// The revision that now is the newest.
    pub revision: RevisionNumber,
    /// The SHA-256 of its text, in small hexadecimal letters.
    pub sha256: String,
}

/// A revision without its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RevisionInfo {
    /// Its number, from one.
    pub number: RevisionNumber,
    /// The title at that time.
    pub title: String,
    /// The SHA-256 of its text, in small hexadecimal letters.
    pub sha256: String,
    /// When it was saved.
    pub saved_at: Timestamp,
    /// Who wrote it, where that is known.
    pub author: Option<String>,
    /// What this revision is, such as "brought back from revision 3".
    pub note: Option<String>,
}

/// A revision with its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revision {
    /// The document.
    pub document: DocumentId,
    /// Everything but the text.
    pub info: RevisionInfo,
    /// The text, to the byte as it was saved.
    pub text: String,
}

/// A side version without its text: a save that was refused, and kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SideInfo {
    /// Its identifier.
    pub id: SideId,
    /// The document it was meant for.
    pub document: DocumentId,
    /// The revision it was written on.
    pub based_on: RevisionNumber,
    /// The revision that was the newest when it was refused.
    pub met: RevisionNumber,
    /// The title it would have given.
    pub title: String,
    /// The SHA-256 of its text, in small hexadecimal letters.
    pub sha256: String,
    /// When its save was tried.
    pub saved_at: Timestamp,
    /// Who wrote it, where that is known.
    pub author: Option<String>,
    /// The note it came with.
    pub note: Option<String>,
    /// The revision that took it up; none while it waits.
    pub taken_up_as: Option<RevisionNumber>,
}

/// A side version with its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SideVersion {
    /// Everything but the text.
    pub info: SideInfo,
    /// The text, to the byte as it was handed over.
    pub text: String,
}

/// Which documents a list shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shelf {
    /// Those in use.
    #[default]
    InUse,
    /// Those that were archived.
    Archived,
}

/// One page of a list to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ListRequest<'a> {
    /// The kind of documents.
    pub kind: Kind,
    /// Those in use, or those archived.
    pub shelf: Shelf,
    /// A part of the title, in capital or small letters; empty for all.
    pub filter: &'a str,
    /// The page, from zero.
    pub page: u32,
    /// Rows on a page; zero reads none and only counts.
    pub per_page: u32,
}

impl ListRequest<'_> {
    /// The first page of 50 of a kind, those in use, unfiltered.
    #[must_use]
    pub const fn of(kind: Kind) -> Self {
        Self {
            kind,
            shelf: Shelf::InUse,
            filter: "",
            page: 0,
            per_page: 50,
        }
    }
}

/// One page of a list, the last saved first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listing {
    /// The rows of this page.
    pub documents: Vec<Document>,
    /// How many there are on all pages together.
    pub total: u64,
}

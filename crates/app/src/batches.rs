//! Batches: listing, opening, saving, history.

use std::collections::BTreeMap;

use batch::edit::written_values;
use batch::{Document, Fault, Reckoning};
use store::{
    Difference, DocumentId, Draft, Kind, ListRequest, Revision, RevisionInfo, RevisionNumber,
    Saved, Shelf, SideId, SideInfo, StoreError, Timestamp,
};

use crate::kinds::title;
use crate::{App, AppError};

/// Documents shown on one page of a list.
const PAGE: u32 = 50;

/// A document in a list: a batch, or something of the library.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BatchRow {
    /// The document.
    pub id: DocumentId,
    /// Its name.
    pub name: String,
    /// Its newest revision.
    pub revision: RevisionNumber,
    /// When that was saved.
    pub saved_at: Timestamp,
}

impl BatchRow {
    pub(crate) fn of(document: store::Document) -> Self {
        Self {
            id: document.id,
            name: document.title,
            revision: document.current,
            saved_at: document.saved_at,
        }
    }
}

/// A page of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// Its rows.
    pub rows: Vec<BatchRow>,
    /// Its number, from zero.
    pub number: u32,
    /// How many pages there are.
    pub pages: u32,
    /// How many documents there are in all.
    pub total: u64,
}

/// What a document comes to.
#[derive(Debug, Clone)]
pub enum Outcome {
    /// The whole stream.
    Reckoned(Box<Reckoning>),
    /// What is wrong, in the order of the text; a fault of the plan has no place
    /// in it.
    Faulty(Vec<Fault>),
}

impl Outcome {
    /// Reads and reckons a text.
    #[must_use]
    pub fn of(text: &str) -> Self {
        let reckoned = Document::read(text).and_then(|(document, assumptions)| {
            Reckoning::of(document, assumptions).map_err(|fault| vec![fault])
        });
        match reckoned {
            Ok(reckoning) => Self::Reckoned(Box::new(reckoning)),
            Err(faults) => Self::Faulty(faults),
        }
    }

    /// The reckoning, if there is one.
    #[must_use]
    pub fn reckoning(&self) -> Option<&Reckoning> {
        match self {
            Self::Reckoned(reckoning) => Some(reckoning),
            Self::Faulty(_) => None,
        }
    }

    /// The faults, if there are any.
    #[must_use]
    pub fn faults(&self) -> &[Fault] {
        match self {
            Self::Reckoned(_) => &[],
            Self::Faulty(faults) => faults,
        }
    }
}

/// A batch, opened.
#[derive(Debug, Clone)]
pub struct OpenBatch {
    /// The document.
    pub id: DocumentId,
    /// The name of the batch.
    pub name: String,
    /// The revision that is open, the newest.
    pub revision: RevisionNumber,
    /// The text.
    pub text: String,
    /// The values as they are written, by path.
    pub written: BTreeMap<String, String>,
    /// What it comes to.
    pub outcome: Outcome,
}

impl OpenBatch {
    pub(crate) fn of(id: DocumentId, revision: RevisionNumber, text: String) -> Self {
        let written = written_values(&text).unwrap_or_default();
        Self {
            id,
            revision,
            name: title(Kind::Batch, &written),
            outcome: Outcome::of(&text),
            written,
            text,
        }
    }
}

impl App {
    /// A page of batches, the newest first; `filter` is a part of the name.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn batches(&self, filter: &str, number: u32) -> Result<Page, AppError> {
        self.page_of(Kind::Batch, filter, number).await
    }

    pub(crate) async fn page_of(
        &self,
        kind: Kind,
        filter: &str,
        number: u32,
    ) -> Result<Page, AppError> {
        let listing = self
            .store
            .list(&ListRequest {
                kind,
                shelf: Shelf::InUse,
                filter,
                page: number,
                per_page: PAGE,
            })
            .await?;
        let pages = listing.total.div_ceil(u64::from(PAGE)).max(1);
        let rows = listing.documents.into_iter().map(BatchRow::of);
        Ok(Page {
            rows: rows.collect(),
            number,
            pages: u32::try_from(pages).unwrap_or(u32::MAX),
            total: listing.total,
        })
    }

    /// Makes a batch of a document. It may have faults: they are shown when it is
    /// opened, and nothing that somebody wrote is refused a place.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn keep_batch(&self, text: &str, note: &str) -> Result<OpenBatch, AppError> {
        let saved = self.create(Kind::Batch, text, note).await?;
        Ok(OpenBatch::of(saved.id, saved.revision, text.to_owned()))
    }

    /// Opens a batch.
    ///
    /// # Errors
    /// [`AppError::Store`] if there is none.
    pub async fn batch(&self, id: DocumentId) -> Result<OpenBatch, AppError> {
        let current = self.current_of(Kind::Batch, id).await?;
        Ok(OpenBatch::of(id, current.info.number, current.text))
    }

    /// The newest revision of a document, if it is of this kind: a page of one kind
    /// shows no document of another.
    pub(crate) async fn current_of(
        &self,
        kind: Kind,
        id: DocumentId,
    ) -> Result<Revision, AppError> {
        if self.store.document(id).await?.kind != kind {
            return Err(StoreError::NoSuchDocument { id }.into());
        }
        Ok(self.store.current(id).await?)
    }

    /// Saves a whole text over a revision.
    ///
    /// # Errors
    /// [`AppError::Store`]; where the batch has moved on since, the text is kept
    /// beside it.
    pub async fn save_text(
        &self,
        id: DocumentId,
        on: RevisionNumber,
        text: &str,
    ) -> Result<OpenBatch, AppError> {
        let saved = self
            .save(Kind::Batch, id, on, text, "written as text")
            .await?;
        Ok(OpenBatch::of(id, saved.revision, text.to_owned()))
    }

    pub(crate) async fn create(
        &self,
        kind: Kind,
        text: &str,
        note: &str,
    ) -> Result<Saved, AppError> {
        let name = title(kind, &written_values(text).unwrap_or_default());
        Ok(self
            .store
            .create(kind, &draft(&name, text, note), self.now())
            .await?)
    }

    pub(crate) async fn save(
        &self,
        kind: Kind,
        id: DocumentId,
        on: RevisionNumber,
        text: &str,
        note: &str,
    ) -> Result<Saved, AppError> {
        let name = title(kind, &written_values(text).unwrap_or_default());
        Ok(self
            .store
            .save(id, on, &draft(&name, text, note), self.now())
            .await?)
    }

    /// The revisions of a document, and the versions that were refused and kept.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn history(
        &self,
        id: DocumentId,
    ) -> Result<(Vec<RevisionInfo>, Vec<SideInfo>), AppError> {
        Ok((
            self.store.history(id).await?,
            self.store.side_versions(id).await?,
        ))
    }

    /// What differs between two revisions, line by line.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn difference(
        &self,
        id: DocumentId,
        from: RevisionNumber,
        to: RevisionNumber,
    ) -> Result<Difference, AppError> {
        Ok(self.store.difference(id, from, to).await?)
    }

    /// Saves an old revision as the newest.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn bring_back(
        &self,
        id: DocumentId,
        revision: RevisionNumber,
        on: RevisionNumber,
    ) -> Result<OpenBatch, AppError> {
        self.store
            .bring_back(id, revision, on, None, self.now())
            .await?;
        self.batch(id).await
    }

    /// Takes back the newest change; done again, the one before it. The state that
    /// is left stays in the history.
    ///
    /// # Errors
    /// [`AppError::Store`]; a batch at its first revision is left as it is.
    pub async fn undo(&self, id: DocumentId, on: RevisionNumber) -> Result<OpenBatch, AppError> {
        let history = self.store.history(id).await?;
        let newest = history.iter().max_by_key(|r| r.number);
        // What was brought back stands for the revision that it was first.
        let stands_for = newest.and_then(|newest| {
            history
                .iter()
                .filter(|r| r.sha256 == newest.sha256)
                .map(|r| r.number.get())
                .min()
        });
        match stands_for.and_then(|n| n.checked_sub(1)).filter(|n| *n > 0) {
            Some(before) => {
                let before = RevisionNumber::new(before).map_err(AppError::from)?;
                self.bring_back(id, before, on).await
            }
            None => self.batch(id).await,
        }
    }

    /// Saves a version that was refused as the newest.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn bring_back_side(
        &self,
        id: DocumentId,
        side: SideId,
        on: RevisionNumber,
    ) -> Result<OpenBatch, AppError> {
        self.take_up_side(id, side, on).await?;
        self.batch(id).await
    }

    /// A version kept beside another document has no business here.
    pub(crate) async fn take_up_side(
        &self,
        id: DocumentId,
        side: SideId,
        on: RevisionNumber,
    ) -> Result<Saved, AppError> {
        if self.store.side_version(side).await?.info.document != id {
            return Err(StoreError::NoSuchSideVersion { id: side }.into());
        }
        Ok(self
            .store
            .bring_back_side(side, on, None, self.now())
            .await?)
    }
}

pub(crate) fn draft<'a>(title: &'a str, text: &'a str, note: &'a str) -> Draft<'a> {
    Draft {
        title,
        text,
        author: None,
        note: Some(note),
    }
}

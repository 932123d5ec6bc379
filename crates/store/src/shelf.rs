//! Lists of documents, and hiding what is not wanted in them.

use crate::db::{Tx, on};
use crate::error::Doing;
use crate::rows::{self, DocumentRow};
use crate::table::title_key;
use crate::{
    Document, DocumentId, Kind, ListRequest, Listing, Role, Shelf, Store, StoreError, Timestamp,
    people, sql,
};

impl Store {
    /// One page of the documents of a kind, the last saved first. No text is
    /// read, so it stays quick with many thousands of documents.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read.
    pub async fn list(&self, request: &ListRequest<'_>) -> Result<Listing, StoreError> {
        let in_use = request.shelf == Shelf::InUse;
        let pattern = containing(request.filter);
        let mut tx = self.db.read().await?;
        let group = self.within(&mut tx, Role::Read).await?;
        let count = match group {
            None => sql::DOCUMENT_COUNT,
            Some(_) => people::sql::DOCUMENT_COUNT_OF,
        };
        let total: i64 = on!(&mut tx, c => {
            let query = sqlx::query_scalar(count)
                .bind(request.kind.word()).bind(in_use).bind(&pattern);
            match &group {
                None => query,
                Some(group) => query.bind(group),
            }
            .fetch_one(c).await
        })
        .doing("counting documents")?;
        let limit = i64::from(request.per_page);
        let part = (limit, i64::from(request.page).saturating_mul(limit));
        let found = listed(
            &mut tx,
            group.as_deref(),
            (request.kind, in_use),
            &pattern,
            part,
        );
        Ok(Listing {
            documents: found.await?,
            total: u64::try_from(total).unwrap_or_default(),
        })
    }

    /// All documents of a kind that are in use, the last saved first, in one query and
    /// without their texts.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read.
    pub async fn in_use(&self, kind: Kind) -> Result<Vec<Document>, StoreError> {
        let mut tx = self.db.read().await?;
        let group = self.within(&mut tx, Role::Read).await?;
        let part = (i64::MAX, 0);
        listed(&mut tx, group.as_deref(), (kind, true), "%", part).await
    }

    /// Hides a document from lists. It stays readable, with all its revisions.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn archive(&self, id: DocumentId, at: Timestamp) -> Result<(), StoreError> {
        let mut tx = self.to_change(id, "archive").await?;
        let hit = on!(&mut tx, c => sqlx::query(sql::DOCUMENT_ARCHIVE)
            .bind(id.to_string()).bind(at.ms())
            .execute(c).await.map(|done| done.rows_affected()))
        .doing("archiving a document")?;
        finish_change(tx, id, hit).await
    }

    /// Shows an archived document in lists again.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn unarchive(&self, id: DocumentId) -> Result<(), StoreError> {
        let mut tx = self.to_change(id, "unarchive").await?;
        let hit = on!(&mut tx, c => sqlx::query(sql::DOCUMENT_UNARCHIVE)
            .bind(id.to_string())
            .execute(c).await.map(|done| done.rows_affected()))
        .doing("taking a document out of the archive")?;
        finish_change(tx, id, hit).await
    }
}

/// Documents whose title key is like a pattern, so many (of a limit) after so many.
async fn listed(
    tx: &mut Tx,
    group: Option<&str>,
    (kind, in_use): (Kind, bool),
    pattern: &str,
    (limit, offset): (i64, i64),
) -> Result<Vec<Document>, StoreError> {
    let list = match group {
        None => sql::DOCUMENT_LIST,
        Some(_) => people::sql::DOCUMENT_LIST_OF,
    };
    let rows: Vec<DocumentRow> = on!(tx, c => {
        let query = sqlx::query_as(list)
            .bind(kind.word()).bind(in_use).bind(pattern).bind(limit).bind(offset);
        match group {
            None => query,
            Some(group) => query.bind(group),
        }
        .fetch_all(c).await
    })
    .doing("listing documents")?;
    rows::all(rows)
}

async fn finish_change(tx: Tx, id: DocumentId, rows_hit: u64) -> Result<(), StoreError> {
    if rows_hit == 0 {
        return Err(StoreError::NoSuchDocument { id });
    }
    tx.commit("changing a document").await
}

/// The pattern that finds `part` anywhere in a title key.
fn containing(part: &str) -> String {
    let mut pattern = String::from("%");
    for letter in title_key(part.trim())
        .chars()
        .filter(|letter| *letter != '\0')
        // No title is searched for by more; SQLite refuses very long patterns.
        .take(200)
    {
        if matches!(letter, '%' | '_' | '!') {
            pattern.push('!');
        }
        pattern.push(letter);
    }
    pattern.push('%');
    pattern
}

//! Single rows of documents and their versions, inside a transaction.

use crate::db::{Tx, on};
use crate::digest::sha256_hex;
use crate::error::Doing;
use crate::rows::{self, DocumentRow, RevisionInfoRow, RevisionRow, SideInfoRow, SideRow};
use crate::{
    Document, DocumentId, Draft, Kind, Revision, RevisionInfo, RevisionNumber, Saved, SideId,
    SideInfo, SideVersion, StoreError, Timestamp, people, sql,
};

/// The title in small letters, so that "märzen" finds "MÄRZEN" on both engines.
pub(crate) fn title_key(title: &str) -> String {
    title.to_lowercase()
}

/// Moves the document on to the revision after `expected`; false if `expected`
/// is not the newest, or if there is no such document.
pub(crate) async fn advance(
    tx: &mut Tx,
    id: DocumentId,
    expected: RevisionNumber,
    title: &str,
    at: Timestamp,
) -> Result<bool, StoreError> {
    let hit = on!(tx, c => sqlx::query(sql::DOCUMENT_ADVANCE)
        .bind(id.to_string())
        .bind(i64::from(expected.get()))
        .bind(title)
        .bind(title_key(title))
        .bind(at.ms())
        .execute(c).await.map(|done| done.rows_affected()))
    .doing("saving a document")?;
    Ok(hit == 1)
}

pub(crate) async fn insert_document(tx: &mut Tx, document: &Document) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(sql::DOCUMENT_INSERT)
        .bind(document.id.to_string())
        .bind(document.kind.word())
        .bind(i64::from(document.current.get()))
        .bind(&document.title)
        .bind(title_key(&document.title))
        .bind(document.saved_at.ms())
        .bind(document.archived_at.map(Timestamp::ms))
        .execute(c).await.map(drop))
    .doing("making a document")
}

/// Makes a document one of a group.
pub(crate) async fn own(tx: &mut Tx, id: DocumentId, group: &str) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(people::sql::DOCUMENT_OWN)
        .bind(id.to_string()).bind(group)
        .execute(c).await.map(drop))
    .doing("making a document")
}

/// A new document with its first revision.
pub(crate) async fn make_document(
    tx: &mut Tx,
    kind: Kind,
    draft: &Draft<'_>,
    at: Timestamp,
) -> Result<Saved, StoreError> {
    let id = DocumentId::new(at);
    let document = Document {
        id,
        kind,
        title: draft.title.to_owned(),
        current: RevisionNumber::FIRST,
        saved_at: at,
        archived_at: None,
    };
    insert_document(tx, &document).await?;
    insert_draft(tx, id, RevisionNumber::FIRST, draft, at).await
}

pub(crate) async fn insert_draft(
    tx: &mut Tx,
    id: DocumentId,
    number: RevisionNumber,
    draft: &Draft<'_>,
    at: Timestamp,
) -> Result<Saved, StoreError> {
    let info = RevisionInfo {
        number,
        title: draft.title.to_owned(),
        sha256: sha256_hex(draft.text),
        saved_at: at,
        author: draft.author.map(str::to_owned),
        note: draft.note.map(str::to_owned),
    };
    insert_revision(tx, id, &info, draft.text).await?;
    Ok(Saved {
        id,
        revision: number,
        sha256: info.sha256,
    })
}

pub(crate) async fn insert_revision(
    tx: &mut Tx,
    id: DocumentId,
    info: &RevisionInfo,
    text: &str,
) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(sql::REVISION_INSERT)
        .bind(id.to_string())
        .bind(i64::from(info.number.get()))
        .bind(&info.title)
        .bind(text)
        .bind(&info.sha256)
        .bind(info.saved_at.ms())
        .bind(info.author.as_deref())
        .bind(info.note.as_deref())
        .execute(c).await.map(drop))
    .doing("saving a revision")
}

pub(crate) async fn insert_side(tx: &mut Tx, side: &SideVersion) -> Result<(), StoreError> {
    let info = &side.info;
    on!(tx, c => sqlx::query(sql::SIDE_INSERT)
        .bind(info.id.to_string())
        .bind(info.document.to_string())
        .bind(i64::from(info.based_on.get()))
        .bind(i64::from(info.met.get()))
        .bind(&info.title)
        .bind(&side.text)
        .bind(&info.sha256)
        .bind(info.saved_at.ms())
        .bind(info.author.as_deref())
        .bind(info.note.as_deref())
        .bind(info.taken_up_as.map(|number| i64::from(number.get())))
        .execute(c).await.map(drop))
    .doing("keeping a refused version")
}

/// The document, or [`StoreError::NoSuchDocument`].
pub(crate) async fn read_document(tx: &mut Tx, id: DocumentId) -> Result<Document, StoreError> {
    find_document(tx, id)
        .await?
        .ok_or(StoreError::NoSuchDocument { id })
}

pub(crate) async fn find_document(
    tx: &mut Tx,
    id: DocumentId,
) -> Result<Option<Document>, StoreError> {
    let row: Option<DocumentRow> =
        on!(tx, c => sqlx::query_as(sql::DOCUMENT_READ).bind(id.to_string()).fetch_optional(c).await)
            .doing("reading a document")?;
    row.map(Document::try_from).transpose()
}

pub(crate) async fn read_history(
    tx: &mut Tx,
    id: DocumentId,
) -> Result<Vec<RevisionInfo>, StoreError> {
    let rows: Vec<RevisionInfoRow> =
        on!(tx, c => sqlx::query_as(sql::REVISION_HISTORY).bind(id.to_string()).fetch_all(c).await)
            .doing("reading a history")?;
    rows::all(rows)
}

pub(crate) async fn read_revision(
    tx: &mut Tx,
    id: DocumentId,
    number: RevisionNumber,
) -> Result<Revision, StoreError> {
    let row: Option<RevisionRow> = on!(tx, c => sqlx::query_as(sql::REVISION_READ)
        .bind(id.to_string())
        .bind(i64::from(number.get()))
        .fetch_optional(c).await)
    .doing("reading a revision")?;
    match row {
        Some(row) => row.try_into(),
        None => {
            let current = read_document(tx, id).await?.current;
            Err(StoreError::NoSuchRevision {
                id,
                number,
                current,
            })
        }
    }
}

pub(crate) async fn read_sides(tx: &mut Tx, id: DocumentId) -> Result<Vec<SideInfo>, StoreError> {
    let rows: Vec<SideInfoRow> =
        on!(tx, c => sqlx::query_as(sql::SIDE_LIST).bind(id.to_string()).fetch_all(c).await)
            .doing("listing side versions")?;
    rows::all(rows)
}

pub(crate) async fn read_side(tx: &mut Tx, side: SideId) -> Result<SideVersion, StoreError> {
    find_side(tx, side)
        .await?
        .ok_or(StoreError::NoSuchSideVersion { id: side })
}

pub(crate) async fn find_side(
    tx: &mut Tx,
    side: SideId,
) -> Result<Option<SideVersion>, StoreError> {
    let row: Option<SideRow> =
        on!(tx, c => sqlx::query_as(sql::SIDE_READ).bind(side.to_string()).fetch_optional(c).await)
            .doing("reading a side version")?;
    row.map(SideVersion::try_from).transpose()
}

/// Refuses a document that does not hold such things.
pub(crate) async fn require_kind(
    tx: &mut Tx,
    id: DocumentId,
    wanted: Kind,
    what: &'static str,
) -> Result<(), StoreError> {
    let kind = read_document(tx, id).await?.kind;
    if kind == wanted {
        Ok(())
    } else {
        Err(StoreError::WrongKind {
            id,
            kind,
            wanted,
            what,
        })
    }
}

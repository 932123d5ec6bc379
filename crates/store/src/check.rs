//! Whether everything in the store holds together.

use std::collections::BTreeMap;
use std::fmt;

use crate::db::{Tx, on};
use crate::digest::sha256_hex;
use crate::error::{Doing, Trouble};
use crate::rows::{AnalysisRow, DocumentRow, RevisionRow, SideRow};
use crate::{
    Analysis, Document, DocumentId, Revision, RevisionNumber, SideVersion, Store, StoreError, sql,
};

/// How many rows are looked at together. Few, since each may hold a long text.
const PAGE: i64 = 50;

/// What a check found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Report {
    /// Documents seen.
    pub documents: u64,
    /// Revisions seen, each compared with its SHA-256.
    pub revisions: u64,
    /// Side versions seen, each compared with its SHA-256.
    pub side_versions: u64,
    /// Analyses seen, each compared with its SHA-256.
    pub analyses: u64,
    /// Readings counted.
    pub readings: u64,
    /// Everything that is wrong.
    pub problems: Vec<CheckProblem>,
}

/// One thing that is wrong in a store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckProblem {
    /// Where, such as "document 019f… revision 3".
    pub place: String,
    /// What is wrong there.
    pub what: String,
}

impl fmt::Display for CheckProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.what)
    }
}

impl Report {
    /// Whether nothing is wrong.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.problems.is_empty()
    }

    fn note(&mut self, place: impl Into<String>, what: impl Into<String>) {
        self.problems.push(CheckProblem {
            place: place.into(),
            what: what.into(),
        });
    }
}

impl Store {
    /// Looks through the whole store: the engine's own check of the file
    /// (SQLite), that nothing refers to what is not there, that revision
    /// numbers have no gaps, that each document shows its newest revision, and
    /// that every text still has the SHA-256 it was saved with.
    ///
    /// It reads one unchanging picture, so others may go on saving.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read at all; what is wrong
    /// *inside* is in the report.
    pub async fn check(&self) -> Result<Report, StoreError> {
        self.whole("a check")?;
        let mut report = Report::default();
        let mut tx = self.db.read().await?;
        check_file(&mut tx, &mut report).await?;
        match walk(&mut tx, &mut report).await {
            // A damaged file may end the walk early; that is a finding.
            Err(StoreError::Engine {
                trouble: Trouble::Damaged,
                source,
                ..
            }) => {
                report.note("file", source.to_string());
                Ok(report)
            }
            Err(error) => Err(error),
            Ok(()) => Ok(report),
        }
    }
}

async fn check_file(tx: &mut Tx, report: &mut Report) -> Result<(), StoreError> {
    // PostgreSQL checks its references with every change.
    let Tx::Lite(lite, _) = tx else { return Ok(()) };
    let found = integrity(&mut *lite).await?;
    if !found.is_empty() {
        found.into_iter().for_each(|what| report.note("file", what));
        return Ok(());
    }
    let strays: Vec<(String, Option<i64>, String, i64)> = sqlx::query_as(sql::FOREIGN_KEYS)
        .fetch_all(&mut **lite)
        .await
        .doing("checking references")?;
    for (table, row, parent, _) in strays {
        let row = row.map_or_else(String::new, |row| format!(" row {row}"));
        report.note(
            format!("{table}{row}"),
            format!("refers to a {parent} that is not there"),
        );
    }
    Ok(())
}

/// What SQLite finds wrong with its file; empty if all is well.
pub(crate) async fn integrity(
    lite: &mut sqlx::SqliteConnection,
) -> Result<Vec<String>, StoreError> {
    let said: Result<Vec<String>, StoreError> = sqlx::query_scalar(sql::INTEGRITY)
        .fetch_all(lite)
        .await
        .doing("checking the file");
    match said {
        Ok(said) => Ok(said.into_iter().filter(|line| line != "ok").collect()),
        // Too damaged to be looked through: that is the finding.
        Err(StoreError::Engine {
            trouble: Trouble::Damaged,
            source,
            ..
        }) => Ok(vec![source.to_string()]),
        Err(error) => Err(error),
    }
}

async fn walk(tx: &mut Tx, report: &mut Report) -> Result<(), StoreError> {
    let documents = walk_documents(tx, report).await?;
    walk_revisions(tx, report, documents).await?;
    walk_sides(tx, report).await?;
    walk_analyses(tx, report).await?;
    let readings: i64 = on!(tx, c => sqlx::query_scalar(sql::READING_COUNT).fetch_one(c).await)
        .doing("counting readings")?;
    report.readings = u64::try_from(readings).unwrap_or_default();
    Ok(())
}

async fn walk_documents(
    tx: &mut Tx,
    report: &mut Report,
) -> Result<BTreeMap<DocumentId, Document>, StoreError> {
    let mut documents = BTreeMap::new();
    let mut after = String::new();
    loop {
        let rows: Vec<DocumentRow> =
            on!(tx, c => sqlx::query_as(sql::DOCUMENTS_AFTER).bind(&after).bind(PAGE).fetch_all(c).await)
                .doing("checking documents")?;
        let Some(last) = rows.last() else {
            return Ok(documents);
        };
        after.clone_from(&last.id);
        for row in rows {
            report.documents += 1;
            let place = format!("document {}", row.id);
            match Document::try_from(row) {
                Ok(document) => drop(documents.insert(document.id, document)),
                Err(error) => report.note(place, error.to_string()),
            }
        }
    }
}

async fn walk_revisions(
    tx: &mut Tx,
    report: &mut Report,
    mut unseen: BTreeMap<DocumentId, Document>,
) -> Result<(), StoreError> {
    let mut after = (String::new(), 0_i64);
    let mut last_seen: Option<Revision> = None;
    loop {
        let rows: Vec<RevisionRow> = on!(tx, c => sqlx::query_as(sql::REVISIONS_AFTER)
            .bind(&after.0).bind(after.1).bind(PAGE)
            .fetch_all(c).await)
        .doing("checking revisions")?;
        let Some(last) = rows.last() else { break };
        after = (last.document_id.clone(), last.info.number);
        for row in rows {
            report.revisions += 1;
            let place = format!("document {} revision {}", row.document_id, row.info.number);
            match Revision::try_from(row) {
                Ok(revision) => {
                    if last_seen
                        .as_ref()
                        .is_some_and(|last| last.document != revision.document)
                    {
                        end_of_document(last_seen.take(), &mut unseen, report);
                    }
                    check_revision(&revision, last_seen.as_ref(), &place, report);
                    last_seen = Some(revision);
                }
                Err(error) => report.note(place, error.to_string()),
            }
        }
    }
    end_of_document(last_seen, &mut unseen, report);
    for id in unseen.keys() {
        report.note(format!("document {id}"), "it has no revision");
    }
    Ok(())
}

fn check_revision(
    revision: &Revision,
    before: Option<&Revision>,
    place: &str,
    report: &mut Report,
) {
    let due = before.map_or(RevisionNumber::FIRST, |before| before.info.number.next());
    if revision.info.number != due {
        report.note(place, format!("revision {due} is missing before it"));
    }
    check_text(&revision.text, &revision.info.sha256, place, report);
}

fn check_text(text: &str, sha256: &str, place: &str, report: &mut Report) {
    let found = sha256_hex(text);
    if found != sha256 {
        report.note(
            place,
            format!("its text has changed: SHA-256 is {found}, and was {sha256} when it was saved"),
        );
    }
}

/// Compares a document with the last of its revisions.
fn end_of_document(
    last: Option<Revision>,
    unseen: &mut BTreeMap<DocumentId, Document>,
    report: &mut Report,
) {
    let Some(last) = last else { return };
    let place = format!("document {}", last.document);
    let Some(document) = unseen.remove(&last.document) else {
        report.note(place, "it has revisions but is not listed");
        return;
    };
    if document.current != last.info.number {
        report.note(
            &place,
            format!(
                "it shows revision {} as the newest, and has {}",
                document.current, last.info.number
            ),
        );
    } else if document.title != last.info.title || document.saved_at != last.info.saved_at {
        report.note(
            place,
            "it is listed with another title or time than its newest revision has",
        );
    }
}

async fn walk_sides(tx: &mut Tx, report: &mut Report) -> Result<(), StoreError> {
    let mut after = String::new();
    loop {
        let rows: Vec<SideRow> =
            on!(tx, c => sqlx::query_as(sql::SIDES_AFTER).bind(&after).bind(PAGE).fetch_all(c).await)
                .doing("checking side versions")?;
        let Some(last) = rows.last() else {
            return Ok(());
        };
        after.clone_from(&last.info.id);
        for row in rows {
            report.side_versions += 1;
            let place = format!("side version {}", row.info.id);
            match SideVersion::try_from(row) {
                Ok(side) => check_text(&side.text, &side.info.sha256, &place, report),
                Err(error) => report.note(place, error.to_string()),
            }
        }
    }
}

async fn walk_analyses(tx: &mut Tx, report: &mut Report) -> Result<(), StoreError> {
    let mut after = (String::new(), String::new(), 0_i64);
    loop {
        let rows: Vec<AnalysisRow> = on!(tx, c => sqlx::query_as(sql::ANALYSES_AFTER)
            .bind(&after.0).bind(&after.1).bind(after.2).bind(PAGE)
            .fetch_all(c).await)
        .doing("checking analyses")?;
        let Some(last) = rows.last() else {
            return Ok(());
        };
        after = (last.document_id.clone(), last.taken_on.clone(), last.number);
        for row in rows {
            report.analyses += 1;
            let place = format!(
                "water {} analysis {} no. {}",
                row.document_id, row.taken_on, row.number
            );
            match Analysis::try_from(row) {
                Ok(analysis) => check_text(&analysis.text, &analysis.sha256, &place, report),
                Err(error) => report.note(place, error.to_string()),
            }
        }
    }
}

//! Taking an exported folder into a store.

use std::path::Path;

use crate::analysis::{insert_analysis, read_analyses};
use crate::backup::blocking;
use crate::carried::insert_carried;
use crate::db::Tx;
use crate::folder::{Folder, FolderDocument};
use crate::reading::insert_readings;
use crate::table::{
    find_document, find_side, insert_document, insert_revision, insert_side, read_history,
};
use crate::{Document, ImportProblem, Kind, RevisionInfo, Store, StoreError};

/// What an import added. What was in the store already is not counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Imported {
    /// Documents.
    pub documents: u64,
    /// Documents that were in the store already, with the same history.
    pub already: u64,
    /// Revisions.
    pub revisions: u64,
    /// Side versions.
    pub side_versions: u64,
    /// Analyses.
    pub analyses: u64,
    /// Readings.
    pub readings: u64,
    /// Devices.
    pub devices: u64,
    /// Deliveries.
    pub deliveries: u64,
}

impl Store {
    /// Takes in everything that [`Store::export`] wrote, unchanged: identifiers,
    /// numbers, times, authors and notes too. Either all of it or nothing.
    ///
    /// A document that is in the store already must have the same history; what
    /// it lacks in side versions, analyses and readings is added. Importing a
    /// folder twice changes nothing.
    ///
    /// # Errors
    /// [`StoreError::Import`] with everything that is wrong with the folder, or
    /// that contradicts what is in the store.
    pub async fn import(&self, folder: &Path) -> Result<Imported, StoreError> {
        self.whole("an import")?;
        let mut survey = Folder::new(folder.to_owned());
        let (names, problems) = blocking(move || {
            let names = survey.survey();
            Ok((names, survey.problems))
        })
        .await?;
        refuse(folder, problems)?;
        let mut tx = self.db.write().await?;
        let mut imported = Imported::default();
        let mut problems = Vec::new();
        for (kind, name) in names {
            let document = read_again(folder, kind, &name).await?;
            take_in(&mut tx, &document, &mut imported, &mut problems).await?;
        }
        refuse(folder, problems)?;
        tx.commit("importing a folder").await?;
        Ok(imported)
    }
}

fn refuse(folder: &Path, problems: Vec<ImportProblem>) -> Result<(), StoreError> {
    if problems.is_empty() {
        return Ok(());
    }
    Err(StoreError::Import {
        folder: folder.to_owned(),
        problems,
    })
}

/// Reads one document for good. All of them at once could fill the memory, so
/// the survey kept none; one that changed since is refused now.
async fn read_again(folder: &Path, kind: Kind, name: &str) -> Result<FolderDocument, StoreError> {
    let (root, name) = (folder.to_owned(), name.to_owned());
    let (document, problems) = blocking(move || {
        let mut folder = Folder::new(root);
        Ok((folder.document(kind, &name), folder.problems))
    })
    .await?;
    document.ok_or_else(|| StoreError::Import {
        folder: folder.to_owned(),
        problems,
    })
}

async fn take_in(
    tx: &mut Tx,
    given: &FolderDocument,
    imported: &mut Imported,
    problems: &mut Vec<ImportProblem>,
) -> Result<(), StoreError> {
    let document = &given.document;
    match find_document(tx, document.id).await? {
        None => {
            insert_document(tx, document).await?;
            for (info, text) in &given.revisions {
                insert_revision(tx, document.id, info, text).await?;
            }
            imported.documents += 1;
            imported.revisions += given.revisions.len() as u64;
        }
        Some(held) if same_history(tx, &held, given).await? => imported.already += 1,
        Some(held) => {
            let what = format!(
                "the store has this document with another history (there revision {} is the newest, here {})",
                held.current, document.current
            );
            problems.push(about(document, what));
            return Ok(());
        }
    }
    take_in_sides(tx, given, imported, problems).await?;
    take_in_analyses(tx, given, imported, problems).await?;
    take_in_readings(tx, given, imported, problems).await?;
    let (devices, deliveries, told) = insert_carried(tx, document.id, &given.carried).await?;
    imported.devices += devices;
    imported.deliveries += deliveries;
    problems.extend(told.into_iter().map(|what| about(document, what)));
    Ok(())
}

async fn same_history(
    tx: &mut Tx,
    held: &Document,
    given: &FolderDocument,
) -> Result<bool, StoreError> {
    let here: Vec<RevisionInfo> = read_history(tx, held.id).await?;
    Ok(held.kind == given.document.kind
        && here.iter().eq(given.revisions.iter().map(|(info, _)| info)))
}

async fn take_in_sides(
    tx: &mut Tx,
    given: &FolderDocument,
    imported: &mut Imported,
    problems: &mut Vec<ImportProblem>,
) -> Result<(), StoreError> {
    for side in &given.sides {
        match find_side(tx, side.info.id).await? {
            None => {
                insert_side(tx, side).await?;
                imported.side_versions += 1;
            }
            Some(held)
                if held.info.sha256 == side.info.sha256
                    && held.info.document == side.info.document => {}
            Some(_) => {
                problems.push(about(
                    &given.document,
                    format!("side version {} differs in the store", side.info.id),
                ));
            }
        }
    }
    Ok(())
}

async fn take_in_analyses(
    tx: &mut Tx,
    given: &FolderDocument,
    imported: &mut Imported,
    problems: &mut Vec<ImportProblem>,
) -> Result<(), StoreError> {
    if given.analyses.is_empty() {
        return Ok(());
    }
    let held = read_analyses(tx, given.document.id).await?;
    for analysis in &given.analyses {
        let same_place = held
            .iter()
            .find(|h| (h.taken_on, h.number) == (analysis.taken_on, analysis.number));
        match same_place {
            None => {
                insert_analysis(tx, analysis).await?;
                imported.analyses += 1;
            }
            Some(held) if held.sha256 == analysis.sha256 => {}
            Some(_) => {
                let what = format!(
                    "analysis {} no. {} differs in the store",
                    analysis.taken_on, analysis.number
                );
                problems.push(about(&given.document, what));
            }
        }
    }
    Ok(())
}

async fn take_in_readings(
    tx: &mut Tx,
    given: &FolderDocument,
    imported: &mut Imported,
    problems: &mut Vec<ImportProblem>,
) -> Result<(), StoreError> {
    if given.readings.is_empty() {
        return Ok(());
    }
    let added = insert_readings(tx, given.document.id, &given.readings).await?;
    imported.readings += added.added as u64;
    if let Some(first) = added.refused.first() {
        let what = format!(
            "{} readings differ in the store, the first: {} of {} at {}",
            added.refused.len(),
            first.quantity,
            first.instrument,
            first.taken_at
        );
        problems.push(about(&given.document, what));
    }
    Ok(())
}

fn about(document: &Document, what: String) -> ImportProblem {
    ImportProblem {
        file: format!("document {} ({})", document.id, document.title),
        what,
    }
}

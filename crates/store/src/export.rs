//! Writing a store as a folder of plain files.

use std::path::{Path, PathBuf};

use tokio::fs;
use tokio::io::AsyncWriteExt as _;

use crate::analysis::read_analyses;
use crate::backup::unique;
use crate::carried::carried_of;
use crate::db::{Tx, on};
use crate::error::Doing;
use crate::layout::{
    ANALYSES, AnalysisLine, DELIVERIES, DEVICES, FORMAT, HISTORY, HISTORY_FILE, HistoryFile,
    MANIFEST, Manifest, Names, READINGS, REMARKS, ReadingLine, RevisionEntry, SideEntry,
    revision_file, side_file,
};
use crate::place::beside;
use crate::reading::{channels_of, readings_of};
use crate::rows::{self, ChannelRow, DocumentRow};
use crate::table::{read_history, read_revision, read_side, read_sides};
use crate::{Document, Kind, RevisionInfo, Role, SideInfo, Store, StoreError, people, sql};

/// How many documents, and how many readings, are held in memory at once.
const PAGE: i64 = 200;
const READINGS_AT_ONCE: i64 = 20_000;

/// What an export wrote.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exported {
    /// Documents.
    pub documents: u64,
    /// Revisions of all documents.
    pub revisions: u64,
    /// Side versions of all documents.
    pub side_versions: u64,
    /// Analyses of all waters.
    pub analyses: u64,
    /// Readings of all batches.
    pub readings: u64,
    /// Devices that send readings.
    pub devices: u64,
    /// What came in one go, to all batches.
    pub deliveries: u64,
}

impl Store {
    /// Writes the whole store, archived documents too, as plain TOML and CSV
    /// into a new folder; with a sight, what its group owns. People are not in it. It is one moment of the store, works on both engines,
    /// and [`Store::import`] reads it back. Until all is written the folder
    /// bears another name.
    ///
    /// # Errors
    /// [`StoreError::Exists`] if the folder is there and not empty.
    pub async fn export(&self, folder: &Path) -> Result<Exported, StoreError> {
        refuse_full(folder).await?;
        let unfinished = beside(folder, &format!(".unfinished-{}", unique()));
        let written = self.write_folder(&unfinished).await;
        match written {
            Ok(manifest) => {
                give_name(&unfinished, folder).await?;
                Ok(exported(manifest))
            }
            Err(error) => {
                let _ = fs::remove_dir_all(&unfinished).await;
                Err(error)
            }
        }
    }

    async fn write_folder(&self, folder: &Path) -> Result<Manifest, StoreError> {
        let mut writer = Writer::new(folder.to_owned()).await?;
        let mut tx = self.db.read().await?;
        let group = self.within(&mut tx, Role::Read).await?;
        let mut after = String::new();
        loop {
            let rows: Vec<DocumentRow> = match &group {
                None => {
                    on!(&mut tx, c => sqlx::query_as(sql::DOCUMENTS_AFTER).bind(&after).bind(PAGE).fetch_all(c).await)
                }
                Some(group) => {
                    on!(&mut tx, c => sqlx::query_as(people::sql::DOCUMENTS_AFTER_OF)
                        .bind(&after).bind(PAGE).bind(group).fetch_all(c).await)
                }
            }
            .doing("reading documents")?;
            let Some(last) = rows.last() else { break };
            after.clone_from(&last.id);
            for document in rows::all::<_, Document>(rows)? {
                writer.document(&mut tx, &document).await?;
            }
        }
        writer
            .file(Path::new(MANIFEST), toml_of(&writer.manifest)?.as_bytes())
            .await?;
        Ok(writer.manifest)
    }
}

const fn exported(manifest: Manifest) -> Exported {
    Exported {
        documents: manifest.documents,
        revisions: manifest.revisions,
        side_versions: manifest.side_versions,
        analyses: manifest.analyses,
        readings: manifest.readings,
        devices: manifest.devices,
        deliveries: manifest.deliveries,
    }
}

struct Writer {
    folder: PathBuf,
    names: Names,
    manifest: Manifest,
}

impl Writer {
    async fn new(folder: PathBuf) -> Result<Self, StoreError> {
        make_folder(&folder).await?;
        for kind in Kind::ALL {
            make_folder(&folder.join(kind.word())).await?;
        }
        for part in [HISTORY, ANALYSES, READINGS] {
            make_folder(&folder.join(part)).await?;
        }
        let manifest = Manifest {
            format: FORMAT,
            ..Manifest::default()
        };
        Ok(Self {
            folder,
            names: Names::default(),
            manifest,
        })
    }

    async fn document(&mut self, tx: &mut Tx, document: &Document) -> Result<(), StoreError> {
        let name = self.names.give(document);
        self.history(tx, document, &name).await?;
        self.analyses(tx, document, &name).await?;
        self.readings(tx, document, &name).await?;
        self.carried(tx, document, &name).await?;
        self.manifest.documents += 1;
        Ok(())
    }

    async fn history(
        &mut self,
        tx: &mut Tx,
        document: &Document,
        name: &str,
    ) -> Result<(), StoreError> {
        let id = document.id;
        let folder = Path::new(HISTORY).join(document.kind.word()).join(name);
        make_folder(&self.folder.join(&folder)).await?;
        let revisions = read_history(tx, id).await?;
        for info in &revisions {
            let text = read_revision(tx, id, info.number).await?.text;
            self.file(&folder.join(revision_file(info.number)), text.as_bytes())
                .await?;
            if info.number == document.current {
                self.file(&current_file(document.kind, name), text.as_bytes())
                    .await?;
            }
            self.manifest.revisions += 1;
        }
        let sides = read_sides(tx, id).await?;
        for info in &sides {
            let text = read_side(tx, info.id).await?.text;
            self.file(&folder.join(side_file(info)), text.as_bytes())
                .await?;
            self.manifest.side_versions += 1;
        }
        let history = toml_of(&history_file(document, &revisions, &sides))?;
        self.file(&folder.join(HISTORY_FILE), history.as_bytes())
            .await
    }

    async fn analyses(
        &mut self,
        tx: &mut Tx,
        document: &Document,
        name: &str,
    ) -> Result<(), StoreError> {
        let analyses = read_analyses(tx, document.id).await?;
        if analyses.is_empty() {
            return Ok(());
        }
        self.manifest.analyses += analyses.len() as u64;
        let bytes = csv_of(analyses.iter().map(AnalysisLine::from), true)?;
        self.file(&series_file(ANALYSES, name), &bytes).await
    }

    async fn carried(
        &mut self,
        tx: &mut Tx,
        document: &Document,
        name: &str,
    ) -> Result<(), StoreError> {
        let carried = carried_of(tx, document.id).await?;
        self.manifest.devices += carried.devices.len() as u64;
        self.manifest.deliveries += carried.deliveries.len() as u64;
        self.manifest.remarks += carried.remarks.len() as u64;
        self.series(DEVICES, name, carried.devices).await?;
        self.series(DELIVERIES, name, carried.deliveries).await?;
        self.series(REMARKS, name, carried.remarks).await
    }

    /// A file of lines, where there are any.
    async fn series<T: serde::Serialize>(
        &self,
        part: &str,
        name: &str,
        lines: Vec<T>,
    ) -> Result<(), StoreError> {
        if lines.is_empty() {
            return Ok(());
        }
        make_folder(&self.folder.join(part)).await?;
        self.file(&series_file(part, name), &csv_of(lines, true)?)
            .await
    }

    async fn readings(
        &mut self,
        tx: &mut Tx,
        document: &Document,
        name: &str,
    ) -> Result<(), StoreError> {
        let channels = channels_of(tx, document.id).await?;
        if channels.is_empty() {
            return Ok(());
        }
        let path = self.folder.join(series_file(READINGS, name));
        let unwritten = |e| StoreError::file("writing", &path, e);
        let mut file = fs::File::create(&path).await.map_err(unwritten)?;
        let mut head = true;
        for channel in channels {
            let mut from = i64::MIN;
            while let Some((block, last)) = self.block(tx, &channel, from, head).await? {
                file.write_all(&block).await.map_err(unwritten)?;
                from = last.saturating_add(1);
                head = false;
            }
        }
        file.flush().await.map_err(unwritten)
    }

    /// The next readings of a channel as CSV, and the time of the last of them.
    async fn block(
        &mut self,
        tx: &mut Tx,
        channel: &ChannelRow,
        from: i64,
        head: bool,
    ) -> Result<Option<(Vec<u8>, i64)>, StoreError> {
        let rows = readings_of(tx, channel.id, from..i64::MAX, READINGS_AT_ONCE).await?;
        let Some(last) = rows.last().map(|row| row.taken_at_ms) else {
            return Ok(None);
        };
        self.manifest.readings += rows.len() as u64;
        let mut lines = Vec::with_capacity(rows.len());
        for row in rows {
            lines.push(ReadingLine::from(row.into_reading(channel)?));
        }
        Ok(Some((csv_of(lines, head)?, last)))
    }

    async fn file(&self, path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
        let path = self.folder.join(path);
        fs::write(&path, bytes)
            .await
            .map_err(|e| StoreError::file("writing", &path, e))
    }
}

/// The file of a document's newest text.
pub(crate) fn current_file(kind: Kind, name: &str) -> PathBuf {
    Path::new(kind.word()).join(format!("{name}.toml"))
}

/// The file of a document's analyses or readings.
pub(crate) fn series_file(part: &str, name: &str) -> PathBuf {
    Path::new(part).join(format!("{name}.csv"))
}

fn history_file(
    document: &Document,
    revisions: &[RevisionInfo],
    sides: &[SideInfo],
) -> HistoryFile {
    HistoryFile {
        id: document.id.to_string(),
        kind: document.kind.word().to_owned(),
        archived_at: document.archived_at.map(|at| at.to_string()),
        revisions: revisions.iter().map(RevisionEntry::from).collect(),
        sides: sides.iter().map(SideEntry::from).collect(),
    }
}

fn toml_of<T: serde::Serialize>(value: &T) -> Result<String, StoreError> {
    toml::to_string(value)
        .map_err(|e| StoreError::file("writing", Path::new("TOML"), std::io::Error::other(e)))
}

fn csv_of<T: serde::Serialize>(
    lines: impl IntoIterator<Item = T>,
    head: bool,
) -> Result<Vec<u8>, StoreError> {
    let unwritten = |e: std::io::Error| StoreError::file("writing", Path::new("CSV"), e);
    let mut writer = csv::WriterBuilder::new()
        .has_headers(head)
        .from_writer(Vec::new());
    for line in lines {
        writer
            .serialize(line)
            .map_err(|e| unwritten(std::io::Error::other(e)))?;
    }
    writer.into_inner().map_err(|e| unwritten(e.into_error()))
}

async fn make_folder(folder: &Path) -> Result<(), StoreError> {
    fs::create_dir_all(folder)
        .await
        .map_err(|e| StoreError::file("making the folder", folder, e))
}

/// The folder may exist, empty; anything in it stays.
async fn refuse_full(folder: &Path) -> Result<(), StoreError> {
    match fs::read_dir(folder).await {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(StoreError::file("reading", folder, error)),
        Ok(mut entries) => match entries.next_entry().await {
            Ok(None) => Ok(()),
            Ok(Some(_)) => Err(StoreError::Exists {
                path: folder.to_owned(),
            }),
            Err(error) => Err(StoreError::file("reading", folder, error)),
        },
    }
}

async fn give_name(unfinished: &Path, folder: &Path) -> Result<(), StoreError> {
    // Fails, and rightly so, if something was put into it meanwhile.
    if folder.is_dir() {
        fs::remove_dir(folder)
            .await
            .map_err(|e| StoreError::file("replacing the empty folder", folder, e))?;
    }
    fs::rename(unfinished, folder)
        .await
        .map_err(|e| StoreError::file("naming", folder, e))
}

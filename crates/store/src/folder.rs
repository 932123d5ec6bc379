//! Reading an exported folder: everything wrong with it, not the first thing.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use crate::carried::Carried;
use crate::digest::sha256_hex;
use crate::export::{current_file, series_file};
use crate::layout::{
    ANALYSES, AnalysisLine, DELIVERIES, DEVICES, FORMAT, HISTORY, HISTORY_FILE, HistoryFile,
    MANIFEST, Manifest, READINGS, REMARKS, ReadingLine, revision_file, side_file,
};
use crate::{
    Analysis, Document, DocumentId, Draft, ImportProblem, Kind, Reading, RevisionInfo,
    RevisionNumber, SideInfo, SideVersion, Timestamp, limits,
};

/// One document as it stands in a folder, whole and checked.
#[derive(Debug)]
pub(crate) struct FolderDocument {
    pub(crate) document: Document,
    pub(crate) revisions: Vec<(RevisionInfo, String)>,
    pub(crate) sides: Vec<SideVersion>,
    pub(crate) analyses: Vec<Analysis>,
    pub(crate) readings: Vec<Reading>,
    pub(crate) carried: Carried,
}

/// A folder that was looked at.
#[derive(Debug)]
pub(crate) struct Folder {
    root: PathBuf,
    pub(crate) problems: Vec<ImportProblem>,
}

impl Folder {
    pub(crate) const fn new(root: PathBuf) -> Self {
        Self {
            root,
            problems: Vec::new(),
        }
    }

    /// Reads and checks everything once, keeps nothing, and gives the documents
    /// by kind and name. What is wrong is in `problems`.
    pub(crate) fn survey(&mut self) -> Vec<(Kind, String)> {
        let Some(manifest) = self.manifest() else {
            return Vec::new();
        };
        let names = self.names();
        let mut found = Manifest {
            format: FORMAT,
            ..Manifest::default()
        };
        let mut ids: BTreeMap<DocumentId, String> = BTreeMap::new();
        let mut sides = BTreeSet::new();
        for (kind, name) in &names {
            let Some(document) = self.document(*kind, name) else {
                continue;
            };
            found.documents += 1;
            found.revisions += document.revisions.len() as u64;
            found.side_versions += document.sides.len() as u64;
            found.analyses += document.analyses.len() as u64;
            found.readings += document.readings.len() as u64;
            found.devices += document.carried.devices.len() as u64;
            found.deliveries += document.carried.deliveries.len() as u64;
            found.remarks += document.carried.remarks.len() as u64;
            for side in document
                .sides
                .iter()
                .filter(|side| !sides.insert(side.info.id))
            {
                self.problem(
                    &history_path(*kind, name),
                    format!("side version {} is here twice", side.info.id),
                );
            }
            if let Some(other) = ids.insert(document.document.id, name.clone()) {
                self.problem(
                    &history_path(*kind, name),
                    format!("it has the same id as {other}"),
                );
            }
        }
        self.strays(&names);
        if self.problems.is_empty() && found != manifest {
            self.problem(
                Path::new(MANIFEST),
                format!("it speaks of {manifest:?}, and here is {found:?}"),
            );
        }
        names
    }

    /// One document, or nothing if something is wrong with it.
    pub(crate) fn document(&mut self, kind: Kind, name: &str) -> Option<FolderDocument> {
        let before = self.problems.len();
        let read = self.read_document(kind, name);
        read.filter(|_| self.problems.len() == before)
    }

    fn read_document(&mut self, kind: Kind, name: &str) -> Option<FolderDocument> {
        let path = history_path(kind, name);
        let history: HistoryFile = self.toml(&path)?;
        let id = self.take(&path, history.id.parse::<DocumentId>())?;
        if history.kind != kind.word() {
            self.problem(
                &path,
                format!(
                    "it says kind {:?}, and lies with the kind {kind}",
                    history.kind
                ),
            );
        }
        let archived_at = match history.archived_at {
            None => None,
            Some(text) => Some(self.take(&path, text.parse::<Timestamp>())?),
        };
        let mut revisions = Vec::new();
        for entry in history.revisions {
            let info = self.take(&path, RevisionInfo::try_from(entry))?;
            revisions.push(self.revision(kind, name, info)?);
        }
        let mut sides = Vec::new();
        for entry in history.sides {
            let info = self.take(&path, entry.into_info(id))?;
            sides.push(self.side(kind, name, info)?);
        }
        self.gaps(&path, &revisions, &sides);
        let Some((last, text)) = revisions.last() else {
            self.problem(&path, "it names no revision");
            return None;
        };
        self.newest(kind, name, text);
        let document = Document {
            id,
            kind,
            title: last.title.clone(),
            current: last.number,
            saved_at: last.saved_at,
            archived_at,
        };
        let analyses = self.analyses(&document, name);
        let readings = self.readings(&document, name);
        let carried = self.carried(&document, name);
        Some(FolderDocument {
            document,
            revisions,
            sides,
            analyses,
            readings,
            carried,
        })
    }

    fn revision(
        &mut self,
        kind: Kind,
        name: &str,
        info: RevisionInfo,
    ) -> Option<(RevisionInfo, String)> {
        let path = history_folder(kind, name).join(revision_file(info.number));
        let text = self.text(&path)?;
        let draft = Draft {
            title: &info.title,
            text: &text,
            author: info.author.as_deref(),
            note: info.note.as_deref(),
        };
        self.take(&path, draft.check())?;
        self.fingerprint(&path, &text, &info.sha256);
        Some((info, text))
    }

    fn side(&mut self, kind: Kind, name: &str, info: SideInfo) -> Option<SideVersion> {
        let path = history_folder(kind, name).join(side_file(&info));
        let text = self.text(&path)?;
        let draft = Draft {
            title: &info.title,
            text: &text,
            author: info.author.as_deref(),
            note: info.note.as_deref(),
        };
        self.take(&path, draft.check())?;
        self.fingerprint(&path, &text, &info.sha256);
        Some(SideVersion { info, text })
    }

    fn gaps(&mut self, path: &Path, revisions: &[(RevisionInfo, String)], sides: &[SideVersion]) {
        let mut due = RevisionNumber::FIRST;
        for (info, _) in revisions {
            if info.number != due {
                self.problem(
                    path,
                    format!("revision {} stands where {due} is due", info.number),
                );
                return;
            }
            due = due.next();
        }
        for side in sides {
            if [Some(side.info.met), side.info.taken_up_as]
                .into_iter()
                .flatten()
                .any(|number| number >= due)
            {
                self.problem(
                    path,
                    format!(
                        "side version {} names a revision that is not here",
                        side.info.id
                    ),
                );
            }
        }
    }

    fn newest(&mut self, kind: Kind, name: &str, text: &str) {
        let path = current_file(kind, name);
        if self.text(&path).is_some_and(|current| current != text) {
            self.problem(
                &path,
                "it differs from the newest revision in its history; to bring in a text that was edited, \
                 import the folder as it was exported, then save the text as a new revision",
            );
        }
    }

    fn analyses(&mut self, water: &Document, name: &str) -> Vec<Analysis> {
        let path = series_file(ANALYSES, name);
        if water.kind != Kind::Water || !self.root.join(&path).exists() {
            return Vec::new();
        }
        let mut analyses: Vec<Analysis> = Vec::new();
        for line in self.csv::<AnalysisLine>(&path) {
            let Some(analysis) = self.take(&path, line.into_analysis(water.id)) else {
                continue;
            };
            self.take(&path, limits::text("text of the analysis", &analysis.text));
            self.fingerprint(&path, &analysis.text, &analysis.sha256);
            let due = analyses
                .last()
                .filter(|last| last.taken_on == analysis.taken_on)
                .map_or(RevisionNumber::FIRST, |last| last.number.next());
            if analysis.number != due
                || analyses
                    .last()
                    .is_some_and(|last| last.taken_on > analysis.taken_on)
            {
                self.problem(
                    &path,
                    format!(
                        "{} no. {} is out of order",
                        analysis.taken_on, analysis.number
                    ),
                );
            }
            analyses.push(analysis);
        }
        analyses
    }

    fn readings(&mut self, batch: &Document, name: &str) -> Vec<Reading> {
        let path = series_file(READINGS, name);
        if batch.kind != Kind::Batch || !self.root.join(&path).exists() {
            return Vec::new();
        }
        let mut readings = Vec::new();
        for line in self.csv::<ReadingLine>(&path) {
            readings.extend(self.take(&path, Reading::try_from(line)));
        }
        readings
    }

    fn carried(&mut self, batch: &Document, name: &str) -> Carried {
        if batch.kind != Kind::Batch {
            return Carried::default();
        }
        let carried = Carried {
            devices: self.series(DEVICES, name),
            deliveries: self.series(DELIVERIES, name),
            remarks: self.series(REMARKS, name),
        };
        self.take(&series_file(DELIVERIES, name), carried.check());
        carried
    }

    /// The lines of a file that may be missing.
    fn series<T: serde::de::DeserializeOwned>(&mut self, part: &str, name: &str) -> Vec<T> {
        let path = series_file(part, name);
        if self.root.join(&path).exists() {
            self.csv(&path)
        } else {
            Vec::new()
        }
    }

    fn manifest(&mut self) -> Option<Manifest> {
        let path = Path::new(MANIFEST);
        // The format is looked at alone first: a later one may have other keys.
        let table: toml::Table = self.toml(path)?;
        let format = table.get("format").and_then(toml::Value::as_integer);
        if format != Some(i64::from(FORMAT)) {
            let given = format.map_or_else(|| "none".to_owned(), |format| format.to_string());
            self.problem(
                path,
                format!("format {given} is not known: export again in format {FORMAT}"),
            );
            return None;
        }
        self.toml(path)
    }

    /// Every folder under `history/`, by kind and name.
    fn names(&mut self) -> Vec<(Kind, String)> {
        let mut names = Vec::new();
        for kind in Kind::ALL {
            let folder = Path::new(HISTORY).join(kind.word());
            if self.root.join(&folder).exists() {
                names.extend(self.entries(&folder).into_iter().map(|name| (kind, name)));
            }
        }
        names
    }

    /// Files that belong to no document of the folder.
    fn strays(&mut self, names: &[(Kind, String)]) {
        for kind in Kind::ALL {
            self.stray_files(kind.word(), "toml", kind, names);
        }
        self.stray_files(ANALYSES, "csv", Kind::Water, names);
        for part in [READINGS, DEVICES, DELIVERIES, REMARKS] {
            self.stray_files(part, "csv", Kind::Batch, names);
        }
    }

    fn stray_files(&mut self, folder: &str, ending: &str, kind: Kind, names: &[(Kind, String)]) {
        let folder = Path::new(folder);
        if !self.root.join(folder).exists() {
            return;
        }
        let known: BTreeSet<String> = names
            .iter()
            .filter(|(k, _)| *k == kind)
            .map(|(_, name)| format!("{name}.{ending}"))
            .collect();
        for file in self.entries(folder) {
            if !known.contains(&file) {
                self.problem(
                    &folder.join(&file),
                    "it belongs to no document under history: take it out",
                );
            }
        }
    }

    fn entries(&mut self, folder: &Path) -> Vec<String> {
        let listed: Result<Vec<String>, std::io::Error> = fs::read_dir(self.root.join(folder))
            .and_then(|entries| {
                entries
                    .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
                    .collect()
            });
        let mut names = self.take(folder, listed).unwrap_or_default();
        names.sort();
        names
    }

    fn text(&mut self, path: &Path) -> Option<String> {
        let read = fs::read_to_string(self.root.join(path));
        self.take(path, read)
    }

    fn toml<T: serde::de::DeserializeOwned>(&mut self, path: &Path) -> Option<T> {
        let text = self.text(path)?;
        self.take(path, toml::from_str(&text))
    }

    fn csv<T: serde::de::DeserializeOwned>(&mut self, path: &Path) -> Vec<T> {
        let Some(mut reader) = self.take(path, csv::Reader::from_path(self.root.join(path))) else {
            return Vec::new();
        };
        let lines: Vec<Result<T, csv::Error>> = reader.deserialize().collect();
        lines
            .into_iter()
            .filter_map(|line| self.take(path, line))
            .collect()
    }

    fn fingerprint(&mut self, path: &Path, text: &str, sha256: &str) {
        if sha256_hex(text) != sha256 {
            self.problem(
                path,
                format!("it was changed after the export: its SHA-256 is not {sha256}"),
            );
        }
    }

    fn take<T, E: std::fmt::Display>(&mut self, path: &Path, result: Result<T, E>) -> Option<T> {
        result
            .map_err(|error| self.problem(path, error.to_string().trim_end()))
            .ok()
    }

    fn problem(&mut self, path: &Path, what: impl Into<String>) {
        self.problems.push(ImportProblem {
            file: path.display().to_string(),
            what: what.into(),
        });
    }
}

fn history_folder(kind: Kind, name: &str) -> PathBuf {
    Path::new(HISTORY).join(kind.word()).join(name)
}

fn history_path(kind: Kind, name: &str) -> PathBuf {
    history_folder(kind, name).join(HISTORY_FILE)
}

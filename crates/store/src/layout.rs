//! How a store looks as a folder of plain files.
//!
//! ```text
//! manifest.toml                                   what is here, and in which format
//! batch/dry-stout-5b0c4f2a8e61.toml               the newest text of a document
//! history/batch/dry-stout-5b0c4f2a8e61/
//!     history.toml                                its revisions and side versions
//!     0001.toml, 0002.toml ...                    the text of each revision
//!     side-019f….toml                             the text of a side version
//! analyses/well-77a1c09d3e41.csv                  dated analyses of a water
//! readings/dry-stout-5b0c4f2a8e61.csv             readings of a batch
//! devices/dry-stout-5b0c4f2a8e61.csv              what sends readings to it
//! deliveries/dry-stout-5b0c4f2a8e61.csv           what came in one go
//! remarks/dry-stout-5b0c4f2a8e61.csv              what is remarked of rows that came
//! ```
//!
//! Jobs are not in it: what one found can be reckoned again.
//! Devices, and what is told of deliveries, belong to one store and are not in it: a
//! backup has them. What was agreed to for a study is in neither way back: whoever takes
//! the folder elsewhere, or restores a backup, is asked anew or stays by what was said.
//!
//! Nothing in it depends on a clock, a machine or the engine, so the same store
//! gives the same bytes.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::{
    Analysis, Document, DocumentId, Kind, Reading, RevisionInfo, RevisionNumber, SideInfo,
    StoreError, Timestamp,
};

/// The format that is written. A reader takes this one only.
pub(crate) const FORMAT: u32 = 1;

pub(crate) const MANIFEST: &str = "manifest.toml";
pub(crate) const HISTORY: &str = "history";
pub(crate) const HISTORY_FILE: &str = "history.toml";
pub(crate) const ANALYSES: &str = "analyses";
pub(crate) const READINGS: &str = "readings";
pub(crate) const DEVICES: &str = "devices";
pub(crate) const DELIVERIES: &str = "deliveries";
pub(crate) const REMARKS: &str = "remarks";

/// The file that says what is in the folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Manifest {
    pub(crate) format: u32,
    pub(crate) documents: u64,
    pub(crate) revisions: u64,
    pub(crate) side_versions: u64,
    pub(crate) analyses: u64,
    pub(crate) readings: u64,
    #[serde(default, skip_serializing_if = "is_nought")]
    pub(crate) devices: u64,
    #[serde(default, skip_serializing_if = "is_nought")]
    pub(crate) deliveries: u64,
    #[serde(default, skip_serializing_if = "is_nought")]
    pub(crate) remarks: u64,
}

/// A folder without devices and deliveries is as it was before there were any.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde gives a reference")]
const fn is_nought(count: &u64) -> bool {
    *count == 0
}

/// The file that tells the history of one document.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct HistoryFile {
    pub(crate) id: String,
    pub(crate) kind: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) archived_at: Option<String>,
    #[serde(default, rename = "revision")]
    pub(crate) revisions: Vec<RevisionEntry>,
    #[serde(default, rename = "side_version", skip_serializing_if = "Vec::is_empty")]
    pub(crate) sides: Vec<SideEntry>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RevisionEntry {
    number: u32,
    title: String,
    saved_at: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    author: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    note: Option<String>,
    sha256: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SideEntry {
    id: String,
    based_on: u32,
    met: u32,
    title: String,
    saved_at: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    author: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    note: Option<String>,
    sha256: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    taken_up_as: Option<u32>,
}

impl From<&RevisionInfo> for RevisionEntry {
    fn from(info: &RevisionInfo) -> Self {
        Self {
            number: info.number.get(),
            title: info.title.clone(),
            saved_at: info.saved_at.to_string(),
            author: info.author.clone(),
            note: info.note.clone(),
            sha256: info.sha256.clone(),
        }
    }
}

impl TryFrom<RevisionEntry> for RevisionInfo {
    type Error = StoreError;

    fn try_from(entry: RevisionEntry) -> Result<Self, StoreError> {
        Ok(Self {
            number: RevisionNumber::new(entry.number)?,
            title: entry.title,
            saved_at: entry.saved_at.parse()?,
            author: entry.author,
            note: entry.note,
            sha256: entry.sha256,
        })
    }
}

impl From<&SideInfo> for SideEntry {
    fn from(info: &SideInfo) -> Self {
        Self {
            id: info.id.to_string(),
            based_on: info.based_on.get(),
            met: info.met.get(),
            title: info.title.clone(),
            saved_at: info.saved_at.to_string(),
            author: info.author.clone(),
            note: info.note.clone(),
            sha256: info.sha256.clone(),
            taken_up_as: info.taken_up_as.map(RevisionNumber::get),
        }
    }
}

impl SideEntry {
    pub(crate) fn into_info(self, document: DocumentId) -> Result<SideInfo, StoreError> {
        Ok(SideInfo {
            id: self.id.parse()?,
            document,
            based_on: RevisionNumber::new(self.based_on)?,
            met: RevisionNumber::new(self.met)?,
            title: self.title,
            sha256: self.sha256,
            saved_at: self.saved_at.parse()?,
            author: self.author,
            note: self.note,
            taken_up_as: self.taken_up_as.map(RevisionNumber::new).transpose()?,
        })
    }
}

/// One line of a file of analyses.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AnalysisLine {
    taken_on: String,
    number: u32,
    saved_at: String,
    sha256: String,
    text: String,
}

impl From<&Analysis> for AnalysisLine {
    fn from(analysis: &Analysis) -> Self {
        Self {
            taken_on: analysis.taken_on.to_string(),
            number: analysis.number.get(),
            saved_at: analysis.saved_at.to_string(),
            sha256: analysis.sha256.clone(),
            text: analysis.text.clone(),
        }
    }
}

impl AnalysisLine {
    pub(crate) fn into_analysis(self, water: DocumentId) -> Result<Analysis, StoreError> {
        Ok(Analysis {
            water,
            taken_on: self.taken_on.parse()?,
            number: RevisionNumber::new(self.number)?,
            text: self.text,
            sha256: self.sha256,
            saved_at: self.saved_at.parse()?,
        })
    }
}

/// One line of a file of readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ReadingLine {
    instrument: String,
    quantity: String,
    taken_at: String,
    /// As text: `Display` of `f64` gives the shortest digits that read back to
    /// the same bits, on every machine.
    value: String,
    unit: String,
    raw: String,
    source: String,
}

impl From<Reading> for ReadingLine {
    fn from(reading: Reading) -> Self {
        Self {
            instrument: reading.instrument,
            quantity: reading.quantity,
            taken_at: reading.taken_at.to_string(),
            value: reading.value.to_string(),
            unit: reading.unit,
            raw: reading.raw,
            source: reading.source,
        }
    }
}

impl TryFrom<ReadingLine> for Reading {
    type Error = StoreError;

    fn try_from(line: ReadingLine) -> Result<Self, StoreError> {
        let value = line
            .value
            .parse()
            .map_err(|_| StoreError::impossible("value of a reading", &line.value, "a number"))?;
        let reading = Self {
            instrument: line.instrument,
            quantity: line.quantity,
            taken_at: line.taken_at.parse::<Timestamp>()?,
            value,
            unit: line.unit,
            raw: line.raw,
            source: line.source,
        };
        crate::reading::check_reading(&reading)?;
        Ok(reading)
    }
}

/// The name of a revision's file.
pub(crate) fn revision_file(number: RevisionNumber) -> String {
    format!("{:04}.toml", number.get())
}

/// The name of a side version's file.
pub(crate) fn side_file(info: &SideInfo) -> String {
    format!("side-{}.toml", info.id)
}

/// Gives each document of a folder a name of its own.
#[derive(Debug, Default)]
pub(crate) struct Names(BTreeSet<(Kind, String)>);

impl Names {
    /// Title and short identifier; the whole identifier if that is taken.
    pub(crate) fn give(&mut self, document: &Document) -> String {
        let slug = slug(&document.title);
        let short = format!("{slug}-{}", document.id.short());
        if self.0.insert((document.kind, short.clone())) {
            return short;
        }
        format!("{slug}-{}", document.id)
    }
}

/// The title in letters that every file system takes: `a` to `z`, digits, `-`.
fn slug(title: &str) -> String {
    const LONGEST: usize = 40;
    let mut slug = String::new();
    for letter in title.chars() {
        if slug.len() >= LONGEST {
            break;
        }
        if letter.is_ascii_alphanumeric() {
            slug.push(letter.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    let slug = slug.trim_end_matches('-');
    if slug.is_empty() {
        "untitled".to_owned()
    } else {
        slug.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slug_has_only_plain_letters() {
        for (title, wanted) in [
            ("Dry Stout, 3rd try", "dry-stout-3rd-try"),
            ("  Märzen / 2026 ", "m-rzen-2026"),
            ("../../etc/passwd", "etc-passwd"),
            ("日本", "untitled"),
            ("", "untitled"),
        ] {
            assert_eq!(slug(title), wanted);
        }
        assert_eq!(slug(&"long ".repeat(50)).len(), 39);
    }

    #[test]
    fn two_documents_never_share_a_name() {
        let mut names = Names::default();
        let document = Document {
            id: "019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61".parse().unwrap(),
            kind: Kind::Batch,
            title: "Stout".to_owned(),
            current: RevisionNumber::FIRST,
            saved_at: Timestamp::MIN,
            archived_at: None,
        };
        let other = Document {
            id: "119f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61".parse().unwrap(),
            ..document.clone()
        };
        assert_eq!(names.give(&document), "stout-5b0c4f2a8e61");
        assert_eq!(
            names.give(&other),
            "stout-119f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61"
        );
    }
}

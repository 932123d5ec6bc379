//! The bodies that are sent and answered, apart from the types behind them.

use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::problem::list_of_faults;

/// The most edits that one request may hold.
pub const MOST_EDITS: usize = 500;

/// A demo in the list.
#[derive(Debug, Serialize, ToSchema)]
pub struct DemoRow {
    /// Its name.
    pub name: &'static str,
    /// What it is, in a line.
    pub about: &'static str,
}

/// The demo documents. Beers, town and waters are invented.
#[derive(Debug, Serialize, ToSchema)]
pub struct DemoList {
    /// All of them.
    pub demos: Vec<DemoRow>,
}

/// A demo document.
#[derive(Debug, Serialize, ToSchema)]
pub struct DemoText {
    /// Its name.
    pub name: &'static str,
    /// What it is, in a line.
    pub about: &'static str,
    /// The batch document, TOML.
    pub text: &'static str,
}

/// Which part of the list.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
#[into_params(parameter_in = Query)]
pub struct ListQuery {
    /// A part of the name, in capital or small letters.
    pub find: String,
    /// The page, from zero.
    pub page: u32,
}

/// A batch in the list.
#[derive(Debug, Serialize, ToSchema)]
pub struct BatchLine {
    /// Its identifier, a UUID of version 7.
    #[schema(format = "uuid")]
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its newest revision.
    #[schema(minimum = 1)]
    pub revision: u32,
    /// When that was saved, RFC 3339 in UTC.
    #[schema(format = "date-time")]
    pub saved_at: String,
}

/// A page of the list, the last saved first.
#[derive(Debug, Serialize, ToSchema)]
pub struct BatchList {
    /// The batches on this page.
    pub batches: Vec<BatchLine>,
    /// The page, from zero.
    pub page: u32,
    /// How many pages there are.
    #[schema(minimum = 1)]
    pub pages: u32,
    /// How many batches there are on all of them.
    pub total: u64,
}

/// A revision of a batch with its text.
#[derive(Debug, Serialize, ToSchema)]
pub struct BatchText {
    /// The identifier of the batch, a UUID of version 7.
    #[schema(format = "uuid")]
    pub id: String,
    /// The name at that time.
    pub name: String,
    /// The revision.
    #[schema(minimum = 1)]
    pub revision: u32,
    /// When it was saved, RFC 3339 in UTC.
    #[schema(format = "date-time")]
    pub saved_at: String,
    /// The batch document, TOML, to the byte as it was saved.
    pub text: String,
}

/// What a save made. A document with faults is kept as well.
#[derive(Debug, Serialize, ToSchema)]
pub struct SavedBatch {
    /// The identifier of the batch, a UUID of version 7.
    #[schema(format = "uuid")]
    pub id: String,
    /// Its name.
    pub name: String,
    /// The revision that now is the newest.
    #[schema(minimum = 1)]
    pub revision: u32,
    /// What is wrong in the document; none if it can be reckoned.
    #[schema(schema_with = list_of_faults)]
    pub faults: Vec<batch::wire::Fault>,
}

/// Edits of a batch.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "on": 3,
    "edits": [
        { "set": { "path": "water.source[1].calcium", "written": "95 mg/L" } },
        { "add": { "list": "hop", "values": [{ "key": "hop", "written": "Saaz" }] } },
        { "remove": { "path": "hop[2]" } },
    ],
}))]
pub struct EditRequest {
    /// The revision that the edits were decided on.
    #[schema(minimum = 1)]
    pub on: u32,
    /// The edits, made in this order; all of them or none.
    #[schema(max_items = 500)]
    pub edits: Vec<EditForm>,
}

/// One edit. Values are written as in the document, such as "104 ± 4 mg/L".
#[derive(Debug, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum EditForm {
    /// A value; an empty one takes the key out.
    Set {
        /// Such as `water.source[1].calcium`; places in lists count from one.
        path: String,
        /// The value as written.
        written: String,
    },
    /// A new entry at the end of a list.
    Add {
        /// Such as `hop`.
        list: String,
        /// What it starts with.
        #[serde(default)]
        values: Vec<Written>,
    },
    /// An entry of a list taken out.
    Remove {
        /// Such as `hop[2]`.
        path: String,
    },
}

/// A key and its value.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Written {
    /// The key.
    pub key: String,
    /// The value as written.
    pub written: String,
}

/// What edits came to.
#[derive(Debug, Serialize, ToSchema)]
pub struct EditedBatch {
    /// The batch as it is now.
    #[serde(flatten)]
    pub batch: SavedBatch,
    /// The edits in words; null where they changed nothing and nothing was saved.
    #[schema(required)]
    pub change: Option<String>,
    /// The figures that moved, from tap to glass.
    pub moved: Vec<MovedFigure>,
}

/// A figure that moved.
#[derive(Debug, Serialize, ToSchema)]
pub struct MovedFigure {
    /// Its key, stable between reckonings.
    pub key: &'static str,
    /// The stage: water, mash, boil, ferment, package or glass.
    pub stage: &'static str,
    /// What it is, in a word or two.
    pub label: &'static str,
    /// Before the edits.
    pub before: PrintedFigure,
    /// After them.
    pub after: PrintedFigure,
}

/// A figure as people read it, with its unit.
#[derive(Debug, Serialize, ToSchema)]
pub struct PrintedFigure {
    /// In metric units.
    pub metric: String,
    /// In US customary units.
    pub us: String,
}

/// A revision in the history.
#[derive(Debug, Serialize, ToSchema)]
pub struct RevisionLine {
    /// Its number, from one.
    #[schema(minimum = 1)]
    pub revision: u32,
    /// The name at that time.
    pub name: String,
    /// When it was saved, RFC 3339 in UTC.
    #[schema(format = "date-time")]
    pub saved_at: String,
    /// Who wrote it, where that is known.
    #[schema(required)]
    pub author: Option<String>,
    /// What this revision is.
    #[schema(required)]
    pub note: Option<String>,
    /// The SHA-256 of its text.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    pub sha256: String,
}

/// A version that was refused, as it met a newer revision, and kept.
#[derive(Debug, Serialize, ToSchema)]
pub struct KeptLine {
    /// Its identifier, a UUID of version 7.
    #[schema(format = "uuid")]
    pub id: String,
    /// The revision that it was written on.
    #[schema(minimum = 1)]
    pub based_on: u32,
    /// The revision that it met.
    #[schema(minimum = 1)]
    pub met: u32,
    /// The name that it would have given.
    pub name: String,
    /// When its save was tried, RFC 3339 in UTC.
    #[schema(format = "date-time")]
    pub saved_at: String,
    /// What it came with.
    #[schema(required)]
    pub note: Option<String>,
    /// The revision that took it up; null while it waits.
    #[schema(required, minimum = 1)]
    pub taken_up_as: Option<u32>,
    /// The SHA-256 of its text.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    pub sha256: String,
}

/// A kept version with its text.
#[derive(Debug, Serialize, ToSchema)]
pub struct KeptText {
    /// The version.
    #[serde(flatten)]
    pub version: KeptLine,
    /// The batch document, TOML, to the byte as it was sent.
    pub text: String,
}

/// The history of a batch.
#[derive(Debug, Serialize, ToSchema)]
pub struct History {
    /// All revisions, the first one first.
    pub revisions: Vec<RevisionLine>,
    /// The versions that were refused and kept, the oldest first.
    pub kept: Vec<KeptLine>,
}

/// What to bring back as the newest revision.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "on": 3, "bring": { "revision": 1 } }))]
pub struct BringBack {
    /// The revision that is the newest as far as you know.
    #[schema(minimum = 1)]
    pub on: u32,
    /// What to bring back.
    pub bring: Bring,
}

/// A version of a batch.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Bring {
    /// An earlier revision.
    Revision(u32),
    /// A version that was refused and kept, by its identifier.
    Kept(String),
}

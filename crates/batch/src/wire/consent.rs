//! The JSON form of what goes into the study over the batches of many.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

/// Which batches go into the study, and what of them.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Study {
    /// The version of this form: "gylewright/study/1".
    pub schema: &'static str,
    /// Whether every batch goes in, those to come among them, but for those withdrawn
    /// by themselves: every one of the group that is acted in; on the command line every
    /// one that belongs to no group.
    pub every_batch: bool,
    /// How many batches are in use.
    pub batches: usize,
    /// Those that go in, the last saved first.
    pub agreed: Vec<AgreedBatch>,
    /// What a gathering takes of a batch, and what it leaves.
    pub what_leaves: &'static str,
}

/// A batch that goes in.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AgreedBatch {
    /// Its identifier.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Since when, RFC 3339.
    pub since: String,
    /// The group that it belongs to and that agreed; left out for a batch of no group.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub group: Option<String>,
}

/// The JSON Schema of the form.
#[must_use]
pub fn study_schema() -> Value {
    super::named::<Study>("urn:gylewright:schema:study:1")
}

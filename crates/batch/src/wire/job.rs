//! Work that takes long, as JSON.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::certainty::Certainty;
use super::comparing::Comparison;
use super::matching::{MatchedAim, MovedMatch};
use super::watch::PosteriorForm;
use crate::job::{Found, Outcome, Refusal};
use crate::reader::Fault;

/// A piece of work: where it stands, and what came of it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Job {
    /// The version of this form: "gylewright/job/1".
    pub schema: &'static str,
    /// How it stands.
    #[serde(flatten)]
    pub row: JobRow,
    /// What was found, in the form that the question has when it is asked at once
    /// (gylewright/match/1, gylewright/move/1, gylewright/certainty/1,
    /// gylewright/comparison/1, the posterior of gylewright/fermentation-course/1); null
    /// while it is not done.
    pub answer: Option<Value>,
    /// Why there is no answer, where the question cannot be used.
    pub refused: Option<JobRefused>,
}

/// How a piece of work stands.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct JobRow {
    /// Its identifier.
    pub id: String,
    /// match, move, certainty, compare or posterior.
    pub kind: String,
    /// waiting, running, done, failed or cancelled.
    pub state: &'static str,
    /// The document that it is of; null for one of none.
    pub document: Option<String>,
    /// Pieces of it that are done.
    pub done: u64,
    /// Of about so many; nought while that is not known.
    pub whole: u64,
    /// How often a worker took it up.
    pub attempt: u32,
    /// Who took it up last.
    pub worker: Option<String>,
    /// Workers that were heard of no more while they were at it.
    pub lost: u32,
    /// Somebody wants it stopped.
    pub cancel_wanted: bool,
    /// Why it failed; null where it did not.
    pub error: Option<String>,
    /// When it was asked for: UTC, RFC 3339.
    pub made_at: String,
    /// When a worker took it up last.
    pub started_at: Option<String>,
    /// When it ended.
    pub ended_at: Option<String>,
}

/// Pieces of work, the newest first.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Jobs {
    /// The version of this form: "gylewright/jobs/1".
    pub schema: &'static str,
    /// Them.
    pub jobs: Vec<JobRow>,
}

/// Why a question has no answer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct JobRefused {
    /// In a sentence.
    pub why: String,
    /// What is wrong, each with what would work.
    pub faults: Vec<JobFault>,
}

/// Something that is wrong.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct JobFault {
    /// The key or field.
    pub path: String,
    /// What is wrong with it.
    pub message: String,
    /// What would work.
    pub help: String,
}

impl Job {
    /// A job as it stands, with what came of it.
    #[must_use]
    pub fn of(row: JobRow, outcome: Option<&Outcome>) -> Self {
        let (answer, refused) = match outcome {
            None => (None, None),
            Some(Ok(found)) => (Some(form(found)), None),
            Some(Err(refusal)) => (None, Some(JobRefused::from(refusal))),
        };
        Self {
            schema: "gylewright/job/1",
            row,
            answer,
            refused,
        }
    }
}

/// In the form of its kind.
fn form(found: &Found) -> Value {
    let form = match found {
        Found::Match(found) => serde_json::to_value(MatchedAim::from(found.as_ref())),
        Found::Move(found) => serde_json::to_value(MovedMatch::from(found.as_ref())),
        Found::Certainty(found) => serde_json::to_value(Certainty::from(found.as_ref())),
        Found::Compare(found) => serde_json::to_value(Comparison::from(found.as_ref())),
        Found::Posterior(found) => serde_json::to_value(PosteriorForm::from(found.as_ref())),
    };
    // Plain data always turns into JSON.
    form.unwrap_or_default()
}

impl From<&Refusal> for JobRefused {
    fn from(refusal: &Refusal) -> Self {
        let fault = |fault: &Fault| JobFault {
            path: fault.path.clone(),
            message: fault.message.clone(),
            help: fault.help.clone(),
        };
        Self {
            why: refusal.told.clone(),
            faults: refusal.faults.iter().map(fault).collect(),
        }
    }
}

impl Jobs {
    /// Rows of a list.
    #[must_use]
    pub const fn of(jobs: Vec<JobRow>) -> Self {
        Self {
            schema: "gylewright/jobs/1",
            jobs,
        }
    }
}

/// The JSON Schema of a [`Job`].
#[must_use]
pub fn job_schema() -> Value {
    super::named::<Job>("urn:gylewright:schema:job:1")
}

/// The JSON Schema of [`Jobs`].
#[must_use]
pub fn jobs_schema() -> Value {
    super::named::<Jobs>("urn:gylewright:schema:jobs:1")
}

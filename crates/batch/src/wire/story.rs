//! An inquiry told as it went, and what words find in its tables, as JSON.

use inquiry::{Hits, Knowledge};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::inquiry::Inquiry;
use crate::inquiry::{Came, Next, Step, Story, Told, Verdict};

/// An inquiry told as it went.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct InquiryStory {
    /// The version of this form: "gylewright/inquiry-story/1".
    pub schema: &'static str,
    /// What it has come to: no-fault, settled, likely or open.
    pub stands: &'static str,
    /// The same in one sentence.
    pub verdict: String,
    /// What is there, and what was looked for and is not.
    pub found: Vec<String>,
    /// What was brewed, as far as it moves a chance.
    pub brewed: Vec<String>,
    /// The likeliest causes before any test.
    pub could_be: Vec<StoryCause>,
    /// The tests that were made, in the order of the document.
    pub tested: Vec<StoryTest>,
    /// The answer with all of them.
    pub answer: Inquiry,
    /// The batches that were brewed after it; of a document alone there are none.
    pub next: Vec<StoryNext>,
    /// How many batches of the house were looked back on; of a document alone there are
    /// none.
    pub looked_back_on: usize,
}

/// A cause with its chances.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StoryCause {
    /// Its key.
    pub cause: String,
    /// Its name.
    pub name: String,
    /// Chance that it made what was found.
    pub made: f64,
    /// Chance before anything was found.
    pub before: f64,
}

/// A test that was made.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StoryTest {
    /// Its key.
    pub test: String,
    /// Its name.
    pub name: String,
    /// Whether it came out positive.
    pub positive: bool,
    /// What that means.
    pub means: String,
    /// The likeliest cause once it was known.
    pub then: Option<StoryCause>,
}

/// A batch that was brewed after it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StoryNext {
    /// Its identifier.
    pub batch: String,
    /// What it is called.
    pub name: String,
    /// Key of the cause that it mends, where that is said.
    pub mends: Option<String>,
    /// Keys of the document that differ.
    pub changed: Vec<StoryChange>,
    /// gone, still or not-said.
    pub came: &'static str,
    /// What came of it, in words.
    pub words: String,
    /// Chance of the cause that it mends, with what came of it.
    pub chance: Option<f64>,
}

/// A key that differs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StoryChange {
    /// Its path.
    pub path: String,
    /// Before; a dash where it was not said.
    pub before: String,
    /// Now; a dash where it is not said.
    pub now: String,
}

/// What some words find in the tables of an inquiry, the best first.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct InquirySearch {
    /// The version of this form: "gylewright/inquiry-search/1".
    pub schema: &'static str,
    /// The words.
    pub words: String,
    /// Findings.
    pub findings: Vec<FoundFinding>,
    /// Causes.
    pub causes: Vec<FoundCause>,
    /// Tests.
    pub tests: Vec<FoundTest>,
}

/// A finding.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FoundFinding {
    /// Its key, as documents and questions name it.
    pub key: String,
    /// Its words.
    pub name: String,
    /// By which sense.
    pub sense: String,
    /// Family of flavours.
    pub family: String,
}

/// A cause.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FoundCause {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// The stage that it belongs to.
    pub stage: String,
    /// How it makes the fault.
    pub mechanism: String,
}

/// A test.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FoundTest {
    /// Its key, as documents and questions name it.
    pub key: String,
    /// Its name.
    pub name: String,
    /// How it is made.
    pub how: String,
}

impl From<&Story> for InquiryStory {
    fn from(story: &Story) -> Self {
        Self {
            schema: "gylewright/inquiry-story/1",
            stands: match story.verdict {
                Verdict::NoFault => "no-fault",
                Verdict::Settled(_) => "settled",
                Verdict::Likely(_) => "likely",
                Verdict::Open(_) => "open",
            },
            verdict: story.verdict.words(),
            found: story.found.clone(),
            brewed: story.brewed.clone(),
            could_be: story.could_be.iter().map(cause).collect(),
            tested: story.steps.iter().map(step).collect(),
            answer: Inquiry::from(&story.answer),
            next: story.next.iter().map(next).collect(),
            looked_back_on: 0,
        }
    }
}

fn cause(told: &Told) -> StoryCause {
    StoryCause {
        cause: told.cause.key.clone(),
        name: told.cause.name.clone(),
        made: told.made,
        before: told.before,
    }
}

fn step(step: &Step) -> StoryTest {
    StoryTest {
        test: step.key.clone(),
        name: step.name.clone(),
        positive: step.positive,
        means: step.means.clone(),
        then: step.then.as_ref().map(cause),
    }
}

fn next(next: &Next) -> StoryNext {
    let change = |(path, before, now): &(String, String, String)| StoryChange {
        path: path.clone(),
        before: before.clone(),
        now: now.clone(),
    };
    StoryNext {
        batch: next.id.clone(),
        name: next.name.clone(),
        mends: next.mends.map(|c| c.key.clone()),
        changed: next.changed.iter().map(change).collect(),
        came: match next.came {
            Came::Gone => "gone",
            Came::Still => "still",
            Came::NotSaid => "not-said",
        },
        words: next.words.clone(),
        chance: next.chance,
    }
}

impl InquirySearch {
    /// What words find.
    #[must_use]
    pub fn of(words: &str) -> Self {
        let Hits {
            findings,
            causes,
            tests,
        } = Knowledge::built_in().search_all(words);
        let finding = |f: &&inquiry::FindingRow| FoundFinding {
            key: f.key.clone(),
            name: f.name.clone(),
            sense: f.sense.clone(),
            family: f.family.clone(),
        };
        let cause = |c: &&inquiry::Cause| FoundCause {
            key: c.key.clone(),
            name: c.name.clone(),
            stage: c.stage.clone(),
            mechanism: c.mechanism.clone(),
        };
        let test = |t: &&inquiry::Test| FoundTest {
            key: t.key.clone(),
            name: t.name.clone(),
            how: t.how.clone(),
        };
        Self {
            schema: "gylewright/inquiry-search/1",
            words: words.trim().to_owned(),
            findings: findings.iter().map(finding).collect(),
            causes: causes.iter().map(cause).collect(),
            tests: tests.iter().map(test).collect(),
        }
    }
}

/// The JSON Schema of [`InquiryStory`].
#[must_use]
pub fn inquiry_story_schema() -> Value {
    super::named::<InquiryStory>("urn:gylewright:schema:inquiry-story:1")
}

/// The JSON Schema of [`InquirySearch`].
#[must_use]
pub fn inquiry_search_schema() -> Value {
    super::named::<InquirySearch>("urn:gylewright:schema:inquiry-search:1")
}

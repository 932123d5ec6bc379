//! What did not map, line by line.

use schemars::JsonSchema;
use serde::Serialize;

/// What became of something that has no equal on the other side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(rename = "RecipeFate")]
pub enum Fate {
    /// It is left out.
    Left,
    /// It is taken in another form.
    Changed,
    /// It was not said, and something had to be taken.
    Missing,
}

impl Fate {
    /// The word for people.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left out",
            Self::Changed => "taken otherwise",
            Self::Missing => "not said",
        }
    }
}

/// A line of the report.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "RecipeRemark")]
pub struct Remark {
    /// Where it stands: a JSON pointer in a file of the standard, a path of keys in a
    /// document of ours.
    pub at: String,
    /// What stands there; empty where it is what is missing.
    pub found: String,
    /// What became of it.
    pub fate: Fate,
    /// Why.
    pub why: String,
    /// What was taken; empty where nothing was.
    pub taken: String,
}

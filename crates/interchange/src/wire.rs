//! The JSON forms of what was read and what was written.

use schemars::{JsonSchema, schema_for};
use serde::Serialize;

use crate::{Exported, Found, Imported, Remark};

/// What a file of recipes comes to.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RecipesRead {
    /// The version of this form: "gylewright/recipes-read/1".
    pub schema: &'static str,
    /// The documents made of it.
    pub documents: Vec<MadeDocument>,
    /// What did not map.
    pub remarks: Vec<Remark>,
}

/// A document made of a file of recipes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MadeDocument {
    /// "batch", "water", "brewhouse" or "stores".
    pub kind: &'static str,
    /// What it is called.
    pub name: String,
    /// Its text, as TOML.
    pub text: String,
    /// The analysis of a water, as TOML.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub analysis: Option<String>,
    /// Where it is kept; absent where it is not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
}

/// A batch written as a file of recipes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RecipeWritten {
    /// The version of this form: "gylewright/recipe-written/1".
    pub schema: &'static str,
    /// The file.
    pub file: serde_json::Value,
    /// What did not map.
    pub remarks: Vec<Remark>,
}

impl Imported {
    /// The word for what it is.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self.found {
            Found::Batch => "batch",
            Found::Library(part) => part.word(),
        }
    }
}

impl RecipesRead {
    /// The form; `ids` are those of the documents that were kept, in their order.
    #[must_use]
    pub fn of(documents: &[Imported], remarks: &[Remark], ids: &[String]) -> Self {
        let documents = documents.iter().enumerate().map(|(n, made)| MadeDocument {
            kind: made.kind(),
            name: made.name.clone(),
            text: made.text.clone(),
            analysis: made.analysis.clone(),
            id: ids.get(n).cloned(),
        });
        Self {
            schema: "gylewright/recipes-read/1",
            documents: documents.collect(),
            remarks: remarks.to_vec(),
        }
    }
}

impl From<&Exported> for RecipeWritten {
    fn from(exported: &Exported) -> Self {
        Self {
            schema: "gylewright/recipe-written/1",
            file: serde_json::from_str(&exported.text).unwrap_or_default(),
            remarks: exported.remarks.clone(),
        }
    }
}

/// The JSON Schema of [`RecipesRead`].
#[must_use]
pub fn recipes_read_schema() -> serde_json::Value {
    named(schema_for!(RecipesRead), "recipes-read")
}

/// The JSON Schema of [`RecipeWritten`].
#[must_use]
pub fn recipe_written_schema() -> serde_json::Value {
    named(schema_for!(RecipeWritten), "recipe-written")
}

fn named(mut schema: schemars::Schema, name: &str) -> serde_json::Value {
    let id = format!("urn:gylewright:schema:{name}:1");
    schema.insert("$id".to_owned(), id.into());
    schema.into()
}

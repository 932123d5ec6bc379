//! The built-in tables of malts and hops as JSON.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::tables::Entry;

/// Malts or hops with their figures.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct IngredientTable {
    /// The version of this form: "gylewright/ingredient-table/1".
    pub schema: &'static str,
    /// The rows.
    pub rows: Vec<IngredientForm>,
}

/// A malt or a hop.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct IngredientForm {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub kind: &'static str,
    /// Its figures.
    pub figures: Vec<IngredientFigureForm>,
    /// Where most of them come from.
    pub source: String,
    /// How they were obtained.
    pub mark: &'static str,
}

/// A figure of it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct IngredientFigureForm {
    /// What it is called.
    pub label: &'static str,
    /// Ready to read.
    pub text: String,
    /// Where it comes from.
    pub source: String,
    /// "read", "computed", "from memory", "common practice" or "judgement".
    pub mark: &'static str,
    /// The key by which a person's own sheet overrides it.
    pub own: Option<&'static str>,
}

impl From<Vec<Entry>> for IngredientTable {
    fn from(entries: Vec<Entry>) -> Self {
        Self {
            schema: "gylewright/ingredient-table/1",
            rows: entries.into_iter().map(IngredientForm::from).collect(),
        }
    }
}

impl From<Entry> for IngredientForm {
    fn from(entry: Entry) -> Self {
        let figures = entry.figures.into_iter();
        Self {
            name: entry.name,
            kind: entry.kind,
            figures: figures
                .map(|f| IngredientFigureForm {
                    label: f.label,
                    text: f.text,
                    source: f.source,
                    mark: f.mark.words(),
                    own: f.own,
                })
                .collect(),
            source: entry.source.text.clone(),
            mark: entry.source.mark.words(),
        }
    }
}

/// The JSON Schema of [`IngredientTable`].
#[must_use]
pub fn ingredient_table_schema() -> Value {
    super::named::<IngredientTable>("urn:gylewright:schema:ingredient-table:1")
}

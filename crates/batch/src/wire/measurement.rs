//! The JSON form of what a tool beside the kettle found.

use schemars::JsonSchema;
use serde::Serialize;

use super::{CautionForm, NoteForm};

/// What a tool found.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Measurement {
    /// The version of this form: "gylewright/measurement/1".
    pub schema: &'static str,
    /// The tool.
    pub tool: &'static str,
    /// The figures, the one that was asked for first.
    pub figures: Vec<MeasuredFigure>,
    /// What to know about them.
    pub notes: Vec<NoteForm>,
    /// What can hurt or break the law.
    pub cautions: Vec<CautionForm>,
}

/// A figure with its spread.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MeasuredFigure {
    /// Its name.
    pub key: &'static str,
    /// Its words.
    pub label: &'static str,
    /// The number, in the unit.
    pub value: f64,
    /// Its standard deviation, in the unit, where one is known.
    pub sd: Option<f64>,
    /// The unit of both.
    pub unit: &'static str,
    /// Ready to read.
    pub text: String,
    /// How it came about, where that is not plain.
    pub remark: Option<&'static str>,
    /// A colour to show beside it, as #rrggbb in sRGB.
    pub colour: Option<String>,
}

impl Measurement {
    /// From its parts.
    #[must_use]
    pub fn new(
        tool: &'static str,
        figures: Vec<MeasuredFigure>,
        notes: &[quantity::Note],
        cautions: &[quantity::Caution],
    ) -> Self {
        Self {
            schema: "gylewright/measurement/1",
            tool,
            figures,
            notes: notes.iter().map(super::reckoning::note).collect(),
            cautions: cautions
                .iter()
                .map(|c| super::reckoning::caution(*c))
                .collect(),
        }
    }
}

//! How a batch is packed and how safe that is, as JSON.

use package::{Safety, at_risk};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::stream::Reckoning;
use crate::wire::cleaning::CleaningStep;
use crate::wire::reckoning::{Package, caution, note, package};
use crate::wire::{CautionForm, NoteForm};

/// How a batch is packed, how safe that is, and what to do. Field names end in the unit
/// of the number.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Bottling {
    /// The version of this form: "gylewright/package/1".
    pub schema: &'static str,
    /// The batch.
    pub name: String,
    /// Doses and the verdict.
    pub package: Package,
    /// Faults that the cleaning of the vessels can have left.
    pub cleaning: Vec<CleaningStep>,
    /// What to do with bottles that are already full; empty where the package is safe.
    pub at_risk: Vec<AtRiskStep>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
}

/// A step for bottles at risk.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AtRiskStep {
    /// What to do.
    pub text: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// How that was obtained.
    pub mark: &'static str,
}

impl From<&Reckoning> for Bottling {
    fn from(r: &Reckoning) -> Self {
        let p = &r.packaging;
        let steps = at_risk().iter().filter(|_| p.worst.safety != Safety::Safe);
        Self {
            schema: "gylewright/package/1",
            name: r.document.batch.name.clone(),
            package: package(r),
            cleaning: r.cleaning.steps.iter().map(CleaningStep::from).collect(),
            at_risk: steps
                .map(|step| AtRiskStep {
                    text: &step.text,
                    source: &step.source.text,
                    mark: step.source.mark.words(),
                })
                .collect(),
            notes: p
                .notes
                .iter()
                .chain(&r.cleaning.all_notes())
                .map(note)
                .collect(),
            cautions: r.packing_cautions().into_iter().map(caution).collect(),
        }
    }
}

/// The JSON Schema of a [`Bottling`].
#[must_use]
pub fn bottling_schema() -> Value {
    super::named::<Bottling>("urn:gylewright:schema:package:1")
}

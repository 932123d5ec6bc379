//! Batches side by side, as JSON.

use quantity::Units;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::comparing::words::{REACH, how, made_by};
use crate::comparing::{self as found, Change, Part, Row, Stood};

/// Batches side by side: what differs, where, and what made it differ.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Comparison {
    /// The version of this form: "gylewright/comparison/1".
    pub schema: &'static str,
    /// The batches, the one that the others are held against first.
    pub batches: Vec<ComparedBatch>,
    /// Figures from tap to glass that differ as they are printed.
    pub figures: Vec<FigureBeside>,
    /// How many figures are the same.
    pub same: usize,
    /// Stages that do not stand fine in every batch.
    pub stages: Vec<StageBeside>,
    /// Each batch after the first, held against it.
    pub against: Vec<AgainstFirst>,
    /// What "told apart" rests on.
    pub told_apart_by: &'static str,
}

/// One of the batches.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ComparedBatch {
    /// What it is called.
    pub name: String,
    /// What was found in it.
    pub found: Vec<String>,
    /// Tests that were made.
    pub tests: Vec<String>,
    /// What the inquiry comes to; null where nothing was found or tested.
    pub verdict: Option<String>,
    /// What tastings of it said; of a document alone there are none.
    pub tastings: Vec<String>,
}

/// A figure of each batch.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FigureBeside {
    /// A key, stable between reckonings.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// The stage that it belongs to.
    pub stage: &'static str,
    /// As it is printed in metric units, batch by batch; null where one has none.
    pub values: Vec<Option<String>>,
}

/// How a stage stands in each batch.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StageBeside {
    /// The stage.
    pub stage: &'static str,
    /// fine, look or act, batch by batch.
    pub signs: Vec<&'static str>,
    /// The heaviest reason, batch by batch; null where it is fine.
    pub reasons: Vec<Option<String>>,
}

/// A batch held against the first.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AgainstFirst {
    /// What differs, each thing by itself.
    pub parts: Vec<PartForm>,
    /// What differs and is no part of the stream: names, notes, aims.
    pub told: Vec<ChangeForm>,
    /// Figures that differ, with the share of each part.
    pub differences: Vec<DifferenceForm>,
    /// Whether every order of taking over was counted; else some were drawn by the seed.
    pub every_order: bool,
    /// How it was split.
    pub how: String,
    /// What was put together, and why.
    pub notes: Vec<String>,
}

/// Something that differs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PartForm {
    /// What it is.
    pub what: String,
    /// The stage that takes it up first.
    pub stage: &'static str,
    /// In one phrase.
    pub words: String,
    /// Whether it moves any figure.
    pub moves: bool,
    /// What of it differs, as it is written.
    pub changes: Vec<ChangeForm>,
}

/// A value that differs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ChangeForm {
    /// What it is a value of, where several things stand in one part.
    pub of: Option<String>,
    /// Where it stands.
    pub path: String,
    /// Before; null where it was not said.
    pub before: Option<String>,
    /// After; null where it is not said any more.
    pub after: Option<String>,
}

/// A figure that differs; numbers in its canonical unit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DifferenceForm {
    /// A key, stable between reckonings.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// The stage that it belongs to.
    pub stage: &'static str,
    /// In the first batch.
    pub from: f64,
    /// In the other.
    pub to: f64,
    /// The whole difference, printed in metric units.
    pub text: String,
    /// The share of each part, the largest first; they sum to the whole difference. Empty
    /// where it cannot be split.
    pub shares: Vec<PartShare>,
    /// Nine times in ten the difference lies between these, what both batches share drawn
    /// once; null where that was not asked for.
    pub low: Option<f64>,
    /// The upper end.
    pub high: Option<f64>,
    /// Whether they can be told apart; null where that was not asked for.
    pub told_apart: Option<bool>,
    /// What made it differ, in one line.
    pub words: String,
}

/// What one part adds to a difference.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PartShare {
    /// The place of the part, counted from nought.
    pub part: usize,
    /// What it adds.
    pub by: f64,
    /// Standard error, where orders were drawn.
    pub error: Option<f64>,
}

impl From<&found::Comparison> for Comparison {
    fn from(c: &found::Comparison) -> Self {
        Self {
            schema: "gylewright/comparison/1",
            batches: c.batches.iter().map(batch).collect(),
            figures: c.rows.iter().map(figure).collect(),
            same: c.same,
            stages: c.stood.iter().map(stage).collect(),
            against: c.against.iter().map(against).collect(),
            told_apart_by: REACH,
        }
    }
}

fn batch(b: &found::Beside) -> ComparedBatch {
    ComparedBatch {
        name: b.name.clone(),
        found: b.found.clone(),
        tests: b.tests.clone(),
        verdict: b.verdict.clone(),
        tastings: Vec::new(),
    }
}

fn figure(row: &Row) -> FigureBeside {
    let metric = |v: &Option<[String; 2]>| v.as_ref().map(|[metric, _]| metric.clone());
    FigureBeside {
        key: row.key,
        label: row.label,
        stage: row.stage.word(),
        values: row.values.iter().map(metric).collect(),
    }
}

fn stage(stood: &Stood) -> StageBeside {
    StageBeside {
        stage: stood.stage.word(),
        signs: stood
            .signs
            .iter()
            .map(|(weight, _)| weight.word())
            .collect(),
        reasons: stood.signs.iter().map(|(_, why)| why.clone()).collect(),
    }
}

fn against(a: &found::Against) -> AgainstFirst {
    let numbered = a.parts.iter().enumerate();
    AgainstFirst {
        parts: numbered
            .map(|(n, p)| part(p, !a.still.contains(&n)))
            .collect(),
        told: a.told.iter().map(change).collect(),
        differences: a.figures.iter().map(|d| difference(a, d)).collect(),
        every_order: a.every_order,
        how: how(a),
        notes: a.notes.clone(),
    }
}

fn part(p: &Part, moves: bool) -> PartForm {
    PartForm {
        what: p.what.clone(),
        stage: p.stage.word(),
        words: p.phrase(),
        moves,
        changes: p.changes.iter().map(change).collect(),
    }
}

fn change(c: &Change) -> ChangeForm {
    ChangeForm {
        of: c.of.clone(),
        path: c.path.clone(),
        before: c.before.clone(),
        after: c.after.clone(),
    }
}

fn difference(a: &found::Against, d: &found::Difference) -> DifferenceForm {
    let share = |s: &found::Share| PartShare {
        part: s.part,
        by: s.by,
        error: s.error,
    };
    DifferenceForm {
        key: d.key,
        label: d.label,
        stage: d.stage.word(),
        from: d.from,
        to: d.to,
        text: d.change(Units::Metric),
        shares: d.shares.iter().map(share).collect(),
        low: d.between.map(|b| b.0),
        high: d.between.map(|b| b.1),
        told_apart: d.told_apart(),
        words: made_by(a, d, Units::Metric),
    }
}

/// The JSON Schema of [`Comparison`].
#[must_use]
pub fn comparison_schema() -> Value {
    super::named::<Comparison>("urn:gylewright:schema:comparison:1")
}

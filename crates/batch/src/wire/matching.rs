//! Documents that meet an aim, as JSON.

use quantity::{Note, Units};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::matching::words::{block_words, limited_words, missed_words};
use crate::matching::{Answer, Goal, Lever, Matched, MovedBatch, Reached};
use crate::wire::reckoning::{caution, note};
use crate::wire::{Assumption, CautionForm, NoteForm};

/// Documents that meet an aim, or what comes nearest and what stands against it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MatchedAim {
    /// The version of this form: "gylewright/match/1".
    pub schema: &'static str,
    /// Whether the aim can be met.
    pub met: bool,
    /// What is aimed at, and what the document comes to as it stands.
    pub aims: Vec<MatchAim>,
    /// What may move.
    pub levers: Vec<MatchLever>,
    /// Different answers, the nearest to the aim first.
    pub answers: Vec<MatchAnswer>,
    /// Where the aim cannot be met: what stands against it.
    pub blocks: Vec<String>,
    /// What was taken where nothing was said.
    pub assumptions: Vec<Assumption>,
    /// Reckonings that it took, beside the draws.
    pub reckoned: usize,
}

/// A figure that is aimed at; numbers in its canonical unit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MatchAim {
    /// Its key.
    pub key: &'static str,
    /// What it is.
    pub name: &'static str,
    /// The aim, printed in metric units.
    pub aim: String,
    /// The least that would do; null for "at most".
    pub low: Option<f64>,
    /// The most that would do; null for "at least".
    pub high: Option<f64>,
    /// Where the aim comes from.
    pub from: &'static str,
    /// What the document comes to as it stands.
    pub before: f64,
    /// The same, printed in metric units.
    pub before_text: String,
}

/// Something that may move; numbers in the unit of its key: kg, °C, h, L, K, g/L.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MatchLever {
    /// Its key in the document.
    pub path: String,
    /// What it is.
    pub name: String,
    /// Where it stands.
    pub now: f64,
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
    /// Who says the most.
    pub limited: String,
    /// The step of its scale.
    pub step: f64,
}

/// A document that meets the aim, or comes near it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MatchAnswer {
    /// Its word: best, least-change, few, cheap, other, likely.
    pub key: &'static str,
    /// What it is.
    pub label: String,
    /// Whether it meets every aim.
    pub met: bool,
    /// The greatest miss, in tolerances.
    pub worst: f64,
    /// What each lever comes to, in the order of the levers.
    pub amounts: Vec<f64>,
    /// The same in words, where it moved.
    pub moved: Vec<String>,
    /// Salts and acid; empty where they stay.
    pub additions: Vec<String>,
    /// The figures, in the order of the aims.
    pub figures: Vec<MatchFigure>,
    /// What cannot be had.
    pub missed: Vec<String>,
    /// How many malts, sugars and hops it has.
    pub ingredients: usize,
    /// What malts, hops, yeast, salts and acids cost of which a price is known; null where no
    /// price is.
    pub cost: Option<f64>,
    /// How far the recipe is moved.
    pub change: f64,
    /// Share of the draws that meet every aim; null where nothing was drawn.
    pub chance: Option<f64>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
    /// The document.
    pub document: String,
}

/// A figure of an answer; numbers in its canonical unit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MatchFigure {
    /// The key of its aim.
    pub key: &'static str,
    /// As the answer is reckoned.
    pub value: f64,
    /// The same, printed in metric units.
    pub text: String,
    /// Five of a hundred draws lie below; null where nothing was drawn.
    pub low: Option<f64>,
    /// Five of a hundred lie above.
    pub high: Option<f64>,
    /// Share of the draws that would do.
    pub chance: Option<f64>,
    /// How far beyond what would do, in tolerances; nought within.
    pub beyond: f64,
}

/// A batch in another volume, place, kit or water, matched anew.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MovedMatch {
    /// The version of this form: "gylewright/move/1".
    pub schema: &'static str,
    /// By how much the volume grows.
    pub factor: f64,
    /// What the batch came to before, in the order of the aims.
    pub reached: Vec<f64>,
    /// The document with everything multiplied; what it comes to is `before` of the aims.
    pub multiplied: String,
    /// What was found.
    pub matched: MatchedAim,
}

/// The JSON Schema of a [`MatchedAim`].
#[must_use]
pub fn match_schema() -> Value {
    super::named::<MatchedAim>("urn:gylewright:schema:match:1")
}

/// The JSON Schema of a [`MovedMatch`].
#[must_use]
pub fn move_schema() -> Value {
    super::named::<MovedMatch>("urn:gylewright:schema:move:1")
}

impl From<&Matched> for MatchedAim {
    fn from(found: &Matched) -> Self {
        let words = |b| block_words(found, b, Units::Metric);
        let aims = found.goals.iter().zip(&found.before);
        Self {
            schema: "gylewright/match/1",
            met: found.met(),
            aims: aims.map(|(goal, before)| aim(goal, *before)).collect(),
            levers: found.levers.iter().map(lever).collect(),
            answers: found.answers.iter().map(|a| answer(found, a)).collect(),
            blocks: found.blocks.iter().map(words).collect(),
            assumptions: found.assumptions.iter().map(Assumption::from).collect(),
            reckoned: found.reckoned,
        }
    }
}

impl From<&MovedBatch> for MovedMatch {
    fn from(moved: &MovedBatch) -> Self {
        Self {
            schema: "gylewright/move/1",
            factor: moved.factor,
            reached: moved.reached.clone(),
            multiplied: moved.multiplied.clone(),
            matched: MatchedAim::from(&moved.matched),
        }
    }
}

fn aim(goal: &Goal, before: f64) -> MatchAim {
    MatchAim {
        key: goal.figure.key,
        name: goal.figure.name,
        aim: goal.words(Units::Metric),
        low: goal.low,
        high: goal.high,
        from: goal.from.words(),
        before,
        before_text: goal.figure.print(before, Units::Metric),
    }
}

fn lever(of: &Lever) -> MatchLever {
    MatchLever {
        path: of.path.clone(),
        name: of.name.clone(),
        now: of.now,
        least: of.least,
        most: of.most,
        limited: limited_words(&of.limited),
        step: of.step,
    }
}

fn answer(found: &Matched, of: &Answer) -> MatchAnswer {
    let moved = of.moved(&found.levers);
    MatchAnswer {
        key: of.key,
        label: of.label.clone(),
        met: of.met(),
        worst: of.worst,
        amounts: of.amounts.iter().map(|a| a.value).collect(),
        moved: moved
            .map(|(lever, value)| {
                let [before, after] = [lever.now, value].map(|x| lever.print(x, Units::Metric));
                format!("{}: {before} becomes {after}", lever.name)
            })
            .collect(),
        additions: of.additions.clone(),
        figures: (found.goals.iter().zip(&of.figures))
            .map(|(goal, reached)| figure(goal, reached))
            .collect(),
        missed: missed_words(found, of, Units::Metric),
        ingredients: of.ingredients,
        cost: of.cost,
        change: of.change,
        chance: of.chance,
        notes: of.notes.iter().map(|n: &Note| note(n)).collect(),
        cautions: of.cautions.iter().map(|c| caution(*c)).collect(),
        document: of.text.clone(),
    }
}

fn figure(goal: &Goal, of: &Reached) -> MatchFigure {
    MatchFigure {
        key: goal.figure.key,
        value: of.value,
        text: goal.figure.print(of.value, Units::Metric),
        low: of.between.map(|b| b.0),
        high: of.between.map(|b| b.1),
        chance: of.chance,
        beyond: of.beyond,
    }
}

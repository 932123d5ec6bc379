//! How sure a batch is, as JSON.

use quantity::Units;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::certainty::words::better_words;
use crate::certainty::{Certainty as Found, Doubt, Share, Sure};

/// How sure the figures of a batch are, and what they are unsure of.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Certainty {
    /// The version of this form: "gylewright/certainty/1".
    pub schema: &'static str,
    /// Draws that were reckoned.
    pub drawn: usize,
    /// Draws that cannot be brewed, left out.
    pub refused: usize,
    /// Why the first of them cannot; null where all can.
    pub refusal: Option<String>,
    /// The figures from tap to glass; those that nothing moves are left out.
    pub figures: Vec<SureForm>,
    /// All that is not known, in the order in which it is met.
    pub doubts: Vec<DoubtForm>,
    /// What to know better, the most useful first.
    pub better: Vec<String>,
}

/// A figure and how sure it is; numbers in its canonical unit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SureForm {
    /// A key, stable between reckonings.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// The stage that it belongs to.
    pub stage: &'static str,
    /// As it is reckoned, printed in metric units.
    pub text: String,
    /// As it is reckoned.
    pub reckoned: f64,
    /// The middle of the draws.
    pub likely: f64,
    /// Five of a hundred draws lie below.
    pub low: f64,
    /// Five of a hundred lie above.
    pub high: f64,
    /// Standard deviation of the draws.
    pub sd: f64,
    /// The doubts that matter, the heaviest first.
    pub shares: Vec<DoubtShareForm>,
}

/// What a doubt does to a figure: indices of Sobol'.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DoubtShareForm {
    /// The doubt, by its path, or those that move together.
    pub doubts: Vec<String>,
    /// Share of the variance that it makes alone.
    pub first: f64,
    /// Share that it makes alone and together with others.
    pub total: f64,
}

/// A figure that is known no better than its spread.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DoubtForm {
    /// The key of the document, or of a class or model.
    pub path: String,
    /// What it is.
    pub what: String,
    /// The figure with its spread, in metric units.
    pub value: String,
    /// Where it stands.
    pub origin: &'static str,
    /// What would make it better known.
    pub settle: String,
    /// Where the spread of a model comes from; null for figures.
    pub source: Option<String>,
    /// How that was obtained; null for figures.
    pub mark: Option<&'static str>,
}

impl From<&Found> for Certainty {
    fn from(found: &Found) -> Self {
        let better = found.better();
        Self {
            schema: "gylewright/certainty/1",
            drawn: found.drawn,
            refused: found.refused,
            refusal: found.refusal.clone(),
            figures: found.figures.iter().map(|f| sure(found, f)).collect(),
            doubts: found.doubts.iter().map(DoubtForm::from).collect(),
            better: better
                .iter()
                .map(|b| better_words(b, Units::Metric))
                .collect(),
        }
    }
}

fn sure(found: &Found, figure: &Sure) -> SureForm {
    let share = |share: &Share| DoubtShareForm {
        doubts: found.doubts_of(share).map(|d| d.path.clone()).collect(),
        first: share.first,
        total: share.total,
    };
    SureForm {
        key: figure.key,
        label: figure.label,
        stage: figure.stage.word(),
        text: figure.print(figure.reckoned, Units::Metric),
        reckoned: figure.reckoned,
        likely: figure.likely,
        low: figure.low,
        high: figure.high,
        sd: figure.sd,
        shares: figure.shares.iter().map(share).collect(),
    }
}

impl From<&Doubt> for DoubtForm {
    fn from(doubt: &Doubt) -> Self {
        Self {
            path: doubt.path.clone(),
            what: doubt.what.clone(),
            value: doubt.text(Units::Metric).to_owned(),
            origin: doubt.origin.word(),
            settle: doubt.settle.clone(),
            source: doubt.source.as_ref().map(|s| s.text.clone()),
            mark: doubt.source.as_ref().map(|s| s.mark.words()),
        }
    }
}

/// The JSON Schema (2020-12) of [`Certainty`].
#[must_use]
pub fn certainty_schema() -> Value {
    super::named::<Certainty>("urn:gylewright:schema:certainty:1")
}

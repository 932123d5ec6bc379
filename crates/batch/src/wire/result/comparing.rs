//! Batches beside each other: what took long is kept, the rest is read from their texts
//! again.

use serde_json::{Value, json};

use super::{Keep, kept};
use crate::certainty::figures::FIGURES;
use crate::comparing::{
    Against, Change, CompareError, Comparison, Difference, Part, Share, laid_beside,
};

kept! {
    Share { part, by, error }
    Change { of, path, before, after }
    Against { parts, told, figures, still, every_order, reckoned, notes }
}

impl Keep for Part {
    fn keep(&self) -> Value {
        json!({
            "what": self.what,
            "stage": self.stage.keep(),
            "changes": self.changes.keep(),
        })
    }

    fn back(kept: &Value) -> Option<Self> {
        Some(Self::told(
            Keep::back(kept.get("what")?)?,
            Keep::back(kept.get("stage")?)?,
            Keep::back(kept.get("changes")?)?,
        ))
    }
}

impl Keep for Difference {
    fn keep(&self) -> Value {
        json!({
            "key": self.key,
            "from": self.from.keep(),
            "to": self.to.keep(),
            "shares": self.shares.keep(),
            "reach": self.reach.keep(),
        })
    }

    fn back(kept: &Value) -> Option<Self> {
        let key = kept.get("key")?.as_str()?;
        let watched = FIGURES.iter().find(|figure| figure.key == key)?;
        Some(Self {
            stage: watched.stage,
            key: watched.key,
            label: watched.label,
            from: Keep::back(kept.get("from")?)?,
            to: Keep::back(kept.get("to")?)?,
            shares: Keep::back(kept.get("shares")?)?,
            reach: Keep::back(kept.get("reach")?)?,
            watched,
        })
    }
}

/// The comparison of texts of which this was kept.
///
/// # Errors
/// [`CompareError::Document`] where one cannot be reckoned: it is not what was compared.
pub(super) fn compared_again(
    texts: &[&str],
    against: Vec<Against>,
) -> Result<Comparison, CompareError> {
    laid_beside(texts, against)
}

//! Batches beside each other: what took long is kept, the rest is read from their texts
//! again.

use serde_json::{Value, json};

use super::{Keep, kept};
use crate::certainty::figures::FIGURES;
use crate::comparing::{
    Against, Between, Change, CompareError, Comparison, Difference, Part, Share, laid_beside,
};

kept! {
    Share { part, by, error }
    Change { of, path, before, after }
    Against { parts, told, figures, still, every_order, reckoned, notes, between }
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

impl Keep for Between {
    fn keep(&self) -> Value {
        json!({ "key": self.key, "low": self.low.keep(), "high": self.high.keep() })
    }

    fn back(kept: &Value) -> Option<Self> {
        let key = kept.get("key")?.as_str()?;
        Some(Self {
            key: FIGURES.iter().find(|figure| figure.key == key)?.key,
            low: Keep::back(kept.get("low")?)?,
            high: Keep::back(kept.get("high")?)?,
        })
    }
}

impl Keep for Difference {
    fn keep(&self) -> Value {
        json!({
            "key": self.key,
            "from": self.from.keep(),
            "to": self.to.keep(),
            "shares": self.shares.keep(),
            "between": self.between.keep(),
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
            between: Keep::back(kept.get("between")?)?,
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

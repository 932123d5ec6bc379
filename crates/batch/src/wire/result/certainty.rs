//! How sure a batch is.

use serde_json::{Value, json};

use super::{Keep, kept, kept_by_word};
use crate::certainty::figures::FIGURES;
use crate::certainty::{Certainty, Doubt, Origin, Share, Sure};

const ORIGINS: [Origin; 3] = [Origin::Document, Origin::Class, Origin::Model];

kept_by_word! {
    Origin: ORIGINS, Origin::word;
}

kept! {
    Share { doubts, first, total }
    Doubt { path, what, value, origin, settle, source }
    Certainty { figures, doubts, drawn, refused, refusal }
}

/// The numbers; how they are printed comes from the figure.
impl Keep for Sure {
    fn keep(&self) -> Value {
        json!({
            "key": self.key,
            "reckoned": self.reckoned.keep(),
            "likely": self.likely.keep(),
            "low": self.low.keep(),
            "high": self.high.keep(),
            "sd": self.sd.keep(),
            "quantiles": self.quantiles.keep(),
            "shares": self.shares.keep(),
        })
    }

    fn back(kept: &Value) -> Option<Self> {
        let key = kept.get("key")?.as_str()?;
        let figure = FIGURES.iter().find(|figure| figure.key == key)?;
        let number = |name: &str| f64::back(kept.get(name)?);
        Some(Self {
            stage: figure.stage,
            key: figure.key,
            label: figure.label,
            reckoned: number("reckoned")?,
            likely: number("likely")?,
            low: number("low")?,
            high: number("high")?,
            sd: number("sd")?,
            quantiles: Keep::back(kept.get("quantiles")?)?,
            shares: Keep::back(kept.get("shares")?)?,
            show: figure.show,
            between: figure.between,
        })
    }
}

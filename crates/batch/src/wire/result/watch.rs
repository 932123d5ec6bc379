//! The whole posterior of a fermentation.

use ferment::watch::{Likely, Posterior};
use quantity::Quantity;
use serde_json::{Value, json};

use super::{Keep, kept};

kept! {
    Posterior { end, now, nine_tenths, divergences, r_hat, effective, gradients }
}

impl<Q: Quantity> Keep for Likely<Q> {
    fn keep(&self) -> Value {
        let ends = [self.low, self.middle, self.high];
        json!(ends.map(|end| end.canonical().keep()))
    }

    fn back(kept: &Value) -> Option<Self> {
        let end = |n: usize| Some(Q::from_canonical(f64::back(kept.get(n)?)?));
        Some(Self {
            low: end(0)?,
            middle: end(1)?,
            high: end(2)?,
        })
    }
}

//! What a house learns: which causes it had, and whether a remedy worked.

use std::collections::BTreeMap;

use crate::error::{InquiryError, share};
use crate::knowledge::Knowledge;

/// Batches that a house history must outweigh: a prior counts like ten batches.
/// Judgement.
const PRIOR_BATCHES: f64 = 10.0;

/// Chance that a remedy takes the fault away where its cause was the one: judgement.
const WORKS: f64 = 0.9;

/// Chance that the fault stays away in the next batch by itself: judgement.
const GONE_ANYWAY: f64 = 0.3;

/// What a house had before.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct House {
    /// Batches that it looks back on, the sound ones too.
    pub batches: u32,
    /// How many of them had each cause: the sum of its chances, by key.
    pub had: BTreeMap<String, f64>,
}

impl House {
    /// Takes in one more batch, with the chance of each cause that it was found to have.
    pub fn learn<'a>(&mut self, chances: impl IntoIterator<Item = (&'a str, f64)>) {
        self.batches += 1;
        for (cause, chance) in chances {
            *self.had.entry(cause.to_owned()).or_default() += chance.clamp(0.0, 1.0);
        }
    }

    /// Priors that the history leaves, before facts of a batch:
    /// (10 · prior + had) / (10 + batches), so that a house is believed as it gathers
    /// batches.
    pub(crate) fn priors(&self, k: &Knowledge) -> Result<Vec<f64>, InquiryError> {
        let batches = f64::from(self.batches);
        let mut had = vec![0.0; k.causes.len()];
        for (key, times) in &self.had {
            had[k.cause(key)?] = share(
                "how often a cause was had, by batch",
                times / batches.max(1.0),
            )? * batches;
        }
        let prior = |(c, had): (&crate::Cause, &f64)| {
            (PRIOR_BATCHES * c.prior + had) / (PRIOR_BATCHES + batches)
        };
        Ok(k.causes.iter().zip(&had).map(prior).collect())
    }
}

/// Chance that a cause was the one \[–\], once its remedy was tried alone in the next
/// batch and the fault is gone or not.
///
/// Bayes: gone with 0.9 + 0.1 · 0.3 where it was, with 0.3 where it was not.
///
/// # Errors
/// [`InquiryError::Share`] for a chance outside 0 to 1.
pub fn after_remedy(chance: f64, gone: bool) -> Result<f64, InquiryError> {
    let chance = share("the chance of a cause", chance)?;
    let said = |p: f64| if gone { p } else { 1.0 - p };
    let (with, without) = (said(WORKS + (1.0 - WORKS) * GONE_ANYWAY), said(GONE_ANYWAY));
    Ok(chance * with / (chance * with + (1.0 - chance) * without))
}

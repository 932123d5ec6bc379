//! What a document says of learning: that its batch does not count, and which of its
//! values were learned.

use quantity::{Mark, Measured, Quantity, parse_measured};

use crate::defaults::default_for;
use crate::document::{Document, whole};
use crate::edit::written_values;
use crate::reader::{Assumption, Reader};

/// The section `[learning]`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LearningSection {
    /// Why nothing is learned from this batch; none where it counts.
    pub left_out: Option<String>,
    /// Values that were taken from other batches.
    pub taken: Vec<Taken>,
}

/// A value that was learned from other batches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Its key, such as `kit.evaporation`.
    pub key: String,
    /// As it was written.
    pub value: String,
    /// From how many batches.
    pub batches: u32,
    /// What stood there before; none where nothing did.
    pub before: Option<String>,
}

/// The keys of `[learning]`.
pub(crate) fn section(r: &mut Reader<'_>) -> LearningSection {
    LearningSection {
        left_out: r
            .text(
                "left_out",
                "why nothing is to be learned from this batch, such as \"the tap of the kettle leaked\"",
            )
            .optional(),
        taken: r.sections("taken", "a value that was learned from other batches", taken),
    }
}

fn taken(r: &mut Reader<'_>) -> Taken {
    Taken {
        key: r
            .text("key", "the key whose value it is, such as kit.evaporation")
            .required(),
        value: r
            .text("value", "the value as it was learned; one that was changed since is nobody's but the document's")
            .required(),
        batches: whole(r, "batches", "from how many batches", 9_999).unwrap_or(1),
        before: r.text("before", "what stood there before").optional(),
    }
}

impl LearningSection {
    /// The entry of a key.
    #[must_use]
    pub fn of(&self, key: &str) -> Option<&Taken> {
        self.taken.iter().find(|t| t.key == key)
    }
}

impl Document {
    /// Drops the entries of values that somebody changed since, and lists the others
    /// beside what was assumed.
    pub(crate) fn tell_taken(&mut self, text: &str, assumptions: &mut Vec<Assumption>) {
        if self.learning.taken.is_empty() {
            return;
        }
        let written = written_values(text).unwrap_or_default();
        self.learning
            .taken
            .retain(|t| written.get(&t.key) == Some(&t.value));
        assumptions.extend(self.learning.taken.iter().map(|t| Assumption {
            path: t.key.clone(),
            value: t.value.clone(),
            source: from_batches(t.batches),
            mark: Mark::Computed,
        }));
    }
}

/// "learned from 7 batches".
pub(crate) fn from_batches(batches: u32) -> String {
    let plural = if batches == 1 { "" } else { "es" };
    format!("learned from {batches} batch{plural}")
}

/// What a key said before anything was learned of it.
pub(super) fn before<Q: Quantity>(d: &Document, key: &str, now: Measured<Q>) -> Measured<Q> {
    let Some(taken) = d.learning.of(key) else {
        return now;
    };
    let written = match &taken.before {
        Some(before) => before.as_str(),
        None => &default_for(key).value,
    };
    parse_measured(written).unwrap_or(now)
}

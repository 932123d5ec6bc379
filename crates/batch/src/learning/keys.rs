//! What a document says of learning: that its batch does not count, and which of its
//! values were learned.

use quantity::{Mark, Measured, Quantity, parse_measured};

use super::forget::Forget;
use crate::defaults::default_for;
use crate::document::{Document, whole};
use crate::edit::written_values;
use crate::reader::{Assumption, Reader};

/// The section `[learning]`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LearningSection {
    /// Why nothing is learned from this batch; none where it counts.
    pub left_out: Option<String>,
    /// How the age of the batches counts that it learns from; none where nothing is said.
    pub half_life: Option<Forget>,
    /// Values that were taken from other batches.
    pub taken: Vec<Taken>,
}

/// A value that was learned from other batches, or from the analyses of a water.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Its key, such as `kit.evaporation`.
    pub key: String,
    /// As it was written.
    pub value: String,
    /// From how many batches, or analyses.
    pub batches: u32,
    /// How their age counted, as written; none where nothing was forgotten.
    pub half_life: Option<String>,
    /// The day that it is for, where it changes with the season.
    pub day: Option<String>,
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
        half_life: half_life(r),
        taken: r.sections("taken", "a value that was learned from other batches", taken),
    }
}

fn half_life(r: &mut Reader<'_>) -> Option<Forget> {
    let written = r
        .text(
            "half_life",
            "when a batch that it learns from counts half: \"10 batches\", \"18 months\", \"never\"",
        )
        .optional()?;
    match Forget::read(&written) {
        Ok(read) => Some(read),
        Err(error) => {
            r.fault(
                Some("half_life"),
                error.to_string(),
                "write it such as \"10 batches\" or \"18 months\"",
            );
            None
        }
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
        batches: whole(r, "batches", "from how many batches, or analyses of the water", 9_999).unwrap_or(1),
        half_life: r
            .text("half_life", "how their age counted, such as \"10 batches\"")
            .optional(),
        day: r
            .text("day", "the day that it is for, where it changes with the season")
            .optional(),
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
            source: t.from(),
            mark: Mark::Computed,
        }));
    }
}

impl Taken {
    /// "learned from 7 batches, of which one counts half after 10 batches".
    fn from(&self) -> String {
        let mut from = if self.key.starts_with(OF_WATER) {
            from_analyses(self.batches)
        } else {
            from_batches(self.batches)
        };
        if let Some(day) = &self.day {
            from.push_str(&format!(", for {day}"));
        }
        if let Some(half) = &self.half_life {
            from.push_str(&format!(", of which one counts half after {half}"));
        }
        from
    }
}

/// Where the keys of waters begin.
pub(super) const OF_WATER: &str = "water.source[";

/// "learned from 7 batches".
pub(crate) fn from_batches(batches: u32) -> String {
    let plural = if batches == 1 { "" } else { "es" };
    format!("learned from {batches} batch{plural}")
}

/// "learned from 7 analyses".
pub(crate) fn from_analyses(analyses: u32) -> String {
    let plural = if analyses == 1 {
        "analysis"
    } else {
        "analyses"
    };
    format!("learned from {analyses} {plural}")
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

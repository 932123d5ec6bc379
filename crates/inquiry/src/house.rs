//! What a house learns: which causes its other batches had, and whether a remedy worked.

use std::collections::BTreeMap;

use crate::answer::{inquire_briefly, odds_of};
use crate::error::{InquiryError, share};
use crate::facts::{Facts, shifted};
use crate::knowledge::{Cause, Knowledge};
use crate::question::{Finding, Question};

/// Batches that a house history must outweigh: a prior counts like ten batches.
/// Judgement.
const PRIOR_BATCHES: f64 = 10.0;

/// Chance that a remedy takes the fault away where its cause was the one: judgement.
const WORKS: f64 = 0.9;

/// Chance that the fault stays away in the next batch by itself: judgement.
const GONE_ANYWAY: f64 = 0.3;

/// How surely a house would have noticed a fault of a batch that it calls sound:
/// judgement.
const NOTICED: f64 = 0.7;

/// A chance is never quite 0 or 1, so that odds are finite.
const LEAST: f64 = 1e-9;

/// A shift of the odds of a cause that is not worth telling: judgement.
const TELLING: f64 = 1.02;

/// What a house had before.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct House {
    /// Batches that it looks back on, the sound ones too.
    pub batches: Vec<Before>,
}

/// One batch before, and what it says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Before {
    /// What it is called.
    pub name: String,
    /// Chance \[–\] that it had each cause of which it speaks, by key.
    pub had: BTreeMap<String, f64>,
}

/// What another batch has in common with this one; it speaks of the causes of that
/// alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Common {
    /// The same water.
    pub water: bool,
    /// The same yeast.
    pub yeast: bool,
    /// The same vessels, and who brews with them.
    pub kit: bool,
}

impl Common {
    /// Whether it speaks of causes of a stage (judgement): of the water where that is the
    /// same, of the fermentation where the yeast is, of all others where the kit is.
    #[must_use]
    pub fn speaks_of(self, stage: &str) -> bool {
        match stage {
            "water" => self.water,
            "fermentation" => self.yeast,
            _ => self.kit,
        }
    }

    /// In words: "the same water and kit"; none where nothing is.
    #[must_use]
    pub fn words(self) -> Option<String> {
        let named = [
            (self.water, "water"),
            (self.yeast, "yeast"),
            (self.kit, "kit"),
        ];
        let held: Vec<&str> = named.iter().filter(|n| n.0).map(|n| n.1).collect();
        let (last, first) = held.split_last()?;
        Some(if first.is_empty() {
            format!("the same {last}")
        } else {
            format!("the same {} and {last}", first.join(", "))
        })
    }
}

/// What one batch did to the chance of a cause before anything was tasted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moved {
    /// Which.
    pub cause: &'static str,
    /// Factor on the odds: above 1 it speaks for the cause.
    pub odds: f64,
}

impl House {
    /// Takes in one more batch, with the chance of each cause of which it speaks.
    pub fn learn<'a>(&mut self, name: &str, had: impl IntoIterator<Item = (&'a str, f64)>) {
        let had = had.into_iter().map(|(cause, p)| (cause.to_owned(), p));
        self.batches.push(Before {
            name: name.to_owned(),
            had: had.collect(),
        });
    }

    /// Priors that the history leaves, before facts of a batch:
    /// (10 · prior + had) / (10 + batches that speak of the cause), so that a house is
    /// believed as it gathers batches.
    pub(crate) fn priors(&self, k: &Knowledge) -> Result<Vec<f64>, InquiryError> {
        let sums = self.sums(k)?.into_iter();
        Ok(sums.map(|(had, of)| had / of).collect())
    }

    /// Of each cause, how many batches had it, and of how many; its prior among them.
    fn sums(&self, k: &Knowledge) -> Result<Vec<(f64, f64)>, InquiryError> {
        let prior = |c: &Cause| (PRIOR_BATCHES * c.prior, PRIOR_BATCHES);
        let mut sums: Vec<(f64, f64)> = k.causes.iter().map(prior).collect();
        for batch in &self.batches {
            for (cause, had) in &batch.had {
                let sum = &mut sums[k.cause(cause)?];
                sum.0 += share("how likely a batch had a cause", *had)?;
                sum.1 += 1.0;
            }
        }
        Ok(sums)
    }

    /// What each batch of the history did to the causes, the most first: the odds with it
    /// over those without it.
    ///
    /// # Errors
    /// [`InquiryError::Unknown`] and [`InquiryError::Share`] for a history that cannot be.
    pub fn moved(&self) -> Result<Vec<Vec<Moved>>, InquiryError> {
        let k = Knowledge::built_in();
        let sums = self.sums(k)?;
        let odds = |had: f64, of: f64| had / (of - had);
        let moved_by = |batch: &Before| -> Result<Vec<Moved>, InquiryError> {
            let mut moved = Vec::new();
            for (cause, own) in &batch.had {
                let cause = k.cause(cause)?;
                let (had, of) = sums[cause];
                moved.push(Moved {
                    cause: &k.causes[cause].key,
                    odds: odds(had, of) / odds(had - own, of - 1.0),
                });
            }
            moved.retain(|m| m.odds.max(1.0 / m.odds) > TELLING);
            moved.sort_by(|a, b| b.odds.ln().abs().total_cmp(&a.odds.ln().abs()));
            Ok(moved)
        };
        self.batches.iter().map(moved_by).collect()
    }
}

/// What one batch says of each cause \[–\], by key: the chance that it had it, with the
/// odds that its own facts gave taken out, so that a batch that was brewed amiss blames
/// the house no more than it should.
///
/// # Errors
/// [`InquiryError`] for a question that cannot be weighed.
pub fn heard(facts: &Facts, question: &Question) -> Result<Vec<(&'static str, f64)>, InquiryError> {
    let plain = Facts {
        house: House::default(),
        ..facts.clone()
    };
    let held = plain.holding();
    let answer = inquire_briefly(&plain, question)?;
    let chances = answer.causes.iter().map(|c| {
        let factor = odds_of(&held, &c.cause.key);
        let chance = c.chance.clamp(LEAST, 1.0 - LEAST);
        (c.cause.key.as_str(), shifted(chance, 1.0 / factor))
    });
    Ok(chances.collect())
}

impl Question {
    /// What is found in a batch that a house calls sound: nothing that can be smelled,
    /// tasted or seen, though a fault is noticed in 7 of 10 cases only (judgement).
    #[must_use]
    pub fn sound(wanted: Vec<String>) -> Self {
        let rows = Knowledge::built_in().findings.iter();
        let noticed = rows.filter(|row| row.sense != "measured");
        let absent = |key: &str| Finding {
            keen: NOTICED,
            by: None,
            ..Finding::absent(key)
        };
        Self {
            findings: noticed.map(|row| absent(&row.key)).collect(),
            results: Vec::new(),
            wanted,
        }
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

//! The question as a person writes it: which waters, and what can be added.

use water::choice::Candidate;
use water::design::Task;

use super::waters::{Kept, Water, distilled, waters};
use crate::liquor::Wrong;
use crate::liquor::minerals::{self, Asks, AtHand};
use crate::stream::Reckoning;

/// A water to choose from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wanted {
    /// Its key, or its name.
    pub water: String,
    /// What a litre costs; empty for nothing. What has a price is carried home, so
    /// that its litres count, at a price of 0 too.
    pub price: String,
    /// How much there is, such as "10 L"; empty where there is plenty.
    pub amount: String,
}

/// What is asked beside the document.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Question {
    /// The waters.
    pub waters: Vec<Wanted>,
    /// Salts, acids, distilled water, and how finely. What is said there of boiling,
    /// lime and the blend is left aside.
    pub minerals: minerals::Question,
}

/// The most waters: each is tried with each other, season by season (judgement).
pub const MOST_WATERS: usize = 6;

/// The most kinds of addition of which the best few are sought, water by water and
/// season by season.
const MOST_TO_PICK_FROM: usize = 8;

/// A question, read.
pub(super) struct Read {
    pub(super) at_hand: AtHand,
    pub(super) waters: Vec<Water>,
    pub(super) candidates: Vec<Candidate>,
}

impl Read {
    /// Whether anything has a price.
    pub(super) fn priced(&self, task: &Task) -> bool {
        self.candidates.iter().any(|c| c.price_per_litre.is_some())
            || task.salts.iter().any(|s| s.price_per_kg.is_some())
            || task.acids.iter().any(|a| a.price_per_litre_or_kg.is_some())
            || task.acid_malt.is_some_and(|m| m.price_per_kg.is_some())
    }
}

impl Question {
    /// The waters of the library and those of the batch that are not in it by their
    /// name, as many as can be compared; the usual salts and acid.
    #[must_use]
    pub fn usual(r: &Reckoning, kept: &[Kept]) -> Self {
        let all = waters(r, kept);
        let in_library = |name: &str| {
            let mut kept = all.iter().filter(|water| water.source.is_none());
            kept.any(|water| water.name.trim().eq_ignore_ascii_case(name.trim()))
        };
        let wanted = all
            .iter()
            .filter(|water| water.source.is_none() || !in_library(&water.name));
        Self {
            waters: wanted
                .take(MOST_WATERS)
                .map(|water| Wanted {
                    water: water.key.clone(),
                    ..Wanted::default()
                })
                .collect(),
            minerals: minerals::Question::usual(r),
        }
    }

    /// The water of this key, where it is asked about.
    #[must_use]
    pub fn wants(&self, key: &str) -> Option<&Wanted> {
        self.waters.iter().find(|wanted| wanted.water == key)
    }

    pub(super) fn read(&self, r: &Reckoning, kept: &[Kept]) -> Result<Read, Vec<Wrong>> {
        let mut asks = Asks::default();
        let at_hand = match AtHand::of(&self.minerals) {
            Ok(at_hand) => Some(at_hand),
            Err(wrong) => {
                asks.wrong.extend(wrong);
                None
            }
        };
        let all = waters(r, kept);
        let mut read: (Vec<Water>, Vec<Candidate>) = (vec![], vec![]);
        let is_asked = |water: &&Water| self.waters.iter().any(|w| water.goes_by(&w.water));
        let asked: Vec<&Water> = all.iter().filter(is_asked).collect();
        for wanted in &self.waters {
            let price = asks.money(&format!("price.{}", wanted.water), &wanted.price);
            let amount = asks.amount(&format!("amount.{}", wanted.water), &wanted.amount);
            match all.iter().find(|water| water.goes_by(&wanted.water)) {
                Some(water) => match water.candidate(price, amount) {
                    Ok(candidate) => {
                        let alike = asked.iter().filter(|other| other.name == water.name);
                        let name = if alike.count() > 1 {
                            &water.title
                        } else {
                            &water.name
                        };
                        read.0.push(water.clone());
                        read.1.push(Candidate {
                            name: name.clone(),
                            ..candidate
                        });
                    }
                    Err(error) => asks.wrong("water", error.to_string()),
                },
                None => asks.wrong("water", not_there(&wanted.water, &all)),
            }
        }
        if let Some(at_hand) = &at_hand
            && at_hand.at_most_kinds.is_some()
            && at_hand.kinds() > MOST_TO_PICK_FROM
        {
            asks.wrong(
                "most",
                format!(
                    "the best few of {} kinds cannot be sought for every water; tick {MOST_TO_PICK_FROM} \
                     at most, or leave this empty",
                    at_hand.kinds()
                ),
            );
        }
        if let Some(bought) = at_hand.as_ref().and_then(|at_hand| at_hand.distilled) {
            let water = distilled();
            if let Ok(candidate) = water.candidate(bought.price_per_litre, bought.at_hand) {
                read.0.push(water);
                read.1.push(candidate);
            }
        }
        let (waters, candidates) = read;
        match waters.len() {
            0 if asks.wrong.is_empty() => {
                asks.wrong("water", "no water is chosen; tick one or more".to_owned());
            }
            n if n > MOST_WATERS => asks.wrong(
                "water",
                format!(
                    "{n} waters are too many to try each with each; take {MOST_WATERS} at most"
                ),
            ),
            _ => {}
        }
        match at_hand {
            Some(at_hand) if asks.wrong.is_empty() => Ok(Read {
                at_hand,
                waters,
                candidates,
            }),
            _ => Err(asks.wrong),
        }
    }
}

fn not_there(written: &str, all: &[Water]) -> String {
    let known: Vec<String> = all
        .iter()
        .map(|water| format!("{:?} ({})", water.key, water.name))
        .collect();
    format!(
        "there is no water {written:?} to choose from; there are {}",
        known.join(", ")
    )
}

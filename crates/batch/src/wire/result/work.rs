//! Work that is asked for, and what came of it.

use ferment::watch::Sampling;
use serde_json::{Value, json};

use super::{Keep, compared_again, kept};
use crate::certainty;
use crate::comparing::{self, Against};
use crate::job::{Found, Outcome, Refusal, Work};
use crate::log::{LogReading, What};
use crate::matching::{Destination, TypedMatch};
use crate::watch::Moments;

kept! {
    Refusal { told, faults, of_question, which }
    certainty::Question { draws, points, seed }
    comparing::Question { draws, finely, orders, seed }
    Destination { volume, altitude, brewhouse, water }
    Moments { pitched_ms, now_ms, undated }
    Sampling { chains, warm_up, draws }
}

impl Keep for TypedMatch {
    fn keep(&self) -> Value {
        let pairs = self.pairs();
        pairs.map(|(name, text)| json!([name, text])).collect()
    }

    fn back(kept: &Value) -> Option<Self> {
        let pairs: Vec<(String, String)> = Keep::back(kept)?;
        Some(pairs.into_iter().collect())
    }
}

impl Keep for LogReading {
    fn keep(&self) -> Value {
        json!({
            "instrument": self.instrument,
            "what": self.what.word(),
            "at_ms": self.at_ms,
            "value": self.value.keep(),
            "unit": self.unit,
            "canonical": self.canonical.keep(),
            "lapsed_sd": self.lapsed_sd.keep(),
            "raw": self.raw,
        })
    }

    fn back(kept: &Value) -> Option<Self> {
        let what = What::of_word(kept.get("what")?.as_str()?)?;
        Some(Self {
            what,
            unit: what.unit(kept.get("unit")?.as_str()?)?.symbol,
            instrument: Keep::back(kept.get("instrument")?)?,
            at_ms: Keep::back(kept.get("at_ms")?)?,
            value: Keep::back(kept.get("value")?)?,
            canonical: Keep::back(kept.get("canonical")?)?,
            lapsed_sd: Keep::back(kept.get("lapsed_sd")?)?,
            raw: Keep::back(kept.get("raw")?)?,
        })
    }
}

impl Keep for Work {
    fn keep(&self) -> Value {
        let kind = self.kind();
        match self {
            Self::Match {
                text,
                typed,
                stores,
            } => json!({
                "kind": kind,
                "text": text,
                "typed": typed.keep(),
                "stores": stores,
            }),
            Self::Move {
                text,
                to,
                typed,
                stores,
            } => json!({
                "kind": kind,
                "text": text,
                "to": to.keep(),
                "typed": typed.keep(),
                "stores": stores,
            }),
            Self::Certainty { text, question } => json!({
                "kind": kind,
                "text": text,
                "question": question.keep(),
            }),
            Self::Compare { texts, question } => json!({
                "kind": kind,
                "texts": texts,
                "question": question.keep(),
            }),
            Self::Posterior {
                text,
                readings,
                moments,
                sampling,
            } => json!({
                "kind": kind,
                "text": text,
                "readings": readings.keep(),
                "moments": moments.keep(),
                "sampling": sampling.keep(),
            }),
        }
    }

    fn back(kept: &Value) -> Option<Self> {
        let of = |name: &str| kept.get(name);
        let text = || String::back(of("text")?);
        Some(match of("kind")?.as_str()? {
            "match" => Self::Match {
                text: text()?,
                typed: Keep::back(of("typed")?)?,
                stores: Keep::back(of("stores")?)?,
            },
            "move" => Self::Move {
                text: text()?,
                to: Keep::back(of("to")?)?,
                typed: Keep::back(of("typed")?)?,
                stores: Keep::back(of("stores")?)?,
            },
            "certainty" => Self::Certainty {
                text: text()?,
                question: Keep::back(of("question")?)?,
            },
            "compare" => Self::Compare {
                texts: Keep::back(of("texts")?)?,
                question: Keep::back(of("question")?)?,
            },
            "posterior" => Self::Posterior {
                text: text()?,
                readings: Keep::back(of("readings")?)?,
                moments: Keep::back(of("moments")?)?,
                sampling: Keep::back(of("sampling")?)?,
            },
            _ => return None,
        })
    }
}

/// What came of work, as text.
#[must_use]
pub fn write_outcome(outcome: &Outcome) -> String {
    match outcome {
        Err(refusal) => json!({ "refused": refusal.keep() }),
        Ok(found) => json!({
            "found": match found {
                Found::Match(found) => found.keep(),
                Found::Move(found) => found.keep(),
                Found::Certainty(found) => found.keep(),
                Found::Compare(found) => found.against.keep(),
                Found::Posterior(found) => found.keep(),
            },
        }),
    }
    .to_string()
}

/// What came of this work, from the text; none for a text of other work, or one that this
/// version of the program did not write.
#[must_use]
pub fn read_outcome(work: &Work, text: &str) -> Option<Outcome> {
    let kept: Value = serde_json::from_str(text).ok()?;
    if let Some(refused) = kept.get("refused") {
        return Refusal::back(refused).map(Err);
    }
    let found = kept.get("found")?;
    Some(Ok(match work {
        Work::Match { .. } => Found::Match(Keep::back(found)?),
        Work::Move { .. } => Found::Move(Keep::back(found)?),
        Work::Certainty { .. } => Found::Certainty(Keep::back(found)?),
        Work::Compare { texts, .. } => {
            let against: Vec<Against> = Keep::back(found)?;
            let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
            Found::Compare(Box::new(compared_again(&texts, against).ok()?))
        }
        Work::Posterior { .. } => Found::Posterior(Keep::back(found)?),
    }))
}

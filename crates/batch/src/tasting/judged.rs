//! What the answers of a tasting come to.

use std::collections::BTreeMap;

use glass::tasting::{
    ANotA, AttributeJudged, Beer, Difference, Protocol, Replicated, Replicates, Scored, Similarity,
    Standing, StopRule, TastingError, attributes, difference, replicated, similarity,
};

use super::said::stop_sentences;
use super::{Answer, OneGlass, Plan, PlanQuestion, Pours, Stop, Tasting};

/// What is known of a tasting.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// What it could show before it was poured.
    pub plan: Plan,
    /// Right answers.
    pub right: u32,
    /// Answers.
    pub answered: u32,
    /// Tastings that were planned.
    pub planned: u32,
    /// Each taster's count.
    pub tasters: Vec<TasterCount>,
    /// Whether it is over, so that the key may be opened.
    pub over: bool,
    /// Where the stopping rule stands; none without one.
    pub standing: Option<Standing>,
    /// The difference; none before the first answer.
    pub difference: Option<Difference>,
    /// What single glasses say; none in other ways of asking, and before both beers
    /// were answered.
    pub one_glass: Option<OneGlass>,
    /// Whether a size of the difference may be said.
    pub sized: bool,
    /// Likeness, where a limit was set.
    pub similarity: Option<Similarity>,
    /// How much tasters vary, where several tasted several times.
    pub replicated: Option<Replicated>,
    /// Scores.
    pub attributes: Vec<AttributeJudged>,
    /// The result in one sentence.
    pub headline: String,
    /// What it can say.
    pub can_say: Vec<String>,
    /// What it cannot say.
    pub cannot_say: Vec<String>,
}

/// The answers of one taster.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TasterCount {
    /// Who.
    pub name: String,
    /// Right answers.
    pub right: u32,
    /// Answers.
    pub answered: u32,
    /// Tastings that were planned.
    pub planned: u32,
}

impl Judged {
    /// Judges a tasting as far as it has come.
    ///
    /// # Errors
    /// [`TastingError`] for figures of the document that cannot be.
    pub fn of(tasting: &Tasting) -> Result<Self, TastingError> {
        let right = tasting.answers.iter().filter(|a| a.right).count() as u32;
        let answered = tasting.answers.len() as u32;
        let tasters: Vec<TasterCount> = tasting
            .tasters
            .iter()
            .map(|name| count(tasting, name))
            .collect();
        let standing = standing(tasting, right, answered)?;
        let over = answered >= tasting.tastings
            || standing.is_some_and(|standing| standing != Standing::Open);
        let mut judged = Self {
            plan: Plan::of(PlanQuestion {
                protocol: tasting.protocol,
                tastings: tasting.tastings,
                difference: tasting.difference,
                false_alarm: tasting.false_alarm,
                missed: tasting.missed,
            })?,
            right,
            answered,
            planned: tasting.tastings,
            over,
            standing,
            one_glass: single(tasting)?,
            difference: (answered > 0 && tasting.protocol != Protocol::OneGlass)
                .then(|| difference(tasting.protocol, right, answered, tasting.false_alarm))
                .transpose()?,
            sized: tasting.pours != Pours::OwnHand,
            similarity: likeness(tasting, &tasters, right, answered)?,
            replicated: spread(tasting, &tasters),
            attributes: attributes(&scored(tasting))?,
            tasters,
            headline: String::new(),
            can_say: Vec::new(),
            cannot_say: Vec::new(),
        };
        if let Some(rule) = rule(tasting)? {
            judged.plan.says = stop_sentences(tasting, &rule);
        }
        judged.headline = judged.said(tasting);
        judged.can_say = judged.can();
        judged.cannot_say = judged.cannot(tasting);
        Ok(judged)
    }

    /// Whether a difference is shown, by the rule that was set.
    #[must_use]
    pub fn shown(&self) -> bool {
        match self.standing {
            Some(standing) => standing == Standing::Different,
            None => {
                let one = self.one_glass.as_ref().is_some_and(|o| o.judged.shown());
                self.over && (one || self.difference.is_some_and(|d| d.shown()))
            }
        }
    }
}

fn count(tasting: &Tasting, name: &str) -> TasterCount {
    let (mut right, mut answered, mut planned) = (0, 0, 0);
    for number in tasting.tastings_of(name) {
        planned += 1;
        if let Some(answer) = tasting.answer(number) {
            answered += 1;
            right += u32::from(answer.right);
        }
    }
    TasterCount {
        name: name.to_owned(),
        right,
        answered,
        planned,
    }
}

/// The stopping rule is followed answer by answer, in the order of the tastings:
/// the first line that was reached counts.
fn standing(
    tasting: &Tasting,
    right: u32,
    answered: u32,
) -> Result<Option<Standing>, TastingError> {
    let Some(rule) = rule(tasting)? else {
        return Ok(None);
    };
    let (mut so_far, mut n) = (0, 0);
    for answer in &tasting.answers {
        n += 1;
        so_far += u32::from(answer.right);
        let now = rule.standing(so_far, n)?;
        if now != Standing::Open {
            return Ok(Some(now));
        }
    }
    rule.standing(right, answered).map(Some)
}

/// The stopping rule, where one was set.
fn rule(tasting: &Tasting) -> Result<Option<StopRule>, TastingError> {
    if tasting.stop == Stop::Fixed {
        return Ok(None);
    }
    StopRule::for_d_prime(
        tasting.protocol,
        tasting.difference,
        tasting.false_alarm,
        tasting.missed,
        tasting.tastings,
    )
    .map(Some)
}

/// Only where each taster answered once: otherwise answers hang together.
fn likeness(
    tasting: &Tasting,
    tasters: &[TasterCount],
    right: u32,
    answered: u32,
) -> Result<Option<Similarity>, TastingError> {
    match tasting.alike {
        Some(limit) if answered > 0 && tasters.iter().all(|t| t.answered <= 1) => {
            similarity(tasting.protocol, right, answered, limit, tasting.missed).map(Some)
        }
        _ => Ok(None),
    }
}

/// Single glasses, once both beers were answered.
fn single(tasting: &Tasting) -> Result<Option<OneGlass>, TastingError> {
    let called = |beer: Beer| {
        let of = |a: &&Answer| {
            let at = (a.tasting as usize).saturating_sub(1);
            let serving = tasting.design.servings.get(at);
            serving.is_some_and(|s| s.glasses == [beer])
        };
        let answers = tasting.answers.iter().filter(of);
        answers.fold((0, 0), |(other, all), a| {
            (other + u32::from(!a.glasses.is_empty()), all + 1)
        })
    };
    let ((hits, batch_glasses), (false_alarms, reference_glasses)) =
        (called(Beer::Batch), called(Beer::Reference));
    if tasting.protocol != Protocol::OneGlass || batch_glasses == 0 || reference_glasses == 0 {
        return Ok(None);
    }
    let answers = ANotA {
        hits,
        batch_glasses,
        false_alarms,
        reference_glasses,
    };
    OneGlass::of(answers, tasting.false_alarm).map(Some)
}

fn spread(tasting: &Tasting, tasters: &[TasterCount]) -> Option<Replicated> {
    if tasting.protocol == Protocol::OneGlass {
        return None;
    }
    let panel: Vec<Replicates> = tasters
        .iter()
        .filter(|t| t.answered > 0)
        .map(|t| Replicates {
            right: t.right,
            tastings: t.answered,
        })
        .collect();
    replicated(tasting.protocol, &panel).ok()
}

fn scored(tasting: &Tasting) -> Vec<Scored> {
    let mut by_name: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for score in &tasting.scores {
        by_name
            .entry(&score.attribute)
            .or_default()
            .push(score.batch - score.reference);
    }
    by_name
        .into_iter()
        .map(|(attribute, differences)| Scored {
            attribute: attribute.to_owned(),
            differences,
        })
        .collect()
}

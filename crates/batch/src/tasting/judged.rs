//! What the answers of a tasting say, and what they cannot say.

use std::collections::BTreeMap;

use glass::tasting::{
    ANotA, AttributeJudged, Beer, Difference, Protocol, Replicated, Replicates, Scored, Similarity,
    Standing, StopRule, TastingError, attributes, difference, replicated, similarity,
};

use super::plan::{percent, plain};
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

    fn said(&self, tasting: &Tasting) -> String {
        let many = tasting.protocol.nouns().1;
        if self.answered == 0 {
            return format!(
                "Nothing is answered yet; {} {many} are planned.",
                self.planned
            );
        }
        let count = format!("{} right of {}", self.right, self.answered);
        if let Some(one) = self.one_glass.as_ref().filter(|_| self.over) {
            return one.headline.clone();
        }
        if !self.over {
            let rest = self.planned - self.answered;
            return format!("{count} so far, up to {rest} to come: pour on.");
        }
        if self.shown() {
            return format!("A difference is shown: {count}.");
        }
        if self.similarity.is_some_and(|s| s.shown()) {
            return format!("No difference is shown, and likeness within the limit is: {count}.");
        }
        format!("No difference is shown: {count}.")
    }

    fn can(&self) -> Vec<String> {
        if let Some(one) = &self.one_glass {
            return one.can_say.clone();
        }
        let Some(d) = self.difference else {
            return Vec::new();
        };
        let mut lines = Vec::new();
        if self.standing.is_none() {
            lines.push(format!(
                "By guessing alone so many right, or more, come up in {} of such tastings.",
                percent(d.p)
            ));
        }
        match self.standing {
            Some(Standing::Different) => lines.push(
                "The line for \"different\", set before the first glass, was reached.".to_owned(),
            ),
            Some(Standing::SmallerThanNamed) => lines.push(format!(
                "The lower line was reached: a difference as large as d' = {} would hardly have given so few right.",
                plain(self.plan.question.difference)
            )),
            Some(Standing::Undecided) => {
                lines.push("The last tasting is done and neither line was reached: undecided.".to_owned());
            }
            _ => {}
        }
        let pd = d.discriminators;
        if let (Some(low), Some(high)) = (pd.low, pd.high) {
            lines.push(format!(
                "The beers were told apart, not guessed, in {} of tastings (between {} and {}, 95 % interval).",
                percent(pd.value.unwrap_or_default()),
                percent(low),
                percent(high)
            ));
        }
        if self.sized {
            lines.push(size(&d));
        }
        lines.extend(self.similarity.map(alike));
        lines.extend(self.replicated.as_ref().map(varied));
        lines
    }

    fn cannot(&self, tasting: &Tasting) -> Vec<String> {
        let mut lines = Vec::new();
        if !self.over && self.standing.is_none() && self.answered > 0 {
            lines.push(format!(
                "Stopping now because it looks good, or bad: the number of {} was set, and looking early makes false alarms likelier.",
                self.planned
            ));
        }
        if let Some(one) = &self.one_glass {
            // Who tasted is known here, and said below.
            let about = |line: &&String| !line.starts_with("Anything about other people");
            lines.extend(one.cannot_say.iter().filter(about).cloned());
        }
        if self.one_glass.is_none()
            && self.over
            && !self.shown()
            && !self.similarity.is_some_and(|s| s.shown())
        {
            lines.push(match self.standing {
                None => format!(
                    "That the beers are alike. {} A smaller difference would mostly go unseen.",
                    super::seen_sentence(&self.plan.power)
                ),
                Some(_) => format!(
                    "That the beers are alike: a difference smaller than d' = {} may be there.",
                    plain(self.plan.question.difference)
                ),
            });
        }
        if self.standing.is_some() && self.over {
            lines.push(
                "The interval and the chance take no account of stopping early; the lines do."
                    .to_owned(),
            );
        }
        if !self.sized {
            lines.push(
                "How large the difference is: who pours knows which beer is the odd one."
                    .to_owned(),
            );
        }
        if let [one] = tasting.tasters.as_slice() {
            lines.push(format!("Anything about other people: only {one} tasted."));
        } else if self.tasters.iter().any(|t| t.answered > 1) {
            lines.push(
                "How people at large would do, from the pooled count alone: the same tasters answered several times."
                    .to_owned(),
            );
        }
        if tasting.alike.is_some() && self.similarity.is_none() && self.answered > 0 {
            lines.push(
                "Likeness: that test needs one tasting from each taster, and some tasted more often.".to_owned(),
            );
        }
        lines.push("Why the beers differ, or which is better: it was not asked.".to_owned());
        lines
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

/// What the rule comes to, cut off where it is.
fn stop_sentences(tasting: &Tasting, rule: &StopRule) -> Vec<String> {
    let risks = rule.risks();
    let d = plain(tasting.difference);
    let mut lines = vec![
        format!(
            "It ends as soon as enough is known: after about {} tastings if there is no difference, about {} if it is d' = {d}; at {} at the latest.",
            plain(risks.tastings_if_none.round()),
            plain(risks.tastings_if_there.round()),
            tasting.tastings
        ),
        format!(
            "Then a difference that is none is called in {} of cases, one of d' = {d} is taken for smaller in {}, and such a one ends undecided in {}.",
            percent(risks.alpha),
            percent(risks.beta),
            percent(risks.undecided_if_there)
        ),
    ];
    // Where the lines stand early on, so that whoever pours can follow them on paper.
    for n in [6, 12, 18, 24]
        .into_iter()
        .filter(|&n| n <= tasting.tastings)
    {
        let (low, high) = rule.lines(n);
        let low = low.map_or_else(
            || "none ends it as smaller yet".to_owned(),
            |low| format!("{low} or fewer end it as smaller"),
        );
        let high = if high <= n {
            format!("{high} or more right end it as different")
        } else {
            "none ends it as different yet".to_owned()
        };
        lines.push(format!("After {n}: {high}, {low}."));
    }
    lines
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

fn size(d: &Difference) -> String {
    let low = plain(d.d_prime.low.unwrap_or_default());
    match (d.d_prime.value, d.d_prime.high) {
        (Some(value), Some(high)) => format!(
            "The difference is about d' = {} (between {low} and {}, 95 % interval); 1 is hard to tell, 2 plain to a practised taster, 3 gross (judgement).",
            plain(value),
            plain(high)
        ),
        (Some(value), None) => format!(
            "The difference is about d' = {}, at least {low}; how large at most cannot be told.",
            plain(value)
        ),
        (None, _) => format!(
            "Every answer was right: the difference is at least d' = {low}; how large at most cannot be told."
        ),
    }
}

fn alike(s: Similarity) -> String {
    if s.shown() {
        return format!(
            "Fewer than {} tell the beers apart: shown at a risk of {}.",
            percent(s.limit),
            percent(s.beta)
        );
    }
    match s.critical {
        Some(critical) if !s.too_small => format!(
            "That fewer than {} tell them apart is not shown; {critical} right, or fewer, would have shown it.",
            percent(s.limit)
        ),
        _ => format!(
            "That fewer than {} tell them apart could not be shown by so few tastings, whatever the answers.",
            percent(s.limit)
        ),
    }
}

fn varied(r: &Replicated) -> String {
    let how = if r.spread_p <= 0.05 {
        "Tasters differ in what they can tell"
    } else {
        "No difference between tasters is shown"
    };
    format!(
        "{how} (chance if all were alike {}); the {} tasters' answers are worth about {} independent ones.",
        percent(r.spread_p),
        r.tasters,
        plain(r.worth.round())
    )
}

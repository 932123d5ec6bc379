//! What the answers of a tasting say, and what they cannot say, in words.

use glass::tasting::{Difference, Replicated, Similarity, Standing, StopRule};

use super::plan::{percent, plain};
use super::{Judged, Tasting};

impl Judged {
    pub(super) fn said(&self, tasting: &Tasting) -> String {
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

    pub(super) fn can(&self) -> Vec<String> {
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

    pub(super) fn cannot(&self, tasting: &Tasting) -> Vec<String> {
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

/// What the rule comes to, cut off where it is.
pub(super) fn stop_sentences(tasting: &Tasting, rule: &StopRule) -> Vec<String> {
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

//! One glass at a time, as a taster alone does it over days: is it the reference?

use glass::tasting::{ANotA, ANotAJudged, TastingError, a_not_a, a_not_a_power};

use super::plan::{percent, plain};

/// What the answers to single glasses say.
#[derive(Debug, Clone, PartialEq)]
pub struct OneGlass {
    /// The figures.
    pub judged: ANotAJudged,
    /// The result in one sentence.
    pub headline: String,
    /// What it can say.
    pub can_say: Vec<String>,
    /// What it cannot say.
    pub cannot_say: Vec<String>,
}

impl OneGlass {
    /// Judges single glasses: how many of each beer were called another one than
    /// the reference.
    ///
    /// # Errors
    /// [`TastingError`] for counts or a risk that cannot be.
    pub fn of(answers: ANotA, alpha: f64) -> Result<Self, TastingError> {
        let judged = a_not_a(answers, alpha)?;
        let shown = judged.shown();
        let counts = format!(
            "{} of {} glasses of the batch were called another beer, {} of {} of the reference",
            answers.hits, answers.batch_glasses, answers.false_alarms, answers.reference_glasses
        );
        let headline = if shown {
            format!("A difference is shown: {counts}.")
        } else {
            format!("No difference is shown: {counts}.")
        };
        let mut can_say = vec![format!(
            "By chance alone such answers, or clearer ones, come up in {} of such tastings.",
            percent(judged.p)
        )];
        if let (Some(value), Some(low), Some(high)) = (
            judged.d_prime.value,
            judged.d_prime.low,
            judged.d_prime.high,
        ) {
            can_say.push(format!(
                "The difference is about d' = {} (between {} and {}, 95 % interval).",
                plain(value),
                plain(low),
                plain(high)
            ));
        }
        let mut cannot_say = Vec::new();
        if judged.d_prime.value.is_none() {
            cannot_say.push(
                "How large the difference is: one of the beers was always called the same."
                    .to_owned(),
            );
        }
        if !shown {
            cannot_say.push(unseen(answers, alpha)?);
        }
        cannot_say.push(
            "Anything about other people, if one taster answered: the glasses are theirs alone."
                .to_owned(),
        );
        Ok(Self {
            judged,
            headline,
            can_say,
            cannot_say,
        })
    }
}

/// What so many glasses could have seen; the smaller number of the two beers counts,
/// up to what is summed.
fn unseen(answers: ANotA, alpha: f64) -> Result<String, TastingError> {
    const SUMMED: u32 = 300;
    let of_each = answers.batch_glasses.min(answers.reference_glasses);
    let power = a_not_a_power(of_each.min(SUMMED), 1.0, alpha)?;
    Ok(format!(
        "That the beers are alike: {} glasses of each see a difference of d' = 1 in {} of cases.",
        of_each.min(SUMMED),
        percent(power)
    ))
}

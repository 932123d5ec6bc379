//! Steering of a batch: the temperatures, the pitch and the days that serve a wish best,
//! what more or less of each would do, and how it does in the batches that may come.
//!
//! ```
//! use batch::steer::TypedSteer;
//! use batch::{Document, Reckoning};
//! let text = include_str!("../../../../examples/lantern-pale.toml");
//! let (document, assumptions) = Document::read(text).map_err(|faults| faults[0].to_string())?;
//! let reckoning = Reckoning::of(document, assumptions).map_err(|fault| fault.to_string())?;
//! let wish = TypedSteer::from_iter([("butter", "at most 0.1 mg/L"), ("soon", "yes")]);
//! let found = reckoning.steered(&wish, &[]).map_err(|faults| faults[0].to_string())?;
//! assert!(found.kept && found.best().steered.figures.diacetyl < 0.101);
//! # Ok::<(), String>(())
//! ```

mod asked;
mod changes;
mod typed;
mod words;

use ferment::steer::{
    Block, Chances, Change, Effort, Figure, Figures, Goal, Steered, Steering, sources,
};
use ferment::{CourseMoment, FermentError, FermentPlan, VALIDITY, ferment};
use quantity::{Duration, Note, Source, Told};

use crate::log::LogReading;
use crate::reader::Fault;
use crate::stream::{Reckoning, split};
use asked::Asked;

pub use asked::Standing;
pub use changes::course_changes;
pub(crate) use typed::fault;
pub use typed::{FIGURES, TypedSteer, WANTS};
use words::told_wish;
pub use words::{
    between_words, block_words, chance_words, course_words, difference, figure_name, figure_words,
    limit_words, pitch_words, want_label, wish_words,
};

/// Searches for the optimum, and points of the trade-off.
const EFFORT: Effort = Effort { starts: 3, seed: 1 };
const POINTS: usize = 7;

/// One course among those found, to be looked at or taken.
#[derive(Debug, Clone)]
pub struct Choice {
    /// Its word: best, safe, or the number of a point of the trade-off.
    pub key: String,
    /// What it is.
    pub label: String,
    /// The course.
    pub steered: Steered,
    /// How it does in the batches that may come.
    pub chances: Chances,
    /// Whether it does best in bad cases.
    pub safest: bool,
}

impl Choice {
    /// In how many of a hundred batches it keeps the wish.
    #[must_use]
    pub fn keeps_words(&self) -> String {
        format!("{:.0} in 100", 100.0 * self.chances.keeps.ratio())
    }
}

/// What steering a batch comes to.
#[derive(Debug, Clone)]
pub struct SteeredBatch {
    /// The wish in sentences.
    pub wish: Vec<Told>,
    /// What was taken where nothing was wished.
    pub assumed: Vec<Told>,
    /// The limits of the wish, in order: [`Block::Limit`] and [`Steered::unmet`] count
    /// them.
    pub limits: Vec<ferment::steer::Limit>,
    /// Whether the limits can be kept.
    pub kept: bool,
    /// Where not: what stands against them.
    pub blocks: Vec<Block>,
    /// What the plan comes to, and when it ends.
    pub planned: Figures,
    /// The courses found: the best first, then the one for bad cases, then the trade-off
    /// by its days.
    pub choices: Vec<Choice>,
    /// What of the flavour the trade-off holds against the days.
    pub against: (Figure, Goal),
    /// What small changes of the best would do.
    pub changes: Vec<Change>,
    /// Where a running batch stands.
    pub standing: Option<Standing>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// The model and where it holds.
    pub validity: &'static str,
    /// Where the spread of batches and the limits of the vessel come from.
    pub sources: Vec<Source>,
    /// The plan that is steered.
    plan: FermentPlan,
    from: Option<Duration>,
}

impl SteeredBatch {
    /// The best.
    #[must_use]
    pub fn best(&self) -> &Choice {
        // The first of the choices is always there.
        &self.choices[0]
    }

    /// The choice of a key; the best where there is none.
    #[must_use]
    pub fn choice(&self, key: &str) -> &Choice {
        let found = self.choices.iter().find(|choice| choice.key == key);
        found.unwrap_or_else(|| self.best())
    }

    /// The points of the trade-off.
    pub fn curve(&self) -> impl Iterator<Item = &Choice> {
        let point = |c: &&Choice| c.key.parse::<usize>().is_ok();
        self.choices.iter().filter(point)
    }

    /// The choice that does best in bad cases.
    #[must_use]
    pub fn safest(&self) -> Option<&Choice> {
        self.choices.iter().find(|choice| choice.safest)
    }

    /// The course of a choice, moment by moment; nothing where the stage refuses it.
    #[must_use]
    pub fn moments(&self, r: &Reckoning, of: &Choice) -> Vec<CourseMoment> {
        let steered = &of.steered;
        let mut plan = changes::with_yeast(&self.plan, steered.pitch);
        if let Some(from) = self.from {
            plan.course.retain(|p| p.at < from);
        } else {
            plan.course.clear();
        }
        plan.course.extend(steered.course.iter().copied());
        plan.length = steered.end;
        ferment(&plan, &r.boil.wort).map_or_else(|_| Vec::new(), |f| f.course)
    }

    /// The planned course up to the end of the longest choice, for comparison.
    #[must_use]
    pub fn planned_moments(&self, r: &Reckoning, of: &Choice) -> Vec<CourseMoment> {
        let plan = FermentPlan {
            length: Duration::from_h(of.steered.end.h().max(24.0 * self.planned.days)),
            ..self.plan.clone()
        };
        ferment(&plan, &r.boil.wort).map_or_else(|_| Vec::new(), |f| f.course)
    }
}

impl Reckoning {
    /// Steers the batch; `kept` are the readings that are kept with it, for a wish that
    /// says `running`.
    ///
    /// # Errors
    /// Everything that is wrong with the wish, each at its field, or what the model
    /// refuses.
    pub fn steered(
        &self,
        typed: &TypedSteer,
        kept: &[LogReading],
    ) -> Result<SteeredBatch, Vec<Fault>> {
        let asked = Asked::of(self, typed, kept)?;
        found(self, asked).map_err(|error| vec![refused(&error)])
    }
}

fn found(r: &Reckoning, asked: Asked) -> Result<SteeredBatch, FermentError> {
    let steering = Steering::new(
        &asked.plan,
        &r.boil.wort,
        asked.wish.clone(),
        asked.planned_end,
    )?;
    let best = steering.best(EFFORT)?;
    let mut found = vec![(
        "best".to_owned(),
        label(best.kept).to_owned(),
        best.steered.clone(),
    )];
    if best.kept {
        let safe = steering.guarded(&best.steered);
        found.extend(safe.map(|s| ("safe".to_owned(), "for bad cases".to_owned(), s)));
    }
    let latest = Duration::from_h(asked.latest_of_curve(&best.steered));
    let curve = steering.curve(asked.against, POINTS, latest, EFFORT);
    found.extend(curve.into_iter().enumerate().map(|(i, s)| {
        let label = format!(
            "{} at {} days",
            words::goal_words(asked.against),
            words::days(&s)
        );
        ((i + 1).to_string(), label, s)
    }));
    let steered: Vec<&Steered> = found.iter().map(|(_, _, s)| s).collect();
    let chances = steering.chances(&steered);
    let fits = |i: &usize| steered[*i].unmet.is_empty();
    let able: Vec<usize> = (0..steered.len()).filter(fits).collect();
    let of_able: Vec<Chances> = able.iter().map(|i| chances[*i].clone()).collect();
    let safest = steering.safest(&of_able).map(|i| able[i]);
    let changes = steering.changes(&best.steered);
    let choices: Vec<Choice> = found
        .into_iter()
        .zip(chances)
        .enumerate()
        .map(|(i, ((key, label, steered), chances))| Choice {
            key,
            label,
            steered,
            chances,
            safest: safest == Some(i),
        })
        .collect();
    let mut notes = asked.notes;
    notes.extend(on_paper(&choices));
    Ok(SteeredBatch {
        wish: told_wish(&asked.wish),
        assumed: asked.assumed,
        limits: asked.wish.limits.clone(),
        kept: best.kept,
        blocks: best.blocks,
        planned: *steering.planned(),
        choices,
        against: asked.against,
        changes,
        standing: asked.standing,
        notes,
        validity: VALIDITY,
        sources: sources(),
        plan: asked.plan,
        from: asked.wish.from,
    })
}

/// What is best for the batch as it is reckoned may do for few of those that come.
fn on_paper(choices: &[Choice]) -> Option<Note> {
    /// Better than evens (judgement).
    const MOSTLY: f64 = 0.5;
    let best = choices.first()?;
    let safest = choices.iter().find(|c| c.safest)?;
    let keeps = |c: &Choice| c.chances.keeps.ratio();
    let worth = keeps(best) < MOSTLY && keeps(safest) > keeps(best);
    worth.then(|| {
        Note::look(format!(
            "Batches differ: \"{}\" keeps the wish {}; \"{}\" keeps it {}, and is the safer to \
             take.",
            best.label,
            best.keeps_words(),
            safest.label,
            safest.keeps_words(),
        ))
    })
}

fn label(kept: bool) -> &'static str {
    if kept { "the best" } else { "the nearest" }
}

fn refused(error: &FermentError) -> Fault {
    let (message, help) = split(&error.to_string());
    let place = [
        ("coldest", "coldest"),
        ("warmest", "warmest"),
        ("change of temperature", "steepest"),
        ("end of the course", "by"),
        ("moment", "now"),
        ("pitch", "yeast_most"),
    ];
    let path = match error {
        FermentError::Impossible { what, .. } => {
            let found = place.iter().find(|(word, _)| what.contains(word));
            found.map_or("", |(_, path)| path)
        }
        _ => "",
    };
    typed::fault(path, message, help)
}

//! What the batches of the store teach one: gathered, carried into a plan, left out.

use std::collections::BTreeMap;

use batch::learning::{
    Check, Forget, Into, Known, SeasonalWater, TasterThreshold, Taught, changes, constants, house,
    plans, season_values, seasons, taken_out, values,
};
use batch::liquor::choice::Kept;
use batch::log::LogReading;
use batch::wire::learning::{Learning, Lesson};
use store::{DocumentId, Kind, RevisionNumber};

use crate::{App, AppError, Edit, Edited, OpenBatch, Outcome};

/// What was heard of batches before, by document: the revision, how many readings there
/// were, and what it taught.
pub(crate) type Heard = BTreeMap<DocumentId, (RevisionNumber, u64, Taught)>;

/// A batch of the store, not yet listened to.
#[derive(Debug)]
enum Told {
    /// It was heard before and has not changed.
    Before(Box<Taught>),
    /// Its text and its readings.
    New {
        id: DocumentId,
        revision: RevisionNumber,
        text: String,
        /// How many readings the store has of it.
        count: u64,
        readings: Vec<LogReading>,
    },
}

/// Everything that learning needs from the store. What takes long is [`Gathered::lessons`],
/// which asks the store for nothing.
#[derive(Debug)]
pub struct Gathered {
    /// The batch that it is about.
    batch: OpenBatch,
    /// The batches that were brewed, the oldest first.
    told: Vec<Told>,
    /// The waters of the library with their analyses.
    waters: Vec<Kept>,
    /// What tasters notice.
    tasters: Vec<TasterThreshold>,
}

/// What the batches of the store teach one.
#[derive(Debug, Clone)]
pub struct Lessons {
    /// The batch that it is about.
    pub batch: OpenBatch,
    /// How age counts.
    pub forget: Forget,
    /// The batches that say something, the oldest first.
    pub taught: Vec<Taught>,
    /// The constants of its kit, its yeast and the instruments.
    pub known: Vec<Known>,
    /// Its waters through the year, by the analyses of the library.
    pub waters: Vec<SeasonalWater>,
    /// From which concentration each taster notices what.
    pub tasters: Vec<TasterThreshold>,
    /// What its plan would take of them.
    pub values: Vec<Into>,
    /// Each batch against what the ones before it made one expect.
    pub constants: Check,
    /// Each batch against its own plan.
    pub plans: Check,
    heard: Vec<(DocumentId, RevisionNumber, u64, Taught)>,
}

impl App {
    /// Gathers what the batches of the store say: those of which something was read.
    ///
    /// A batch does not teach its own plan: what was read of it is in its stream already.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn gather_lessons(&self, batch: DocumentId) -> Result<Gathered, AppError> {
        let batch = self.batch(batch).await?;
        let mut told = Vec::new();
        let rows = self.every(Kind::Batch).await?;
        for row in rows.into_iter().filter(|row| row.id != batch.id) {
            let channels = self.store.channels(row.id).await?;
            let count = channels.iter().map(|channel| channel.readings).sum();
            let known = self.known.heard.lock().await.get(&row.id).cloned();
            told.push(match known {
                Some((revision, counted, taught))
                    if revision == row.revision && counted == count =>
                {
                    Told::Before(Box::new(taught))
                }
                _ => Told::New {
                    id: row.id,
                    revision: row.revision,
                    text: self.current_of(Kind::Batch, row.id).await?.text,
                    count,
                    readings: self.readings(row.id).await?,
                },
            });
        }
        // The list has the last saved first.
        told.reverse();
        let waters = self.kept_waters().await?;
        let tasters = self.tasters().await?;
        Ok(Gathered {
            batch,
            told,
            waters,
            tasters,
        })
    }

    /// Keeps in mind what was heard, so that the next question is quick.
    pub async fn remember(&self, lessons: &Lessons) {
        let mut memory = self.known.heard.lock().await;
        for (id, revision, count, taught) in &lessons.heard {
            memory.insert(*id, (*revision, *count, taught.clone()));
        }
    }

    /// Puts what was learned into a batch, as one revision.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn take_lessons(
        &self,
        lessons: &Lessons,
        on: RevisionNumber,
    ) -> Result<Edited, AppError> {
        let batch = &lessons.batch;
        let Some(r) = batch.outcome.reckoning() else {
            return self.edit(batch.id, on, &[]).await;
        };
        let changes = changes(&batch.text, &r.document, &lessons.values, lessons.forget);
        let edits: Vec<Edit> = changes.into_iter().map(Edit::from).collect();
        let note = took(&lessons.values);
        self.edit_batch(batch.id, on, &edits, Some(note)).await
    }

    /// Takes what was learned out of a batch again, as one revision.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn drop_lessons(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
    ) -> Result<Edited, AppError> {
        let open = self.batch(batch).await?;
        let Some(r) = open.outcome.reckoning() else {
            return self.edit(batch, on, &[]).await;
        };
        let changes = taken_out(&open.text, &r.document);
        let edits: Vec<Edit> = changes.into_iter().map(Edit::from).collect();
        let note = "what was learned is taken out".to_owned();
        self.edit_batch(batch, on, &edits, Some(note)).await
    }

    /// Keeps with a batch how the age of what it learns from counts.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_half_life(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        forget: Forget,
    ) -> Result<Edited, AppError> {
        let edit = Edit::Set {
            path: "learning.half_life".to_owned(),
            written: forget.written(),
        };
        let note = match forget {
            Forget::Never => "nothing that it learns from is forgotten".to_owned(),
            _ => format!("what it learns from counts half after {}", forget.written()),
        };
        self.edit_batch(batch, on, &[edit], Some(note)).await
    }

    /// Leaves a batch out of what is learned, with the reason; without one it counts again.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn leave_out(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        why: Option<&str>,
    ) -> Result<Edited, AppError> {
        let edit = Edit::Set {
            path: "learning.left_out".to_owned(),
            written: why.unwrap_or_default().trim().to_owned(),
        };
        let note = match why {
            Some(why) => format!("nothing is learned from it: {why}"),
            None => "it counts again for what is learned".to_owned(),
        };
        self.edit_batch(batch, on, &[edit], Some(note)).await
    }
}

/// What was taken, for the history.
fn took(values: &[Into]) -> String {
    let most = |of_water: bool| {
        let of = values
            .iter()
            .filter(|v| v.key.starts_with("water.") == of_water);
        of.map(|v| v.batches).max()
    };
    match (most(false), most(true)) {
        (Some(batches), None) => format!("took what {batches} batches taught"),
        (None, Some(analyses)) => format!("took the season of {analyses} analyses"),
        (batches, analyses) => format!(
            "took what {} batches taught, and the season of {} analyses",
            batches.unwrap_or(0),
            analyses.unwrap_or(0)
        ),
    }
}

impl Gathered {
    /// How age counts where nobody asks otherwise: as the document says.
    #[must_use]
    pub fn kept_forget(&self) -> Forget {
        let r = self.batch.outcome.reckoning();
        r.and_then(|r| r.document.learning.half_life)
            .unwrap_or_default()
    }

    /// What the batches teach; where nothing is asked, age counts as the document says. It
    /// watches every fermentation that was not heard before,
    /// some tenths of a second each.
    #[must_use]
    pub fn lessons(self, asked: Option<Forget>) -> Lessons {
        let forget = asked.unwrap_or_else(|| self.kept_forget());
        let mut heard = Vec::new();
        let mut taught = Vec::new();
        for told in self.told {
            let one = match told {
                Told::Before(one) => *one,
                Told::New {
                    id,
                    revision,
                    text,
                    count,
                    readings,
                } => {
                    let outcome = Outcome::of(&text);
                    let Some(r) = outcome.reckoning() else {
                        continue;
                    };
                    let one = Taught::of(&id.to_string(), r, &readings);
                    heard.push((id, revision, count, one.clone()));
                    one
                }
            };
            taught.push(one);
        }
        taught.retain(|t| t.says_something() || t.unread.is_some());
        // Those with a day by their day, where they stand; the others as they were saved.
        taught.sort_by(|a, b| a.document.batch.brewed.cmp(&b.document.batch.brewed));
        let (known, waters, values) = match self.batch.outcome.reckoning() {
            Some(r) => {
                let (text, document) = (&self.batch.text, &r.document);
                let known = house(document, &taught, forget);
                let waters = seasons(document, &self.waters, forget);
                let mut all = values(text, document, &known).unwrap_or_default();
                all.extend(season_values(text, document, &waters).unwrap_or_default());
                (known, waters, all)
            }
            None => Default::default(),
        };
        let checked = |r: &batch::Reckoning| constants(&r.document, &taught, forget);
        Lessons {
            constants: self
                .batch
                .outcome
                .reckoning()
                .map_or_else(|| plans(&[]), checked),
            plans: plans(&taught),
            tasters: self.tasters,
            batch: self.batch,
            forget,
            known,
            waters,
            values,
            taught,
            heard,
        }
    }
}

impl Lessons {
    /// The brew day of the batch, as written.
    #[must_use]
    pub fn day(&self) -> Option<&str> {
        let r = self.batch.outcome.reckoning();
        r.and_then(|r| r.document.batch.brewed.as_deref())
    }

    /// For programs.
    #[must_use]
    pub fn form(&self) -> Learning {
        Learning::from(&Lesson {
            of: &self.batch.name,
            day: self.day(),
            forget: self.forget,
            taught: &self.taught,
            known: &self.known,
            waters: &self.waters,
            tasters: &self.tasters,
            values: &self.values,
            checks: [&self.constants, &self.plans],
        })
    }
}

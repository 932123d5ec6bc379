//! Edits of a document: small operations on the text, so that two people who change
//! different things do not stand in each other's way.

use batch::edit::{add_entry, remove_entry, set_value, written_values};
use batch::{Fault, Moved};
use store::{DocumentId, Kind, RevisionNumber, StoreError};

use crate::batches::{OpenBatch, Outcome};
use crate::{App, AppError, kinds};

/// A change of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    /// A value; empty takes the key out.
    Set {
        /// Such as `water.source[1].calcium`.
        path: String,
        /// The value as written.
        written: String,
    },
    /// A new entry of a list, with values to start from.
    Add {
        /// Such as `hop`.
        list: String,
        /// Keys and values.
        values: Vec<(String, String)>,
    },
    /// An entry of a list taken out.
    Remove {
        /// Such as `hop[2]`.
        path: String,
    },
}

impl Edit {
    /// The text with this edit made; nothing is saved.
    ///
    /// # Errors
    /// [`AppError::Edit`] if it leads nowhere.
    pub fn apply(&self, text: &str) -> Result<String, AppError> {
        Ok(match self {
            Self::Set { path, written } => set_value(text, path, written)?,
            Self::Add { list, values } => {
                let values: Vec<(&str, &str)> = values
                    .iter()
                    .map(|(k, v)| (k.as_str(), v.as_str()))
                    .collect();
                add_entry(text, list, &values)?
            }
            Self::Remove { path } => remove_entry(text, path)?,
        })
    }

    fn words(&self) -> String {
        match self {
            Self::Set { path, written } if written.trim().is_empty() => format!("{path} taken out"),
            Self::Set { path, written } => format!("{path} = {written}"),
            Self::Add { list, .. } => format!("an entry added to {list}"),
            Self::Remove { path } => format!("{path} taken out"),
        }
    }
}

/// What became of an edit.
#[derive(Debug, Clone)]
pub enum Edited {
    /// Saved as a new revision, or nothing to save.
    Saved {
        /// The batch as it is now.
        batch: Box<OpenBatch>,
        /// What the edit was, in words; none where nothing changed.
        change: Option<String>,
        /// What it moved downstream.
        moved: Vec<Moved>,
    },
    /// Not saved: the document would have faults that it had not before.
    Refused {
        /// The batch as it stays.
        batch: Box<OpenBatch>,
        /// What would be wrong.
        faults: Vec<Fault>,
    },
}

/// Edits of a document of some kind, decided on while looking at revision `on`.
pub(crate) struct Job<'j> {
    pub kind: Kind,
    pub id: DocumentId,
    pub on: RevisionNumber,
    pub edits: &'j [Edit],
    /// What the revision is, where the edits together are more than their list.
    pub note: Option<String>,
}

/// A text and its revision.
pub(crate) struct Version {
    pub number: RevisionNumber,
    pub text: String,
}

/// What became of the edits of a job.
pub(crate) enum Done {
    /// They change nothing.
    Same(Version),
    /// They are a new revision.
    Saved {
        before: Version,
        after: Version,
        change: String,
    },
    /// The text would have faults that it had not before.
    Refused { now: Version, faults: Vec<Fault> },
}

impl App {
    /// Makes edits that were decided on while looking at revision `on`.
    ///
    /// Where the batch has moved on since, the edits are made on the newest
    /// revision, unless they touch what was changed there.
    ///
    /// # Errors
    /// [`AppError::Conflict`] if the same value was changed in between: the text
    /// with these edits is kept beside the batch. [`AppError::Edit`] for an edit
    /// that leads nowhere, [`AppError::Store`].
    pub async fn edit(
        &self,
        id: DocumentId,
        on: RevisionNumber,
        edits: &[Edit],
    ) -> Result<Edited, AppError> {
        self.edit_batch(id, on, edits, None).await
    }

    pub(crate) async fn edit_batch(
        &self,
        id: DocumentId,
        on: RevisionNumber,
        edits: &[Edit],
        note: Option<String>,
    ) -> Result<Edited, AppError> {
        let kind = Kind::Batch;
        let open = |v: Version| Box::new(OpenBatch::of(id, v.number, v.text));
        Ok(
            match self
                .edit_text(&Job {
                    kind,
                    id,
                    on,
                    edits,
                    note,
                })
                .await?
            {
                Done::Same(now) => Edited::Saved {
                    batch: open(now),
                    change: None,
                    moved: Vec::new(),
                },
                Done::Refused { now, faults } => Edited::Refused {
                    batch: open(now),
                    faults,
                },
                Done::Saved {
                    before,
                    after,
                    change,
                } => {
                    let batch = open(after);
                    let moved = match (&batch.outcome, &Outcome::of(&before.text)) {
                        (Outcome::Reckoned(after), Outcome::Reckoned(before)) => {
                            after.moved_from(before)
                        }
                        _ => Vec::new(),
                    };
                    Edited::Saved {
                        batch,
                        change: Some(change),
                        moved,
                    }
                }
            },
        )
    }

    /// Makes the edits of a job on the newest revision.
    pub(crate) async fn edit_text(&self, job: &Job<'_>) -> Result<Done, AppError> {
        // Two tries more than one would need: each loses only to another save.
        for _ in 0..3 {
            let current = self.version(job).await?;
            if current.number != job.on {
                self.refuse_conflict(job, &current).await?;
            }
            match self.edit_on(current, job).await {
                Err(AppError::Store(StoreError::Stale { .. })) => {}
                done => return done,
            }
        }
        let current = self.version(job).await?;
        self.edit_on(current, job).await
    }

    async fn version(&self, job: &Job<'_>) -> Result<Version, AppError> {
        let current = self.current_of(job.kind, job.id).await?;
        Ok(Version {
            number: current.info.number,
            text: current.text,
        })
    }

    async fn edit_on(&self, before: Version, job: &Job<'_>) -> Result<Done, AppError> {
        let text = job.applied(&before.text)?;
        if text == before.text {
            return Ok(Done::Same(before));
        }
        let faults = kinds::read_faults(job.kind, &text);
        if !faults.is_empty() {
            // A document that had faults may be mended one by one.
            let had = kinds::faults(job.kind, &before.text).len();
            if faults.len() > had || had == 0 {
                return Ok(Done::Refused {
                    now: before,
                    faults,
                });
            }
        }
        let change = job.words();
        let saved = self
            .save(job.kind, job.id, before.number, &text, &shortened(&change))
            .await?;
        let after = Version {
            number: saved.revision,
            text,
        };
        Ok(Done::Saved {
            before,
            after,
            change,
        })
    }

    /// Edits made on an old revision may go ahead on the newest if nobody changed
    /// the same values in between.
    async fn refuse_conflict(&self, job: &Job<'_>, current: &Version) -> Result<(), AppError> {
        let base = self.store().revision(job.id, job.on).await?;
        let (then, now) = (written_values(&base.text)?, written_values(&current.text)?);
        let clash = job.edits.iter().find_map(|edit| match edit {
            Edit::Set { path, written } => {
                let (before, now) = (then.get(path), now.get(path));
                (before != now && now != Some(written)).then(|| path.clone())
            }
            // Places in a list shift when entries come and go.
            Edit::Remove { path } => (base.text != current.text).then(|| path.clone()),
            Edit::Add { .. } => None,
        });
        let Some(what) = clash else { return Ok(()) };
        let text = job.applied(&base.text)?;
        match self
            .save(
                job.kind,
                job.id,
                job.on,
                &text,
                "changed on an older revision",
            )
            .await
        {
            Err(AppError::Store(StoreError::Stale { yours_kept_as, .. })) => {
                Err(AppError::Conflict {
                    id: job.id,
                    what,
                    kept_as: yours_kept_as,
                })
            }
            Err(other) => Err(other),
            Ok(_) => Ok(()),
        }
    }
}

impl Job<'_> {
    fn applied(&self, text: &str) -> Result<String, AppError> {
        self.edits
            .iter()
            .try_fold(text.to_owned(), |text, edit| edit.apply(&text))
    }

    fn words(&self) -> String {
        self.note.clone().unwrap_or_else(|| {
            self.edits
                .iter()
                .map(Edit::words)
                .collect::<Vec<_>>()
                .join("; ")
        })
    }
}

/// Notes of revisions are short.
fn shortened(note: &str) -> String {
    const MOST: usize = 200;
    if note.chars().count() <= MOST {
        return note.to_owned();
    }
    let start: String = note.chars().take(MOST - 1).collect();
    format!("{start}…")
}

//! Edits of a batch: small operations on the text, so that two people who change
//! different things do not stand in each other's way.

use batch::edit::{add_entry, remove_entry, set_value, written_values};
use batch::{Document, Fault, Moved};
use store::{DocumentId, RevisionNumber, StoreError};

use crate::batches::{OpenBatch, Outcome};
use crate::{App, AppError};

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
                let values: Vec<(&str, &str)> =
                    values.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
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
        // Two tries more than one would need: each loses only to another save.
        for _ in 0..3 {
            let current = self.batch(id).await?;
            if current.revision != on {
                self.refuse_conflict(id, on, &current, edits).await?;
            }
            match self.edit_on(current, edits).await {
                Err(AppError::Store(StoreError::Stale { .. })) => {}
                done => return done,
            }
        }
        let current = self.batch(id).await?;
        self.edit_on(current, edits).await
    }

    async fn edit_on(&self, current: OpenBatch, edits: &[Edit]) -> Result<Edited, AppError> {
        let mut text = current.text.clone();
        for edit in edits {
            text = edit.apply(&text)?;
        }
        if text == current.text {
            return Ok(Edited::Saved {
                batch: Box::new(current),
                change: None,
                moved: Vec::new(),
            });
        }
        if let Err(faults) = Document::read(&text) {
            // A document that had faults may be mended one by one.
            let before = current.outcome.faults().len();
            if faults.len() > before || before == 0 {
                return Ok(Edited::Refused {
                    batch: Box::new(current),
                    faults,
                });
            }
        }
        let change = edits.iter().map(Edit::words).collect::<Vec<_>>().join("; ");
        let saved = self.save(current.id, current.revision, &text, &shortened(&change)).await?;
        let batch = OpenBatch::of(current.id, saved.revision, text);
        let moved = match (&batch.outcome, &current.outcome) {
            (Outcome::Reckoned(after), Outcome::Reckoned(before)) => after.moved_from(before),
            _ => Vec::new(),
        };
        Ok(Edited::Saved {
            batch: Box::new(batch),
            change: Some(change),
            moved,
        })
    }

    /// Edits made on an old revision may go ahead on the newest if nobody changed
    /// the same values in between.
    async fn refuse_conflict(
        &self,
        id: DocumentId,
        on: RevisionNumber,
        current: &OpenBatch,
        edits: &[Edit],
    ) -> Result<(), AppError> {
        let base = self.store().revision(id, on).await?;
        let then = written_values(&base.text)?;
        let clash = edits.iter().find_map(|edit| match edit {
            Edit::Set { path, written } => {
                let (before, now) = (then.get(path), current.written.get(path));
                (before != now && now != Some(written)).then(|| path.clone())
            }
            // Places in a list shift when entries come and go.
            Edit::Remove { path } => (base.text != current.text).then(|| path.clone()),
            Edit::Add { .. } => None,
        });
        let Some(what) = clash else { return Ok(()) };
        let mut text = base.text;
        for edit in edits {
            text = edit.apply(&text)?;
        }
        match self.save(id, on, &text, "changed on an older revision").await {
            Err(AppError::Store(StoreError::Stale { yours_kept_as, .. })) => {
                Err(AppError::Conflict {
                    id,
                    what,
                    kept_as: yours_kept_as,
                })
            }
            Err(other) => Err(other),
            Ok(_) => Ok(()),
        }
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

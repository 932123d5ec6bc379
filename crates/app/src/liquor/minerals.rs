//! Taking what a search for salts and acid found into a batch.

use batch::Moved;
use batch::liquor::minerals::Change;
use store::{DocumentId, RevisionNumber};

use crate::{App, AppError, Edit, Edited, OpenBatch, Outcome};

impl From<Change> for Edit {
    fn from(change: Change) -> Self {
        match change {
            Change::Set { path, written } => Self::Set { path, written },
            Change::Remove { path } => Self::Remove { path },
            Change::Add { list, values } => Self::Add { list, values },
        }
    }
}

impl App {
    /// Makes the changes of a design as one revision.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn take_minerals(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        changes: Vec<Change>,
    ) -> Result<Edited, AppError> {
        let edits: Vec<Edit> = changes.into_iter().map(Edit::from).collect();
        let note = "salts and acid for the aim".to_owned();
        self.edit_batch(batch, on, &edits, Some(note)).await
    }

    /// What a batch that is open has moved since an earlier revision, and the words
    /// of its newest one; nothing where one of the two cannot be reckoned.
    ///
    /// # Errors
    /// [`AppError::Store`], for one if there is no such revision.
    pub async fn moved_since(
        &self,
        open: &OpenBatch,
        since: RevisionNumber,
    ) -> Result<Option<(String, Vec<Moved>)>, AppError> {
        let before = self.store().revision(open.id, since).await?;
        let now = self.store().revision(open.id, open.revision).await?;
        Ok(match (&open.outcome, &Outcome::of(&before.text)) {
            (Outcome::Reckoned(after), Outcome::Reckoned(before)) => {
                Some((now.info.note.unwrap_or_default(), after.moved_from(before)))
            }
            _ => None,
        })
    }
}

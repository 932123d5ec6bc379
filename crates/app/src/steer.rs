//! Keeping a steered course in its batch.

use batch::liquor::minerals::Change;
use store::{DocumentId, RevisionNumber};

use crate::{App, AppError, Edit, Edited};

impl App {
    /// Puts a course that was found, and its yeast, in place of the planned one, as one
    /// revision; `what` says which course it is.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_course(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        changes: Vec<Change>,
        what: &str,
    ) -> Result<Edited, AppError> {
        let edits: Vec<Edit> = changes.into_iter().map(Edit::from).collect();
        let note = Some(format!("temperatures steered: {what}"));
        self.edit_batch(batch, on, &edits, note).await
    }
}

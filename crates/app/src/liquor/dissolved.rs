//! Taking acid for the sparge into a batch.

use batch::liquor::minerals::Change;
use store::{DocumentId, RevisionNumber};

use crate::{App, AppError, Edit, Edited};

impl App {
    /// Puts acid into the plan of the sparge liquor as one revision.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn take_acid(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        changes: Vec<Change>,
    ) -> Result<Edited, AppError> {
        let edits: Vec<Edit> = changes.into_iter().map(Edit::from).collect();
        let note = "acid for the sparge water".to_owned();
        self.edit_batch(batch, on, &edits, Some(note)).await
    }
}

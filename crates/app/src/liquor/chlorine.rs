//! Putting a way out of chlorine into the plan of a batch.

use batch::liquor::chlorine::Plan;
use store::{DocumentId, RevisionNumber};

use crate::{App, AppError, Edit, Edited};

impl App {
    /// Makes the edits of a plan against chlorine as one revision.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn plan_chlorine(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        plan: Plan,
    ) -> Result<Edited, AppError> {
        let edits: Vec<Edit> = plan
            .values
            .into_iter()
            .map(|(path, written)| Edit::Set { path, written })
            .collect();
        self.edit_batch(batch, on, &edits, Some(plan.note)).await
    }
}

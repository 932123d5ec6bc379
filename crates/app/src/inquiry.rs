//! Keeping what was found and tested in its batch, and the next batch with a remedy in it.

use batch::edit::set_value;
use batch::inquiry::next_batch;
use quantity::Units;
use store::{DocumentId, RevisionNumber};

use crate::{App, AppError, Edit, Edited, OpenBatch};

impl App {
    /// Keeps a finding (of the list `finding`) or the result of a test (of `test`).
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_found(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        list: &str,
        values: Vec<(String, String)>,
    ) -> Result<Edited, AppError> {
        let what = values
            .iter()
            .find(|(key, _)| key == "what")
            .map_or("", |(_, what)| what.as_str());
        let note = format!("{list}: {what}");
        let edit = Edit::Add {
            list: list.to_owned(),
            values,
        };
        self.edit_batch(batch, on, &[edit], Some(note)).await
    }

    /// Keeps what else bears on a fault: keys of `[inquiry]`; an empty value takes one out.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_bearing(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        values: Vec<(String, String)>,
    ) -> Result<Edited, AppError> {
        let set = |(key, written): (String, String)| Edit::Set {
            path: format!("inquiry.{key}"),
            written,
        };
        let edits: Vec<Edit> = values.into_iter().map(set).collect();
        let note = "what bears on a fault".to_owned();
        self.edit_batch(batch, on, &edits, Some(note)).await
    }

    /// Takes a finding or a result out again, counted from one.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn forget_found(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        list: &str,
        number: usize,
    ) -> Result<Edited, AppError> {
        let path = format!("{list}[{number}]");
        self.edit(batch, on, &[Edit::Remove { path }]).await
    }

    /// A copy of a batch with the remedy of a cause in it; none where the document has no
    /// key for the remedy.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn begin_next(
        &self,
        batch: DocumentId,
        cause: &str,
    ) -> Result<Option<OpenBatch>, AppError> {
        let open = self.batch(batch).await?;
        let next = open
            .outcome
            .reckoning()
            .and_then(|r| next_batch(&open.text, r, cause, Units::Metric));
        match next {
            Some(next) => {
                let note = format!("the next batch: {}", next.changed.join("; "));
                let text = set_value(&next.text, "inquiry.after", &batch.to_string())?;
                let text = set_value(&text, "inquiry.mends", cause)?;
                Ok(Some(self.keep_batch(&text, &note).await?))
            }
            None => Ok(None),
        }
    }
}

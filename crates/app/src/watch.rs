//! Keeping what a brewer's tests of a fermenting beer came to.

use store::{DocumentId, RevisionNumber};

use crate::{App, AppError, Edit, Edited};

/// Where a batch document keeps the results of tests.
const TESTS: &str = "test";

impl App {
    /// Keeps the result of a test, in place of an earlier one of the same test.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_test(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        test: &str,
        positive: bool,
    ) -> Result<Edited, AppError> {
        let written = self.batch(batch).await?.written;
        let result = if positive { "positive" } else { "negative" }.to_owned();
        let before = written
            .iter()
            .filter_map(|(path, what)| (what == test).then(|| path.strip_suffix(".what"))?)
            .find(|place| place.starts_with("test["));
        let edit = match before {
            Some(place) => Edit::Set {
                path: format!("{place}.result"),
                written: result.clone(),
            },
            None => Edit::Add {
                list: TESTS.to_owned(),
                values: vec![
                    ("what".to_owned(), test.to_owned()),
                    ("result".to_owned(), result.clone()),
                ],
            },
        };
        let note = Some(format!("{test}: {result}"));
        self.edit_batch(batch, on, &[edit], note).await
    }
}

//! Keeping what was counted and what is planned for the yeast in its batch.

use store::{DocumentId, RevisionNumber};

use crate::{App, AppError, Edit, Edited};

/// Where a batch document keeps the steps of a starter, and a count.
const STEPS: &str = "yeast.step";
const COUNT: &str = "yeast.count";

impl App {
    /// Keeps a count of slurry as one revision: its volume, and the keys of the count.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_count(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        slurry: &str,
        count: &[(&str, &str)],
    ) -> Result<Edited, AppError> {
        let mut edits = vec![set("yeast.form", "slurry"), set("yeast.slurry", slurry)];
        let keys = count.iter();
        edits.extend(keys.map(|(key, text)| set(&format!("{COUNT}.{key}"), text)));
        let note = Some("yeast counted".to_owned());
        self.edit_batch(batch, on, &edits, note).await
    }

    /// Keeps a starter as one revision, in place of `before` steps that were planned.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_starter(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        before: usize,
        steps: Vec<Vec<(String, String)>>,
        what: String,
    ) -> Result<Edited, AppError> {
        let mut edits = without_starter(before);
        edits.extend(steps.into_iter().map(|values| Edit::Add {
            list: STEPS.to_owned(),
            values,
        }));
        self.edit_batch(batch, on, &edits, Some(what)).await
    }

    /// Takes a starter of `before` steps out again.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn forget_starter(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        before: usize,
    ) -> Result<Edited, AppError> {
        let note = Some("no starter".to_owned());
        self.edit_batch(batch, on, &without_starter(before), note)
            .await
    }

    /// Takes a count out again.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn forget_count(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
    ) -> Result<Edited, AppError> {
        self.edit(batch, on, &[set(COUNT, "")]).await
    }

    /// Keeps another number of packets.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_packets(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        packets: f64,
    ) -> Result<Edited, AppError> {
        self.edit(batch, on, &[set("yeast.packets", &packets.to_string())])
            .await
    }
}

fn set(path: &str, written: &str) -> Edit {
    Edit::Set {
        path: path.to_owned(),
        written: written.trim().to_owned(),
    }
}

fn without_starter(steps: usize) -> Vec<Edit> {
    let first = Edit::Remove {
        path: format!("{STEPS}[1]"),
    };
    let mut edits = vec![first; steps];
    edits.push(set("yeast.starter", ""));
    edits
}

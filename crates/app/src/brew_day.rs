//! Keeping what is read and done on brew day in its batch.

use store::{DocumentId, RevisionNumber};

use crate::{App, AppError, Edit, Edited};

/// Where a batch document keeps its brew day.
const READINGS: &str = "brew_day.reading";
const DONE: &str = "brew_day.done";

/// A new entry of the brew day, key by key.
pub type DayEntry = Vec<(String, String)>;

impl App {
    /// Keeps a reading of the brew day as one revision.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_reading(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        reading: DayEntry,
    ) -> Result<Edited, AppError> {
        let at = reading.iter().find(|(key, _)| key == "at");
        let place = at.map_or("brew day", |(_, place)| place.as_str());
        let note = format!("read at {place}");
        self.edit_batch(batch, on, &[added(READINGS, reading)], Some(note))
            .await
    }

    /// Keeps what was done on brew day as one revision.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn keep_done(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        done: Vec<DayEntry>,
        what: String,
    ) -> Result<Edited, AppError> {
        let edits: Vec<Edit> = done.into_iter().map(|entry| added(DONE, entry)).collect();
        self.edit_batch(batch, on, &edits, Some(what)).await
    }

    /// Takes a reading, or something done, out again; both counted from one.
    ///
    /// # Errors
    /// Those of [`App::edit`].
    pub async fn forget_of_day(
        &self,
        batch: DocumentId,
        on: RevisionNumber,
        reading: bool,
        number: usize,
    ) -> Result<Edited, AppError> {
        let list = if reading { READINGS } else { DONE };
        let path = format!("{list}[{number}]");
        self.edit(batch, on, &[Edit::Remove { path }]).await
    }
}

fn added(list: &str, values: DayEntry) -> Edit {
    Edit::Add {
        list: list.to_owned(),
        values,
    }
}

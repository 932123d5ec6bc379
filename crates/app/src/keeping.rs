//! Long logs that are kept beside the requests of others, with how far each is.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use batch::log::{Mapping, read_table};
use store::DocumentId;

use crate::{App, AppError};

/// As many are remembered, the last ones; what they kept is in the store anyway.
const REMEMBERED: usize = 50;

/// How far a log is that is being kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HowFar {
    /// The batch.
    pub batch: DocumentId,
    /// Lines that are kept.
    pub rows: usize,
    /// Lines that there are.
    pub of: usize,
    /// How it ended: nothing, or why it broke off.
    pub end: Option<Result<(), String>>,
}

/// Those that are being kept, and the last that were, by number.
#[derive(Debug, Default)]
pub(crate) struct Keepings {
    all: Mutex<BTreeMap<u64, HowFar>>,
}

impl Keepings {
    fn begin(&self, how_far: HowFar) -> u64 {
        let mut all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        let number = all.last_key_value().map_or(1, |(last, _)| last + 1);
        all.insert(number, how_far);
        let first_over = all.len().saturating_sub(REMEMBERED);
        let over: Vec<u64> = all
            .iter()
            .take(first_over)
            .filter(|(_, kept)| kept.end.is_some())
            .map(|(number, _)| *number)
            .collect();
        for number in over {
            all.remove(&number);
        }
        number
    }

    fn change(&self, number: u64, change: impl FnOnce(&mut HowFar)) {
        let mut all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        all.get_mut(&number).map(change);
    }

    fn get(&self, number: u64) -> Option<HowFar> {
        let all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        all.get(&number).cloned()
    }
}

impl App {
    /// Begins to keep a table with a batch, and says by which number to ask how far it is
    /// ([`App::how_far`]). If the program ends in between, what was kept stays, and the
    /// same table can be sent again.
    ///
    /// # Errors
    /// [`AppError::Log`] for a mapping that does not fit the table; nothing is begun then.
    pub fn keep_aside(
        &self,
        batch: DocumentId,
        text: String,
        mapping: Mapping,
        source: String,
    ) -> Result<u64, AppError> {
        read_table(&text, &mapping)?;
        let number = self.known.keepings.begin(HowFar {
            batch,
            rows: 0,
            of: text.lines().count(),
            end: None,
        });
        let app = self.clone();
        tokio::spawn(async move {
            let keepings = Arc::clone(&app.known.keepings);
            let told = |rows| keepings.change(number, |kept| kept.rows = rows);
            let kept = match read_table(&text, &mapping) {
                Ok(rows) => app.keep_log(batch, rows, &source, told).await,
                Err(error) => Err(error.into()),
            };
            let end = kept.map(drop).map_err(|error| error.to_string());
            keepings.change(number, |kept| kept.end = Some(end));
        });
        Ok(number)
    }

    /// How far a log is that was begun; none for a number that is not remembered.
    #[must_use]
    pub fn how_far(&self, number: u64) -> Option<HowFar> {
        self.known.keepings.get(number)
    }
}

//! Whether batches go into the study over the batches of many.

use batch::wire::consent::{AgreedBatch, Study};
use store::{Consents, DocumentId, Kind};

use crate::{App, AppError};

/// What a gathering for the study takes of a batch, and what it leaves.
pub const WHAT_LEAVES: &str = "A gathering takes one row of rounded figures of each batch that was agreed to: the class of its yeast (never its name), cells pitched, temperatures, gravities, attenuation and days to the end, each as planned and as read; residual alkalinity, calcium, chloride and sulfate of its tap water and what keeps that water; the yield of its mash; whether fruity esters were tasted; the likeliest cause of a fault and whether a test bore it out; and the quarter of the year. It takes no name, no text, no note, no identifier, no day and no place. Rows of one owner bear one number, drawn anew for each gathering, so that answers can leave out what too few owners say. What was withdrawn is absent from the next gathering; rows that an earlier one took cannot be called back, nor told from others.";

/// How things stand with the study.
#[derive(Debug, Clone)]
pub struct StudyState {
    /// All that was said.
    pub said: Consents,
    /// The batches in use that go in: their identifiers, names, and since when.
    pub agreed: Vec<(DocumentId, String, store::Timestamp)>,
    /// How many batches are in use.
    pub batches: usize,
}

impl App {
    /// Agrees that a batch goes into the study, or every batch of the store, those to come
    /// among them.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn agree_to_study(&self, batch: Option<DocumentId>) -> Result<StudyState, AppError> {
        self.store.say_consent(batch, true, self.now()).await?;
        self.study_state().await
    }

    /// Withdraws a batch from the study, or every batch of the store.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn withdraw_from_study(
        &self,
        batch: Option<DocumentId>,
    ) -> Result<StudyState, AppError> {
        self.store.say_consent(batch, false, self.now()).await?;
        self.study_state().await
    }

    /// Which batches go into the study.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn study_state(&self) -> Result<StudyState, AppError> {
        let said = self.store.consents().await?;
        let rows = self.every(Kind::Batch).await?;
        let batches = rows.len();
        let agreed = rows
            .into_iter()
            .filter_map(|row| Some((row.id, row.name, said.since(row.id)?)))
            .collect();
        Ok(StudyState {
            said,
            agreed,
            batches,
        })
    }
}

impl StudyState {
    /// For programs.
    #[must_use]
    pub fn form(&self) -> Study {
        let row = |(id, name, since): &(DocumentId, String, store::Timestamp)| AgreedBatch {
            id: id.to_string(),
            name: name.clone(),
            since: since.to_string(),
        };
        Study {
            schema: "gylewright/study/1",
            every_batch: self.said.of_everything().is_some_and(|word| word.agreed),
            batches: self.batches,
            agreed: self.agreed.iter().map(row).collect(),
            what_leaves: WHAT_LEAVES,
        }
    }
}

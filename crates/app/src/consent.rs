//! Whether batches go into the study over the batches of many.

use batch::wire::consent::{AgreedBatch, Study};
use store::{Consents, DocumentId, GroupId, Timestamp};

use crate::{App, AppError};

/// What a gathering for the study takes of a batch, and what it leaves.
pub const WHAT_LEAVES: &str = "A gathering takes one row of rounded figures of each batch that was agreed to: the class of its yeast (never its name), cells pitched, temperatures, gravities, attenuation and days to the end, each as planned and as read; residual alkalinity, calcium, chloride and sulfate of its tap water and what keeps that water; the yield of its mash; whether fruity esters were tasted; the likeliest cause of a fault and whether a test bore it out; and the quarter of the year. It takes no name, no text, no note, no identifier, no day and no place. Rows of one owner, a group or else a store, bear one number, drawn anew for each gathering, so that answers can leave out what too few owners say. What was withdrawn is absent from the next gathering; rows that an earlier one took cannot be called back, nor told from others.";

/// How things stand with the study.
#[derive(Debug, Clone)]
pub struct StudyState {
    /// All that was said.
    pub said: Consents,
    /// The group that is acted in; none for whoever runs the store.
    pub group: Option<GroupId>,
    /// The batches in use that go in.
    pub agreed: Vec<Agreed>,
    /// How many batches are in use.
    pub batches: usize,
}

/// A batch that goes in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Agreed {
    /// The batch.
    pub id: DocumentId,
    /// Its name.
    pub name: String,
    /// The group that it belongs to and that agreed; none for no group.
    pub group: Option<GroupId>,
    /// Since when.
    pub since: Timestamp,
}

impl App {
    /// Agrees that a batch goes into the study, or every batch, those to come among them:
    /// of the group that is acted in, else those that belong to no group.
    ///
    /// # Errors
    /// [`AppError::Store`] for a batch that is another's, and for who keeps no group.
    pub async fn agree_to_study(&self, batch: Option<DocumentId>) -> Result<StudyState, AppError> {
        self.store.say_consent(batch, true, self.now()).await?;
        self.study_state().await
    }

    /// Withdraws a batch from the study, or every batch; whose, as in
    /// [`App::agree_to_study`].
    ///
    /// # Errors
    /// [`AppError::Store`], as there.
    pub async fn withdraw_from_study(
        &self,
        batch: Option<DocumentId>,
    ) -> Result<StudyState, AppError> {
        self.store.say_consent(batch, false, self.now()).await?;
        self.study_state().await
    }

    /// Which batches go into the study: those of the group that is acted in, else of the
    /// whole store.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn study_state(&self) -> Result<StudyState, AppError> {
        let said = self.store.consents().await?;
        let owned = self.store.owned_batches().await?;
        let batches = owned.len();
        let agreed = owned.into_iter().filter_map(|batch| {
            let since = said.since(batch.id, batch.group)?;
            Some(Agreed {
                id: batch.id,
                name: batch.title,
                group: batch.group,
                since,
            })
        });
        let agreed = agreed.collect();
        Ok(StudyState {
            said,
            group: self.store.sight().map(|sight| sight.group),
            agreed,
            batches,
        })
    }
}

impl StudyState {
    /// Whether every batch goes in that whoever acts speaks for.
    #[must_use]
    pub fn every_batch(&self) -> bool {
        let word = self.said.of_everything(self.group);
        word.is_some_and(|word| word.agreed)
    }

    /// For programs.
    #[must_use]
    pub fn form(&self) -> Study {
        let row = |batch: &Agreed| AgreedBatch {
            id: batch.id.to_string(),
            name: batch.name.clone(),
            since: batch.since.to_string(),
            group: batch.group.map(|group| group.to_string()),
        };
        Study {
            schema: "gylewright/study/1",
            every_batch: self.every_batch(),
            batches: self.batches,
            agreed: self.agreed.iter().map(row).collect(),
            what_leaves: WHAT_LEAVES,
        }
    }
}

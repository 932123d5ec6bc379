//! Whether a batch may go into a study over the batches of many: opt-in, withdrawable.
//!
//! What is said is added, never changed. A batch goes in if the last word on it, or on
//! everything after it was named, is that it may; what was withdrawn by itself stays out
//! until it is agreed to by itself.
//!
//! Where people share a store, a group speaks for its own batches, and whoever runs the
//! store for those that belong to no group: no word reaches another's.

use crate::db::{Tx, on};
use crate::error::Doing;
use crate::rows::{self, ConsentRow};
use crate::sight::refused;
use crate::table::require_kind;
use crate::{DocumentId, GroupId, Kind, Role, Store, StoreError, Timestamp, people, sql};

/// What somebody said of the study.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Consent {
    /// Whose word it is; none for that of whoever runs the store, on what belongs to no
    /// group.
    pub group: Option<GroupId>,
    /// The batch; none for every batch of the group, or of no group.
    pub batch: Option<DocumentId>,
    /// Whether it was agreed, or withdrawn.
    pub agreed: bool,
    /// When it was said.
    pub said_at: Timestamp,
}

/// All that was said, in the order in which it was.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Consents(pub Vec<Consent>);

impl Consents {
    /// Since when a batch of a group, or of none, may go in; none if it may not.
    #[must_use]
    pub fn since(&self, batch: DocumentId, group: Option<GroupId>) -> Option<Timestamp> {
        let last = |of: Option<DocumentId>| {
            let said = self.0.iter().enumerate();
            said.rev()
                .find(|(_, consent)| (consent.group, consent.batch) == (group, of))
        };
        match (last(Some(batch)), last(None)) {
            (Some((_, own)), _) if !own.agreed => None,
            (_, Some((_, all))) if all.agreed => Some(all.said_at),
            (Some((_, own)), None) => Some(own.said_at),
            (Some((at, own)), Some((after, _))) if at > after => Some(own.said_at),
            _ => None,
        }
    }

    /// The last word on every batch of a group, or of no group, together; none while
    /// nothing was said.
    #[must_use]
    pub fn of_everything(&self, group: Option<GroupId>) -> Option<Consent> {
        let all = self.0.iter().rev();
        all.copied()
            .find(|consent| (consent.group, consent.batch) == (group, None))
    }
}

/// A batch in use, and whose word on it counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnedBatch {
    /// The batch.
    pub id: DocumentId,
    /// Its title.
    pub title: String,
    /// The group that it belongs to; none for no group.
    pub group: Option<GroupId>,
}

const DOING: &str = "keeping what was agreed";
/// Whose word is wanted on a batch of a group.
const OF_ITS_GROUP: StoreError = StoreError::NotAllowed {
    what: "to say whether this batch goes into the study",
    who: "a keeper of the group that it belongs to, who says it on the page of that group",
};

impl Store {
    /// Keeps what was said of a batch, or of every batch: of the group that is acted in,
    /// and without a sight of those that belong to no group.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`], [`StoreError::WrongKind`] for what is no batch;
    /// [`StoreError::NotAllowed`] for a batch of another group, for who does not keep the
    /// own one, and without a sight for a batch of any group.
    pub async fn say_consent(
        &self,
        batch: Option<DocumentId>,
        agreed: bool,
        at: Timestamp,
    ) -> Result<(), StoreError> {
        let mut tx = self.db.write().await?;
        if let Some(batch) = batch {
            self.ask_to_say(&mut tx, batch).await?;
            require_kind(&mut tx, batch, Kind::Batch, "consent to a study").await?;
        }
        let group = self.within(&mut tx, Role::Keep).await?;
        let batch = batch.map(|id| id.to_string());
        on!(&mut tx, c => sqlx::query(sql::CONSENT_INSERT)
            .bind(&group)
            .bind(&batch)
            .bind(i64::from(agreed))
            .bind(at.ms())
            .execute(c).await.map(drop))
        .doing(DOING)?;
        let what = if agreed {
            "agree to the study"
        } else {
            "withdraw from the study"
        };
        self.note(&mut tx, what, batch.as_deref()).await?;
        tx.commit(DOING).await
    }

    /// All that was said of the study: by the group that is acted in, without a sight by
    /// all.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] for who is not in the group.
    pub async fn consents(&self) -> Result<Consents, StoreError> {
        let mut tx = self.db.read().await?;
        let group = self.within(&mut tx, Role::Read).await?;
        let found: Vec<ConsentRow> = match group {
            None => on!(&mut tx, c => sqlx::query_as(sql::CONSENT_LIST).fetch_all(c).await),
            Some(group) => on!(&mut tx, c => sqlx::query_as(people::sql::CONSENT_LIST_OF)
                .bind(&group).fetch_all(c).await),
        }
        .doing("reading what was agreed")?;
        Ok(Consents(rows::all(found)?))
    }

    /// The batches in use on which a word can be said, with whose it is, the last saved
    /// first: those of the group that is acted in, without a sight all.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] for who is not in the group.
    pub async fn owned_batches(&self) -> Result<Vec<OwnedBatch>, StoreError> {
        type Row = (String, String, Option<String>);
        let mut tx = self.db.read().await?;
        let group = self.within(&mut tx, Role::Read).await?;
        let found: Vec<Row> = match group {
            None => on!(&mut tx, c => sqlx::query_as(sql::BATCHES_OWNED).fetch_all(c).await),
            Some(group) => on!(&mut tx, c => sqlx::query_as(people::sql::BATCHES_OWNED_BY)
                .bind(&group).fetch_all(c).await),
        }
        .doing("listing batches")?;
        let owned = |(id, title, group): Row| {
            Ok(OwnedBatch {
                id: rows::document_id(&id)?,
                title,
                group: group.as_deref().map(rows::group_id).transpose()?,
            })
        };
        found.into_iter().map(owned).collect()
    }

    /// Whether a word on a batch is for whoever says it.
    async fn ask_to_say(&self, tx: &mut Tx, batch: DocumentId) -> Result<(), StoreError> {
        if self.sight.is_none() {
            return match owner_of(tx, batch).await? {
                None => Ok(()),
                Some(_) => Err(OF_ITS_GROUP),
            };
        }
        match self.allowed(tx, batch).await? {
            None => Err(StoreError::NoSuchDocument { id: batch }),
            Some((_, false)) => Err(OF_ITS_GROUP),
            Some((role, true)) if role < Role::Keep => Err(refused(Role::Keep)),
            Some(_) => Ok(()),
        }
    }
}

async fn owner_of(tx: &mut Tx, id: DocumentId) -> Result<Option<String>, StoreError> {
    let found: Option<Option<String>> =
        on!(tx, c => sqlx::query_scalar(people::sql::DOCUMENT_OWNER)
            .bind(id.to_string()).fetch_optional(c).await)
        .doing("asking whose a document is")?;
    found.ok_or(StoreError::NoSuchDocument { id })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(ms: i64) -> Timestamp {
        Timestamp::from_ms(ms).unwrap()
    }

    /// What was said, one letter each: A and W of everything, a and w of the batch.
    fn said(group: Option<GroupId>, batch: DocumentId, words: &str) -> Consents {
        let each = words.chars().zip(1..).map(|(word, ms)| Consent {
            group,
            batch: word.is_lowercase().then_some(batch),
            agreed: word.eq_ignore_ascii_case(&'a'),
            said_at: at(ms),
        });
        Consents(each.collect())
    }

    #[test]
    fn the_last_word_counts_and_a_withdrawal_is_never_undone_by_the_way() {
        let batch = DocumentId::new(Timestamp::MIN);
        for (words, since) in [
            ("", None),
            ("A", Some(1)),
            ("a", Some(1)),
            ("AW", None),
            ("aw", None),
            ("Aw", None),
            ("AwA", None),
            ("AwAa", Some(3)),
            ("aW", None),
            ("aWA", Some(3)),
            ("aWa", Some(3)),
            ("Wa", Some(2)),
            ("aWAW", None),
            ("awaW", None),
        ] {
            let group = GroupId::new(Timestamp::MIN);
            for group in [None, Some(group)] {
                let found = said(group, batch, words).since(batch, group);
                assert_eq!(found, since.map(at), "{words}");
            }
            // No group's word says anything of what belongs to another, or to none.
            let other = Some(GroupId::new(Timestamp::MIN));
            for of in [None, other] {
                assert_eq!(said(Some(group), batch, words).since(batch, of), None);
                assert_eq!(said(Some(group), batch, words).of_everything(of), None);
            }
            assert_eq!(said(None, batch, words).since(batch, other), None);
        }
        // What is said of one says nothing of another.
        let other = DocumentId::new(Timestamp::MIN);
        assert_eq!(said(None, batch, "a").since(other, None), None);
        assert_eq!(said(None, batch, "Aw").since(other, None), Some(at(1)));
    }
}

//! Whether a batch may go into a study over the batches of many: opt-in, withdrawable.
//!
//! What is said is added, never changed. A batch goes in if the last word on it, or on
//! everything after it was named, is that it may; what was withdrawn by itself stays out
//! until it is agreed to by itself.

use crate::db::{Tx, on};
use crate::error::Doing;
use crate::rows::{self, ConsentRow};
use crate::table::require_kind;
use crate::{DocumentId, Kind, Store, StoreError, Timestamp, sql};

/// What somebody said of the study.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Consent {
    /// The batch; none for every batch of the store.
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
    /// Since when a batch may go in; none if it may not.
    #[must_use]
    pub fn since(&self, batch: DocumentId) -> Option<Timestamp> {
        let last = |of: Option<DocumentId>| {
            let said = self.0.iter().enumerate();
            said.rev().find(|(_, consent)| consent.batch == of)
        };
        match (last(Some(batch)), last(None)) {
            (Some((_, own)), _) if !own.agreed => None,
            (_, Some((_, all))) if all.agreed => Some(all.said_at),
            (Some((_, own)), None) => Some(own.said_at),
            (Some((at, own)), Some((after, _))) if at > after => Some(own.said_at),
            _ => None,
        }
    }

    /// The last word on every batch of the store together; none while nothing was said.
    #[must_use]
    pub fn of_everything(&self) -> Option<Consent> {
        let all = self.0.iter().rev();
        all.copied().find(|consent| consent.batch.is_none())
    }
}

impl Store {
    /// Keeps what was said of a batch, or of every batch of the store.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`], [`StoreError::WrongKind`] for what is no batch.
    pub async fn say_consent(
        &self,
        batch: Option<DocumentId>,
        agreed: bool,
        at: Timestamp,
    ) -> Result<(), StoreError> {
        let doing = "keeping what was agreed";
        let mut tx = self.db.write().await?;
        if let Some(batch) = batch {
            require_kind(&mut tx, batch, Kind::Batch, "consent to a study").await?;
        }
        on!(&mut tx, c => sqlx::query(sql::CONSENT_INSERT)
            .bind(batch.map(|id| id.to_string()))
            .bind(i64::from(agreed))
            .bind(at.ms())
            .execute(c).await.map(drop))
        .doing(doing)?;
        tx.commit(doing).await
    }

    /// All that was said of the study.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read.
    pub async fn consents(&self) -> Result<Consents, StoreError> {
        read_consents(&mut self.db.read().await?).await
    }
}

async fn read_consents(tx: &mut Tx) -> Result<Consents, StoreError> {
    let found: Vec<ConsentRow> = on!(tx, c => sqlx::query_as(sql::CONSENT_LIST).fetch_all(c).await)
        .doing("reading what was agreed")?;
    Ok(Consents(rows::all(found)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(ms: i64) -> Timestamp {
        Timestamp::from_ms(ms).unwrap()
    }

    /// What was said, one letter each: A and W of everything, a and w of the batch.
    fn said(batch: DocumentId, words: &str) -> Consents {
        let each = words.chars().zip(1..).map(|(word, ms)| Consent {
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
            let found = said(batch, words).since(batch);
            assert_eq!(found, since.map(at), "{words}");
        }
        // What is said of one says nothing of another.
        let other = DocumentId::new(Timestamp::MIN);
        assert_eq!(said(batch, "a").since(other), None);
        assert_eq!(said(batch, "Aw").since(other), Some(at(1)));
    }
}

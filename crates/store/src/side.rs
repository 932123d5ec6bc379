//! Side versions: saves that were refused, and kept.

use crate::db::{Tx, on};
use crate::error::Doing;
use crate::table::{advance, insert_draft, read_document, read_side, read_sides};
use crate::{
    DocumentId, Draft, RevisionNumber, Role, Saved, SideId, SideInfo, SideVersion, Store,
    StoreError, Timestamp, sql,
};

impl Store {
    /// The side versions of a document, the oldest first, those taken up too.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn side_versions(&self, id: DocumentId) -> Result<Vec<SideInfo>, StoreError> {
        let mut tx = self.to_read(id).await?;
        read_document(&mut tx, id).await?;
        read_sides(&mut tx, id).await
    }

    /// One side version.
    ///
    /// # Errors
    /// [`StoreError::NoSuchSideVersion`].
    pub async fn side_version(&self, side: SideId) -> Result<SideVersion, StoreError> {
        let mut tx = self.db.read().await?;
        let found = read_side(&mut tx, side).await?;
        self.ask_of_side(&mut tx, &found, Role::Read).await?;
        Ok(found)
    }

    /// Saves the text of a side version as the next revision of its document,
    /// and marks the side version as taken up. It stays listed.
    ///
    /// # Errors
    /// [`StoreError::NoSuchSideVersion`]; [`StoreError::Stale`] if `expected`
    /// is not the newest revision: the side version then simply stays.
    pub async fn bring_back_side(
        &self,
        side: SideId,
        expected: RevisionNumber,
        author: Option<&str>,
        at: Timestamp,
    ) -> Result<Saved, StoreError> {
        let mut tx = self.db.write().await?;
        let found = read_side(&mut tx, side).await?;
        self.ask_of_side(&mut tx, &found, Role::Brew).await?;
        self.note(&mut tx, "take up a side version", Some(&side.to_string()))
            .await?;
        let SideVersion { info, text } = found;
        if !advance(&mut tx, info.document, expected, &info.title, at).await? {
            let current = read_document(&mut tx, info.document).await?.current;
            return Err(StoreError::Stale {
                id: info.document,
                expected,
                current,
                yours_kept_as: side,
            });
        }
        let note = format!(
            "brought back from the side version on revision {}",
            info.based_on
        );
        let author = self.author(author.or(info.author.as_deref()));
        let draft = Draft {
            title: &info.title,
            text: &text,
            author,
            note: Some(&note),
        };
        draft.check()?;
        let saved = insert_draft(&mut tx, info.document, expected.next(), &draft, at).await?;
        on!(&mut tx, c => sqlx::query(sql::SIDE_TAKE_UP)
            .bind(side.to_string())
            .bind(i64::from(saved.revision.get()))
            .execute(c).await.map(drop))
        .doing("taking up a side version")?;
        tx.commit("taking up a side version").await?;
        Ok(saved)
    }

    /// A side version of a document that may not be seen is not there either.
    async fn ask_of_side(
        &self,
        tx: &mut Tx,
        side: &SideVersion,
        needs: Role,
    ) -> Result<(), StoreError> {
        match self.ask(tx, side.info.document, needs).await {
            Err(StoreError::NoSuchDocument { .. }) => {
                Err(StoreError::NoSuchSideVersion { id: side.info.id })
            }
            other => other,
        }
    }
}

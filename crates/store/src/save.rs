//! Making, saving and reading documents.

use crate::analysis::{add_all, check_samples};
use crate::digest::sha256_hex;
use crate::table::{
    advance, insert_draft, insert_side, make_document, own, read_document, read_history,
    read_revision,
};
use crate::{
    Day, Difference, Document, DocumentId, Draft, Kind, Revision, RevisionInfo, RevisionNumber,
    Role, Saved, SideId, SideInfo, SideVersion, Store, StoreError, Timestamp,
};

/// A document that is to be made.
#[derive(Debug, Clone, Copy)]
pub struct NewDocument<'a> {
    /// What it is about.
    pub kind: Kind,
    /// Its first revision.
    pub draft: Draft<'a>,
    /// The first analyses of a water; none for any other kind.
    pub samples: &'a [(Day, &'a str)],
}

impl Store {
    /// Makes a new document; its first revision is number 1.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for a text that cannot be kept.
    pub async fn create(
        &self,
        kind: Kind,
        draft: &Draft<'_>,
        at: Timestamp,
    ) -> Result<Saved, StoreError> {
        let mut saved = self
            .create_many(kind, std::slice::from_ref(draft), at)
            .await?;
        saved
            .pop()
            .ok_or_else(|| StoreError::unreadable("new document", "none"))
    }

    /// Makes new documents of one kind, all or none.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for a text that cannot be kept.
    pub async fn create_many(
        &self,
        kind: Kind,
        drafts: &[Draft<'_>],
        at: Timestamp,
    ) -> Result<Vec<Saved>, StoreError> {
        let new = drafts.iter().map(|draft| NewDocument {
            kind,
            draft: *draft,
            samples: &[],
        });
        self.create_all(&new.collect::<Vec<_>>(), at).await
    }

    /// Makes new documents of any kind, waters with their first analyses, all or none.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for a text that cannot be kept.
    pub async fn create_all(
        &self,
        new: &[NewDocument<'_>],
        at: Timestamp,
    ) -> Result<Vec<Saved>, StoreError> {
        for one in new {
            one.draft.check()?;
            check_samples(one.samples)?;
        }
        let mut tx = self.db.write().await?;
        let group = self.within(&mut tx, Role::Brew).await?;
        let mut saved = Vec::with_capacity(new.len());
        for one in new {
            let draft = Draft {
                author: self.author(one.draft.author),
                ..one.draft
            };
            let made = make_document(&mut tx, one.kind, &draft, at).await?;
            if let Some(group) = &group {
                own(&mut tx, made.id, group).await?;
                self.note(&mut tx, "make", Some(&made.id.to_string()))
                    .await?;
            }
            add_all(&mut tx, made.id, one.samples, at).await?;
            saved.push(made);
        }
        tx.commit("making a document").await?;
        Ok(saved)
    }

    /// Saves a text as the next revision of a document, if `expected` still is
    /// the newest one. When this returns, the revision is on the disk.
    ///
    /// # Errors
    /// [`StoreError::Stale`] if somebody saved in between; the refused text is
    /// then kept as a side version, which the error names.
    /// [`StoreError::NoSuchDocument`]; [`StoreError::Impossible`] for a text
    /// that cannot be kept.
    pub async fn save(
        &self,
        id: DocumentId,
        expected: RevisionNumber,
        draft: &Draft<'_>,
        at: Timestamp,
    ) -> Result<Saved, StoreError> {
        draft.check()?;
        let draft = &Draft {
            author: self.author(draft.author),
            ..*draft
        };
        let mut tx = self.to_change(id, "save").await?;
        if advance(&mut tx, id, expected, draft.title, at).await? {
            let saved = insert_draft(&mut tx, id, expected.next(), draft, at).await?;
            tx.commit("saving a document").await?;
            return Ok(saved);
        }
        let current = read_document(&mut tx, id).await?.current;
        let kept = refused_version(id, expected, current, draft, at);
        insert_side(&mut tx, &kept).await?;
        tx.commit("keeping a refused version").await?;
        Err(StoreError::Stale {
            id,
            expected,
            current,
            yours_kept_as: kept.info.id,
        })
    }

    /// A document without its text.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn document(&self, id: DocumentId) -> Result<Document, StoreError> {
        read_document(&mut self.to_read(id).await?, id).await
    }

    /// The newest revision of a document.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn current(&self, id: DocumentId) -> Result<Revision, StoreError> {
        let mut tx = self.to_read(id).await?;
        let newest = read_document(&mut tx, id).await?.current;
        read_revision(&mut tx, id, newest).await
    }

    /// One revision of a document.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`], [`StoreError::NoSuchRevision`].
    pub async fn revision(
        &self,
        id: DocumentId,
        number: RevisionNumber,
    ) -> Result<Revision, StoreError> {
        read_revision(&mut self.to_read(id).await?, id, number).await
    }

    /// All revisions of a document, the first one first.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn history(&self, id: DocumentId) -> Result<Vec<RevisionInfo>, StoreError> {
        let mut tx = self.to_read(id).await?;
        read_document(&mut tx, id).await?;
        read_history(&mut tx, id).await
    }

    /// What changed from revision `a` to revision `b`, line by line.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`], [`StoreError::NoSuchRevision`].
    pub async fn difference(
        &self,
        id: DocumentId,
        a: RevisionNumber,
        b: RevisionNumber,
    ) -> Result<Difference, StoreError> {
        let mut tx = self.to_read(id).await?;
        let old = read_revision(&mut tx, id, a).await?;
        let new = read_revision(&mut tx, id, b).await?;
        Ok(Difference::between(&old.text, &new.text))
    }

    /// Saves the text of an earlier revision again, as the next one.
    ///
    /// # Errors
    /// Those of [`Store::save`], and [`StoreError::NoSuchRevision`].
    pub async fn bring_back(
        &self,
        id: DocumentId,
        number: RevisionNumber,
        expected: RevisionNumber,
        author: Option<&str>,
        at: Timestamp,
    ) -> Result<Saved, StoreError> {
        // A revision never changes, so it may be read before the save begins.
        let earlier = self.revision(id, number).await?;
        let note = format!("brought back from revision {number}");
        let draft = Draft {
            title: &earlier.info.title,
            text: &earlier.text,
            author,
            note: Some(&note),
        };
        self.save(id, expected, &draft, at).await
    }
}

fn refused_version(
    id: DocumentId,
    based_on: RevisionNumber,
    met: RevisionNumber,
    draft: &Draft<'_>,
    at: Timestamp,
) -> SideVersion {
    let info = SideInfo {
        id: SideId::new(at),
        document: id,
        based_on,
        met,
        title: draft.title.to_owned(),
        sha256: sha256_hex(draft.text),
        saved_at: at,
        author: draft.author.map(str::to_owned),
        note: draft.note.map(str::to_owned),
        taken_up_as: None,
    };
    SideVersion {
        info,
        text: draft.text.to_owned(),
    }
}

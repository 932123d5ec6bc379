//! Batches of the store to lay beside each other, with what tastings of them said.

use batch::tasting::{Judged, Tasting};
use store::{DocumentId, Kind, RevisionNumber, StoreError};

use crate::kinds::title;
use crate::{App, AppError};

/// A batch that was picked, in one of its revisions.
#[derive(Debug, Clone, PartialEq)]
pub struct Picked {
    /// Which.
    pub id: DocumentId,
    /// Its revision.
    pub revision: RevisionNumber,
    /// Whether that is its newest.
    pub newest: bool,
    /// What the batch is called in it.
    pub name: String,
    /// Its text.
    pub text: String,
    /// What tastings of the batch said.
    pub tastings: Vec<String>,
}

impl App {
    /// A batch in a revision; in its newest where none is named.
    ///
    /// # Errors
    /// [`AppError::Store`] if there is none.
    pub async fn pick(
        &self,
        id: DocumentId,
        revision: Option<RevisionNumber>,
    ) -> Result<Picked, AppError> {
        let current = self.current_of(Kind::Batch, id).await?;
        let newest = current.info.number;
        let number = revision.unwrap_or(newest);
        let text = if number == newest {
            current.text
        } else {
            self.store.revision(id, number).await?.text
        };
        let written = batch::edit::written_values(&text).unwrap_or_default();
        let tastings = self.tastings_of(id).await?.into_iter();
        Ok(Picked {
            id,
            revision: number,
            newest: number == newest,
            name: title(Kind::Batch, &written),
            text,
            tastings: tastings
                .filter_map(|open| {
                    let (tasting, judged) = open.contents.ok()?;
                    Some(said(&tasting, &judged))
                })
                .collect(),
        })
    }

    /// The same by how it is written: an identifier, or one with a revision as in `ID@3`.
    ///
    /// # Errors
    /// [`AppError::NotOne`] for what is no identifier; [`AppError::Store`].
    pub async fn pick_written(&self, written: &str) -> Result<Picked, AppError> {
        let (id, revision) = revision_of(written);
        let unread = || AppError::NotOne {
            what: "batch",
            wanted: written.to_owned(),
            found: "an identifier, or one with a revision such as @3".to_owned(),
        };
        let id: DocumentId = id.trim().parse().map_err(|_| unread())?;
        let revision = revision.map(revision_number).transpose()?;
        self.pick(id, revision).await
    }
}

/// A name, and the revision behind its last `@` where that is a number.
#[must_use]
pub fn revision_of(written: &str) -> (&str, Option<u32>) {
    let parted = written.rsplit_once('@');
    let parted = parted.and_then(|(name, number)| Some((name, number.trim().parse().ok()?)));
    parted.map_or((written, None), |(name, number)| (name, Some(number)))
}

/// The revision of a number.
///
/// # Errors
/// [`StoreError`] for nought.
pub fn revision_number(number: u32) -> Result<RevisionNumber, StoreError> {
    RevisionNumber::new(number)
}

/// What a tasting said in one line; nothing before it is over.
fn said(tasting: &Tasting, judged: &Judged) -> String {
    let name = &tasting.name;
    if !judged.over {
        return format!("{name}: not over yet");
    }
    let shown = judged.attributes.iter();
    let shown = shown.filter(|a| a.adjusted_p <= tasting.false_alarm);
    let scored: Vec<String> = shown
        .map(|a| {
            let side = if a.mean.value.unwrap_or_default() > 0.0 {
                "more"
            } else {
                "less"
            };
            format!("{side} {} than in {}", a.attribute, tasting.reference)
        })
        .collect();
    let scored = if scored.is_empty() {
        String::new()
    } else {
        format!(" Scored: {}.", scored.join(", "))
    };
    format!("{name}: {}{scored}", judged.headline)
}

#[cfg(test)]
mod tests {
    use super::revision_of;

    #[test]
    fn a_revision_stands_behind_the_last_at() {
        assert_eq!(revision_of("pale@3"), ("pale", Some(3)));
        assert_eq!(revision_of("pale"), ("pale", None));
        assert_eq!(revision_of("brewed@home"), ("brewed@home", None));
        assert_eq!(revision_of("brewed@home@12"), ("brewed@home", Some(12)));
    }
}

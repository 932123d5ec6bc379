//! What the tasters of a house notice: their thresholds, by the tastings that are over and
//! by findings that name who found them.

use std::collections::BTreeMap;

use batch::Reckoning;
use batch::edit::written_values;
use batch::learning::{Tasted, TasterThreshold, found_by, keenness, tasted, thresholds};
use store::{DocumentId, Kind, RevisionNumber};

use crate::{App, AppError, Outcome};

/// What was heard before, by document: its revision, that of the batch of a tasting, and
/// what it says.
pub(crate) type TastedBefore =
    BTreeMap<DocumentId, (RevisionNumber, Option<RevisionNumber>, Vec<Tasted>)>;

/// A finding that counts by what is known of its taster.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// Which of the findings of the document, from nought.
    pub finding: usize,
    /// How surely it would have been noticed.
    pub keen: f64,
    /// In words.
    pub words: String,
}

impl App {
    /// The thresholds of all tasters of the store.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn tasters(&self) -> Result<Vec<TasterThreshold>, AppError> {
        self.tasters_but(None).await
    }

    /// The same without what was said of one batch: a finding must not weigh itself.
    async fn tasters_but(&self, but: Option<DocumentId>) -> Result<Vec<TasterThreshold>, AppError> {
        let mut all = Vec::new();
        let mut batches = BTreeMap::new();
        for row in self.every(Kind::Batch).await? {
            batches.insert(row.id, row.revision);
            if Some(row.id) == but {
                continue;
            }
            let known = self.tasted_before(row.id, row.revision, None).await;
            all.extend(match known {
                Some(known) => known,
                None => {
                    let text = self.current_of(Kind::Batch, row.id).await?.text;
                    let said = found_in(&text);
                    self.keep_tasted(row.id, (row.revision, None, said.clone()))
                        .await;
                    said
                }
            });
        }
        for row in self.every(Kind::Tasting).await? {
            let open = self.tasting(row.id).await?;
            let Ok((tasting, judged)) = &open.contents else {
                continue;
            };
            let of = tasting.batch.as_ref();
            let of = of.and_then(|id| id.parse::<DocumentId>().ok());
            let of = of.filter(|id| Some(*id) != but);
            let Some((of, revision)) = of.and_then(|id| Some((id, *batches.get(&id)?))) else {
                continue;
            };
            let known = self
                .tasted_before(row.id, row.revision, Some(revision))
                .await;
            all.extend(match known {
                Some(known) => known,
                None => {
                    let text = self.current_of(Kind::Batch, of).await?.text;
                    let outcome = Outcome::of(&text);
                    let said = outcome
                        .reckoning()
                        .map_or_else(Vec::new, |r| tasted(r, tasting, judged));
                    self.keep_tasted(row.id, (row.revision, Some(revision), said.clone()))
                        .await;
                    said
                }
            });
        }
        Ok(thresholds(&all))
    }

    /// The findings of a batch that count by what is known of who found them.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub(crate) async fn weighed(
        &self,
        batch: DocumentId,
        r: &Reckoning,
    ) -> Result<Vec<Weighed>, AppError> {
        let named = r.document.findings.iter().any(|f| f.by.is_some());
        if !named {
            return Ok(Vec::new());
        }
        let known = self.tasters_but(Some(batch)).await?;
        let each = r.document.findings.iter().enumerate();
        let counts = each.filter_map(|(n, finding)| {
            let of = keenness(r, finding, &known)?;
            Some(Weighed {
                finding: n,
                keen: of.keen,
                words: batch::learning::keen_words(of),
            })
        });
        Ok(counts.collect())
    }

    async fn tasted_before(
        &self,
        id: DocumentId,
        revision: RevisionNumber,
        of: Option<RevisionNumber>,
    ) -> Option<Vec<Tasted>> {
        let memory = self.known.memory.lock().await;
        let (kept, kept_of, said) = memory.tasted.get(&id)?;
        (*kept == revision && *kept_of == of).then(|| said.clone())
    }

    async fn keep_tasted(
        &self,
        id: DocumentId,
        said: (RevisionNumber, Option<RevisionNumber>, Vec<Tasted>),
    ) {
        self.known.memory.lock().await.tasted.insert(id, said);
    }
}

/// What is found in a text by somebody who is named; the stream is reckoned only then.
fn found_in(text: &str) -> Vec<Tasted> {
    let written = written_values(text).unwrap_or_default();
    let named = |path: &String| path.starts_with("finding[") && path.ends_with("].by");
    if !written.keys().any(named) {
        return Vec::new();
    }
    let outcome = Outcome::of(text);
    outcome.reckoning().map_or_else(Vec::new, found_by)
}

//! What the other batches of the store say of a batch: a house has its habits, its water
//! and its yeast.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use batch::Reckoning;
use batch::edit::written_values;
use batch::inquiry::{Brewed, Heard, Story, common, heard, house_words, moved_words};
use inquiry::{Common, House, InquiryError};
use store::{DocumentId, Kind, RevisionNumber};

use crate::tasters::{TastedBefore, Weighed};
use crate::{App, AppError, BatchRow, OpenBatch, OpenTasting};

/// So many of the batches that spoke are listed, each with what it said.
const LISTED: usize = 100;

/// What the other batches say.
#[derive(Debug, Clone, Default)]
pub struct HouseHistory {
    /// What they add up to.
    pub house: House,
    /// Those that spoke; of very many, the ones that were saved last.
    pub spoke: Vec<Spoke>,
    /// How many spoke: all of them count.
    pub spoke_in_all: usize,
    /// How many batches were looked back on: all the others that are kept.
    pub looked_back_on: usize,
    /// Findings of the batch that count by what is known of who found them.
    pub weighed: Vec<Weighed>,
}

impl HouseHistory {
    /// That more spoke than are listed, where they did.
    #[must_use]
    pub fn unlisted(&self) -> Option<String> {
        let listed = self.spoke.len();
        (self.spoke_in_all > listed).then(|| {
            format!(
                "All {} that spoke count; listed are the {listed} that were saved last.",
                self.spoke_in_all
            )
        })
    }

    /// A reckoning whose findings count by what is known of who found them.
    #[must_use]
    pub fn weigh(&self, r: &Reckoning) -> Reckoning {
        let mut weighed = r.clone();
        for one in &self.weighed {
            if let Some(finding) = weighed.document.findings.get_mut(one.finding) {
                finding.keen = one.keen;
            }
        }
        weighed
    }
}

/// A batch that spoke.
#[derive(Debug, Clone, PartialEq)]
pub struct Spoke {
    /// Which.
    pub id: DocumentId,
    /// What it is called.
    pub name: String,
    /// What it shares with this one, what was found in it, and what that moves.
    pub words: String,
}

/// A batch of the store as the history sees it.
#[derive(Debug, Clone)]
pub(crate) struct Kept {
    revision: RevisionNumber,
    /// Whether a tasting showed it to be as its aim.
    alike: bool,
    /// The batch that it comes after.
    after: Option<String>,
    /// None where it says nothing, or cannot be read.
    said: Option<Arc<(batch::Document, Heard)>>,
}

/// What was read of documents before: each is read once for each revision.
#[derive(Debug, Default)]
pub(crate) struct Memory {
    batches: BTreeMap<DocumentId, Kept>,
    /// The batch of which a tasting showed likeness.
    tastings: BTreeMap<DocumentId, (RevisionNumber, Option<String>)>,
    /// What tasters noticed.
    pub(crate) tasted: TastedBefore,
}

impl App {
    /// What the other batches say of the causes in one: those that share its water, its
    /// yeast or its kit, and in which something was found, tested or called sound.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn house_of(&self, batch: &OpenBatch) -> Result<HouseHistory, AppError> {
        let Some(reckoning) = batch.outcome.reckoning() else {
            return Ok(HouseHistory::default());
        };
        let alike = self.shown_alike().await?;
        let own = batch.id.to_string();
        let mut history = HouseHistory {
            weighed: self.weighed(batch.id, reckoning).await?,
            ..HouseHistory::default()
        };
        let mut heard = Vec::new();
        let rows = self.every(Kind::Batch).await?;
        for row in rows.into_iter().filter(|row| row.id != batch.id) {
            history.looked_back_on += 1;
            let as_aim = alike.contains(&row.id.to_string());
            let kept = self.recalled(row.id, row.revision, as_aim).await?;
            // What came of its own remedy is weighed by itself.
            let its_own = kept.after.as_deref() == Some(own.as_str());
            let Some(said) = kept.said.filter(|_| !its_own) else {
                continue;
            };
            let common = common(&reckoning.document, &said.0);
            if common != Common::default() {
                heard.push((row.id, row.name, common, said));
            }
        }
        for (_, name, common, said) in &heard {
            said.1.tell(&mut history.house, name, *common);
        }
        history.spoke_in_all = heard.len();
        let moved = history.house.moved();
        let moved = moved.unwrap_or_else(|_| vec![Vec::new(); heard.len()]);
        for ((id, name, common, said), moved) in heard.into_iter().zip(moved).take(LISTED) {
            let words = house_words(&name, common, &said.1, &moved_words(&moved));
            history.spoke.push(Spoke { id, name, words });
        }
        Ok(history)
    }

    /// The story of the inquiry into a batch, with the batches that were brewed after it.
    ///
    /// # Errors
    /// [`AppError::Store`]. The inner error says why the question cannot be weighed; none
    /// where the batch cannot be reckoned.
    pub async fn story_of(
        &self,
        batch: &OpenBatch,
    ) -> Result<Option<(Result<Story, InquiryError>, HouseHistory)>, AppError> {
        let Some(reckoning) = batch.outcome.reckoning() else {
            return Ok(None);
        };
        let history = self.house_of(batch).await?;
        let alike = self.shown_alike().await?;
        let after = self.brewed_after(batch.id).await?;
        let read: Vec<(String, &OpenBatch, &Reckoning)> = after
            .iter()
            .filter_map(|open| Some((open.id.to_string(), open, open.outcome.reckoning()?)))
            .collect();
        let brewed: Vec<Brewed<'_>> = read
            .iter()
            .map(|(id, open, reckoning)| Brewed {
                id,
                text: &open.text,
                reckoning,
                alike: alike.contains(id),
            })
            .collect();
        let weighed = history.weigh(reckoning);
        let story = Story::of(&batch.text, &weighed, &history.house, &brewed);
        Ok(Some((story, history)))
    }

    /// The batches whose document says that they come after one.
    async fn brewed_after(&self, batch: DocumentId) -> Result<Vec<OpenBatch>, AppError> {
        let wanted = batch.to_string();
        let alike = self.shown_alike().await?;
        let mut after = Vec::new();
        for row in self.every(Kind::Batch).await? {
            let as_aim = alike.contains(&row.id.to_string());
            let kept = self.recalled(row.id, row.revision, as_aim).await?;
            if kept.after.as_ref() == Some(&wanted) {
                after.push(self.batch(row.id).await?);
            }
        }
        Ok(after)
    }

    /// Identifiers of the batches of which a tasting that is over showed likeness.
    async fn shown_alike(&self) -> Result<BTreeSet<String>, AppError> {
        let mut alike = BTreeSet::new();
        for row in self.every(Kind::Tasting).await? {
            let known = self
                .known
                .memory
                .lock()
                .await
                .tastings
                .get(&row.id)
                .cloned();
            let shown = match known.filter(|(revision, _)| *revision == row.revision) {
                Some((_, shown)) => shown,
                None => {
                    let shown = likeness_of(self.tasting(row.id).await?);
                    let kept = (row.revision, shown.clone());
                    self.known.memory.lock().await.tastings.insert(row.id, kept);
                    shown
                }
            };
            alike.extend(shown);
        }
        Ok(alike)
    }

    /// Every document of a kind that is in use, the last saved first.
    pub(crate) async fn every(&self, kind: Kind) -> Result<Vec<BatchRow>, AppError> {
        let rows = self.store().in_use(kind).await?;
        Ok(rows.into_iter().map(BatchRow::of).collect())
    }

    /// What a batch says of its house: read once for each revision.
    async fn recalled(
        &self,
        id: DocumentId,
        revision: RevisionNumber,
        alike: bool,
    ) -> Result<Kept, AppError> {
        let known = self.known.memory.lock().await.batches.get(&id).cloned();
        let fresh = |k: &Kept| k.revision == revision && k.alike == alike;
        if let Some(known) = known.filter(fresh) {
            return Ok(known);
        }
        let text = self.store().current(id).await?.text;
        let kept = match written(&text, alike) {
            Some(mut written) => Kept {
                revision,
                alike,
                said: said(&text, &written, alike),
                after: written.remove("inquiry.after"),
            },
            None => Kept {
                revision,
                alike,
                after: None,
                said: None,
            },
        };
        self.known
            .memory
            .lock()
            .await
            .batches
            .insert(id, kept.clone());
        Ok(kept)
    }
}

/// The batch of which a tasting that is over showed likeness, and no difference.
fn likeness_of(open: OpenTasting) -> Option<String> {
    let (tasting, judged) = open.contents.ok()?;
    let shown = judged.similarity.is_some_and(|s| s.shown());
    let alike = judged.over && shown && !judged.shown();
    tasting.batch.filter(|_| alike)
}

/// What is written in a batch that may say anything; most say nothing, and need not be read.
fn written(text: &str, alike: bool) -> Option<BTreeMap<String, String>> {
    /// One of them stands in each that does. A key may be written with escapes.
    const WORDS: [&str; 4] = ["finding", "test", "inquiry", "\\"];
    if !alike && !WORDS.iter().any(|word| text.contains(word)) {
        return None;
    }
    written_values(text).ok()
}

/// What a batch says; the stream is reckoned only where it may say anything.
fn said(
    text: &str,
    written: &BTreeMap<String, String>,
    alike: bool,
) -> Option<Arc<(batch::Document, Heard)>> {
    let told = ["finding[1]", "test[1]", "inquiry.sound"];
    let tells = |path: &String| told.iter().any(|of| path.starts_with(of));
    if !alike && !written.keys().any(tells) {
        return None;
    }
    let outcome = crate::Outcome::of(text);
    let reckoning = outcome.reckoning()?;
    let heard = heard(reckoning, alike).ok()??;
    Some(Arc::new((reckoning.document.clone(), heard)))
}

//! Matching an aim: what the library lends to a search, and keeping what was found.

use batch::edit::set_value;
use batch::library::Stores;
use batch::matching::Destination;
use store::{DocumentId, Kind, RevisionNumber};

use crate::{App, AppError, Contents, LibraryKind, OpenBatch};

/// Stores with the text that they were read from.
#[derive(Debug, Clone)]
pub struct StoresAtHand {
    /// As read.
    pub stores: Stores,
    /// As written.
    pub text: String,
}

impl App {
    /// The stores of the library under an identifier.
    ///
    /// # Errors
    /// [`AppError::Store`] if there are none; [`AppError::Faulty`] if they cannot be read.
    pub async fn stores_at_hand(&self, id: DocumentId) -> Result<StoresAtHand, AppError> {
        let entry = self.entry(LibraryKind::Stores, id).await?;
        let text = entry.text;
        match entry.contents {
            Ok((Contents::Stores(stores), _)) => Ok(StoresAtHand { stores, text }),
            Ok(_) => Err(AppError::Store(store::StoreError::NoSuchDocument { id })),
            Err(faults) => Err(AppError::Faulty { faults, text }),
        }
    }

    /// What tastings of a batch that are over said of the beer beside it, as the words of an
    /// aim: names of the tastings and words.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn admired(&self, batch: DocumentId) -> Result<Vec<(String, String)>, AppError> {
        let tastings = self.tastings_of(batch).await?;
        let said = tastings.into_iter().filter_map(|open| {
            let (tasting, judged) = open.contents.ok()?;
            let words = batch::matching::admired(&tasting, &judged);
            (!words.is_empty()).then_some((open.name, words))
        });
        Ok(said.collect())
    }

    /// Where a batch goes, with a kit and the newest analysis of a water of the library.
    ///
    /// # Errors
    /// [`AppError::Store`]; [`AppError::NoAnalysis`] for a water without one.
    pub async fn destination(
        &self,
        volume: &str,
        altitude: &str,
        brewhouse: Option<DocumentId>,
        water: Option<DocumentId>,
    ) -> Result<Destination, AppError> {
        let mut to = Destination {
            volume: volume.to_owned(),
            altitude: altitude.to_owned(),
            ..Destination::default()
        };
        if let Some(id) = brewhouse {
            to.brewhouse = Some(self.entry(LibraryKind::Brewhouse, id).await?.text);
        }
        if let Some(id) = water {
            let water = self.entry(LibraryKind::Water, id).await?;
            let newest = self.analyses(&water).await?.pop();
            let newest = newest.ok_or_else(|| AppError::NoAnalysis {
                water: water.name.clone(),
                day: None,
            })?;
            to.water = Some((water.name, newest.text));
        }
        Ok(to)
    }

    /// Saves a recipe that was found as the next revision of its batch; `what` says which.
    ///
    /// # Errors
    /// [`AppError::Store`], for one where the batch has moved on.
    pub async fn keep_match(
        &self,
        id: DocumentId,
        on: RevisionNumber,
        text: &str,
        what: &str,
    ) -> Result<(), AppError> {
        let note = format!("matched to the aim: {what}");
        self.save(Kind::Batch, id, on, text, &note).await?;
        Ok(())
    }

    /// Keeps a recipe that was found as a batch of its own, under the name of the first
    /// with a word behind it.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn keep_match_as_new(
        &self,
        name: &str,
        text: &str,
        what: &str,
    ) -> Result<OpenBatch, AppError> {
        let text = set_value(text, "batch.name", &format!("{name}, {what}"))?;
        self.keep_batch(&text, &format!("found from {name}")).await
    }
}

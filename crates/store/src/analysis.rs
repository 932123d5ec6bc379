//! Dated analyses of a water.

use crate::NewDocument;
use crate::db::{Tx, on};
use crate::digest::sha256_hex;
use crate::error::Doing;
use crate::rows::{self, AnalysisRow};
use crate::table::{read_document, require_kind};
use crate::{
    Day, DocumentId, Draft, Kind, RevisionNumber, Saved, Store, StoreError, Timestamp, limits, sql,
};

/// A dated analysis of a water.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Analysis {
    /// The water.
    pub water: DocumentId,
    /// The day the sample was taken.
    pub taken_on: Day,
    /// Counted from one within that day: a correction is a further number.
    pub number: RevisionNumber,
    /// The analysis, as TOML, to the byte.
    pub text: String,
    /// The SHA-256 of the text, in small hexadecimal letters.
    pub sha256: String,
    /// When it was saved.
    pub saved_at: Timestamp,
}

impl Store {
    /// Adds an analysis to a water. The same text for the same day is kept
    /// once; a different one becomes the next number of that day.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`], [`StoreError::WrongKind`],
    /// [`StoreError::Impossible`] for a text that cannot be kept.
    pub async fn add_analysis(
        &self,
        water: DocumentId,
        taken_on: Day,
        text: &str,
        at: Timestamp,
    ) -> Result<Analysis, StoreError> {
        let mut added = self.add_analyses(water, &[(taken_on, text)], at).await?;
        added
            .pop()
            .ok_or_else(|| StoreError::unreadable("new analysis", "none"))
    }

    /// Adds analyses to a water as [`Store::add_analysis`] does, all or none.
    ///
    /// # Errors
    /// Those of [`Store::add_analysis`].
    pub async fn add_analyses(
        &self,
        water: DocumentId,
        samples: &[(Day, &str)],
        at: Timestamp,
    ) -> Result<Vec<Analysis>, StoreError> {
        check_samples(samples)?;
        let mut tx = self.to_change(water, "add an analysis").await?;
        // Two who add to the same day take turns, so that each gets a number.
        on!(&mut tx, c => sqlx::query(sql::DOCUMENT_HOLD).bind(water.to_string()).execute(c).await.map(drop))
            .doing("adding an analysis")?;
        require_kind(&mut tx, water, Kind::Water, "analyses").await?;
        let added = add_all(&mut tx, water, samples, at).await?;
        tx.commit("adding analyses").await?;
        Ok(added)
    }

    /// Makes a water with its first analyses, all or none.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for a text that cannot be kept.
    pub async fn create_water(
        &self,
        draft: &Draft<'_>,
        samples: &[(Day, &str)],
        at: Timestamp,
    ) -> Result<Saved, StoreError> {
        let new = NewDocument {
            kind: Kind::Water,
            draft: *draft,
            samples,
        };
        let mut saved = self.create_all(&[new], at).await?;
        saved
            .pop()
            .ok_or_else(|| StoreError::unreadable("new water", "none"))
    }

    /// All analyses of a water, by day and number.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn analyses(&self, water: DocumentId) -> Result<Vec<Analysis>, StoreError> {
        let mut tx = self.to_read(water).await?;
        read_document(&mut tx, water).await?;
        read_analyses(&mut tx, water).await
    }
}

pub(crate) fn check_samples(samples: &[(Day, &str)]) -> Result<(), StoreError> {
    let mut texts = samples.iter();
    texts.try_for_each(|(_, text)| limits::text("text of the analysis", text))
}

pub(crate) async fn add_all(
    tx: &mut Tx,
    water: DocumentId,
    samples: &[(Day, &str)],
    at: Timestamp,
) -> Result<Vec<Analysis>, StoreError> {
    let mut added = Vec::with_capacity(samples.len());
    for (taken_on, text) in samples {
        added.push(add_one(tx, water, (*taken_on, text), at).await?);
    }
    Ok(added)
}

async fn add_one(
    tx: &mut Tx,
    water: DocumentId,
    (taken_on, text): (Day, &str),
    at: Timestamp,
) -> Result<Analysis, StoreError> {
    let of_day = analyses_of_day(tx, water, taken_on).await?;
    let sha256 = sha256_hex(text);
    let next = of_day
        .last()
        .map_or(RevisionNumber::FIRST, |last| last.number.next());
    if let Some(same) = of_day.into_iter().find(|earlier| earlier.sha256 == sha256) {
        return Ok(same);
    }
    let analysis = Analysis {
        water,
        taken_on,
        number: next,
        text: text.to_owned(),
        sha256,
        saved_at: at,
    };
    insert_analysis(tx, &analysis).await?;
    Ok(analysis)
}

async fn analyses_of_day(
    tx: &mut Tx,
    water: DocumentId,
    day: Day,
) -> Result<Vec<Analysis>, StoreError> {
    let rows: Vec<AnalysisRow> = on!(tx, c => sqlx::query_as(sql::ANALYSIS_OF_DAY)
        .bind(water.to_string()).bind(day.to_string())
        .fetch_all(c).await)
    .doing("reading analyses")?;
    rows::all(rows)
}

pub(crate) async fn read_analyses(
    tx: &mut Tx,
    water: DocumentId,
) -> Result<Vec<Analysis>, StoreError> {
    let rows: Vec<AnalysisRow> =
        on!(tx, c => sqlx::query_as(sql::ANALYSIS_LIST).bind(water.to_string()).fetch_all(c).await)
            .doing("reading analyses")?;
    rows::all(rows)
}

pub(crate) async fn insert_analysis(tx: &mut Tx, analysis: &Analysis) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(sql::ANALYSIS_INSERT)
        .bind(analysis.water.to_string())
        .bind(analysis.taken_on.to_string())
        .bind(i64::from(analysis.number.get()))
        .bind(&analysis.text)
        .bind(&analysis.sha256)
        .bind(analysis.saved_at.ms())
        .execute(c).await.map(drop))
    .doing("adding an analysis")
}

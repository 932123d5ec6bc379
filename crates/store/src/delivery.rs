//! Deliveries: what came in one go, and what became of each row of it.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::db::{Tx, on};
use crate::error::Doing;
use crate::reading::{check_reading, insert_readings};
use crate::rows::{self, DeliveryRow, RemarkRow};
use crate::table::{read_document, require_kind};
use crate::{DocumentId, Kind, Reading, Role, Store, StoreError, Timestamp, limits, sql};

/// What came in one go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivery {
    /// Its number.
    pub id: i64,
    /// By which way it came.
    pub source: String,
    /// When it came.
    pub came_at: Timestamp,
    /// Rows of a table or records of a pack.
    pub rows: u64,
    /// Readings that were new.
    pub added: u64,
    /// Readings that were there before.
    pub already: u64,
    /// Readings that another value stood in the way of.
    pub contradicted: u64,
    /// Rows with something that could not be read.
    pub refused: u64,
}

/// Something about a row of a delivery.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// The delivery.
    pub delivery: i64,
    /// The line of the table or the place in the pack, from 1.
    pub line: u64,
    /// What it is.
    pub kind: RemarkKind,
    /// Why.
    pub why: String,
    /// The row as it came.
    pub raw: String,
}

/// What is remarked of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RemarkKind {
    /// Something in it could not be read.
    Refused,
    /// The same instrument has another value of that time.
    Contradicted,
    /// Its clock is odd; the reading was kept.
    Clock,
}

impl RemarkKind {
    /// Its word in the tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Refused => "refused",
            Self::Contradicted => "contradicted",
            Self::Clock => "clock",
        }
    }

    pub(crate) fn of_word(word: &str) -> Option<Self> {
        [Self::Refused, Self::Contradicted, Self::Clock]
            .into_iter()
            .find(|kind| kind.word() == word)
    }
}

/// A part of a delivery: kept whole or not at all.
#[derive(Debug, Clone, Default)]
pub struct Block {
    /// Rows in it.
    pub rows: u64,
    /// The readings of those rows, each with the line it stood in.
    pub readings: Vec<Reading>,
    /// The lines of the readings.
    pub lines: Vec<u64>,
    /// What is remarked of the rows already: line, kind, why, raw.
    pub remarks: Vec<(u64, RemarkKind, String, String)>,
}

/// What became of a block.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BlockKept {
    /// Readings that are new.
    pub added: usize,
    /// Readings that were there before.
    pub already: usize,
    /// Readings that another value stood in the way of, with their lines.
    pub contradicted: Vec<(u64, String)>,
}

impl Store {
    /// Begins a delivery to a batch.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`], [`StoreError::WrongKind`],
    /// [`StoreError::Impossible`] for a source that cannot be kept.
    pub async fn begin_delivery(
        &self,
        batch: DocumentId,
        source: &str,
        at: Timestamp,
    ) -> Result<i64, StoreError> {
        let doing = "beginning a delivery";
        limits::line("source of a reading", source)?;
        let mut tx = self.to_change(batch, "add readings").await?;
        require_kind(&mut tx, batch, Kind::Batch, "readings").await?;
        let id = on!(&mut tx, c => sqlx::query_scalar(sql::DELIVERY_INSERT)
            .bind(batch.to_string()).bind(source).bind(at.ms())
            .fetch_one(c).await)
        .doing(doing)?;
        tx.commit(doing).await?;
        Ok(id)
    }

    /// Keeps a block of a delivery: its readings, its remarks and its counts, all in
    /// one transaction.
    ///
    /// # Errors
    /// As [`Store::add_readings`].
    pub async fn add_block(
        &self,
        batch: DocumentId,
        delivery: i64,
        block: &Block,
    ) -> Result<BlockKept, StoreError> {
        block.readings.iter().try_for_each(check_reading)?;
        let mut tx = self.db.write().await?;
        // Begun once, told once in the audit trail.
        self.ask(&mut tx, batch, Role::Brew).await?;
        require_kind(&mut tx, batch, Kind::Batch, "readings").await?;
        require_delivery(&mut tx, batch, delivery).await?;
        let added = insert_readings(&mut tx, batch, &block.readings).await?;
        let contradicted = contradictions(block, &added.refused);
        remark(&mut tx, delivery, block, &contradicted).await?;
        let refused = block
            .remarks
            .iter()
            .filter(|(_, kind, ..)| *kind == RemarkKind::Refused)
            .count();
        on!(&mut tx, c => sqlx::query(sql::DELIVERY_ADD)
            .bind(delivery)
            .bind(whole(block.rows))
            .bind(whole(added.added as u64))
            .bind(whole(added.already as u64))
            .bind(whole(contradicted.len() as u64))
            .bind(whole(refused as u64))
            .execute(c).await.map(drop))
        .doing("counting a delivery")?;
        tx.commit("adding readings").await?;
        Ok(BlockKept {
            added: added.added,
            already: added.already,
            contradicted: contradicted
                .into_iter()
                .map(|(line, why, _)| (line, why))
                .collect(),
        })
    }

    /// The deliveries of a batch, the newest first, at most so many.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn deliveries(
        &self,
        batch: DocumentId,
        most: u32,
    ) -> Result<Vec<Delivery>, StoreError> {
        let mut tx = self.to_read(batch).await?;
        read_document(&mut tx, batch).await?;
        let found: Vec<DeliveryRow> = on!(&mut tx, c => sqlx::query_as(sql::DELIVERY_LIST)
            .bind(batch.to_string()).bind(i64::from(most)).fetch_all(c).await)
        .doing("listing deliveries")?;
        rows::all(found)
    }

    /// What is remarked of the rows of a batch's deliveries, those of the newest first,
    /// at most so many.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn remarks(&self, batch: DocumentId, most: u32) -> Result<Vec<Remark>, StoreError> {
        let mut tx = self.to_read(batch).await?;
        read_document(&mut tx, batch).await?;
        let found: Vec<RemarkRow> = on!(&mut tx, c => sqlx::query_as(sql::REMARK_LIST)
            .bind(batch.to_string()).bind(i64::from(most)).fetch_all(c).await)
        .doing("listing the remarks on deliveries")?;
        rows::all(found)
    }
}

/// A delivery to another batch is none of this one.
async fn require_delivery(tx: &mut Tx, batch: DocumentId, delivery: i64) -> Result<(), StoreError> {
    let to: Option<String> = on!(tx, c => sqlx::query_scalar(sql::DELIVERY_DOCUMENT)
        .bind(delivery).fetch_optional(c).await)
    .doing("looking for a delivery")?;
    if to == Some(batch.to_string()) {
        return Ok(());
    }
    Err(StoreError::impossible(
        "delivery",
        delivery,
        "one that was begun to this batch",
    ))
}

fn whole(count: u64) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// What was sent where another value stands: line, words, raw.
fn contradictions(block: &Block, refused: &[Reading]) -> Vec<(u64, String, String)> {
    let mut lines: BTreeMap<(&str, &str, i64, u64), Vec<u64>> = BTreeMap::new();
    if !refused.is_empty() {
        for (reading, line) in block.readings.iter().zip(&block.lines) {
            lines.entry(key(reading)).or_default().push(*line);
        }
    }
    refused
        .iter()
        .map(|reading| {
            // Two rows that say the same twice are told one after the other.
            let line = lines
                .get_mut(&key(reading))
                .and_then(|of| (!of.is_empty()).then(|| of.remove(0)));
            let why = format!(
                "{} of {} at {} is kept with another value, and this says {} {}",
                reading.quantity, reading.instrument, reading.taken_at, reading.value, reading.unit
            );
            (line.unwrap_or(0), why, reading.raw.clone())
        })
        .collect()
}

fn key(reading: &Reading) -> (&str, &str, i64, u64) {
    (
        &reading.instrument,
        &reading.quantity,
        reading.taken_at.ms(),
        reading.value.to_bits(),
    )
}

async fn remark(
    tx: &mut Tx,
    delivery: i64,
    block: &Block,
    contradicted: &[(u64, String, String)],
) -> Result<(), StoreError> {
    let doing = "keeping the remarks on a delivery";
    if block.remarks.is_empty() && contradicted.is_empty() {
        return Ok(());
    }
    let first: i64 =
        on!(tx, c => sqlx::query_scalar(sql::REMARK_NEXT).bind(delivery).fetch_one(c).await)
            .doing(doing)?;
    let of_block = block
        .remarks
        .iter()
        .map(|(line, kind, why, raw)| (*line, *kind, why, raw));
    let against = contradicted
        .iter()
        .map(|(line, why, raw)| (*line, RemarkKind::Contradicted, why, raw));
    let numbered = (first..).zip(of_block.chain(against));
    let lines: Vec<RemarkRecord<'_>> = numbered
        .map(|(number, (line, kind, why, raw))| RemarkRecord {
            number,
            line: whole(line),
            kind: kind.word(),
            why: plain(why).into(),
            raw: plain(raw).into(),
        })
        .collect();
    insert_remarks(tx, delivery, &lines).await.doing(doing)
}

/// A remark as it goes into its table.
pub(crate) struct RemarkRecord<'a> {
    pub(crate) number: i64,
    pub(crate) line: i64,
    pub(crate) kind: &'a str,
    pub(crate) why: Cow<'a, str>,
    pub(crate) raw: Cow<'a, str>,
}

/// Adds remarks on a delivery, many at once: of a clock that is wrong, each row has one.
pub(crate) async fn insert_remarks(
    tx: &mut Tx,
    delivery: i64,
    remarks: &[RemarkRecord<'_>],
) -> Result<(), sqlx::Error> {
    match tx {
        Tx::Lite(lite, _) => {
            let mut left = remarks;
            for (rows, insert) in sql::REMARK_INSERTS.iter() {
                while let Some((some, rest)) = left.split_at_checked(*rows) {
                    let query = sqlx::query(insert.as_str()).bind(delivery);
                    let query = some.iter().fold(query, |query, r| {
                        query
                            .bind(r.number)
                            .bind(r.line)
                            .bind(r.kind)
                            .bind(r.why.as_ref())
                            .bind(r.raw.as_ref())
                    });
                    query.execute(&mut **lite).await?;
                    left = rest;
                }
            }
        }
        Tx::Pg(pg) => {
            sqlx::query(sql::REMARK_INSERT_MANY)
                .bind(delivery)
                .bind(remarks.iter().map(|r| r.number).collect::<Vec<i64>>())
                .bind(remarks.iter().map(|r| r.line).collect::<Vec<i64>>())
                .bind(remarks.iter().map(|r| r.kind).collect::<Vec<&str>>())
                .bind(
                    remarks
                        .iter()
                        .map(|r| r.why.as_ref())
                        .collect::<Vec<&str>>(),
                )
                .bind(
                    remarks
                        .iter()
                        .map(|r| r.raw.as_ref())
                        .collect::<Vec<&str>>(),
                )
                .execute(&mut **pg)
                .await?;
        }
    }
    Ok(())
}

/// A text that both engines take, cut to what a line may be.
fn plain(text: &str) -> String {
    let mut out = text.replace('\0', "\u{2400}");
    let mut end = out.len().min(limits::MAX_LINE_BYTES);
    while !out.is_char_boundary(end) {
        end -= 1;
    }
    out.truncate(end);
    out
}

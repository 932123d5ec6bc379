//! Readings of a batch: dated, and by the thousand.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::db::{Tx, on};
use crate::error::Doing;
use crate::rows::{ChannelRow, ReadingRow};
use crate::table::{read_document, require_kind};
use crate::{DocumentId, Kind, Store, StoreError, Timestamp, limits, sql};

/// How many readings travel to PostgreSQL at once.
const BLOCK: usize = 5_000;
/// How many readings one query may give; more than any screen or fit can use.
const MOST_READINGS: i64 = 5_000_000;

/// One value that an instrument gave during a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The instrument, by the name its owner gave it.
    pub instrument: String,
    /// What was measured: `gravity`, `temperature`, `ph` ...
    pub quantity: String,
    /// When.
    pub taken_at: Timestamp,
    /// The number, finite, in `unit`. (Negative zero is kept as zero.)
    pub value: f64,
    /// The unit of `value`: the instrument's own, not converted.
    pub unit: String,
    /// What the instrument sent, so that it can be read anew.
    pub raw: String,
    /// By which way it came: `entered`, `senml`, a file name ...
    pub source: String,
}

/// What became of readings that were added.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Added {
    /// How many are new.
    pub added: usize,
    /// How many were there before, the same in everything.
    pub already: usize,
    /// Those that were *not* stored, since the same instrument has another
    /// reading of the same quantity at the same time.
    pub refused: Vec<Reading>,
}

/// The readings of one instrument and quantity, without the readings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Channel {
    /// The instrument.
    pub instrument: String,
    /// What it measured.
    pub quantity: String,
    /// How many readings there are.
    pub readings: u64,
    /// The time of the first one.
    pub first: Timestamp,
    /// The time of the last one.
    pub last: Timestamp,
}

/// Which readings of a batch to read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadingRequest<'a> {
    /// This instrument only.
    pub instrument: Option<&'a str>,
    /// This quantity only.
    pub quantity: Option<&'a str>,
    /// From the start of this range up to before its end.
    pub during: Option<Range<Timestamp>>,
}

impl Store {
    /// Adds readings to a batch, all in one transaction, and says what became
    /// of each. Adding the same readings again changes nothing.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`], [`StoreError::WrongKind`],
    /// [`StoreError::Impossible`] for a value that is not a number or a name
    /// that cannot be kept; none is stored then.
    pub async fn add_readings(
        &self,
        batch: DocumentId,
        readings: &[Reading],
    ) -> Result<Added, StoreError> {
        readings.iter().try_for_each(check_reading)?;
        let mut tx = self.to_change(batch, "add readings").await?;
        require_kind(&mut tx, batch, Kind::Batch, "readings").await?;
        let added = insert_readings(&mut tx, batch, readings).await?;
        tx.commit("adding readings").await?;
        Ok(added)
    }

    /// The readings of a batch, by time, then instrument and quantity.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn readings(
        &self,
        batch: DocumentId,
        request: &ReadingRequest<'_>,
    ) -> Result<Vec<Reading>, StoreError> {
        let mut tx = self.to_read(batch).await?;
        read_document(&mut tx, batch).await?;
        let during = request
            .during
            .as_ref()
            .map_or(i64::MIN..i64::MAX, |range| range.start.ms()..range.end.ms());
        let mut readings = Vec::new();
        for channel in channels_of(&mut tx, batch).await? {
            if request
                .instrument
                .is_none_or(|wanted| wanted == channel.instrument)
                && request
                    .quantity
                    .is_none_or(|wanted| wanted == channel.quantity)
            {
                for row in readings_of(&mut tx, channel.id, during.clone(), MOST_READINGS).await? {
                    readings.push(row.into_reading(&channel)?);
                }
            }
        }
        readings.sort_by(|a, b| {
            (a.taken_at, &a.instrument, &a.quantity).cmp(&(b.taken_at, &b.instrument, &b.quantity))
        });
        Ok(readings)
    }

    /// At most about `most` readings of one channel of a batch, evenly spread over those
    /// there are; all of them where there are fewer.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn thinned_readings(
        &self,
        batch: DocumentId,
        instrument: &str,
        quantity: &str,
        most: u32,
    ) -> Result<Vec<Reading>, StoreError> {
        let mut tx = self.to_read(batch).await?;
        read_document(&mut tx, batch).await?;
        let all = channels_of(&mut tx, batch).await?;
        let Some(channel) = all
            .into_iter()
            .find(|c| c.instrument == instrument && c.quantity == quantity)
        else {
            return Ok(Vec::new());
        };
        let (count, _, _) = extent(&mut tx, channel.id).await?;
        let each = (count / i64::from(most.max(1))).max(1);
        let rows: Vec<ReadingRow> = on!(&mut tx, c => sqlx::query_as(sql::READING_THINNED)
            .bind(channel.id).bind(i64::MIN).bind(i64::MAX).bind(each)
            .fetch_all(c).await)
        .doing("reading readings")?;
        rows.into_iter()
            .map(|row| row.into_reading(&channel))
            .collect()
    }

    /// Which instruments measured what during a batch, and from when to when.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn channels(&self, batch: DocumentId) -> Result<Vec<Channel>, StoreError> {
        let mut tx = self.to_read(batch).await?;
        read_document(&mut tx, batch).await?;
        let mut channels = Vec::new();
        for row in channels_of(&mut tx, batch).await? {
            let (readings, first, last) = extent(&mut tx, row.id).await?;
            if let (Some(first), Some(last)) = (first, last) {
                channels.push(Channel {
                    instrument: row.instrument,
                    quantity: row.quantity,
                    readings: u64::try_from(readings).unwrap_or_default(),
                    first: Timestamp::from_row(first)?,
                    last: Timestamp::from_row(last)?,
                });
            }
        }
        Ok(channels)
    }
}

/// How many readings a channel has, and when the first and the last were taken.
async fn extent(tx: &mut Tx, channel: i64) -> Result<(i64, Option<i64>, Option<i64>), StoreError> {
    on!(tx, c => sqlx::query_as(sql::CHANNEL_EXTENT).bind(channel).fetch_one(c).await)
        .doing("counting readings")
}

pub(crate) fn check_reading(reading: &Reading) -> Result<(), StoreError> {
    if !reading.value.is_finite() {
        return Err(StoreError::impossible(
            "value of a reading",
            reading.value,
            "a finite number",
        ));
    }
    limits::name("instrument", &reading.instrument)?;
    limits::name("quantity", &reading.quantity)?;
    limits::line("unit", &reading.unit)?;
    limits::line("raw reading", &reading.raw)?;
    limits::line("source of a reading", &reading.source)
}

pub(crate) async fn channels_of(
    tx: &mut Tx,
    batch: DocumentId,
) -> Result<Vec<ChannelRow>, StoreError> {
    on!(tx, c => sqlx::query_as(sql::CHANNELS).bind(batch.to_string()).fetch_all(c).await)
        .doing("reading the instruments of a batch")
}

/// The readings of a channel, by time, at most `limit` of them.
pub(crate) async fn readings_of(
    tx: &mut Tx,
    channel: i64,
    during_ms: Range<i64>,
    limit: i64,
) -> Result<Vec<ReadingRow>, StoreError> {
    on!(tx, c => sqlx::query_as(sql::READING_RANGE)
        .bind(channel).bind(during_ms.start).bind(during_ms.end).bind(limit)
        .fetch_all(c).await)
    .doing("reading readings")
}

/// Adds readings that were checked, channel by channel.
pub(crate) async fn insert_readings(
    tx: &mut Tx,
    batch: DocumentId,
    readings: &[Reading],
) -> Result<Added, StoreError> {
    let mut by_channel: BTreeMap<(&str, &str), Vec<&Reading>> = BTreeMap::new();
    for reading in readings {
        by_channel
            .entry((&reading.instrument, &reading.quantity))
            .or_default()
            .push(reading);
    }
    let mut total = Added::default();
    // In the order of the keys, so that two writers never wait for each other.
    for ((instrument, quantity), readings) in by_channel {
        let id = channel_id(tx, batch, instrument, quantity).await?;
        let channel = ChannelRow {
            id,
            instrument: instrument.to_owned(),
            quantity: quantity.to_owned(),
        };
        for block in readings.chunks(BLOCK) {
            let added = insert_block(tx, id, block).await?;
            total.added += added;
            if added < block.len() {
                let refused = find_refused(tx, &channel, block).await?;
                total.already += block.len() - added - refused.len();
                total.refused.extend(refused);
            }
        }
    }
    Ok(total)
}

async fn channel_id(
    tx: &mut Tx,
    batch: DocumentId,
    instrument: &str,
    quantity: &str,
) -> Result<i64, StoreError> {
    let doing = "naming an instrument";
    on!(tx, c => sqlx::query(sql::CHANNEL_INSERT)
        .bind(batch.to_string()).bind(instrument).bind(quantity)
        .execute(c).await.map(drop))
    .doing(doing)?;
    on!(tx, c => sqlx::query_scalar(sql::CHANNEL_ID)
        .bind(batch.to_string()).bind(instrument).bind(quantity)
        .fetch_one(c).await)
    .doing(doing)
}

/// Bit for bit: what was kept is what was sent.
fn same_number(held: &Reading, sent: &Reading) -> bool {
    held.value.to_bits() == plain_zero(sent.value).to_bits()
}

/// How many of the block were new.
async fn insert_block(tx: &mut Tx, channel: i64, block: &[&Reading]) -> Result<usize, StoreError> {
    let doing = "adding readings";
    let added = match tx {
        Tx::Lite(lite, _) => {
            let mut added = 0;
            let alike = |a: &&Reading, b: &&Reading| a.unit == b.unit && a.source == b.source;
            for mut left in block.chunk_by(alike) {
                for (rows, insert) in sql::READING_INSERTS.iter() {
                    while let Some((some, rest)) = left.split_at_checked(*rows) {
                        let query = bound(sqlx::query(insert.as_str()), channel, some);
                        let done = query.execute(&mut **lite).await.doing(doing)?;
                        added += done.rows_affected();
                        left = rest;
                    }
                }
            }
            added
        }
        Tx::Pg(pg) => sqlx::query(sql::READING_INSERT_MANY)
            .bind(vec![channel; block.len()])
            .bind(
                block
                    .iter()
                    .map(|reading| reading.taken_at.ms())
                    .collect::<Vec<i64>>(),
            )
            .bind(
                block
                    .iter()
                    .map(|reading| plain_zero(reading.value))
                    .collect::<Vec<f64>>(),
            )
            .bind(
                block
                    .iter()
                    .map(|reading| reading.unit.as_str())
                    .collect::<Vec<&str>>(),
            )
            .bind(
                block
                    .iter()
                    .map(|reading| reading.raw.as_str())
                    .collect::<Vec<&str>>(),
            )
            .bind(
                block
                    .iter()
                    .map(|reading| reading.source.as_str())
                    .collect::<Vec<&str>>(),
            )
            .execute(&mut **pg)
            .await
            .doing(doing)?
            .rows_affected(),
    };
    Ok(usize::try_from(added).unwrap_or(block.len()))
}

type LiteQuery<'q> = sqlx::query::Query<'q, sqlx::Sqlite, sqlx::sqlite::SqliteArguments>;

/// Readings of one unit and source, as a statement that adds them wants them.
fn bound<'q>(query: LiteQuery<'q>, channel: i64, some: &[&'q Reading]) -> LiteQuery<'q> {
    let Some(first) = some.first() else {
        return query;
    };
    let query = query
        .bind(channel)
        .bind(first.unit.as_str())
        .bind(first.source.as_str());
    some.iter().fold(query, |query, reading| {
        query
            .bind(reading.taken_at.ms())
            .bind(plain_zero(reading.value))
            .bind(reading.raw.as_str())
    })
}

/// SQLite stores a whole-numbered REAL as an integer, which has no negative
/// zero; PostgreSQL keeps it. One form on both keeps exports the same.
fn plain_zero(value: f64) -> f64 {
    value + 0.0
}

/// Those of the block whose place is held by a reading that differs. By which way a
/// reading came, and with which letters, makes no difference.
async fn find_refused(
    tx: &mut Tx,
    channel: &ChannelRow,
    block: &[&Reading],
) -> Result<Vec<Reading>, StoreError> {
    let times = block.iter().map(|reading| reading.taken_at.ms());
    let (first, last) = times.fold((i64::MAX, i64::MIN), |(first, last), ms| {
        (first.min(ms), last.max(ms))
    });
    let mut held = BTreeMap::new();
    for row in readings_of(tx, channel.id, first..last.saturating_add(1), i64::MAX).await? {
        held.insert(row.taken_at_ms, row.into_reading(channel)?);
    }
    Ok(block
        .iter()
        .filter(|reading| {
            held.get(&reading.taken_at.ms())
                .is_none_or(|held| held.unit != reading.unit || !same_number(held, reading))
        })
        .map(|reading| (*reading).clone())
        .collect())
}

//! Logs of a fermentation: looked at, kept with a batch, shown again.

use std::collections::BTreeMap;

use batch::log::{Fate, Flag, LogError, LogReading, What, read_senml, review};
use batch::wire::log::{Log, LogChannel, LogFlag, LogKept, LogRefused, LoggedReading};
use store::{DocumentId, Reading, ReadingRequest, Timestamp};

use crate::{App, AppError};

/// Readings that go into the store at once.
const BLOCK: usize = 20_000;
/// Rows whose refusal is told one by one.
const TOLD: usize = 200;
/// Differences that the eye takes for a spike, in °P, °C, pH, bar (judgement).
const fn resolution(what: What) -> f64 {
    match what {
        What::Gravity => 0.5,
        What::Temperature | What::Surroundings => 1.0,
        What::Ph | What::Pressure => 0.1,
    }
}

/// What became of a log that was kept.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct KeptLog {
    /// Rows or records.
    pub rows: usize,
    /// Readings in them.
    pub readings: usize,
    /// Readings that are new.
    pub added: usize,
    /// Readings that were there before, the same in everything.
    pub already: usize,
    /// Readings that were not kept, since there is another value of the same
    /// instrument at the same time; the first of them.
    pub contradicted: Vec<String>,
    /// How many there are of those.
    pub contradictions: usize,
    /// Rows with something that could not be read, with the reasons; the first of them.
    pub refused: Vec<(usize, String)>,
    /// How many there are of those.
    pub refusals: usize,
    /// How often the clock of an instrument went back.
    pub clock_went_back: usize,
}

/// One instrument and quantity of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct LoggedChannel {
    /// The instrument.
    pub instrument: String,
    /// What it measured.
    pub what: What,
    /// Its readings by time.
    pub readings: Vec<LogReading>,
    /// What looks odd in them.
    pub flags: Vec<Flag>,
}

impl App {
    /// Keeps a log with a batch, block by block, so that memory stays flat and a log
    /// that was broken off can be sent again: what is there already changes nothing.
    /// `source` is by which way it came; `told` hears how many rows are done.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn keep_log(
        &self,
        batch: DocumentId,
        rows: impl Iterator<Item = Fate> + Send,
        source: &str,
        mut told: impl FnMut(usize) + Send,
    ) -> Result<KeptLog, AppError> {
        let mut kept = KeptLog::default();
        let mut clocks: BTreeMap<(String, What), i64> = BTreeMap::new();
        let mut block = Vec::with_capacity(BLOCK);
        for fate in rows {
            kept.rows += 1;
            if !fate.refused.is_empty() {
                kept.refusals += 1;
                if kept.refused.len() < TOLD {
                    kept.refused.push((fate.row, fate.refused.join("; ")));
                }
            }
            for reading in fate.readings {
                kept.readings += 1;
                let clock = (reading.instrument.clone(), reading.what);
                let before = clocks.insert(clock, reading.at_ms);
                if before.is_some_and(|before| reading.at_ms < before) {
                    kept.clock_went_back += 1;
                }
                block.push(stored(&reading, source)?);
            }
            if block.len() >= BLOCK {
                self.add(batch, &mut block, &mut kept).await?;
                told(kept.rows);
            }
        }
        self.add(batch, &mut block, &mut kept).await?;
        told(kept.rows);
        Ok(kept)
    }

    /// Keeps a SenML pack that has just come.
    ///
    /// # Errors
    /// [`AppError::Log`] for what is no pack, [`AppError::Store`].
    pub async fn keep_senml(&self, batch: DocumentId, json: &str) -> Result<KeptLog, AppError> {
        let fates = read_senml(json, self.now().ms())?;
        self.keep_log(batch, fates.into_iter(), "senml", |_| {})
            .await
    }

    /// Keeps a reading that was taken by hand; without a time, it is of this moment.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn keep_entered(
        &self,
        batch: DocumentId,
        what: What,
        canonical: f64,
        text: &str,
        instrument: &str,
        at: Option<Timestamp>,
    ) -> Result<KeptLog, AppError> {
        let reading = LogReading {
            instrument: instrument.to_owned(),
            what,
            at_ms: at.unwrap_or_else(|| self.now()).ms(),
            value: canonical,
            unit: what.canonical_unit(),
            canonical,
            raw: text.to_owned(),
        };
        let row = Fate {
            row: 1,
            readings: vec![reading],
            refused: Vec::new(),
        };
        self.keep_log(batch, std::iter::once(row), "entered", |_| {})
            .await
    }

    /// What the instruments of a batch said, channel by channel.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn logged(&self, batch: DocumentId) -> Result<Vec<LoggedChannel>, AppError> {
        let mut channels = Vec::new();
        for channel in self.store.channels(batch).await? {
            let Some(what) = What::of_word(&channel.quantity) else {
                continue;
            };
            let request = ReadingRequest {
                instrument: Some(&channel.instrument),
                quantity: Some(&channel.quantity),
                during: None,
            };
            let stored = self.store.readings(batch, &request).await?;
            let readings: Vec<LogReading> = stored.iter().filter_map(|r| logged(r, what)).collect();
            channels.push(LoggedChannel {
                flags: review(&readings, resolution(what)),
                instrument: channel.instrument,
                what,
                readings,
            });
        }
        channels.sort_by(|a, b| (a.what, &a.instrument).cmp(&(b.what, &b.instrument)));
        Ok(channels)
    }

    /// All readings of a batch, whatever measured them.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn readings(&self, batch: DocumentId) -> Result<Vec<LogReading>, AppError> {
        let channels = self.logged(batch).await?.into_iter();
        Ok(channels.flat_map(|channel| channel.readings).collect())
    }

    async fn add(
        &self,
        batch: DocumentId,
        block: &mut Vec<Reading>,
        kept: &mut KeptLog,
    ) -> Result<(), AppError> {
        let added = self.store.add_readings(batch, block).await?;
        block.clear();
        kept.added += added.added;
        kept.already += added.already;
        kept.contradictions += added.refused.len();
        for reading in added.refused {
            if kept.contradicted.len() < TOLD {
                kept.contradicted.push(format!(
                    "{} of {} at {}: {} {}",
                    reading.quantity,
                    reading.instrument,
                    reading.taken_at,
                    reading.value,
                    reading.unit
                ));
            }
        }
        Ok(())
    }
}

impl KeptLog {
    /// Its JSON form.
    #[must_use]
    pub fn wire(&self) -> Log {
        let refused = self.refused.iter().map(|(row, why)| LogRefused {
            row: *row,
            why: why.clone(),
        });
        Log {
            kept: Some(LogKept {
                rows: self.rows,
                readings: self.readings,
                added: self.added,
                already: self.already,
                contradictions: self.contradictions,
                contradicted: self.contradicted.clone(),
                refusals: self.refusals,
                refused: refused.collect(),
                clock_went_back: self.clock_went_back,
            }),
            ..Log::empty()
        }
    }
}

impl LoggedChannel {
    /// The JSON form of several.
    #[must_use]
    pub fn wire(channels: &[Self]) -> Log {
        let one = |channel: &Self| LogChannel {
            instrument: channel.instrument.clone(),
            quantity: channel.what.word(),
            unit: channel.what.canonical_unit(),
            readings: channel.readings.iter().map(LoggedReading::from).collect(),
            flags: channel
                .flags
                .iter()
                .map(|flag| LogFlag {
                    place: flag.place,
                    says: flag.kind.words(),
                })
                .collect(),
        };
        Log {
            channels: Some(channels.iter().map(one).collect()),
            ..Log::empty()
        }
    }
}

impl From<LogError> for AppError {
    fn from(error: LogError) -> Self {
        Self::Log(error)
    }
}

fn stored(reading: &LogReading, source: &str) -> Result<Reading, AppError> {
    Ok(Reading {
        instrument: reading.instrument.clone(),
        quantity: reading.what.word().to_owned(),
        taken_at: Timestamp::from_ms(reading.at_ms)?,
        value: reading.value,
        unit: reading.unit.to_owned(),
        raw: reading.raw.clone(),
        source: source.to_owned(),
    })
}

/// A stored reading; one in a unit that is not known here is passed over.
fn logged(reading: &Reading, what: What) -> Option<LogReading> {
    let unit = what.unit(&reading.unit)?;
    Some(LogReading {
        instrument: reading.instrument.clone(),
        what,
        at_ms: reading.taken_at.ms(),
        value: reading.value,
        unit: unit.symbol,
        canonical: unit.canonical(what, reading.value)?,
        raw: reading.raw.clone(),
    })
}

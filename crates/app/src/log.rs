//! Logs of a fermentation: looked at, kept with a batch, shown again.

use std::collections::{BTreeMap, BTreeSet};

use batch::library::{Instrument, InstrumentKind};
use batch::log::{
    BRIX, Beside, Corrected, Fate, Flag, LogError, LogReading, What, corrected, named, read_senml,
    review,
};
use batch::wire::log::{
    Log, LogChannel, LogDelivery, LogFlag, LogKept, LogRefused, LogRemark, LoggedReading,
};
use store::{Block, BlockKept, Delivery, DocumentId, Reading, Remark, RemarkKind, Timestamp};

use crate::{App, AppError};

/// Readings that go into the store at once.
const BLOCK: usize = 20_000;
/// Rows that are read before the store is heard again.
const A_BREATH: u64 = 500;
/// Rows whose refusal is told one by one; all of them are kept.
const TOLD: usize = 200;
/// Readings of a channel that are looked over at once; of more, every so many.
const LOOKED_OVER: u32 = 20_000;
/// A time that lies further ahead than this \[ms\] tells of a clock that is wrong, not
/// of one that is a little fast (judgement).
const AHEAD_MS: i64 = 15 * 60_000;

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
    /// Readings whose time lies ahead of the moment in which they came.
    pub ahead: usize,
}

/// One instrument and quantity of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct LoggedChannel {
    /// The instrument.
    pub instrument: String,
    /// What it measured.
    pub what: What,
    /// How many readings there are.
    pub count: u64,
    /// Its readings by time; of very many, every so many.
    pub readings: Vec<LogReading>,
    /// What looks odd in them.
    pub flags: Vec<Flag>,
    /// Each set right by its instrument, where a brewhouse keeps one of that name, or
    /// what it shows tells what it is.
    pub corrected: Vec<Option<Corrected>>,
    /// What to know of its instrument.
    pub notes: Vec<String>,
}

/// What came to a batch, and what is remarked of its rows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Arrivals {
    /// The deliveries, the newest first.
    pub deliveries: Vec<Delivery>,
    /// Rows that gave no reading, or whose clock is odd; those of the newest first.
    pub remarks: Vec<Remark>,
}

/// What is known of a log while it is being kept.
struct Keeping<'a> {
    source: &'a str,
    came_ms: i64,
    clocks: BTreeMap<(String, What), i64>,
    block: Block,
    kept: KeptLog,
}

impl Keeping<'_> {
    /// The next block; an empty one at the end of the rows.
    async fn next_block(
        &mut self,
        rows: &mut (impl Iterator<Item = Fate> + Send),
    ) -> Result<Block, AppError> {
        for fate in rows {
            self.take(fate)?;
            if self.block.readings.len() + self.block.remarks.len() >= BLOCK {
                break;
            }
            if self.block.rows.is_multiple_of(A_BREATH) {
                tokio::task::yield_now().await;
            }
        }
        Ok(std::mem::take(&mut self.block))
    }

    fn take(&mut self, fate: Fate) -> Result<(), AppError> {
        self.kept.rows += 1;
        self.block.rows += 1;
        let line = fate.row as u64;
        if !fate.refused.is_empty() {
            self.kept.refusals += 1;
            let why = fate.refused.join("; ");
            if self.kept.refused.len() < TOLD {
                self.kept.refused.push((fate.row, why.clone()));
            }
            let remark = (line, RemarkKind::Refused, why, fate.raw);
            self.block.remarks.push(remark);
        }
        for reading in fate.readings {
            self.kept.readings += 1;
            self.clock(&reading, line);
            self.block.readings.push(stored(reading, self.source)?);
            self.block.lines.push(line);
        }
        Ok(())
    }

    /// A clock that goes back, or that is ahead: the reading is kept, and told.
    fn clock(&mut self, reading: &LogReading, line: u64) {
        let before = match self.clocks.iter_mut().find(|((instrument, what), _)| {
            *what == reading.what && *instrument == reading.instrument
        }) {
            Some((_, at)) => Some(std::mem::replace(at, reading.at_ms)),
            None => {
                let clock = (reading.instrument.clone(), reading.what);
                self.clocks.insert(clock, reading.at_ms)
            }
        };
        let mut odd = |why: String| {
            let remark = (line, RemarkKind::Clock, why, reading.raw.clone());
            self.block.remarks.push(remark);
        };
        if let Some(back) = before.filter(|before| reading.at_ms < *before) {
            self.kept.clock_went_back += 1;
            let hours = (back - reading.at_ms) as f64 / 3_600_000.0;
            odd(format!(
                "the clock of {} went back by {hours:.2} h",
                reading.instrument
            ));
        }
        if reading.at_ms > self.came_ms.saturating_add(AHEAD_MS) {
            self.kept.ahead += 1;
            let hours = (reading.at_ms - self.came_ms) as f64 / 3_600_000.0;
            odd(format!(
                "its time lies {hours:.2} h ahead of when it came: look at the clock of {}",
                reading.instrument
            ));
        }
    }
}

impl App {
    /// Keeps a log with a batch, block by block, so that memory stays flat and a log
    /// that was broken off can be sent again: what is there already changes nothing.
    /// While a block goes into the store the next one is read. Every row that gave no
    /// reading is kept as it came, with the reason. `source` is by which way it came;
    /// `told` hears how many rows are done.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn keep_log(
        &self,
        batch: DocumentId,
        mut rows: impl Iterator<Item = Fate> + Send,
        source: &str,
        mut told: impl FnMut(usize) + Send,
    ) -> Result<KeptLog, AppError> {
        let came = self.now();
        let delivery = self.store.begin_delivery(batch, source, came).await?;
        let mut keeping = Keeping {
            source,
            came_ms: came.ms(),
            clocks: BTreeMap::new(),
            block: Block::default(),
            kept: KeptLog::default(),
        };
        let mut done = 0;
        let mut block = keeping.next_block(&mut rows).await?;
        while block.rows > 0 {
            let (added, next) = tokio::join!(
                self.store.add_block(batch, delivery, &block),
                keeping.next_block(&mut rows)
            );
            keeping.kept.count(added?);
            done += block.rows as usize;
            told(done);
            block = next?;
        }
        Ok(keeping.kept)
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

    /// Keeps a reading that was taken by hand, as [`What::entered`] read it; without a
    /// time, it is of this moment.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn keep_entered(
        &self,
        batch: DocumentId,
        what: What,
        (value, unit): (f64, &'static str),
        text: &str,
        instrument: &str,
        at: Option<Timestamp>,
    ) -> Result<KeptLog, AppError> {
        if let Err(why) = named(instrument) {
            let refused = Fate {
                raw: text.to_owned(),
                ..Fate::refused(1, why)
            };
            return self
                .keep_log(batch, std::iter::once(refused), "entered", |_| {})
                .await;
        }
        let reading = LogReading {
            instrument: instrument.to_owned(),
            what,
            at_ms: at.unwrap_or_else(|| self.now()).ms(),
            value,
            unit,
            // Entered readings are canonical but for marks of a scale, which stay.
            canonical: value,
            raw: text.to_owned(),
            lapsed_sd: 0.0,
        };
        let row = Fate {
            readings: vec![reading],
            ..Fate::of(1)
        };
        self.keep_log(batch, std::iter::once(row), "entered", |_| {})
            .await
    }

    /// What the instruments of a batch said, channel by channel.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn logged(&self, batch: DocumentId) -> Result<Vec<LoggedChannel>, AppError> {
        self.logged_up_to(batch, u32::MAX).await
    }

    /// The same for an eye to look over: of a channel with very many readings, every so
    /// many.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn looked_over(&self, batch: DocumentId) -> Result<Vec<LoggedChannel>, AppError> {
        self.logged_up_to(batch, LOOKED_OVER).await
    }

    async fn logged_up_to(
        &self,
        batch: DocumentId,
        most: u32,
    ) -> Result<Vec<LoggedChannel>, AppError> {
        let mut channels = Vec::new();
        for channel in self.store.channels(batch).await? {
            let Some(what) = What::of_word(&channel.quantity) else {
                continue;
            };
            let stored = self
                .store
                .thinned_readings(batch, &channel.instrument, &channel.quantity, most)
                .await?;
            let readings: Vec<LogReading> = stored.iter().filter_map(|r| logged(r, what)).collect();
            channels.push(LoggedChannel {
                flags: review(&readings, resolution(what)),
                instrument: channel.instrument,
                what,
                count: channel.readings,
                corrected: Vec::new(),
                notes: Vec::new(),
                readings,
            });
        }
        self.set_right(batch, &mut channels).await?;
        channels.sort_by(|a, b| (a.what, &a.instrument).cmp(&(b.what, &b.instrument)));
        Ok(channels)
    }

    /// All readings of a batch, whatever measured them, as a fermentation is watched by
    /// them: set right by their instruments, whose names say what they are.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn readings(&self, batch: DocumentId) -> Result<Vec<LogReading>, AppError> {
        let records = self.instruments().await?;
        let kind_of = |name: &str| {
            let found = records.iter().find(|r| r.instrument.name == name);
            found.map(|r| r.instrument.kind)
        };
        let channels = self.logged(batch).await?.into_iter();
        let taken = |channel: LoggedChannel| {
            let kind = kind_of(&channel.instrument);
            taken_by(kind, channel)
        };
        Ok(channels.flat_map(taken).collect())
    }

    /// Sets the readings of those instruments right that a brewhouse keeps.
    async fn set_right(
        &self,
        batch: DocumentId,
        channels: &mut [LoggedChannel],
    ) -> Result<(), AppError> {
        let refracts = |c: &LoggedChannel| c.readings.iter().any(|r| r.unit == BRIX);
        let records = self.instruments().await?;
        if channels.is_empty() || records.is_empty() && !channels.iter().any(refracts) {
            return Ok(());
        }
        let open = self.batch(batch).await?;
        let original = open.outcome.reckoning().map(|r| r.boil.wort.gravity);
        let temperatures: BTreeMap<String, Vec<LogReading>> = channels
            .iter()
            .filter(|c| c.what == What::Temperature)
            .map(|c| (c.instrument.clone(), c.readings.clone()))
            .collect();
        let any = temperatures.values().next();
        for channel in channels {
            let named = |r: &&crate::InstrumentRecord| r.instrument.name == channel.instrument;
            let known = records.iter().find(named).map(|r| r.instrument.clone());
            let marks = known.is_none();
            let usual = || Instrument::usual(&channel.instrument, InstrumentKind::Refractometer);
            let Some(instrument) = known.or_else(|| refracts(channel).then(usual)) else {
                continue;
            };
            // The temperature of the same sample, or else of the beer.
            let own = temperatures.get(&channel.instrument);
            let beside = Beside {
                temperatures: own.or(any).map_or(&[], Vec::as_slice),
                of_sample: own.is_some(),
                original,
            };
            channel.set_right(&instrument, beside, marks);
        }
        Ok(())
    }

    /// What came to a batch, and what is remarked of its rows: at most so many of each.
    /// A row of a log that was sent twice is told once.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn arrivals(&self, batch: DocumentId, most: u32) -> Result<Arrivals, AppError> {
        let deliveries = self.store.deliveries(batch, most).await?;
        let mut remarks = self.store.remarks(batch, most).await?;
        let sources: BTreeMap<i64, &str> = deliveries
            .iter()
            .map(|d| (d.id, d.source.as_str()))
            .collect();
        let mut seen = BTreeSet::new();
        remarks.retain(|r| {
            let source = sources.get(&r.delivery).copied();
            seen.insert((source, r.line, r.kind.word(), r.why.clone()))
        });
        Ok(Arrivals {
            deliveries,
            remarks,
        })
    }
}

impl Arrivals {
    /// A log with what came put beside it.
    #[must_use]
    pub fn beside(&self, log: Log) -> Log {
        let deliveries = self.deliveries.iter().map(|d| LogDelivery {
            came_at: d.came_at.to_string(),
            source: d.source.clone(),
            rows: d.rows,
            added: d.added,
            already: d.already,
            contradicted: d.contradicted,
            refused: d.refused,
        });
        let source = |id: i64| self.deliveries.iter().find(|d| d.id == id);
        let remarks = self.remarks.iter().map(|r| LogRemark {
            source: source(r.delivery).map_or_else(String::new, |d| d.source.clone()),
            row: r.line,
            fate: r.kind.word(),
            why: r.why.clone(),
            raw: r.raw.clone(),
        });
        Log {
            deliveries: Some(deliveries.collect()),
            remarks: Some(remarks.collect()),
            ..log
        }
    }
}

/// The readings of a channel for watching. What a refractometer shows after its checks
/// stays a mark: the alcohol is taken off where the course is known.
fn taken_by(kind: Option<InstrumentKind>, channel: LoggedChannel) -> Vec<LogReading> {
    let word = match kind {
        Some(InstrumentKind::Hydrometer) => "hydrometer",
        Some(InstrumentKind::Refractometer) => "refractometer",
        _ => "",
    };
    let named = if channel.instrument.to_lowercase().contains(word) {
        channel.instrument.clone()
    } else {
        format!("{word}, {}", channel.instrument)
    };
    let mut readings = channel.readings;
    let scale = |r: &LogReading| {
        kind == Some(InstrumentKind::Refractometer) || kind.is_none() && r.unit == BRIX
    };
    for (reading, corrected) in readings.iter_mut().zip(&channel.corrected) {
        if let Some(corrected) = corrected {
            let mark = scale(reading);
            reading.canonical = if mark {
                corrected.mark
            } else {
                corrected.value
            };
            if corrected.lapsed {
                reading.lapsed_sd = kind.map_or(0.0, InstrumentKind::lapsed_sd);
            }
        }
    }
    for reading in &mut readings {
        reading.instrument.clone_from(&named);
    }
    readings
}

impl KeptLog {
    fn count(&mut self, added: BlockKept) {
        self.added += added.added;
        self.already += added.already;
        self.contradictions += added.contradicted.len();
        let room = TOLD.saturating_sub(self.contradicted.len());
        let told = added.contradicted.into_iter().take(room);
        self.contradicted
            .extend(told.map(|(line, why)| format!("row {line}: {why}")));
    }

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
                ahead: self.ahead,
            }),
            ..Log::empty()
        }
    }
}

impl LoggedChannel {
    /// `marks` alone are set right where only their unit says what the instrument is.
    fn set_right(&mut self, instrument: &Instrument, beside: Beside<'_>, marks: bool) {
        let readings = self.readings.iter();
        self.corrected = readings
            .map(|reading| {
                let fits = !marks || reading.unit == BRIX;
                fits.then(|| corrected(reading, instrument, beside))?
            })
            .collect();
        let right = self.corrected.iter().flatten();
        let lapsed = right.filter(|right| right.lapsed).count();
        if let (Some(until), 1..) = (&instrument.valid_until, lapsed) {
            self.notes.push(format!(
                "the checks of {} held until {until}: {lapsed} of these readings are later and are taken as less sure, by {} squared and summed (judgement); check it again",
                self.instrument,
                instrument.lapsed_words()
            ));
        }
    }

    fn told(&self) -> Vec<LoggedReading> {
        let of = |(n, reading)| {
            let right = self.corrected.get(n).and_then(Option::as_ref);
            LoggedReading::of(reading, right)
        };
        self.readings.iter().enumerate().map(of).collect()
    }

    /// The JSON form of several.
    #[must_use]
    pub fn wire(channels: &[Self]) -> Log {
        let one = |channel: &Self| LogChannel {
            instrument: channel.instrument.clone(),
            quantity: channel.what.word(),
            unit: channel.what.canonical_unit(),
            ucum: channel.what.canonical_ucum(),
            readings: channel.told(),
            notes: channel.notes.clone(),
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

fn stored(reading: LogReading, source: &str) -> Result<Reading, AppError> {
    Ok(Reading {
        instrument: reading.instrument,
        quantity: reading.what.word().to_owned(),
        taken_at: Timestamp::from_ms(reading.at_ms)?,
        value: reading.value,
        unit: reading.unit.to_owned(),
        raw: reading.raw,
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
        lapsed_sd: 0.0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn channel(instrument: &str) -> LoggedChannel {
        let reading = LogReading {
            instrument: instrument.to_owned(),
            what: What::Gravity,
            at_ms: 0,
            value: 6.0,
            unit: "°P",
            canonical: 6.0,
            raw: "6.0".to_owned(),
            lapsed_sd: 0.0,
        };
        LoggedChannel {
            instrument: instrument.to_owned(),
            what: What::Gravity,
            count: 1,
            readings: vec![reading],
            flags: Vec::new(),
            corrected: vec![Some(Corrected {
                value: 5.5,
                sd: 0.2,
                mark: 6.1,
                lapsed: false,
                done: Vec::new(),
            })],
            notes: Vec::new(),
        }
    }

    #[test]
    fn what_is_watched_is_set_right_and_named_by_its_kind() {
        let taken = |kind, name: &str| {
            let readings = taken_by(kind, channel(name));
            (readings[0].instrument.clone(), readings[0].canonical)
        };
        let of = |name: &str, value: f64| (name.to_owned(), value);
        assert_eq!(taken(None, "old glass"), of("old glass", 5.5));
        let glass = Some(InstrumentKind::Hydrometer);
        assert_eq!(taken(glass, "old glass"), of("hydrometer, old glass", 5.5));
        assert_eq!(taken(glass, "Hydrometer 2"), of("Hydrometer 2", 5.5));
        // The checks are taken in, the alcohol is taken off later, and once.
        let prism = Some(InstrumentKind::Refractometer);
        assert_eq!(taken(prism, "prism"), of("refractometer, prism", 6.1));
        let mut marks = channel("prism");
        marks.readings[0].unit = BRIX;
        assert!((taken_by(None, marks)[0].canonical - 6.1).abs() < 1e-12);
    }
}

//! What instruments said, looked over before it is believed.

use quantity::{Duration, Gravity, Ph, Temperature};

use super::fit::problem::Point;
use super::table::{InstrumentRow, table};

/// Readings of one instrument within this time are one \[h\], where there are many.
const BIN_H: f64 = 1.0;
/// At most this many points are fitted.
const MOST_POINTS: f64 = 400.0;
/// Gravities that beer and wort can have \[°P\]; how far above the wort a reading may lie.
const GRAVITIES: std::ops::RangeInclusive<f64> = -4.0..=40.0;
const ABOVE_WORT: f64 = 6.0;
/// Temperatures that can be \[°C\].
const TEMPERATURES: std::ops::RangeInclusive<f64> = -5.0..=50.0;
/// pH that can be.
const PHS: std::ops::RangeInclusive<f64> = 1.0..=8.0;
/// The longest course that is watched \[h\]: a year.
const LONGEST_H: f64 = 8_784.0;

/// A kind of instrument, by how it errs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Instrument {
    /// A hydrometer with a division of a point.
    Hydrometer,
    /// A hydrometer of a narrow range.
    NarrowHydrometer,
    /// A refractometer, its readings corrected for alcohol.
    Refractometer,
    /// A sensor that floats in the beer.
    Float,
    /// A meter in the tank or the line.
    Inline,
}

impl Instrument {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Hydrometer,
        Self::NarrowHydrometer,
        Self::Refractometer,
        Self::Float,
        Self::Inline,
    ];

    /// Its word in documents and commands.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hydrometer => "hydrometer",
            Self::NarrowHydrometer => "narrow hydrometer",
            Self::Refractometer => "refractometer",
            Self::Float => "float",
            Self::Inline => "inline",
        }
    }

    pub(crate) fn row(self) -> &'static InstrumentRow {
        table().instrument(self.word())
    }
}

/// A gravity as it was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GravityReading {
    /// Time since pitching; below nought before it.
    pub at: Duration,
    /// What was read.
    pub gravity: Gravity,
    /// Which of the instruments of the log.
    pub instrument: usize,
}

/// All readings of a fermentation, in any order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Log {
    /// The instruments that read gravity: names and kinds.
    pub instruments: Vec<(String, Instrument)>,
    /// Gravities.
    pub gravities: Vec<GravityReading>,
    /// Temperatures of the beer.
    pub temperatures: Vec<(Duration, Temperature)>,
    /// pH of the beer.
    pub ph: Vec<(Duration, Ph)>,
    /// How much less sure each instrument is than is usual for its kind \[°P\]: a standard
    /// deviation of what it may be off, squared and summed; what is left out is nought.
    pub less_sure_plato: Vec<f64>,
}

impl Log {
    /// How far an instrument may be off before anything was read \[°P\].
    pub(crate) fn bias_plato(&self, instrument: usize) -> f64 {
        let usual = self
            .instruments
            .get(instrument)
            .map_or(0.0, |(_, kind)| kind.row().bias_plato);
        let more = self.less_sure_plato.get(instrument).copied().unwrap_or(0.0);
        usual.hypot(more.max(0.0))
    }
}

/// Readings that were not used, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetAside {
    /// How many.
    pub count: usize,
    /// Why.
    pub why: &'static str,
}

/// Why a gravity is not believed, in the order in which it is looked at.
const WHYS: [&str; 4] = [
    "no gravity that beer can have",
    "from before the yeast was pitched",
    "from after the moment that was asked for",
    "far above the wort",
];

/// Which readings are believed: those that can be, of the time from pitching to a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sieve {
    original: f64,
    until_h: f64,
}

impl Sieve {
    /// For a wort, up to a moment.
    #[must_use]
    pub fn new(original: Gravity, now: Duration) -> Self {
        Self {
            original: original.plato(),
            until_h: now.h().min(LONGEST_H),
        }
    }

    /// Whether a gravity is believed.
    ///
    /// # Errors
    /// Why it is not.
    pub fn gravity(&self, reading: &GravityReading) -> Result<(), &'static str> {
        match self.fault(reading) {
            Some(fault) => Err(WHYS.get(fault).copied().unwrap_or_default()),
            None => Ok(()),
        }
    }

    /// Whether a temperature of the beer is believed.
    ///
    /// # Errors
    /// Why it is not.
    pub fn temperature(&self, at: Duration, read: Temperature) -> Result<(), &'static str> {
        self.within(at)?;
        let can_be = TEMPERATURES.contains(&read.c());
        can_be
            .then_some(())
            .ok_or("no temperature that beer can have")
    }

    /// Whether a pH is believed.
    ///
    /// # Errors
    /// Why it is not.
    pub fn ph(&self, at: Duration, read: Ph) -> Result<(), &'static str> {
        self.within(at)?;
        let can_be = PHS.contains(&read.ph());
        can_be.then_some(()).ok_or("no pH that beer can have")
    }

    /// Whether a reading is of the time that is watched.
    ///
    /// # Errors
    /// Why it is not.
    pub fn when(&self, at: Duration) -> Result<(), &'static str> {
        self.within(at)
    }

    fn within(&self, at: Duration) -> Result<(), &'static str> {
        match at.h() {
            t if t < 0.0 => Err(WHYS[1]),
            t if t <= self.until_h => Ok(()),
            _ => Err(WHYS[2]),
        }
    }

    /// Which of [`WHYS`].
    fn fault(&self, reading: &GravityReading) -> Option<usize> {
        let (t, p) = (reading.at.h(), reading.gravity.plato());
        if !t.is_finite() || !p.is_finite() || !GRAVITIES.contains(&p) {
            Some(0)
        } else if t < 0.0 {
            Some(1)
        } else if t > self.until_h {
            Some(2)
        } else if p > self.original + ABOVE_WORT {
            Some(3)
        } else {
            None
        }
    }
}

/// Readings that can be believed, by time.
#[derive(Debug, Clone, Default)]
pub(crate) struct Clean {
    pub(crate) points: Vec<Point>,
    /// Before anything was put together or thrown out for being odd: (h, °P, instrument).
    pub(crate) raw: Vec<(f64, f64, usize)>,
    pub(crate) temperatures: Vec<(f64, f64)>,
    pub(crate) ph: Vec<(f64, f64)>,
    pub(crate) aside: Vec<SetAside>,
}

impl Clean {
    /// Looks over a log up to a time; `original` \[°P\] is that of the wort.
    pub(crate) fn of(log: &Log, original: f64, now_h: f64) -> Self {
        let mut out = Self::default();
        let sieve = Sieve::new(Gravity::from_plato(original), Duration::from_h(now_h));
        let mut counts = [0; WHYS.len()];
        for reading in &log.gravities {
            let known = reading.instrument < log.instruments.len();
            match sieve.fault(reading).or((!known).then_some(0)) {
                Some(fault) => counts[fault] += 1,
                None => out
                    .raw
                    .push((reading.at.h(), reading.gravity.plato(), reading.instrument)),
            }
        }
        for (count, why) in counts.into_iter().zip(WHYS) {
            if count > 0 {
                out.aside.push(SetAside { count, why });
            }
        }
        out.raw.sort_by(|a, b| {
            a.0.total_cmp(&b.0)
                .then(a.2.cmp(&b.2))
                .then(a.1.total_cmp(&b.1))
        });
        out.raw.dedup();
        out.temperatures = by_time(
            log.temperatures.iter().map(|(t, c)| (t.h(), c.c())),
            |t, c| {
                sieve
                    .temperature(Duration::from_h(t), Temperature::from_c(c))
                    .is_ok()
            },
        );
        out.ph = by_time(log.ph.iter().map(|(t, ph)| (t.h(), ph.ph())), |t, ph| {
            sieve.ph(Duration::from_h(t), Ph::from_ph(ph)).is_ok()
        });
        out.points = points(log, &out.raw, now_h);
        out
    }

    /// The last time of anything \[h\].
    pub(crate) fn last_h(&self) -> Option<f64> {
        self.raw.last().map(|r| r.0)
    }
}

fn by_time(
    rows: impl Iterator<Item = (f64, f64)>,
    can_be: impl Fn(f64, f64) -> bool,
) -> Vec<(f64, f64)> {
    let mut kept: Vec<(f64, f64)> = rows.filter(|(t, x)| can_be(*t, *x)).collect();
    kept.sort_by(|a, b| a.0.total_cmp(&b.0));
    kept
}

/// Many readings of one instrument within an hour say what their median says.
fn points(log: &Log, raw: &[(f64, f64, usize)], now_h: f64) -> Vec<Point> {
    let bin_h = BIN_H.max(now_h / MOST_POINTS * log.instruments.len().max(1) as f64);
    let mut points = Vec::new();
    for (instrument, (_, kind)) in log.instruments.iter().enumerate() {
        let own: Vec<&(f64, f64, usize)> = raw.iter().filter(|r| r.2 == instrument).collect();
        for bin in own.chunk_by(|a, b| (a.0 / bin_h) as u64 == (b.0 / bin_h) as u64) {
            points.push(Point {
                at_h: bin.iter().map(|r| r.0).sum::<f64>() / bin.len() as f64,
                plato: median(bin.iter().map(|r| r.1).collect()),
                sd: kind.row().noise_plato,
                instrument,
            });
        }
    }
    points.sort_by(|a, b| a.at_h.total_cmp(&b.at_h));
    points
}

pub(crate) fn median(mut x: Vec<f64>) -> f64 {
    x.sort_by(f64::total_cmp);
    let n = x.len();
    if n == 0 {
        return f64::NAN;
    }
    f64::midpoint(x[(n - 1) / 2], x[n / 2])
}

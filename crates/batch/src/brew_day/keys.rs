//! The brew day as a document keeps it: what was read, and what was done.

use quantity::{Duration, Gravity, Mass, Measured, Temperature, Volume};
use wort::correct::{Change, Done, Point, Reading};
use wort::malts;

use crate::document::count;
use crate::reader::Reader;
use crate::words;

/// The brew day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BrewDaySection {
    /// What was read.
    pub readings: Vec<DayReading>,
    /// What was done that the plan does not have.
    pub done: Vec<DayDone>,
}

/// A volume, a gravity or both.
#[derive(Debug, Clone, PartialEq)]
pub struct DayReading {
    /// Where; none where that has a fault.
    pub at: Option<Point>,
    /// Volume as read.
    pub volume: Option<Measured<Volume>>,
    /// How warm the wort was whose volume was read.
    pub volume_at: Option<Measured<Temperature>>,
    /// Gravity as the hydrometer shows it.
    pub gravity: Option<Measured<Gravity>>,
    /// How warm the sample was.
    pub gravity_at: Measured<Temperature>,
}

/// Something done.
#[derive(Debug, Clone, PartialEq)]
pub struct DayDone {
    /// The change; none where it has a fault.
    pub done: Option<Done>,
}

/// The places of a day, as they are written.
pub(super) const PLACES: [&str; 6] = [
    "first wort",
    "last runnings",
    "kettle full",
    "boil",
    "end of boil",
    "fermenter",
];

/// The place that a word names, with the time after the boil began.
pub(super) fn point(word: &str, after: Option<Duration>) -> Option<Point> {
    Some(match word {
        "first wort" => Point::FirstWort,
        "last runnings" => Point::LastRunnings,
        "kettle full" => Point::KettleFull,
        "boil" => Point::Boil(after?),
        "end of boil" => Point::EndOfBoil,
        "fermenter" => Point::Fermenter,
        _ => return None,
    })
}

pub(crate) fn brew_day(r: &mut Reader<'_>) -> BrewDaySection {
    BrewDaySection {
        readings: r.sections("reading", "a volume or a gravity read on brew day", reading),
        done: r.sections("done", "something done that the plan does not have", done),
    }
}

fn place(r: &mut Reader<'_>) -> Option<Point> {
    let choices = PLACES.map(|word| (word, word));
    let word = r
        .choice("at", "where on the brew day", &choices)
        .required("");
    let after: Option<Measured<Duration>> = r
        .quantity("after", "during the boil: how long after it began")
        .optional();
    if word == "boil" && !r.has("after") {
        r.fault(
            Some("at"),
            "it is not said how long after the boil began",
            "give after = \"30 min\", or at = \"kettle full\" or \"end of boil\"",
        );
    }
    point(word, after.map(|t| t.value))
}

fn reading(r: &mut Reader<'_>) -> DayReading {
    let entry = DayReading {
        at: place(r),
        volume: r
            .quantity(
                "volume",
                "how much wort there is, as the vessel shows it; not told of the first wort and the last runnings",
            )
            .optional(),
        volume_at: r
            .quantity("volume_at", "how warm that wort is")
            .optional(),
        gravity: r
            .quantity("gravity", "what the hydrometer shows")
            .optional(),
        gravity_at: r
            .quantity("gravity_at", "how warm the sample is while it is read")
            .assumed(),
    };
    if r.has("volume") && !r.has("volume_at") {
        r.fault(
            Some("volume"),
            "a volume without its temperature: wort shrinks by 4 % from the boil to 20 °C",
            "give volume_at, such as volume_at = \"95 °C\"",
        );
    }
    entry
}

fn done(r: &mut Reader<'_>) -> DayDone {
    let at = place(r);
    let what = r
        .choice(
            "what",
            "what was done",
            &[
                ("boil longer", Kind::BoilLonger),
                ("boil shorter", Kind::BoilShorter),
                ("add", Kind::Add),
                ("dilute", Kind::Dilute),
                ("hops", Kind::Hops),
            ],
        )
        .required(Kind::Hops);
    let given = Given {
        time: r
            .quantity("time", "by how much the boil is longer or shorter")
            .optional(),
        of: r
            .word(
                "of",
                "the sugar or malt extract that is added",
                sugars,
                sugar,
            )
            .optional(),
        amount: r.quantity("amount", "how much of it").optional(),
        volume: r
            .quantity("volume", "how much water is poured in")
            .optional(),
        times: count(r, "times", "the hops to come, so many times as much"),
    };
    let change = given.change(what).filter(|_| r.has("what"));
    if r.has("what") && !what.keys().iter().all(|key| r.has(key)) {
        r.fault(
            Some("what"),
            "it is not said how much was done",
            format!("{} needs {}", what.word(), what.keys().join(" and ")),
        );
    }
    DayDone {
        done: at.zip(change).map(|(at, what)| Done { at, what }),
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    BoilLonger,
    BoilShorter,
    Add,
    Dilute,
    Hops,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Self::BoilLonger => "boil longer",
            Self::BoilShorter => "boil shorter",
            Self::Add => "add",
            Self::Dilute => "dilute",
            Self::Hops => "hops",
        }
    }

    fn keys(self) -> &'static [&'static str] {
        match self {
            Self::BoilLonger | Self::BoilShorter => &["time"],
            Self::Add => &["of", "amount"],
            Self::Dilute => &["volume"],
            Self::Hops => &["times"],
        }
    }
}

struct Given {
    time: Option<Measured<Duration>>,
    of: Option<String>,
    amount: Option<Measured<Mass>>,
    volume: Option<Measured<Volume>>,
    times: Option<f64>,
}

impl Given {
    fn change(&self, what: Kind) -> Option<Change> {
        Some(match what {
            Kind::BoilLonger => Change::BoilBy(self.time?.value.min()),
            Kind::BoilShorter => Change::BoilBy(-self.time?.value.min()),
            Kind::Add => Change::Add {
                fermentable: Box::new(malts::find(self.of.as_ref()?).ok()?),
                mass: self.amount?.value,
            },
            Kind::Dilute => Change::Dilute(self.volume?.value),
            Kind::Hops => Change::Hops(self.times?),
        })
    }
}

fn sugars() -> Vec<String> {
    let all = malts::all().iter().filter(|m| !m.kind.is_mashed());
    all.map(|m| m.name.clone()).collect()
}

fn sugar(word: &str) -> Result<String, String> {
    let name = words::malt(word)?;
    if sugars().contains(&name) {
        Ok(name)
    } else {
        Err(format!("{name} is grain; it would have to be mashed"))
    }
}

impl BrewDaySection {
    /// What was read, in the order in which it is written.
    #[must_use]
    pub fn read(&self) -> Vec<Reading> {
        let read = |entry: &DayReading| {
            Some(Reading {
                at: entry.at?,
                volume: entry.volume,
                volume_at: entry.volume_at.map_or(COLD, |t| t.value),
                gravity: entry.gravity,
                gravity_at: entry.gravity_at,
            })
        };
        self.readings.iter().filter_map(read).collect()
    }

    /// What was done.
    #[must_use]
    pub fn changes(&self) -> Vec<Done> {
        self.done.iter().filter_map(|d| d.done.clone()).collect()
    }

    /// Whether anything was read or done yet.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        let unread = |r: &DayReading| r.volume.is_none() && r.gravity.is_none();
        self.readings.iter().all(unread) && self.done.iter().all(|d| d.done.is_none())
    }
}

const COLD: Temperature = Temperature::from_c(20.0);

/// A change as an entry of `brew_day.done`.
#[must_use]
pub fn entry_of(done: &Done) -> Vec<(String, String)> {
    let mut pairs = vec![("at".to_owned(), done.at.name().to_owned())];
    let mut put = |key: &str, value: String| pairs.push((key.to_owned(), value));
    if let Point::Boil(t) = done.at {
        put("after", format!("{:.0} min", t.min()));
    }
    match &done.what {
        Change::BoilBy(min) => {
            let what = if *min < 0.0 {
                Kind::BoilShorter
            } else {
                Kind::BoilLonger
            };
            put("what", what.word().to_owned());
            put("time", format!("{:.0} min", min.abs()));
        }
        Change::Add { fermentable, mass } => {
            put("what", Kind::Add.word().to_owned());
            put("of", fermentable.name.clone());
            put("amount", format!("{:.0} g", mass.g()));
        }
        Change::Dilute(water) => {
            put("what", Kind::Dilute.word().to_owned());
            put("volume", format!("{:.2} L", water.l()));
        }
        Change::Hops(times) => {
            put("what", Kind::Hops.word().to_owned());
            put("times", format!("{times:.2}"));
        }
    }
    pairs
}

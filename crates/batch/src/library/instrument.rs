//! The instruments of a brewhouse, each with the checks that were made of it.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use quantity::{Gravity, Measured, Note, Ph, Quantity, Temperature, data, parse_measured};
use water::mash_reading::Compensation;
use wort::instruments::{CheckPoint, Correction, correction};

use super::day::day;
use crate::reader::Reader;

/// What an instrument is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InstrumentKind {
    /// Of any kind.
    Thermometer,
    /// Glass, with a stem.
    Hydrometer,
    /// Hand-held or digital, with a sugar scale; its readings are written in °Bx (or
    /// °P) as its scale shows them.
    Refractometer,
    /// With an electrode.
    PhMeter,
}

impl InstrumentKind {
    /// All of them.
    pub const ALL: [Self; 4] = [
        Self::Thermometer,
        Self::Hydrometer,
        Self::Refractometer,
        Self::PhMeter,
    ];

    /// Its word in documents.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Thermometer => "thermometer",
            Self::Hydrometer => "hydrometer",
            Self::Refractometer => "refractometer",
            Self::PhMeter => "ph-meter",
        }
    }

    /// How well one is read that says nothing of its own, in canonical units (°C, °P,
    /// pH): a third of a degree, a point of gravity, half a tenth of pH (common
    /// practice).
    #[must_use]
    pub const fn usual_sd(self) -> f64 {
        match self {
            Self::Thermometer => 0.3,
            Self::Hydrometer => 0.25,
            Self::Refractometer => 0.15,
            Self::PhMeter => 0.05,
        }
    }

    /// What is added to its standard deviation, squared and summed, in canonical units,
    /// once the day has passed until which its checks hold.
    #[must_use]
    pub fn lapsed_sd(self) -> f64 {
        LAPSED.get(self.word()).map_or(0.0, |row| row.value)
    }

    /// More than this, in canonical units, is no correction but a broken instrument
    /// (judgement).
    pub(crate) const fn most_off(self) -> f64 {
        match self {
            Self::Thermometer => 15.0,
            Self::Hydrometer | Self::Refractometer => 4.0,
            Self::PhMeter => 1.5,
        }
    }
}

const FILE: &str = "instruments.toml";

/// A row of `data/instruments.toml`.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    value: f64,
    source: String,
    mark: String,
}

static LAPSED: LazyLock<BTreeMap<String, Row>> = LazyLock::new(|| {
    let rows: BTreeMap<String, Row> =
        data::builtin(FILE, include_str!("../../data/instruments.toml"));
    for (key, row) in &rows {
        let _ = data::mark(FILE, key, &row.mark);
        debug_assert!(!row.source.is_empty());
    }
    rows
});

/// An instrument that readings may name.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: InstrumentKind,
    /// Temperature printed on the stem of a hydrometer.
    pub stem: Option<Measured<Temperature>>,
    /// How well it is read, in canonical units.
    pub sd: f64,
    /// For a pH meter without temperature compensation: what it is set to.
    pub set_to: Option<Temperature>,
    /// The day until which its checks hold.
    pub valid_until: Option<String>,
    /// Its checks.
    pub checks: Vec<InstrumentCheck>,
}

/// A comparison with something known.
#[derive(Debug, Clone, PartialEq)]
pub struct InstrumentCheck {
    /// The day.
    pub day: Option<String>,
    /// What it was, as written.
    pub reference: String,
    /// What was read, as written.
    pub read: String,
    /// The same in canonical units: number and standard deviation of each.
    pub figures: [(f64, f64); 2],
}

/// What the checks of an instrument come to, in the quantity that it reads.
#[derive(Debug, Clone, PartialEq)]
pub enum InstrumentCorrection {
    /// Of a thermometer.
    Temperature(Correction<Temperature>),
    /// Of a hydrometer or a refractometer.
    Gravity(Correction<Gravity>),
    /// Of a pH meter.
    Ph(Correction<Ph>),
}

impl Instrument {
    /// One that nobody keeps a record of.
    #[must_use]
    pub fn usual(name: &str, kind: InstrumentKind) -> Self {
        Self {
            name: name.to_owned(),
            kind,
            stem: None,
            sd: kind.usual_sd(),
            set_to: None,
            valid_until: None,
            checks: Vec::new(),
        }
    }

    /// Days at a moment \[ms since 1970\] since the last on which its checks held, by
    /// UTC; negative while they hold, none where no day is said.
    #[must_use]
    pub fn days_lapsed(&self, at_ms: i64) -> Option<i64> {
        let until: jiff::civil::Date = self.valid_until.as_deref()?.parse().ok()?;
        let at = jiff::Timestamp::from_millisecond(at_ms).ok()?;
        let today = jiff::tz::Offset::UTC.to_datetime(at).date();
        Some(i64::from(today.since(until).ok()?.get_days()))
    }

    /// By how much it is less sure once its checks hold no longer, in words.
    #[must_use]
    pub fn lapsed_words(&self) -> String {
        let unit = match self.kind {
            InstrumentKind::Thermometer => " °C",
            InstrumentKind::Hydrometer | InstrumentKind::Refractometer => " °P",
            InstrumentKind::PhMeter => "",
        };
        format!("± {}{unit}", self.kind.lapsed_sd())
    }

    /// What it makes of the temperature of a sample.
    pub(crate) fn compensation(&self) -> Compensation {
        self.set_to
            .map_or(Compensation::Automatic, Compensation::FixedAt)
    }

    /// What its checks come to; none without checks.
    ///
    /// # Errors
    /// In words, where a check cannot be right.
    pub fn correction(&self) -> Result<Option<InstrumentCorrection>, String> {
        if self.checks.is_empty() {
            return Ok(None);
        }
        Ok(Some(match self.kind {
            InstrumentKind::Thermometer => InstrumentCorrection::Temperature(self.fitted()?),
            InstrumentKind::Hydrometer | InstrumentKind::Refractometer => {
                InstrumentCorrection::Gravity(self.fitted()?)
            }
            InstrumentKind::PhMeter => InstrumentCorrection::Ph(self.fitted()?),
        }))
    }

    fn fitted<Q: Quantity>(&self) -> Result<Correction<Q>, String> {
        let of = |(x, sd): (f64, f64)| Measured::with_sd(Q::from_canonical(x), sd);
        let points: Vec<CheckPoint<Q>> = self
            .checks
            .iter()
            .map(|check| CheckPoint {
                reference: of(check.figures[0]),
                read: of(check.figures[1]),
            })
            .collect();
        correction(&points, self.sd, self.kind.most_off()).map_err(|e| e.to_string())
    }
}

impl InstrumentCorrection {
    /// What to add at a canonical number, with its standard deviation.
    #[must_use]
    pub fn at(&self, read: f64) -> (f64, f64) {
        match self {
            Self::Temperature(c) => c.at(Temperature::from_canonical(read)),
            Self::Gravity(c) => c.at(Gravity::from_canonical(read)),
            Self::Ph(c) => c.at(Ph::from_canonical(read)),
        }
    }

    /// What to know about it.
    #[must_use]
    pub fn notes(&self) -> &[Note] {
        match self {
            Self::Temperature(c) => &c.notes,
            Self::Gravity(c) => &c.notes,
            Self::Ph(c) => &c.notes,
        }
    }
}

pub(super) fn instruments(r: &mut Reader<'_>) -> Vec<Instrument> {
    r.sections(
        "instrument",
        "an instrument that readings may name",
        instrument,
    )
}

fn instrument(r: &mut Reader<'_>) -> Instrument {
    let words = InstrumentKind::ALL.map(|kind| (kind.word(), kind));
    let name = r.name("its name, as readings name it").required();
    let kind = r
        .choice("kind", "what it is", &words)
        .required(InstrumentKind::Thermometer);
    let stem = r
        .quantity("stem", "temperature printed on the stem of a hydrometer")
        .optional();
    let set_to = r
        .quantity(
            "set_to",
            "temperature that a pH meter without temperature compensation is set to",
        )
        .optional();
    let spread = r
        .text(
            "spread",
            "how well it is read, as in 0.2 °C, 0.001 SG or 0.05",
        )
        .optional();
    let sd = match spread.as_deref().map(|text| difference(kind, text)) {
        None => kind.usual_sd(),
        Some(Ok(sd)) => sd,
        Some(Err(why)) => {
            r.fault(
                Some("spread"),
                why,
                "write it as 0.2 °C, 0.001 SG, 0.2 °P or 0.05",
            );
            kind.usual_sd()
        }
    };
    Instrument {
        valid_until: day(r, "valid_until", "the day until which its checks hold"),
        checks: r.sections("check", "a comparison with something known", |r| {
            check(r, kind)
        }),
        set_to: set_to.map(|at: Measured<Temperature>| at.value),
        name,
        kind,
        stem,
        sd,
    }
}

/// A difference in canonical units.
fn difference(kind: InstrumentKind, text: &str) -> Result<f64, String> {
    let text = text.trim();
    let (number, unit) = match text.find(|c: char| !(c.is_ascii_digit() || c == '.')) {
        Some(at) => text.split_at(at),
        None => (text, ""),
    };
    let factor = match (kind, unit.trim()) {
        (InstrumentKind::Thermometer, "°C" | "K" | "C")
        | (InstrumentKind::PhMeter, "" | "pH")
        | (InstrumentKind::Hydrometer | InstrumentKind::Refractometer, "°P" | "°Bx") => 1.0,
        (InstrumentKind::Thermometer, "°F" | "F") => 1.0 / 1.8,
        // Near 1.04, where wort and beer lie: 0.001 is a quarter of a degree Plato.
        (InstrumentKind::Hydrometer | InstrumentKind::Refractometer, "" | "SG") => 246.0,
        _ => return Err(format!("{text:?} has no unit of a {}", kind.word())),
    };
    number
        .parse::<f64>()
        .ok()
        .map(|x| x * factor)
        .filter(|x| (1e-6..=10.0).contains(x))
        .ok_or_else(|| format!("{text:?} is no spread that a {} can have", kind.word()))
}

fn check(r: &mut Reader<'_>, kind: InstrumentKind) -> InstrumentCheck {
    let day = day(r, "day", "the day of the check");
    let reference = r
        .text("reference", "what it was, with how well that is known")
        .required();
    let read = r.text("read", "what the instrument read").required();
    let mut figures = [(0.0, 0.0); 2];
    for (figure, (key, text)) in figures
        .iter_mut()
        .zip([("reference", &reference), ("read", &read)])
    {
        match parsed(kind, text) {
            Ok(found) => *figure = found,
            Err((why, help)) => r.fault(Some(key), why, help),
        }
    }
    InstrumentCheck {
        day,
        reference,
        read,
        figures,
    }
}

fn parsed(kind: InstrumentKind, text: &str) -> Result<(f64, f64), (String, String)> {
    fn of<Q: Quantity>(text: &str) -> Result<(f64, f64), (String, String)> {
        parse_measured::<Q>(text)
            .map(|m| (m.canonical(), m.sd()))
            .map_err(|e| (e.fault(), e.help()))
    }
    match kind {
        InstrumentKind::Thermometer => of::<Temperature>(text),
        InstrumentKind::Hydrometer | InstrumentKind::Refractometer => of::<Gravity>(text),
        InstrumentKind::PhMeter => of::<Ph>(text),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Brewhouse;

    use super::InstrumentKind;

    const KEPT: &str = r#"
[brewhouse]
name = "back kitchen"

[[instrument]]
name = "cellar"
kind = "thermometer"
spread = "0.2 °C"
valid_until = "2027-03-14"

[[instrument.check]]
day = "2026-03-14"
reference = "0 ± 0.05 °C"
read = "0.4 °C"

[[instrument.check]]
reference = "99.2 ± 0.4 °C"
read = "98.6 °C"
"#;

    #[test]
    fn an_instrument_and_its_checks_come_to_a_correction() {
        let (kept, _) = Brewhouse::read(KEPT).unwrap();
        let cellar = &kept.instruments[0];
        assert_eq!((cellar.checks.len(), cellar.sd), (2, 0.2));
        let (by, sd) = cellar.correction().unwrap().unwrap().at(0.4);
        assert!((by + 0.4).abs() < 1e-9, "{by}");
        assert!((0.2..0.21).contains(&sd), "{sd}");
        let none = KEPT.replace("[[instrument.check]]", "[[instrument]]");
        assert!(Brewhouse::read(&none).is_err());
    }

    /// The last day counts as a whole, and each kind has a figure of its own.
    #[test]
    fn checks_hold_through_their_last_day() {
        let (kept, _) = Brewhouse::read(KEPT).unwrap();
        let ms = |text: &str| text.parse::<jiff::Timestamp>().unwrap().as_millisecond();
        let days = |text: &str| kept.instruments[0].days_lapsed(ms(text));
        assert_eq!(days("2027-03-14T23:59:59Z"), Some(0));
        assert_eq!(days("2027-03-15T00:00:00Z"), Some(1));
        assert_eq!(days("2028-03-14T12:00:00Z"), Some(366));
        assert_eq!(days("2027-03-04T12:00:00Z"), Some(-10));
        for kind in InstrumentKind::ALL {
            assert!(kind.lapsed_sd() > 0.0, "{kind:?}");
        }
    }

    #[test]
    fn a_name_stands_on_one_line() {
        for (name, told) in [
            ("cel\\nlar", "a line break"),
            ("cel\\tlar", "a tab"),
            ("cel\\u001Blar", "U+001B"),
        ] {
            let faults =
                Brewhouse::read(&KEPT.replace("\"cellar\"", &format!("\"{name}\""))).unwrap_err();
            assert_eq!(faults[0].path, "instrument[1].name");
            assert!(faults[0].message.contains(told), "{faults:?}");
        }
    }

    #[test]
    fn what_is_wrong_with_a_check_is_told_at_its_key() {
        let faulty = KEPT.replace("read = \"0.4 °C\"", "read = \"1.004 SG\"");
        let faults = Brewhouse::read(&faulty).unwrap_err();
        assert_eq!(faults[0].path, "instrument[1].check[1].read");
        let faulty = KEPT.replace("0.2 °C", "0.2 psi");
        let faults = Brewhouse::read(&faulty).unwrap_err();
        assert_eq!(faults[0].path, "instrument[1].spread");
        let broken = KEPT.replace("98.6 °C", "48.6 °C");
        let (kept, _) = Brewhouse::read(&broken).unwrap();
        let why = kept.instruments[0].correction().unwrap_err();
        assert!(why.contains("difference of a check"), "{why}");
    }
}

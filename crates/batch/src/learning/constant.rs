//! The constants that batches teach: rows of `data/learning.toml`, and the scale that
//! each is learned on.

use std::sync::LazyLock;

use quantity::{
    Duration, EvaporationRate, Fraction, Mark, Measured, Quantity, RelativeSpeed, Source, Units,
    VolumePerMass, data, rounded, show_measured,
};

use super::hierarchy::Prior;

const FILE: &str = "learning.toml";
const TEXT: &str = include_str!("../../data/learning.toml");

/// A constant of a kit, a yeast or an instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Constant {
    /// Extract dissolved, of what a coarse laboratory grind gives.
    Conversion,
    /// Extract in the kettle, of the laboratory extract of all that was used.
    IntoKettle,
    /// Wort that a kilogram of grain keeps.
    Absorption,
    /// Time in which the full mash tun comes a factor e nearer to the room.
    Tun,
    /// Steam.
    Evaporation,
    /// Wort left in kettle, hops and hoses, relative to the kit as it was planned with.
    Losses,
    /// Apparent attenuation on a standard wort.
    Attenuation,
    /// Speed relative to the class.
    Speed,
    /// How far an instrument reads too high.
    Off,
}

/// What a constant belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// The kit.
    Kit,
    /// The yeast.
    Yeast,
    /// An instrument.
    Instrument,
}

impl Of {
    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Kit => "kit",
            Self::Yeast => "yeast",
            Self::Instrument => "instrument",
        }
    }
}

/// The scale on which a constant is learned: one on which its spread is even and its
/// bounds are far.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// As it is.
    Plain,
    /// As it is, its spreads in the table being shares of what is usual.
    Times,
    /// Its logarithm.
    Ln,
    /// The logarithm of share over rest.
    Logit,
}

impl Scale {
    /// A number with its standard deviation on this scale, to first order; none for a
    /// number that it does not have.
    #[must_use]
    pub fn of(self, (value, sd): (f64, f64)) -> Option<(f64, f64)> {
        let (on, slope) = match self {
            Self::Plain | Self::Times => (value, 1.0),
            Self::Ln => (value.ln(), 1.0 / value),
            Self::Logit => ((value / (1.0 - value)).ln(), 1.0 / (value * (1.0 - value))),
        };
        (on.is_finite() && slope.is_finite() && sd >= 0.0).then_some((on, sd * slope))
    }

    /// A number of this scale as it is.
    #[must_use]
    pub fn back(self, on: f64) -> f64 {
        match self {
            Self::Plain | Self::Times => on,
            Self::Ln => on.min(300.0).exp(),
            Self::Logit => 1.0 / (1.0 + (-on).exp()),
        }
    }

    /// The standard deviation as it is, of a number of this scale.
    #[must_use]
    pub fn sd_back(self, (on, sd): (f64, f64)) -> f64 {
        let value = self.back(on);
        match self {
            Self::Plain | Self::Times => sd,
            Self::Ln => sd * value,
            Self::Logit => sd * value * (1.0 - value),
        }
    }
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    constant: Vec<Row>,
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    name: String,
    #[serde(with = "ScaleWord")]
    scale: Scale,
    value: f64,
    sd: f64,
    apart: f64,
    ln_sd: f64,
    source: String,
    mark: String,
}

/// A scale as a row says it.
#[derive(serde::Deserialize)]
#[serde(rename_all = "lowercase", remote = "Scale")]
enum ScaleWord {
    Plain,
    Times,
    Ln,
    Logit,
}

static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| {
    let file: File = data::builtin(FILE, TEXT);
    file.constant
});

impl Constant {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Conversion,
        Self::IntoKettle,
        Self::Absorption,
        Self::Tun,
        Self::Evaporation,
        Self::Losses,
        Self::Attenuation,
        Self::Speed,
        Self::Off,
    ];

    /// Its word in data, JSON and addresses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Conversion => "conversion",
            Self::IntoKettle => "into_kettle",
            Self::Absorption => "absorption",
            Self::Tun => "tun_time_constant",
            Self::Evaporation => "evaporation",
            Self::Losses => "losses",
            Self::Attenuation => "attenuation",
            Self::Speed => "speed",
            Self::Off => "off",
        }
    }

    /// What it belongs to.
    #[must_use]
    pub const fn of(self) -> Of {
        match self {
            Self::Attenuation | Self::Speed => Of::Yeast,
            Self::Off => Of::Instrument,
            _ => Of::Kit,
        }
    }

    fn row(self) -> &'static Row {
        match ROWS.iter().find(|row| row.key == self.word()) {
            Some(row) => row,
            #[expect(
                clippy::panic,
                reason = "a missing row is a defect of the program; a test reads all"
            )]
            None => panic!("no constant {:?} in {FILE}", self.word()),
        }
    }

    /// What it is called.
    #[must_use]
    pub fn name(self) -> &'static str {
        &self.row().name
    }

    /// The scale that it is learned on.
    #[must_use]
    pub fn scale(self) -> Scale {
        self.row().scale
    }

    /// What is known of it before any batch, on its scale: what the house says of itself,
    /// value and standard deviation as they are, or the row.
    #[must_use]
    pub fn prior(self, said: Option<(f64, f64)>) -> Prior {
        let row = self.row();
        let usual = row.scale.of((row.value, 0.0)).map_or(0.0, |on| on.0);
        let (mean, sd) = said.and_then(|s| row.scale.of(s)).unwrap_or((usual, 0.0));
        let times = if row.scale == Scale::Times { mean } else { 1.0 };
        Prior {
            mean,
            sd: if sd > 0.0 { sd } else { row.sd * times },
            apart: row.apart * times,
            apart_ln_sd: row.ln_sd,
        }
    }

    /// Where its spreads come from.
    #[must_use]
    pub fn source(self) -> Source {
        let row = self.row();
        let mark: Mark = data::mark(FILE, &row.key, &row.mark);
        Source {
            text: row.source.clone(),
            mark,
        }
    }

    /// A number of it with its standard deviation, as it is, for people.
    #[must_use]
    pub fn show(self, (value, sd): (f64, f64), units: Units) -> String {
        fn of<Q: Quantity>(number: (f64, f64), units: Units) -> String {
            show_measured(
                &Measured::with_sd(Q::from_canonical(number.0), number.1),
                units,
            )
        }
        match self {
            Self::Conversion | Self::IntoKettle | Self::Attenuation => {
                of::<Fraction>((value, sd), units)
            }
            Self::Absorption => of::<VolumePerMass>((value, sd), units),
            Self::Tun => of::<Duration>((value, sd), units),
            Self::Evaporation => of::<EvaporationRate>((value, sd), units),
            Self::Losses | Self::Speed => {
                format!("{} times", of::<RelativeSpeed>((value, sd), units))
            }
            // Four points of specific gravity a degree Plato, near enough for words.
            Self::Off => format!("{:+.1} ± {:.1} points", 4.0 * value, 4.0 * sd),
        }
    }

    /// How a chart has it: the factor on its canonical number, the unit and the decimals.
    #[must_use]
    pub const fn axis(self) -> (f64, &'static str, usize) {
        match self {
            Self::Conversion | Self::IntoKettle | Self::Attenuation => (100.0, "%", 1),
            Self::Absorption => (1.0, "L/kg", 2),
            Self::Tun => (1.0, "h", 0),
            Self::Evaporation => (1.0, "kg/h", 2),
            Self::Losses | Self::Speed => (1.0, "times", 2),
            // Points of specific gravity.
            Self::Off => (4.0, "points", 1),
        }
    }

    /// Two ends of an interval, as they are, for people.
    #[must_use]
    pub fn show_interval(self, (low, high): (f64, f64), units: Units) -> String {
        fn of<Q: Quantity>((low, high): (f64, f64), units: Units) -> String {
            quantity::show_interval(Q::from_canonical(low), Q::from_canonical(high), units)
        }
        match self {
            Self::Conversion | Self::IntoKettle | Self::Attenuation => {
                of::<Fraction>((low, high), units)
            }
            Self::Absorption => of::<VolumePerMass>((low, high), units),
            Self::Tun => of::<Duration>((low, high), units),
            Self::Evaporation => of::<EvaporationRate>((low, high), units),
            Self::Losses | Self::Speed => {
                format!(
                    "{} to {} times",
                    rounded(round2(low)),
                    rounded(round2(high))
                )
            }
            Self::Off => format!("{:+.1} to {:+.1} points", 4.0 * low, 4.0 * high),
        }
    }
}

fn round2(x: f64) -> f64 {
    (100.0 * x).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_constant_has_a_row_with_its_source() {
        assert_eq!(ROWS.len(), Constant::ALL.len());
        for constant in Constant::ALL {
            let (row, source) = (constant.row(), constant.source());
            assert!(source.text.len() > 20 && !row.name.is_empty());
            assert!(row.sd > 0.0 && row.apart > 0.0 && row.ln_sd > 0.0);
            let prior = constant.prior(None);
            assert!((row.scale.back(prior.mean) - row.value).abs() < 1e-12);
        }
    }

    #[test]
    fn what_a_house_says_of_itself_takes_the_place_of_the_row() {
        let prior = Constant::Evaporation.prior(Some((4.0, 0.4)));
        assert!((prior.mean - 4.0).abs() < 1e-12 && (prior.sd - 0.4).abs() < 1e-12);
        // Batches of a larger kettle lie further apart, and without a spread the usual
        // one stays.
        assert!((prior.apart - 0.24).abs() < 1e-12);
        assert!((Constant::Evaporation.prior(Some((4.0, 0.0))).sd - 1.2).abs() < 1e-12);
        // A number that the scale does not have is none.
        assert!(Constant::Speed.prior(Some((-1.0, 0.1))).mean.abs() < 1e-12);
    }
}

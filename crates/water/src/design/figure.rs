//! The figures that aims and limits are about.

use std::fmt;

use quantity::{
    Alkalinity, Calcium, Chloride, Fraction, Magnesium, Mass, MassConcentration, Nitrate, Ph,
    Potassium, Quantity, Sodium, Sulfate, Units, Volume, rounded, show, show_interval,
};

use crate::analysis::residual_alkalinity;
use crate::state::Ions;

/// A figure of a liquor or of the mash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Figure {
    Calcium,
    Magnesium,
    Sodium,
    Potassium,
    Chloride,
    Sulfate,
    Nitrate,
    Alkalinity,
    ResidualAlkalinity,
    SulfateToChloride,
    MashPh,
}

/// The value of a figure, or an amount.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Level {
    Calcium(Calcium),
    Magnesium(Magnesium),
    Sodium(Sodium),
    Potassium(Potassium),
    Chloride(Chloride),
    Sulfate(Sulfate),
    Nitrate(Nitrate),
    Alkalinity(Alkalinity),
    ResidualAlkalinity(Alkalinity),
    /// Milligrams of sulfate to one of chloride; infinite without chloride.
    SulfateToChloride(f64),
    MashPh(Ph),
    Mass(Mass),
    Volume(Volume),
    Share(Fraction),
    Dose(MassConcentration),
}

impl Figure {
    /// The word for it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Calcium => "calcium",
            Self::Magnesium => "magnesium",
            Self::Sodium => "sodium",
            Self::Potassium => "potassium",
            Self::Chloride => "chloride",
            Self::Sulfate => "sulfate",
            Self::Nitrate => "nitrate",
            Self::Alkalinity => "alkalinity",
            Self::ResidualAlkalinity => "residual alkalinity",
            Self::SulfateToChloride => "sulfate to chloride",
            Self::MashPh => "mash pH",
        }
    }

    /// Its value in a liquor [canonical unit]; none of the mash pH, and of sulfate
    /// to chloride, which is not linear.
    pub(super) fn of(self, ions: &Ions, alkalinity: Alkalinity) -> Option<f64> {
        Some(match self {
            Self::Calcium => ions.calcium.mg_per_l(),
            Self::Magnesium => ions.magnesium.mg_per_l(),
            Self::Sodium => ions.sodium.mg_per_l(),
            Self::Potassium => ions.potassium.mg_per_l(),
            Self::Chloride => ions.chloride.mg_per_l(),
            Self::Sulfate => ions.sulfate.mg_per_l(),
            Self::Nitrate => ions.nitrate.mg_per_l(),
            Self::Alkalinity => alkalinity.meq_per_l(),
            Self::ResidualAlkalinity => residual_alkalinity(ions, alkalinity).meq_per_l(),
            Self::SulfateToChloride | Self::MashPh => return None,
        })
    }

    /// A value of it [canonical unit] with its type.
    #[must_use]
    pub fn level(self, value: f64) -> Level {
        match self {
            Self::Calcium => Level::Calcium(Calcium::from_mg_per_l(value)),
            Self::Magnesium => Level::Magnesium(Magnesium::from_mg_per_l(value)),
            Self::Sodium => Level::Sodium(Sodium::from_mg_per_l(value)),
            Self::Potassium => Level::Potassium(Potassium::from_mg_per_l(value)),
            Self::Chloride => Level::Chloride(Chloride::from_mg_per_l(value)),
            Self::Sulfate => Level::Sulfate(Sulfate::from_mg_per_l(value)),
            Self::Nitrate => Level::Nitrate(Nitrate::from_mg_per_l(value)),
            Self::Alkalinity => Level::Alkalinity(Alkalinity::from_meq_per_l(value)),
            Self::ResidualAlkalinity => {
                Level::ResidualAlkalinity(Alkalinity::from_meq_per_l(value))
            }
            Self::SulfateToChloride => Level::SulfateToChloride(value),
            Self::MashPh => Level::MashPh(Ph::from_ph(value)),
        }
    }

    /// A difference or tolerance of it with its type: of sulfate to chloride it
    /// is one of sulfate.
    pub(super) fn difference(self, value: f64) -> Level {
        match self {
            Self::SulfateToChloride => Level::Sulfate(Sulfate::from_mg_per_l(value)),
            other => other.level(value),
        }
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl Level {
    /// Printed in the reader's units.
    #[must_use]
    pub fn show(&self, units: Units) -> String {
        match self {
            Self::Calcium(x) => show(*x, units),
            Self::Magnesium(x) => show(*x, units),
            Self::Sodium(x) => show(*x, units),
            Self::Potassium(x) => show(*x, units),
            Self::Chloride(x) => show(*x, units),
            Self::Sulfate(x) => show(*x, units),
            Self::Nitrate(x) => show(*x, units),
            Self::Alkalinity(x) | Self::ResidualAlkalinity(x) => show(*x, units),
            Self::SulfateToChloride(x) => rounded((100.0 * x).round() / 100.0),
            Self::MashPh(x) => show(*x, units),
            Self::Mass(x) => show(*x, units),
            Self::Volume(x) => show(*x, units),
            Self::Share(x) => show(*x, units),
            Self::Dose(x) => show(*x, units),
        }
    }

    /// Prints from here to a higher value of the same figure, "112–131 mg/L".
    #[must_use]
    pub fn show_up_to(&self, high: &Self, units: Units) -> String {
        fn ends<Q: Quantity>(low: &Level, high: &Level, units: Units) -> String {
            let of = |level: &Level| Q::from_canonical(level.canonical());
            show_interval(of(low), of(high), units)
        }
        match self {
            Self::Calcium(_) => ends::<Calcium>(self, high, units),
            Self::Magnesium(_) => ends::<Magnesium>(self, high, units),
            Self::Sodium(_) => ends::<Sodium>(self, high, units),
            Self::Potassium(_) => ends::<Potassium>(self, high, units),
            Self::Chloride(_) => ends::<Chloride>(self, high, units),
            Self::Sulfate(_) => ends::<Sulfate>(self, high, units),
            Self::Nitrate(_) => ends::<Nitrate>(self, high, units),
            Self::Alkalinity(_) | Self::ResidualAlkalinity(_) => {
                ends::<Alkalinity>(self, high, units)
            }
            Self::SulfateToChloride(_) => format!("{}–{}", self.show(units), high.show(units)),
            Self::MashPh(_) => ends::<Ph>(self, high, units),
            Self::Mass(_) => ends::<Mass>(self, high, units),
            Self::Volume(_) => ends::<Volume>(self, high, units),
            Self::Share(_) => ends::<Fraction>(self, high, units),
            Self::Dose(_) => ends::<MassConcentration>(self, high, units),
        }
    }

    /// The number in the canonical unit of its quantity.
    #[must_use]
    pub fn canonical(&self) -> f64 {
        match self {
            Self::Calcium(x) => x.canonical(),
            Self::Magnesium(x) => x.canonical(),
            Self::Sodium(x) => x.canonical(),
            Self::Potassium(x) => x.canonical(),
            Self::Chloride(x) => x.canonical(),
            Self::Sulfate(x) => x.canonical(),
            Self::Nitrate(x) => x.canonical(),
            Self::Alkalinity(x) | Self::ResidualAlkalinity(x) => x.canonical(),
            Self::SulfateToChloride(x) => *x,
            Self::MashPh(x) => x.canonical(),
            Self::Mass(x) => x.canonical(),
            Self::Volume(x) => x.canonical(),
            Self::Share(x) => x.canonical(),
            Self::Dose(x) => x.canonical(),
        }
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.show(Units::Metric))
    }
}

//! What a brew day says: readings, and what was done.

use quantity::{Fraction, Gravity, Mass, Measured, Temperature, Volume};

use crate::error::{WortError, check};
use crate::malts::Fermentable;
use crate::plan::WortPlan;

/// Where on a brew day something is read or done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Point {
    /// The first wort that runs from the tun.
    FirstWort,
    /// The last runnings.
    LastRunnings,
    /// The kettle is full, sugars in it, and does not boil yet.
    KettleFull,
    /// So many minutes after the boil began.
    Boil(quantity::Duration),
    /// The boil is over, the wort still in the kettle.
    EndOfBoil,
    /// In the fermenter, before the yeast.
    Fermenter,
}

impl Point {
    /// What it is called.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::FirstWort => "first wort",
            Self::LastRunnings => "last runnings",
            Self::KettleFull => "kettle full",
            Self::Boil(_) => "boil",
            Self::EndOfBoil => "end of boil",
            Self::Fermenter => "fermenter",
        }
    }

    /// Place on the day, for sorting: the boil counts from nought to one.
    #[must_use]
    pub fn order(self, boil_min: f64) -> f64 {
        match self {
            Self::FirstWort => -3.0,
            Self::LastRunnings => -2.0,
            Self::KettleFull => -1.0,
            Self::Boil(t) => (t.min() / boil_min.max(1e-9)).clamp(0.0, 1.0),
            Self::EndOfBoil => 2.0,
            Self::Fermenter => 3.0,
        }
    }
}

/// A volume, a gravity or both, read somewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Where.
    pub at: Point,
    /// Volume as read; of the first wort and of the last runnings it is not used.
    pub volume: Option<Measured<Volume>>,
    /// Temperature of the wort whose volume was read.
    pub volume_at: Temperature,
    /// Gravity as the hydrometer shows it, at 20 °C on its stem.
    pub gravity: Option<Measured<Gravity>>,
    /// Temperature of the sample in the hydrometer's jar.
    pub gravity_at: Measured<Temperature>,
}

/// Something done that the plan did not have.
#[derive(Debug, Clone, PartialEq)]
pub struct Done {
    /// Where.
    pub at: Point,
    /// What.
    pub what: Change,
}

/// A change of the plan on the day.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// Boiled longer, or shorter where it is negative \[min\].
    BoilBy(f64),
    /// Sugar or malt extract stirred in.
    Add {
        /// What.
        fermentable: Box<Fermentable>,
        /// How much, as weighed.
        mass: Mass,
    },
    /// Water poured in, at 20 °C.
    Dilute(Volume),
    /// Hops that were not in yet, so many times as much.
    Hops(f64),
}

/// A reading brought to 20 °C, with what its instrument leaves open.
#[derive(Debug, Clone, PartialEq)]
pub struct Cooled {
    /// Where.
    pub at: Point,
    /// Volume at 20 °C.
    pub volume: Option<Measured<Volume>>,
    /// Gravity at 20 °C.
    pub gravity: Option<Measured<Gravity>>,
}

/// What was learned of the kit, for the next plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// Extract dissolved, of what a coarse laboratory grind gives.
    pub conversion: Measured<Fraction>,
    /// Extract in the kettle, of the laboratory extract of all that was used.
    pub into_kettle: Measured<Fraction>,
    /// Steam, in kilograms an hour.
    pub evaporation: Measured<quantity::EvaporationRate>,
}

/// A figure of the day before and after it was read.
///
/// What the readings alone say is `found` with `open` divided out: where the two are
/// alike, nothing was read of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Update<Q> {
    /// By the plan, with what plans stray by.
    pub planned: Measured<Q>,
    /// By a plan that hardly knows: each of its numbers five times as unsure. A house
    /// strays from its plans to the same side, day after day, and what a plan says of one
    /// number must not lean on another.
    pub open: Measured<Q>,
    /// By that plan and the readings together.
    pub found: Measured<Q>,
}

/// What a day says of its kit and of its wort, figure by figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// Extract dissolved, of what a coarse laboratory grind gives.
    pub conversion: Update<Fraction>,
    /// Extract in the kettle, of the laboratory extract of all that was used.
    pub into_kettle: Update<Fraction>,
    /// Wort that a kilogram of grain keeps, where the kettle got so much less water.
    pub absorption: Update<quantity::VolumePerMass>,
    /// Steam.
    pub evaporation: Update<quantity::EvaporationRate>,
    /// Wort left in kettle, hops and hoses together.
    pub losses: Update<Volume>,
    /// Wort in the full kettle, at 20 °C.
    pub kettle_full: Update<Volume>,
    /// Wort in the fermenter, at 20 °C.
    pub volume: Update<Volume>,
    /// Gravity in the fermenter.
    pub original_gravity: Update<Gravity>,
    /// Grain that was mashed; without any, nothing is told of the mash.
    pub grain: Mass,
    /// Hops that the kettle keeps: a part of the losses.
    pub kettle_hops: Mass,
}

/// How far a day strays from its plan: each number relative to the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strays {
    /// Extract that the mash dissolves.
    pub conversion: f64,
    /// Extract that stays in the tun.
    pub left_in_tun: f64,
    /// Water in the full kettle.
    pub water: f64,
    /// Steam in an hour.
    pub evaporation: f64,
    /// Wort left in kettle, hops and hoses.
    pub losses: f64,
}

pub(super) fn check_done(plan: &WortPlan, done: &[Done]) -> Result<(), WortError> {
    for one in done {
        match &one.what {
            Change::BoilBy(min) => {
                check("change of the boil", *min, "min", -600.0, 600.0)?;
            }
            Change::Add { mass, .. } => {
                check("mass of what was added", mass.kg(), "kg", 0.0, 1e4)?;
            }
            Change::Dilute(water) => {
                check("water added", water.l(), "L", 0.0, 1e5)?;
            }
            Change::Hops(times) => {
                check("share of the hops", *times, "", 0.0, 20.0)?;
            }
        }
    }
    let min = boil_min(plan, done);
    check("boil", min, "min", 0.0, 600.0).map(|_| ())
}

/// The boil as it was done \[min\].
pub(super) fn boil_min(plan: &WortPlan, done: &[Done]) -> f64 {
    let by = done.iter().map(|d| match d.what {
        Change::BoilBy(min) => min,
        _ => 0.0,
    });
    plan.boil.duration.min() + by.sum::<f64>()
}

//! Every way out of chlorine, reckoned for the same water.

mod passive;
mod steps;
mod treated;

use std::fmt;

use quantity::{
    Alkalinity, Caution, Chlorine, Duration, Fraction, Mass, Measured, Money, Note, Power,
    SulfurDioxide, Temperature,
};

use super::DisinfectantError;
use super::checking::{AfterTest, TestKind, reads_none};
use super::prices::Prices;
use super::reagents::DosePlan;
use super::table::table;
use crate::check;
use crate::dechlorination::remarks::NOT_DETECTED_MG_PER_L;
use crate::dechlorination::{CarbonBed, DRAWN_AT, Dechlorination, Reagent, Volumes};
use crate::error::WaterError;
use crate::state::{Ions, ResidualChlorine, SourceWater};

pub use passive::share_of_clean_water;

/// A way of taking chlorine out of water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// With a reagent.
    Reagent(Reagent),
    /// With hydrogen peroxide, which does nothing to chloramine.
    Peroxide,
    /// Through activated carbon.
    Carbon,
    /// In an open, rolling boil.
    Boil,
    /// By blowing air through it.
    Aerate,
    /// By letting it stand.
    Stand,
    /// With water that holds none.
    Dilute,
    /// By leaving it as it is.
    Nothing,
}

impl Way {
    /// All of them.
    #[must_use]
    pub fn all() -> Vec<Self> {
        let mut all: Vec<Self> = Reagent::ALL.into_iter().map(Self::Reagent).collect();
        all.extend([
            Self::Carbon,
            Self::Boil,
            Self::Aerate,
            Self::Stand,
            Self::Dilute,
            Self::Peroxide,
            Self::Nothing,
        ]);
        all
    }

    /// The key of its row in `data/ways.toml`.
    pub(super) fn key(self) -> &'static str {
        match self {
            Self::Reagent(_) => "reagent",
            Self::Peroxide => "peroxide",
            Self::Carbon => "carbon",
            Self::Boil => "boil",
            Self::Aerate => "aerate",
            Self::Stand => "stand",
            Self::Dilute => "dilute",
            Self::Nothing => "nothing",
        }
    }
}

impl fmt::Display for Way {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Reagent(reagent) => reagent.fmt(f),
            Self::Peroxide => f.write_str("hydrogen peroxide"),
            Self::Carbon => f.write_str("activated carbon"),
            Self::Boil => f.write_str("boiling"),
            Self::Aerate => f.write_str("aerating"),
            Self::Stand => f.write_str("standing"),
            Self::Dilute => f.write_str("diluting"),
            Self::Nothing => f.write_str("doing nothing"),
        }
    }
}

/// The water, what is wanted of it, and what there is to do it with.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// The water.
    pub water: SourceWater,
    /// How much of it is treated.
    pub volumes: Volumes,
    /// Its temperature as it is drawn.
    pub temperature: Temperature,
    /// How long there is until it is needed.
    pub time: Duration,
    /// How much more reagent than the stoichiometric dose.
    pub excess: Fraction,
    /// What is at hand.
    pub at_hand: AtHand,
    /// What things cost.
    pub prices: Prices,
    /// Someone who brews or drinks is sensitive to sulfite.
    pub sulfite_sensitive: bool,
}

impl Task {
    /// Cold tap water, a fifth more reagent than theory, nothing but a kettle at
    /// hand, prices to start from.
    #[must_use]
    pub fn new(water: SourceWater, volumes: Volumes, time: Duration) -> Self {
        Self {
            water,
            volumes,
            temperature: DRAWN_AT,
            time,
            excess: Fraction::from_ratio(0.2),
            at_hand: AtHand::default(),
            prices: Prices::judged(),
            sulfite_sensitive: false,
        }
    }
}

/// What is at hand. A kettle is, with the heater of `data/ways.toml` unless another
/// is given; any vessel can stand.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AtHand {
    /// The reagents.
    pub reagents: Vec<ReagentAtHand>,
    /// The step of the scale.
    pub scale_step: Option<Mass>,
    /// Hydrogen peroxide, by its strength in mass.
    pub peroxide: Option<Fraction>,
    /// Carbon.
    pub carbon: Option<CarbonBed>,
    /// Water that holds no chlorine.
    pub clean_water: Option<CleanWater>,
    /// A pump that blows food-grade air.
    pub air_pump: bool,
    /// The heater of the kettle.
    pub heater: Option<Power>,
}

/// A reagent at hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReagentAtHand {
    /// The reagent.
    pub reagent: Reagent,
    /// In what form.
    pub form: Form,
}

/// The form of a reagent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Loose.
    Powder {
        /// How much of it is the reagent.
        purity: Fraction,
    },
    /// In tablets.
    Tablets {
        /// The active salt in one, as the label says.
        active: Mass,
    },
}

/// Distilled, reverse-osmosis or bottled water.
#[derive(Debug, Clone, PartialEq)]
pub struct CleanWater {
    /// What it is called.
    pub name: String,
    /// What chlorine it holds.
    pub chlorine: Measured<Chlorine>,
}

/// What a way leaves in each litre of water.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Leaves {
    /// Ions that it brings.
    pub ions: Ions,
    /// The change of alkalinity.
    pub alkalinity_change: Alkalinity,
    /// The most sulfite that can stay.
    pub sulfur_dioxide_at_most: SulfurDioxide,
}

/// How surely a way does what is reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reliability {
    /// It does nothing.
    None,
    /// It depends on what nobody measures.
    Poor,
    /// Mostly; a test decides.
    Fair,
    /// Chemistry leaves it little choice.
    High,
}

impl Reliability {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Poor => "poor",
            Self::Fair => "fair",
            Self::High => "high",
        }
    }
}

/// How far a way clears the water of chlorine, against the 0.1 mg/L that a test
/// for total chlorine should stay below (common practice).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Effect {
    /// More is expected to be left.
    Leaves,
    /// No more is expected, but it is not sure.
    Likely,
    /// No more can plausibly be left.
    Clears,
}

impl Effect {
    /// Of a residual.
    #[must_use]
    pub fn of(residual: &ResidualChlorine) -> Self {
        if residual.at_most.mg_per_l() <= NOT_DETECTED_MG_PER_L {
            Self::Clears
        } else if residual.total().mg_per_l() <= NOT_DETECTED_MG_PER_L {
            Self::Likely
        } else {
            Self::Leaves
        }
    }
}

/// A way, reckoned.
#[derive(Debug, Clone, PartialEq)]
pub struct WayOut {
    /// The way.
    pub way: Way,
    /// True where all that it needs is at hand.
    pub at_hand: bool,
    /// How a plan of the batch would do it; none for what a plan cannot.
    pub plan: Option<Dechlorination>,
    /// Chlorine that stays, expected and at most.
    pub residual: ResidualChlorine,
    /// How far that clears the water.
    pub effect: Effect,
    /// What it leaves in the water.
    pub leaves: Leaves,
    /// How long it takes from beginning to end.
    pub time: Duration,
    /// How much of that is work.
    pub work: Duration,
    /// What is used up, without the work, in units of money.
    pub cost: Money,
    /// How sure it is.
    pub reliability: Reliability,
    /// What to weigh, count or measure.
    pub dose: Option<DosePlan>,
    /// What to do, in words.
    pub steps: Vec<String>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

impl WayOut {
    /// What remains open if a test after it shows nothing.
    #[must_use]
    pub fn reads_none(&self, test: TestKind) -> AfterTest {
        reads_none(test, &self.residual)
    }
}

/// Every way out of chlorine for a water, in the order of [`Way::all`].
///
/// # Errors
/// [`DisinfectantError::Water`] for an impossible water, volume, purity or bed, and
/// [`DisinfectantError::Chloramine`] where standing water cannot be followed.
pub fn ways_out(task: &Task) -> Result<Vec<WayOut>, DisinfectantError> {
    checked(task)?;
    Way::all()
        .into_iter()
        .map(|way| way_out(task, way))
        .collect()
}

/// What a plan does, reckoned as the ways are: a dose by hand, tablets as the
/// brewer counts them, another time or another flow.
///
/// # Errors
/// As [`ways_out`].
pub fn as_planned(task: &Task, plan: &Dechlorination) -> Result<WayOut, DisinfectantError> {
    checked(task)?;
    match *plan {
        Dechlorination::None => passive::nothing(task),
        Dechlorination::Reagent { reagent, .. } => {
            treated::reagent_as_planned(task, reagent, *plan)
        }
        Dechlorination::Stand { time } => passive::stand(task, time),
        Dechlorination::BoilLiquor { time } => passive::boil(task, time),
        Dechlorination::Aerate { time } => passive::aerate(task, time),
        Dechlorination::Carbon { bed, flow } => treated::carbon_as_planned(task, bed, flow),
    }
}

/// One way out of chlorine.
pub(super) fn way_out(task: &Task, way: Way) -> Result<WayOut, DisinfectantError> {
    match way {
        Way::Reagent(reagent) => treated::reagent(task, reagent),
        Way::Peroxide => treated::peroxide(task),
        Way::Carbon => treated::carbon(task),
        Way::Boil => passive::boil(task, table().boil_time),
        Way::Aerate => passive::aerate(task, task.time),
        Way::Stand => passive::stand(task, task.time),
        Way::Dilute => passive::dilute(task),
        Way::Nothing => passive::nothing(task),
    }
}

pub(super) fn checked(task: &Task) -> Result<(), DisinfectantError> {
    check::source(&task.water)?;
    check::within("mash volume", task.volumes.mash)?;
    check::within("sparge volume", task.volumes.sparge)?;
    if task.volumes.total().l() <= 0.0 {
        return Err(WaterError::NoLiquor.into());
    }
    check::within("time at hand", task.time)?;
    check::within("temperature of the water", task.temperature)?;
    check::within("excess of the reagent", task.excess)?;
    Ok(())
}

/// Hands-on time and how sure a way is, from the table.
fn of_table(way: Way) -> (Duration, Reliability) {
    table().way(way.key())
}

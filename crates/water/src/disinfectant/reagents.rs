//! Weighing, counting and measuring out a reagent.

use quantity::{
    Chlorine, Count, Duration, Fraction, Mass, Measured, SulfurDioxide, Volume, molar_mass as m,
};

use super::table::table;
use crate::check;
use crate::dechlorination::{Reagent, ReagentDose, Volumes};
use crate::error::WaterError;

/// How a reagent is measured out for one brew.
#[derive(Debug, Clone, PartialEq)]
pub struct DosePlan {
    /// What goes in, in all and into each liquor.
    pub dose: ReagentDose,
    /// As tablets, by whole, half and quarter ones; empty for powder.
    pub tablets: Vec<TabletPlan>,
    /// As a stock solution, where the dose is too small for the scale.
    pub stock: Option<Stock>,
}

/// How finely a tablet is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TabletStep {
    /// Not at all.
    Whole,
    /// Into halves.
    Half,
    /// Into quarters.
    Quarter,
}

impl TabletStep {
    /// All of them, the coarsest first.
    pub const ALL: [Self; 3] = [Self::Whole, Self::Half, Self::Quarter];

    /// Pieces of a tablet.
    pub(super) fn pieces(self) -> f64 {
        match self {
            Self::Whole => 1.0,
            Self::Half => 2.0,
            Self::Quarter => 4.0,
        }
    }
}

/// The least number of tablets that is enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TabletPlan {
    /// How finely they are broken.
    pub step: TabletStep,
    /// How many.
    pub count: Count,
    /// The active salt in them.
    pub active: Mass,
    /// The chlorine that they can reduce.
    pub covers: Chlorine,
    /// How much more that is than was wanted, in mg/L of chlorine.
    pub beyond: Chlorine,
    /// Sulfite that can stay if the water holds the least that is plausible.
    pub sulfur_dioxide_at_most: SulfurDioxide,
}

/// A solution made up once for several small brews.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stock {
    /// The salt to weigh.
    pub salt: Mass,
    /// The volume that it is made up to.
    pub volume: Volume,
    /// What goes into the mash liquor.
    pub mash: Volume,
    /// What goes into the sparge liquor.
    pub sparge: Volume,
    /// How long it keeps, full, closed and cold.
    pub keeps: Duration,
}

impl Stock {
    /// What goes into all of the liquor.
    #[must_use]
    pub fn per_brew(&self) -> Volume {
        Volume::from_l(self.mash.l() + self.sparge.l())
    }
}

/// The chlorine to cover: the expected with its excess, and no less than the most
/// that is plausible with the tenth that sulfites took beyond theory in the field
/// (AWWA guide, Disinfection of Pipelines and Storage Facilities, Table 7-2).
pub(super) fn to_cover(total: &Measured<Chlorine>, excess: Fraction) -> Chlorine {
    let expected = total.value.mg_per_l() * (1.0 + excess.ratio());
    Chlorine::from_mg_per_l(expected.max(total.upper().mg_per_l() * 1.1))
}

/// The reagent that covers so much chlorine.
pub(super) fn mass_for(
    reagent: Reagent,
    chlorine: Chlorine,
    volumes: Volumes,
    purity: Fraction,
) -> Result<Mass, WaterError> {
    let purity = check::above_zero("purity of the reagent", purity)?;
    let mg = volumes.total().l() * chlorine.mg_per_l() * reagent.mg_per_mg_chlorine();
    check::within(
        "mass of the reagent",
        Mass::from_g(mg / 1000.0 / purity.ratio()),
    )
}

/// The tablets that are enough to cover so much chlorine, in whole, half and
/// quarter ones, and what the last piece brings too much.
///
/// `active` is the mass of active salt in a tablet, as its label says.
///
/// ```
/// use quantity::{Chlorine, Mass, Measured, Volume};
/// use water::dechlorination::{Reagent, Volumes};
/// use water::disinfectant::tablets;
///
/// let volumes = Volumes { mash: Volume::from_l(15.0), sparge: Volume::from_l(12.0) };
/// let total: Measured<Chlorine> = "1.8 mg/L".parse()?;
/// let cover = Chlorine::from_mg_per_l(2.2);
/// let plans = tablets(Reagent::PotassiumMetabisulfite, Mass::from_g(0.44), volumes, cover, &total)?;
/// let counts: Vec<f64> = plans.iter().map(|plan| plan.count.number()).collect();
/// assert_eq!(counts, [1.0, 0.5, 0.25]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`WaterError::OutOfBounds`] for a tablet of nothing or more than a thousand of
/// them, and [`WaterError::NoLiquor`].
pub fn tablets(
    reagent: Reagent,
    active: Mass,
    volumes: Volumes,
    cover: Chlorine,
    total: &Measured<Chlorine>,
) -> Result<Vec<TabletPlan>, WaterError> {
    let active = check::above_zero("mass of a tablet", active)?;
    check::within("chlorine to cover", cover)?;
    let litres = volumes.total().l();
    if litres <= 0.0 {
        return Err(WaterError::NoLiquor);
    }
    let one = active.g() * 1000.0 / litres / reagent.mg_per_mg_chlorine();
    let plan = |step: TabletStep| {
        let pieces = step.pieces();
        // A hair less is enough: 2.0000000001 halves are two.
        let count = (cover.mg_per_l() / one * pieces - 1e-9).ceil().max(0.0) / pieces;
        let count = check::within("number of tablets", Count::from_number(count))?;
        let covers = count.number() * one;
        let spare = (covers - total.lower().mg_per_l()).max(0.0);
        let sulfur_dioxide = if reagent.is_sulfite() {
            spare * m::SO2 / m::CL2
        } else {
            0.0
        };
        Ok(TabletPlan {
            step,
            count,
            active: Mass::from_kg(active.kg() * count.number()),
            covers: Chlorine::from_mg_per_l(covers),
            beyond: Chlorine::from_mg_per_l((covers - cover.mg_per_l()).max(0.0)),
            sulfur_dioxide_at_most: SulfurDioxide::from_mg_per_l(sulfur_dioxide),
        })
    };
    TabletStep::ALL.into_iter().map(plan).collect()
}

/// What of a stock solution goes into each liquor.
///
/// # Errors
/// [`WaterError::OutOfBounds`] for a solution without salt or without water.
pub fn stock(dose: &ReagentDose, salt: Mass, volume: Volume) -> Result<Stock, WaterError> {
    let salt = check::above_zero("salt in the stock solution", salt)?;
    let volume = check::above_zero("volume of the stock solution", volume)?;
    let part = |mass: Mass| Volume::from_l(volume.l() * mass.g() / salt.g());
    let keeps = if dose.reagent.is_sulfite() {
        table().sulfite_stock_keeps
    } else {
        table().ascorbate_stock_keeps
    };
    Ok(Stock {
        salt,
        volume,
        mash: part(dose.mash),
        sparge: part(dose.sparge),
        keeps,
    })
}

/// Weighings of fewer steps of the scale than this are too coarse: half a step in
/// twenty is 2.5 %.
const STEPS_TO_WEIGH: f64 = 20.0;
/// Common sizes of bottle \[L\].
const BOTTLES_L: [f64; 4] = [0.1, 0.25, 0.5, 1.0];
/// The least that is easily measured \[L\].
const MEASURABLE_L: f64 = 0.01;

/// A stock solution for a dose that the scale cannot weigh; none where it can, or
/// where there is nothing to weigh.
///
/// The salt is twenty steps of the scale or more, and enough for the brew; the
/// bottle is the smallest that makes the dose 10 mL or more.
///
/// # Errors
/// As [`stock`].
pub fn suggest_stock(dose: &ReagentDose, scale_step: Mass) -> Result<Option<Stock>, WaterError> {
    let step = check::above_zero("step of the scale", scale_step)?;
    if dose.total.g() <= 0.0 || dose.total.g() >= STEPS_TO_WEIGH * step.g() {
        return Ok(None);
    }
    let salt = Mass::from_g(STEPS_TO_WEIGH * step.g());
    let share = dose.total.g() / salt.g();
    let bottle = BOTTLES_L.into_iter().find(|l| l * share >= MEASURABLE_L);
    let largest = BOTTLES_L[BOTTLES_L.len() - 1];
    stock(dose, salt, Volume::from_l(bottle.unwrap_or(largest))).map(Some)
}

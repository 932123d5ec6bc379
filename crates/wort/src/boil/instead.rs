//! The dimethyl sulfide that other boils of the same wort would leave.

use quantity::{Duration, Fraction, MassConcentration, Temperature};

use crate::error::WortError;
use crate::kit::Chilling;
use crate::plan::WortPlan;
use crate::state::SweetWort;
use crate::thermal::Course;

use super::{Kettle, follow};

/// What many can smell \[µg/L\]: 30 to 50; more than 100 is a fault (Anness &
/// Bamforth 1982, read as quoted).
pub const DMS_THRESHOLD_UG_PER_L: (f64, f64) = (30.0, 50.0);
/// See [`DMS_THRESHOLD_UG_PER_L`].
pub const DMS_FAULT_UG_PER_L: f64 = 100.0;

/// How much shorter the shorter boil is \[min\].
const SHORTER_MIN: f64 = 30.0;
/// Steam that leaves a kettle with its lid on (judgement).
const UNDER_A_LID: f64 = 0.2;
/// A closed vessel left to cool: a night, and its time constant (common practice).
const NIGHT_MIN: f64 = 600.0;
const NO_CHILL_TAU_MIN: f64 = 300.0;

/// Another way to boil the same wort.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoilWay {
    /// As it is planned.
    AsPlanned,
    /// Thirty minutes shorter.
    Shorter,
    /// With the lid on.
    LidOn,
    /// Left to cool in a closed vessel overnight.
    LeftOvernight,
}

/// What a way leaves in the wort.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DmsLeft {
    /// The way.
    pub way: BoilWay,
    /// Dimethyl sulfide in the wort, before the yeast.
    pub dms: MassConcentration,
    /// Its precursor, counted as dimethyl sulfide.
    pub smm: MassConcentration,
}

/// Boils the wort in each way. A boil of less than half an hour cannot be half an
/// hour shorter and has no such row.
pub(super) fn dms_left(plan: &WortPlan, sweet: &SweetWort) -> Result<Vec<DmsLeft>, WortError> {
    use BoilWay::{AsPlanned, LeftOvernight, LidOn, Shorter};
    [AsPlanned, Shorter, LidOn, LeftOvernight]
        .into_iter()
        .filter_map(|way| Some((way, changed(plan, way)?)))
        .map(|(way, plan)| left(&plan, sweet, way))
        .collect()
}

fn left(plan: &WortPlan, sweet: &SweetWort, way: BoilWay) -> Result<DmsLeft, WortError> {
    let kettle = Kettle::new(plan, sweet)?;
    let course = Course::of(plan, Kettle::filled_c(plan), kettle.heat_up_min(plan)?)?;
    let start = kettle.sulfide_before(sweet);
    let end = follow::follow(&kettle, plan, &course, start, sweet.ph.ph()).sulfide;
    let mg = |x: f64| MassConcentration::from_mg_per_l((x * kettle.diluted()).max(0.0));
    Ok(DmsLeft {
        way,
        dms: mg(end.dms),
        smm: mg(end.smm),
    })
}

/// The plan with another boil. Hops change nothing here, and those that boil longer
/// than the shorter boil would be in its way.
fn changed(plan: &WortPlan, way: BoilWay) -> Option<WortPlan> {
    let mut other = plan.clone();
    if way != BoilWay::AsPlanned {
        other
            .hops
            .iter_mut()
            .for_each(|hop| hop.when = hop.when.without_time());
    }
    match way {
        BoilWay::AsPlanned => {}
        BoilWay::Shorter => {
            let min = plan.boil.duration.min() - SHORTER_MIN;
            if min <= 0.0 {
                return None;
            }
            other.boil.duration = Duration::from_min(min);
        }
        BoilWay::LidOn => other.kit.steam_escapes = Fraction::from_ratio(UNDER_A_LID),
        BoilWay::LeftOvernight => {
            other.kit.kettle_time_constant = Duration::from_min(NO_CHILL_TAU_MIN);
            other.boil.whirlpool = Duration::from_min(NIGHT_MIN);
            // Whatever is left to cool after the night takes no time that counts.
            other.boil.chill_to =
                Temperature::from_c(plan.kit.room.c().max(plan.boil.chill_to.c()));
            other.kit.chilling = Chilling::Over {
                duration: Duration::from_min(1.0),
            };
        }
    }
    Some(other)
}

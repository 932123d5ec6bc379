//! The dimethyl sulfide that other boils of the same wort would leave.

use quantity::{Duration, Fraction, MassConcentration, Temperature};

use crate::error::WortError;
use crate::kit::{Chilling, Kit};
use crate::plan::{BoilPlan, WortPlan};
use crate::state::SweetWort;
use crate::sulfide::Sulfide;
use crate::thermal::Course;

use super::Kettle;
use super::follow::sulfide_left;

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

/// Boils the wort in each way; as it is planned it has been boiled. All come to the boil
/// in the same way, and hops change nothing here. A boil of less than half an hour cannot
/// be half an hour shorter and has no such row.
pub(super) fn dms_left(
    plan: &WortPlan,
    sweet: &SweetWort,
    kettle: &Kettle,
    comes_up: (f64, f64),
    as_planned: Sulfide,
) -> Result<Vec<DmsLeft>, WortError> {
    use BoilWay::{AsPlanned, LeftOvernight, LidOn, Shorter};
    let mut rows = vec![kettle.left(AsPlanned, as_planned)];
    for way in [Shorter, LidOn, LeftOvernight] {
        let Some((kit, boil)) = changed(plan, way) else {
            continue;
        };
        let kettle = kettle.boiled(&kit, &boil)?;
        let course = Course::of(&kit, &boil, &[], comes_up)?;
        let start = kettle.sulfide_before(sweet);
        let end = sulfide_left(&kettle, &course, start, sweet.ph.ph());
        rows.push(kettle.left(way, end));
    }
    Ok(rows)
}

/// The kit and the boil of another way.
fn changed(plan: &WortPlan, way: BoilWay) -> Option<(Kit, BoilPlan)> {
    let (mut kit, mut boil) = (plan.kit.clone(), plan.boil.clone());
    match way {
        BoilWay::AsPlanned => {}
        BoilWay::Shorter => {
            let min = boil.duration.min() - SHORTER_MIN;
            if min <= 0.0 {
                return None;
            }
            boil.duration = Duration::from_min(min);
        }
        BoilWay::LidOn => kit.steam_escapes = Fraction::from_ratio(UNDER_A_LID),
        BoilWay::LeftOvernight => {
            kit.kettle_time_constant = Duration::from_min(NO_CHILL_TAU_MIN);
            boil.whirlpool = Duration::from_min(NIGHT_MIN);
            // Whatever is left to cool after the night takes no time that counts.
            boil.chill_to = Temperature::from_c(kit.room.c().max(boil.chill_to.c()));
            kit.chilling = Chilling::Over {
                duration: Duration::from_min(1.0),
            };
        }
    }
    Some((kit, boil))
}

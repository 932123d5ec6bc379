//! The kettle followed from the heat-up to the end of the chiller: alpha-acids,
//! dimethyl sulfide and its precursor, step by step.

use quantity::{Duration, Gravity, MassConcentration, Temperature, Volume};

use crate::bitterness::{Acids, DISSOLVES_MG_PER_L, Rates, dissolve};
use crate::plan::{HopAddition, HopTime, WortPlan};
use crate::sulfide::{Sulfide, conversion};
use crate::thermal::{Course, KettleStage};

use super::Kettle;

/// Time between two moments of the timeline at the least \[min\].
const APART_MIN: f64 = 1.0;

/// Alpha-acids of a hop in the mash that come as far as the kettle: utilisation of
/// 9.1 % for mash hops against 44.0 % for an hour's boil (Justus, *MBAA Tech. Q.*
/// 55(3), 67–74, 2018, abstract read); that this holds for other mashes is a
/// judgement.
const FROM_THE_MASH: f64 = 9.1 / 44.0;

/// The wort in the kettle at one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct BoilMoment {
    /// Time from the start of the boil; below zero while the kettle comes to it.
    pub time: Duration,
    /// What the kettle does.
    pub stage: KettleStage,
    /// Temperature.
    pub temperature: Temperature,
    /// Volume, at 20 °C.
    pub volume: Volume,
    /// Extract.
    pub gravity: Gravity,
    /// Iso-alpha-acids of each hop, in the order of the plan.
    pub iso_alpha: Vec<MassConcentration>,
    /// S-methylmethionine, counted as dimethyl sulfide.
    pub smm: MassConcentration,
    /// Dimethyl sulfide.
    pub dms: MassConcentration,
}

/// What is in the wort at the end of the chiller, and how it came about.
pub(super) struct Followed {
    /// Of each hop \[mg\].
    pub(super) acids: Vec<Acids>,
    /// Per litre after the boil \[mg/L\].
    pub(super) sulfide: Sulfide,
    pub(super) timeline: Vec<BoilMoment>,
    /// Whether some alpha-acids had to wait undissolved.
    pub(super) waited: bool,
}

/// Walks the course once.
pub(super) fn follow(
    kettle: &Kettle,
    plan: &WortPlan,
    course: &Course,
    start: Sulfide,
    ph: f64,
) -> Followed {
    let stripping = kettle.stripping(plan);
    let mut walk = Followed {
        acids: vec![Acids::default(); plan.hops.len()],
        sulfide: start,
        timeline: Vec::new(),
        waited: false,
    };
    let mut awaited: Vec<Option<f64>> = course.hops_at_min.clone();
    let starts = course.steps.first();
    walk.timeline.extend(
        starts
            .map(|step| walk.moment(kettle, course, step.starts_min, step.stage, step.starts_c())),
    );
    for (i, step) in course.steps.iter().enumerate() {
        walk.add_hops(plan, &mut awaited, step.starts_min + step.min / 2.0);
        let litres = kettle
            .at(course, step.starts_min + step.min / 2.0)
            .volume_l();
        let room_mg = DISSOLVES_MG_PER_L * litres;
        walk.waited |= walk.acids.iter().map(|a| a.alpha).sum::<f64>() > room_mg;
        dissolve(&mut walk.acids, &Rates::at(step.temp_c), step.min, room_mg);
        let k2 = if step.stage == KettleStage::Boil {
            stripping
        } else {
            0.0
        };
        walk.sulfide = walk
            .sulfide
            .after(conversion(step.temp_c, ph), k2, step.min);
        let next = course.steps.get(i + 1);
        let ends_min = step.starts_min + step.min;
        if next.is_none_or(|n| n.stage != step.stage) || walk.is_due(ends_min) {
            let moment = walk.moment(kettle, course, ends_min, step.stage, step.ends_c());
            walk.timeline.push(moment);
        }
    }
    walk
}

impl Followed {
    /// Steps are cut at the additions, so a step is wholly before or wholly after.
    fn add_hops(&mut self, plan: &WortPlan, awaited: &mut [Option<f64>], now_min: f64) {
        for ((acid, hop), at) in self.acids.iter_mut().zip(&plan.hops).zip(awaited) {
            if at.is_some_and(|at| at <= now_min) {
                acid.alpha += alpha_mg(hop);
                *at = None;
            }
        }
    }

    fn is_due(&self, now_min: f64) -> bool {
        self.timeline
            .last()
            .is_none_or(|m| now_min - m.time.min() >= APART_MIN - 1e-9)
    }

    fn moment(
        &self,
        kettle: &Kettle,
        course: &Course,
        min: f64,
        stage: KettleStage,
        temp_c: f64,
    ) -> BoilMoment {
        let mg = MassConcentration::from_mg_per_l;
        let wort = kettle.at(course, min);
        let litres = wort.volume_l();
        let thinner = kettle.after.volume_l() / litres;
        BoilMoment {
            time: Duration::from_min(min),
            stage,
            temperature: Temperature::from_c(temp_c),
            volume: Volume::from_l(litres),
            gravity: Gravity::from_plato(wort.plato()),
            iso_alpha: self.acids.iter().map(|a| mg(a.iso / litres)).collect(),
            smm: mg(self.sulfide.smm * thinner),
            dms: mg((self.sulfide.dms * thinner).max(0.0)),
        }
    }
}

/// Alpha-acids that an addition brings into the kettle \[mg\].
pub(super) fn alpha_mg(hop: &HopAddition) -> f64 {
    let share = match hop.when {
        HopTime::Mash => FROM_THE_MASH,
        HopTime::DryHop => 0.0,
        HopTime::FirstWort | HopTime::Boil(_) | HopTime::Whirlpool(_) | HopTime::Stand { .. } => {
            1.0
        }
    };
    share * hop.alpha.ratio() * hop.mass.g() * 1000.0
}

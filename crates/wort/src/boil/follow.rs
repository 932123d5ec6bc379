//! The kettle followed from the heat-up to the end of the chiller: alpha-acids,
//! dimethyl sulfide and its precursor.
//!
//! All of it decays by first order once temperature and volume are given, so each piece
//! between two moments is passed by exponentials of the mean rates and not by small steps.

use quantity::{Duration, Gravity, MassConcentration, Temperature, Volume};

use crate::bitterness::{Acids, DISSOLVES_MG_PER_L, Rates, dissolve};
use crate::mix::Mix;
use crate::plan::{HopAddition, HopForm, HopTime};
use crate::sulfide::{Sulfide, conversion};
use crate::thermal::{Course, KettleStage, Stretch};

use super::Kettle;
use super::figures::FIGURES;

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
    /// Wort in the kettle, now and after the boil, at 20 °C.
    litres: f64,
    ends_l: f64,
}

/// Walks the course once.
pub(super) fn follow(
    kettle: &Kettle,
    hops: &[HopAddition],
    course: &Course,
    start: Sulfide,
    ph: f64,
) -> Followed {
    let walk = Followed {
        acids: vec![Acids::default(); hops.len()],
        litres: kettle.before.volume_l(),
        ends_l: kettle.after.volume_l(),
        sulfide: start,
        timeline: Vec::new(),
        waited: false,
    };
    let mut walk = walk.begun(kettle, course);
    let cuts: Vec<f64> = course.hops_at_min.iter().flatten().copied().collect();
    let mut awaited = course.hops_at_min.clone();
    for stretch in &course.stretches {
        let strips = strips(kettle, stretch);
        let rates = |c: f64| {
            let [to_iso, to_loss] = Rates::at(c).each();
            [to_iso, to_loss, conversion(c, ph)]
        };
        let held = stretch.holds().then(|| rates(stretch.temp_c(0.0)));
        let mut from = 0.0;
        for to in stretch.moments(&cuts) {
            let (at, temp_c) = (stretch.starts_min + to, stretch.temp_c(to));
            walk.add_hops(
                hops,
                &mut awaited,
                stretch.starts_min + f64::midpoint(from, to),
            );
            let [to_iso, to_loss, converts] =
                held.unwrap_or_else(|| stretch.means(from, to, rates));
            let wort = kettle.at(course, at);
            let litres = wort.volume_l();
            let room_mg = DISSOLVES_MG_PER_L * f64::midpoint(walk.litres, litres);
            let rates = Rates { to_iso, to_loss };
            walk.waited |= dissolve(&mut walk.acids, &rates, to - from, room_mg);
            walk.sulfide = walk.sulfide.after(converts, strips, to - from);
            walk.litres = litres;
            walk.show(wort, at, stretch.stage, temp_c);
            from = to;
        }
    }
    walk
}

/// Dimethyl sulfide and its precursor at the end of the course, without all the rest.
pub(super) fn sulfide_left(kettle: &Kettle, course: &Course, start: Sulfide, ph: f64) -> Sulfide {
    course.stretches.iter().fold(start, |wort, stretch| {
        let [converts] = stretch.means(0.0, stretch.min, |c| [conversion(c, ph)]);
        wort.after(converts, strips(kettle, stretch), stretch.min)
    })
}

/// Where the wort is stripped its temperature holds, and elsewhere only the sum of the
/// rate of conversion counts: both are exact.
fn strips(kettle: &Kettle, stretch: &Stretch) -> f64 {
    if stretch.stage == KettleStage::Boil {
        kettle.stripping()
    } else {
        0.0
    }
}

impl Followed {
    fn begun(mut self, kettle: &Kettle, course: &Course) -> Self {
        if let Some(first) = course.stretches.first() {
            let (at, temp_c) = (first.starts_min, first.temp_c(0.0));
            self.show(kettle.at(course, at), at, first.stage, temp_c);
        }
        self
    }

    /// Pieces are cut at the additions, so one is wholly before or wholly after.
    fn add_hops(&mut self, hops: &[HopAddition], awaited: &mut [Option<f64>], now_min: f64) {
        for ((acid, hop), at) in self.acids.iter_mut().zip(hops).zip(awaited) {
            if at.is_some_and(|at| at <= now_min) {
                acid.alpha += alpha_mg(hop);
                *at = None;
            }
        }
    }

    fn show(&mut self, wort: Mix, min: f64, stage: KettleStage, temp_c: f64) {
        let mg = MassConcentration::from_mg_per_l;
        let litres = self.litres;
        let thinner = self.ends_l / litres;
        let moment = BoilMoment {
            time: Duration::from_min(min),
            stage,
            temperature: Temperature::from_c(temp_c),
            volume: Volume::from_l(litres),
            gravity: Gravity::from_plato(wort.plato()),
            iso_alpha: self.acids.iter().map(|a| mg(a.iso / litres)).collect(),
            smm: mg(self.sulfide.smm * thinner),
            dms: mg((self.sulfide.dms * thinner).max(0.0)),
        };
        self.timeline.push(moment);
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
    share * given_by(hop.form) * hop.alpha.ratio() * hop.mass.g() * 1000.0
}

/// What a form gives of its alpha-acids against cones, for which the losses were set.
pub(super) fn given_by(form: Option<HopForm>) -> f64 {
    match form {
        Some(HopForm::Pellets) => FIGURES.pellets_give.value,
        Some(HopForm::Cones) | None => 1.0,
    }
}

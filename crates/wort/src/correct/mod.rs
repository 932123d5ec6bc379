//! Corrections on brew day: what a reading makes of the rest of the plan, and what
//! would bring it back.
//!
//! The day is the plan with five numbers open: how much extract the mash gave, how much
//! of it stayed in the tun, how much water came into the kettle, how fast it boils, how
//! much wort is lost. Plan and readings together, each by its spread, say where they
//! stand ([`stands`]); the rest of the plan follows from there. [`options`] sets side by
//! side what can still be done.
//!
//! ```
//! # use quantity::{Duration, Mass, Measured, Ph, Temperature, Volume, VolumePerMass};
//! # use wort::{BoilPlan, GristItem, Kit, MashPlan, Sparge, WortPlan};
//! use wort::correct::{Day, Point, Reading, stands};
//! # let plan = WortPlan {
//! #     kit: Kit::common_practice(),
//! #     into_fermenter: Volume::from_l(20.0),
//! #     grist: vec![GristItem { fermentable: wort::malts::find("pale ale malt")?, mass: "4.5 kg".parse()? }],
//! #     mash: MashPlan::single(VolumePerMass::from_l_per_kg(3.0), Temperature::from_c(66.0), Duration::from_min(60.0)),
//! #     sparge: Sparge::Batch { refills: 1 },
//! #     boil: BoilPlan { duration: Duration::from_min(60.0), whirlpool: Duration::from_min(0.0), chill_to: Temperature::from_c(18.0), top_up: None },
//! #     hops: vec![],
//! # };
//! # let water = water::BrewingWater {
//! #     volume: Volume::from_l(40.0), ions: Default::default(),
//! #     alkalinity: quantity::Alkalinity::from_meq_per_l(0.5), chlorine: Default::default(),
//! #     sulfur_dioxide_at_most: quantity::SulfurDioxide::from_mg_per_l(0.0),
//! # };
//! let volumes = wort::volumes(&plan)?;
//! let sweet = wort::mash(&plan, &volumes, &water, &water, Ph::from_ph(5.4))?.wort;
//! let reading = Reading {
//!     at: Point::KettleFull,
//!     volume: Some("27.0 ± 0.3 L".parse()?),
//!     volume_at: Temperature::from_c(95.0),
//!     gravity: Some("1.035".parse()?),
//!     gravity_at: "20 °C".parse()?,
//! };
//! let day = Day { plan: &plan, volumes: &volumes, sweet: &sweet, liquor: &water, evaporation_sd: None };
//! let stands = stands(&day, &[reading], &[])?;
//! assert!(stands.original_gravity.value < volumes.into_fermenter.gravity);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod day;
mod estimate;
mod figures;
mod follow;
mod model;
mod options;

use quantity::{Caution, Gravity, Measured, Note, Volume};
use water::BrewingWater;

use crate::amounts::Volumes;
use crate::boil::Boiled;
use crate::error::WortError;
use crate::plan::WortPlan;
use crate::state::SweetWort;

pub use day::{Change, Cooled, Done, Learned, Point, Reading, Strays, Told, Update};
pub use options::{HopShift, Options, Outcome, Way, options};

use estimate::{Estimate, Updates};
use model::{Course, Model};

/// A brew day as planned.
#[derive(Debug, Clone, Copy)]
pub struct Day<'d> {
    /// The plan.
    pub plan: &'d WortPlan,
    /// Its volumes.
    pub volumes: &'d Volumes,
    /// The wort that the mash of the plan gives.
    pub sweet: &'d SweetWort,
    /// The liquor, for water that is poured in.
    pub liquor: &'d BrewingWater,
    /// Relative standard deviation of the evaporation, where the kit says one.
    pub evaporation_sd: Option<f64>,
}

/// Planned, read, and where the day stands at a point.
#[derive(Debug, Clone, PartialEq)]
pub struct PointFigures {
    /// Where.
    pub at: Point,
    /// Volume as planned; none where it says nothing.
    pub planned_volume: Option<Volume>,
    /// Gravity as planned.
    pub planned_gravity: Gravity,
    /// The readings there, at 20 °C.
    pub read: Vec<Cooled>,
    /// Volume by plan and readings together.
    pub volume: Option<Measured<Volume>>,
    /// Gravity by plan and readings together.
    pub gravity: Measured<Gravity>,
}

/// Where a brew day stands.
#[derive(Debug, Clone)]
pub struct Stands {
    /// Point by point, those without a reading too.
    pub points: Vec<PointFigures>,
    /// Gravity in the fermenter.
    pub original_gravity: Measured<Gravity>,
    /// Volume in the fermenter.
    pub volume: Measured<Volume>,
    /// The boil from where the day stands, with what was done.
    pub boiled: Boiled,
    /// The plan with what was done and what was learned of the kit.
    pub plan: WortPlan,
    /// What was learned; none without a reading.
    pub learned: Option<Learned>,
    /// The same before and after the readings, so that days can be put together; none
    /// without a reading.
    pub told: Option<Told>,
    /// Remarks on the readings.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// Where a brew day stands by plan, readings and what was done, and what the rest of the
/// plan gives.
///
/// Weighted least squares over plan and readings; the plan's spreads are the judgements
/// of `data/brew_day.toml`, those of the readings their own or their instruments'. What
/// was done at a point comes after the readings there. The last runnings of a continuous
/// sparge do not count: they do not tell what stays in the bed.
///
/// # Errors
/// [`WortError`] where a reading cannot be, or the rest cannot be brewed.
pub fn stands(day: &Day<'_>, readings: &[Reading], done: &[Done]) -> Result<Stands, WortError> {
    day::check_done(day.plan, done)?;
    let model = Model::new(day.plan, day.volumes, done);
    let mut notes = Vec::new();
    let mut read = Vec::with_capacity(readings.len());
    for reading in readings {
        read.push(estimate::cooled(reading, &mut notes)?);
    }
    notes.extend(estimate::disagreements(day.plan, &model, &read));
    let estimate = Estimate::of(&model, &read, day.evaporation_sd);
    let boiled = follow::follow(day.plan, day.sweet, day.liquor, &model, &estimate.course)?;
    let counted = read
        .iter()
        .any(|r| r.volume.is_some() || r.gravity.is_some());
    let poured = done.iter().any(|d| matches!(d.what, Change::Dilute(_)));
    let mut cautions = vec![Caution::HotLiquor];
    if poured && day.liquor.chlorine.total().mg_per_l() > 0.0 {
        notes.push(Note::look(
            "water poured in brings its chlorine along: treat it as the liquor was treated",
        ));
    }
    cautions.extend(boiled.report.cautions.iter().copied());
    cautions.dedup();
    Ok(Stands {
        points: points(day, &model, &estimate, &read),
        original_gravity: estimate
            .figure(Gravity::from_plato, |x| model.fermenter(x, true).plato()),
        volume: estimate.figure(Volume::from_l, |x| model.fermenter(x, true).volume_l()),
        plan: follow::as_done(day.plan, &model, &estimate.course),
        learned: counted.then(|| estimate.learned(day.plan, &model)),
        told: counted.then(|| {
            let updates = Updates {
                planned: Estimate::of(&model, &[], day.evaporation_sd),
                open: Estimate::open(&model, &[], day.evaporation_sd),
                found: Estimate::open(&model, &read, day.evaporation_sd),
            };
            updates.told(day.plan, &model)
        }),
        boiled,
        notes,
        cautions,
    })
}

/// What a day gives at a point that strays from its plan: the wort at 20 °C, and its
/// gravity. The volume is none at the first wort and at the last runnings.
#[must_use]
pub fn as_strayed(day: &Day<'_>, strays: &Strays, at: Point) -> (Option<Volume>, Gravity) {
    let model = Model::new(day.plan, day.volumes, &[]);
    let course = Course::of([
        strays.conversion,
        strays.left_in_tun,
        strays.water,
        strays.evaporation,
        strays.losses,
    ]);
    let volume = model.wort_at(&course, at).map(crate::mix::Mix::volume_l);
    let plato = model.plato_at(&course, at);
    (volume.map(Volume::from_l), Gravity::from_plato(plato))
}

/// The points of the day in order: the usual ones, and the minutes of the boil at which
/// something was read.
fn points(
    day: &Day<'_>,
    model: &Model<'_>,
    estimate: &Estimate,
    read: &[Cooled],
) -> Vec<PointFigures> {
    let planned = Model::new(day.plan, day.volumes, &[]);
    let plan = Course::of([1.0; model::PARAMETERS]);
    let mut places = vec![Point::KettleFull, Point::EndOfBoil, Point::Fermenter];
    if day.plan.grain_kg() > 0.0 {
        places.extend([Point::FirstWort, Point::LastRunnings]);
    }
    for one in read.iter().filter(|r| matches!(r.at, Point::Boil(_))) {
        if !places.contains(&one.at) {
            places.push(one.at);
        }
    }
    places.sort_by(|a, b| a.order(model.boil_min).total_cmp(&b.order(model.boil_min)));
    let litres = |model: &Model<'_>, x: &Course, at: Point| {
        model.wort_at(x, at).map(crate::mix::Mix::volume_l)
    };
    places
        .into_iter()
        .map(|at| PointFigures {
            at,
            planned_volume: litres(&planned, &plan, at).map(Volume::from_l),
            planned_gravity: Gravity::from_plato(planned.plato_at(&plan, at)),
            read: read.iter().filter(|r| r.at == at).cloned().collect(),
            volume: at
                .has_volume()
                .then(|| estimate.figure(Volume::from_l, |x| litres(model, x, at).unwrap_or(0.0))),
            gravity: estimate.figure(Gravity::from_plato, |x| model.plato_at(x, at)),
        })
        .collect()
}

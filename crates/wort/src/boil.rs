//! Sweet wort becomes the wort that the yeast meets.

mod follow;
mod heat;
mod instead;

use quantity::{
    Bitterness, Caution, Chlorine, Colour, Duration, Gravity, Mass, MassConcentration, Measured,
    Note, Ph, SulfurDioxide, Temperature, Volume,
};
use water::{BrewingWater, Ions, ResidualChlorine};

use crate::amounts::WortAmount;
use crate::bitterness::{
    Acids, DISSOLVES_MG_PER_L, kept_in_cellar, kept_to_fermenter, losses, tinseth,
};
use crate::colour::{malt_colour_units, morey};
use crate::error::{WortError, check};
use crate::mash::map_ions;
use crate::mix::{Mix, water_kg};
use crate::plan::{HopAddition, HopTime, WortPlan};
use crate::state::{Carbohydrates, PitchingWort, SweetWort, Traces};
use crate::sugars::limit_of;
use crate::sulfide::{Sulfide, stripping};
use crate::thermal::Course;

pub use follow::BoilMoment;
use follow::{Followed, alpha_mg};
pub use heat::{BoilHeat, boiling_point_elevation, evaporation_by_power};
pub use instead::{BoilWay, DMS_FAULT_UG_PER_L, DMS_THRESHOLD_UG_PER_L, DmsLeft};

/// Fall of the pH in an hour's boil: 0.1 to 0.3 (common practice).
const PH_FALL: f64 = 0.2;
/// Time in which it falls \[min\].
const PH_FALLS_MIN: f64 = 60.0;

/// Relative standard deviation of bitterness that all additions share: kinetics and
/// losses, as two models part by 20 to 30 %, taken as two (judgement).
const MODEL_SD: f64 = 0.125;
/// The same of the alpha-acids of one addition: a packet against its lot (judgement).
const ALPHA_SD: f64 = 0.05;

/// Wort that cools longer than this without yeast is stored wort \[h\] (judgement).
const STORED_AFTER_H: f64 = 6.0;

/// What the boil gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Boiled {
    /// Wort in the fermenter.
    pub wort: PitchingWort,
    /// How it came about.
    pub report: BoilReport,
}

/// The figures of the boil.
#[derive(Debug, Clone, PartialEq)]
pub struct BoilReport {
    /// Boiling point at the altitude.
    pub boiling_point: Temperature,
    /// Kettle full.
    pub pre_boil: WortAmount,
    /// Kettle full, hot.
    pub pre_boil_hot: Volume,
    /// After the boil.
    pub post_boil: WortAmount,
    /// After the boil, hot.
    pub post_boil_hot: Volume,
    /// Steam.
    pub evaporated: Mass,
    /// Time from the end of the boil to the end of the chiller.
    pub hot_after_boil: Duration,
    /// Hop by hop, in the order of the plan.
    pub hops: Vec<HopShare>,
    /// Bitterness of the beer with its spread.
    pub bitterness: Measured<Bitterness>,
    /// The kettle from moment to moment.
    pub timeline: Vec<BoilMoment>,
    /// Heat.
    pub heat: BoilHeat,
    /// Dimethyl sulfide that this and other boils leave.
    pub dms_left: Vec<DmsLeft>,
    /// Alpha-acids left in the wort after the boil, dissolved or not.
    pub alpha_left: MassConcentration,
    /// Bitterness of the boil additions by Tinseth, a second opinion.
    pub bitterness_by_tinseth: Bitterness,
    /// Dimethyl sulfide that the steam took, per litre after the boil.
    pub dms_stripped: MassConcentration,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// What one hop addition gives.
#[derive(Debug, Clone, PartialEq)]
pub struct HopShare {
    /// Its name.
    pub name: String,
    /// Iso-alpha-acids in the kettle from it, after the chiller.
    pub iso_alpha: MassConcentration,
    /// Alpha-acids left of it.
    pub alpha_left: MassConcentration,
    /// What of the iso-alpha-acids is lost on the way, in the order of
    /// [`crate::bitterness::losses`].
    pub lost: Vec<MassConcentration>,
    /// Bitterness in the beer from it.
    pub bitterness: Bitterness,
    /// The same by Tinseth; none for what goes in after the boil.
    pub by_tinseth: Option<Bitterness>,
}

/// Boils, hops, stands, chills and fills the fermenter.
///
/// Bitterness: Malowicki & Shellhammer 2005 over the whole temperature history,
/// then the losses of [`crate::bitterness::losses`]. Dimethyl sulfide: formed at
/// every temperature, stripped only at the boil. What the wort carries concentrates
/// as water leaves; what is left in kettle, hops and hoses is wort of the same
/// composition. It starts from the wort given, so a measured volume or gravity can
/// stand in for the reckoned one.
///
/// # Errors
/// [`WortError`] where the plan cannot be brewed.
pub fn boil(plan: &WortPlan, sweet: &SweetWort) -> Result<Boiled, WortError> {
    plan.check()?;
    check("pH of the wort", sweet.ph.ph(), "", 3.0, 8.0)?;
    check("volume in the kettle", sweet.volume.l(), "L", 1e-3, 1e6)?;
    check(
        "gravity in the kettle",
        sweet.gravity.plato(),
        "°P",
        0.0,
        45.0,
    )?;
    let kettle = Kettle::new(plan, sweet)?;
    let heat_up_min = kettle.heat_up_min(plan)?;
    let course = Course::of(plan, Kettle::filled_c(plan), heat_up_min)?;
    let start = kettle.sulfide_before(sweet);
    let followed = follow::follow(&kettle, plan, &course, start, sweet.ph.ph());
    let hops = kettle.hop_shares(plan, &followed.acids)?;
    let wort = kettle.pitching_wort(plan, sweet, &course, &hops, followed.sulfide)?;
    let heat = kettle.heat(plan, heat_up_min);
    let dms_left = instead::dms_left(plan, sweet)?;
    let report = kettle.report(plan, &course, hops, followed, heat, dms_left);
    Ok(Boiled { wort, report })
}

/// The amounts before and after.
struct Kettle {
    before: Mix,
    after: Mix,
    into_fermenter: Mix,
    top_up_kg: f64,
    steam_kg: f64,
}

impl Kettle {
    fn new(plan: &WortPlan, sweet: &SweetWort) -> Result<Self, WortError> {
        let before = Mix::from_volume(sweet.volume.l(), sweet.gravity.plato());
        let steam_kg = plan.steam_kg();
        if steam_kg >= before.water_kg {
            return Err(WortError::BoilsDry {
                steam_kg,
                water_kg: before.water_kg,
            });
        }
        let after = before.minus(Mix::water(steam_kg));
        let kit = &plan.kit;
        let losses_l = kit.kettle_loss.l()
            + kit.hop_absorption.l_per_kg() * plan.kettle_hop_kg()
            + kit.transfer_loss.l();
        let wort_l = after.volume_l();
        if losses_l >= wort_l {
            return Err(WortError::AllLost {
                losses: Volume::from_l(losses_l),
                wort: Volume::from_l(wort_l),
            });
        }
        check("gravity after the boil", after.plato(), "°P", 0.0, 45.0)?;
        Ok(Self {
            before,
            after,
            into_fermenter: after.share(1.0 - losses_l / wort_l),
            top_up_kg: water_kg(plan.top_up_l()),
            steam_kg,
        })
    }

    fn fermenter(&self) -> Mix {
        self.into_fermenter.plus(Mix::water(self.top_up_kg))
    }

    /// What becomes of a concentration by the loss of steam.
    fn concentrated(&self) -> f64 {
        self.before.volume_l() / self.after.volume_l()
    }

    /// What becomes of a concentration by top-up water.
    fn diluted(&self) -> f64 {
        self.into_fermenter.volume_l() / self.fermenter().volume_l()
    }

    /// Litres of top-up water per litre in the fermenter.
    fn top_up_share(&self, plan: &WortPlan) -> f64 {
        plan.top_up_l() / self.fermenter().volume_l()
    }

    /// The wort in the kettle at a time from the start of the boil.
    fn at(&self, course: &Course, min: f64) -> Mix {
        let boiled = if course.boil_min > 0.0 {
            (min / course.boil_min).clamp(0.0, 1.0)
        } else {
            1.0
        };
        self.before.minus(Mix::water(self.steam_kg * boiled))
    }

    fn stripping(&self, plan: &WortPlan) -> f64 {
        let mean_kg = f64::midpoint(self.before.mass_kg(), self.after.mass_kg());
        stripping(plan.kit.steam_kg_per_h(), mean_kg)
    }

    /// Amounts in a litre after the boil \[mg/L\], so that evaporation needs no
    /// further thought.
    fn sulfide_before(&self, sweet: &SweetWort) -> Sulfide {
        Sulfide {
            smm: sweet.traces.smm.mg_per_l() * self.concentrated(),
            dms: sweet.traces.dms.mg_per_l() * self.concentrated(),
            stripped: 0.0,
        }
    }

    fn hop_shares(&self, plan: &WortPlan, acids: &[Acids]) -> Result<Vec<HopShare>, WortError> {
        let litres = self.after.volume_l();
        let gravity = Gravity::from_plato(f64::midpoint(self.before.plato(), self.after.plato()));
        let kept = kept_to_fermenter().ratio() * kept_in_cellar().ratio() * self.diluted();
        plan.hops
            .iter()
            .zip(acids)
            .map(|(hop, acid)| {
                let by_tinseth = boil_time(plan, hop)
                    .map(|t| tinseth(hop.alpha, hop.mass, Volume::from_l(litres), gravity, t))
                    .transpose()?;
                Ok(HopShare {
                    name: hop.name.clone(),
                    iso_alpha: MassConcentration::from_mg_per_l(acid.iso / litres),
                    alpha_left: MassConcentration::from_mg_per_l(acid.alpha / litres),
                    lost: lost(acid.iso / litres),
                    bitterness: Bitterness::from_ibu(acid.iso / litres * kept),
                    by_tinseth: by_tinseth.map(|b| Bitterness::from_ibu(b.ibu() * self.diluted())),
                })
            })
            .collect()
    }

    fn pitching_wort(
        &self,
        plan: &WortPlan,
        sweet: &SweetWort,
        course: &Course,
        hops: &[HopShare],
        sulfide: Sulfide,
    ) -> Result<PitchingWort, WortError> {
        let fermenter = self.fermenter();
        let gravity = Gravity::from_plato(fermenter.plato());
        let factor = self.concentrated() * self.diluted();
        let carbohydrates = scale_carbohydrates(&sweet.carbohydrates, factor);
        let iso: f64 = hops.iter().map(|h| h.iso_alpha.mg_per_l()).sum();
        let fallen = PH_FALL * (course.boil_min / PH_FALLS_MIN).min(1.0);
        Ok(PitchingWort {
            volume: Volume::from_l(fermenter.volume_l()),
            gravity,
            temperature: Temperature::from_c(course.end_c),
            ph: Ph::from_ph(sweet.ph.ph() - fallen),
            colour: self.colour(plan, sweet),
            bitterness: Bitterness::from_ibu(hops.iter().map(|h| h.bitterness.ibu()).sum()),
            attenuation_limit: limit_of(gravity, &carbohydrates)?,
            carbohydrates,
            ions: self.ions(plan, &sweet.ions, factor),
            traces: self.traces(plan, &sweet.traces, iso, sulfide),
        })
    }

    /// The colour given, changed as Morey's formula has it for the smaller volume;
    /// what a boil browns is in the formula, which was fitted to beers.
    fn colour(&self, plan: &WortPlan, sweet: &SweetWort) -> Colour {
        let units = |litres: f64| malt_colour_units(&plan.grist, Volume::from_l(litres));
        let before = morey(units(self.before.volume_l())).ebc();
        let after = morey(units(self.after.volume_l()) * self.diluted()).ebc();
        let ratio = if before > 0.0 { after / before } else { 1.0 };
        Colour::from_ebc(sweet.colour.ebc() * ratio)
    }

    fn ions(&self, plan: &WortPlan, sweet: &Ions, factor: f64) -> Ions {
        let share = self.top_up_share(plan);
        map_ions(|get| {
            let top_up = plan.boil.top_up.as_ref().map_or(0.0, |w| get(&w.ions));
            get(sweet) * factor + top_up * share
        })
    }

    fn traces(&self, plan: &WortPlan, sweet: &Traces, iso: f64, sulfide: Sulfide) -> Traces {
        let (diluted, share) = (self.diluted(), self.top_up_share(plan));
        let factor = self.concentrated() * diluted;
        let mg = MassConcentration::from_mg_per_l;
        let top_up =
            |of: &dyn Fn(&BrewingWater) -> f64| plan.boil.top_up.as_ref().map_or(0.0, of) * share;
        let chlorine = |of: fn(&ResidualChlorine) -> Chlorine| {
            Chlorine::from_mg_per_l(
                of(&sweet.halogen_met).mg_per_l() * factor
                    + top_up(&|w| of(&w.chlorine).mg_per_l()),
            )
        };
        Traces {
            smm: mg(sulfide.smm * diluted),
            dms: mg(sulfide.dms * diluted),
            fan: mg(sweet.fan.mg_per_l() * factor),
            ferulic_acid: mg(sweet.ferulic_acid.mg_per_l() * factor),
            iso_alpha: mg(iso * kept_to_fermenter().ratio() * diluted),
            sulfur_dioxide_at_most: SulfurDioxide::from_mg_per_l(
                sweet.sulfur_dioxide_at_most.mg_per_l() * factor
                    + top_up(&|w| w.sulfur_dioxide_at_most.mg_per_l()),
            ),
            halogen_met: ResidualChlorine {
                free: chlorine(|c| c.free),
                combined: chlorine(|c| c.combined),
                at_most: chlorine(|c| c.at_most),
            },
        }
    }

    fn report(
        &self,
        plan: &WortPlan,
        course: &Course,
        hops: Vec<HopShare>,
        followed: Followed,
        heat: BoilHeat,
        dms_left: Vec<DmsLeft>,
    ) -> BoilReport {
        let boils = plan.kit.boiling_point();
        let (pre_boil, post_boil) = (WortAmount::of(self.before), WortAmount::of(self.after));
        let alpha_left: f64 = hops.iter().map(|h| h.alpha_left.mg_per_l()).sum();
        let tinseth = hops
            .iter()
            .filter_map(|h| h.by_tinseth)
            .map(Bitterness::ibu)
            .sum();
        let hot_after_boil = Duration::from_min(course.end_min - course.boil_min);
        let mut cautions = vec![Caution::HotLiquor];
        if hot_after_boil.h() > STORED_AFTER_H {
            cautions.push(Caution::StoredWort);
        }
        BoilReport {
            boiling_point: boils,
            pre_boil,
            pre_boil_hot: pre_boil.volume_at(boils),
            post_boil,
            post_boil_hot: post_boil.volume_at(boils),
            evaporated: Mass::from_kg(self.steam_kg),
            hot_after_boil,
            notes: self.notes(plan, followed.waited),
            bitterness: with_spread(&hops),
            hops,
            timeline: followed.timeline,
            heat,
            dms_left,
            alpha_left: MassConcentration::from_mg_per_l(alpha_left),
            bitterness_by_tinseth: Bitterness::from_ibu(tinseth),
            dms_stripped: MassConcentration::from_mg_per_l(followed.sulfide.stripped),
            cautions,
        }
    }

    fn notes(&self, plan: &WortPlan, waited: bool) -> Vec<Note> {
        let mut notes = Vec::new();
        if waited {
            let dosed_mg: f64 = plan.hops.iter().map(alpha_mg).sum();
            let dosed = dosed_mg / self.after.volume_l();
            notes.push(Note::fine(format!(
                "the hops bring {dosed:.0} mg/L of alpha-acids; about {DISSOLVES_MG_PER_L:.0} mg/L dissolve at once at pH 5.2 (Malowicki 2004; Hough et al. 1982 have 250 at pH 5), and the rest is reckoned to follow as they isomerise"
            )));
        }
        notes
    }
}

/// What each loss takes of iso-alpha-acids, one after the other \[mg/L\].
fn lost(iso_mg_per_l: f64) -> Vec<MassConcentration> {
    let mut left = iso_mg_per_l;
    losses()
        .iter()
        .map(|loss| {
            let lost = left * loss.share.ratio();
            left -= lost;
            MassConcentration::from_mg_per_l(lost)
        })
        .collect()
}

fn with_spread(hops: &[HopShare]) -> Measured<Bitterness> {
    let total: f64 = hops.iter().map(|h| h.bitterness.ibu()).sum();
    let alone: f64 = hops
        .iter()
        .map(|h| (ALPHA_SD * h.bitterness.ibu()).powi(2))
        .sum();
    let sd = (MODEL_SD * total).hypot(alone.sqrt());
    Measured::with_sd(Bitterness::from_ibu(total), sd)
}

/// Time that a hop boils; none for what goes in after the boil.
fn boil_time(plan: &WortPlan, hop: &HopAddition) -> Option<Duration> {
    match hop.when {
        HopTime::FirstWort => Some(plan.boil.duration),
        HopTime::Boil(d) => Some(d),
        HopTime::Mash | HopTime::Whirlpool(_) | HopTime::Stand { .. } | HopTime::DryHop => None,
    }
}

fn scale_carbohydrates(wort: &Carbohydrates, factor: f64) -> Carbohydrates {
    let scaled = |c: MassConcentration| MassConcentration::from_mg_per_l(c.mg_per_l() * factor);
    Carbohydrates {
        simple: scaled(wort.simple),
        maltose: scaled(wort.maltose),
        maltotriose: scaled(wort.maltotriose),
        dextrin: scaled(wort.dextrin),
    }
}

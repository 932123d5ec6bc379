//! Sweet wort becomes the wort that the yeast meets.

mod browning;
mod dry;
mod figures;
mod follow;
mod heat;
mod instead;

use quantity::{
    Bitterness, Caution, Chlorine, Colour, Duration, Fraction, Gravity, Mass, MassConcentration,
    Measured, Note, Ph, SulfurDioxide, Temperature, Volume,
};
use water::{BrewingWater, Ions, ResidualChlorine};

use crate::amounts::WortAmount;
use crate::bitterness::{
    Acids, DISSOLVES_MG_PER_L, kept_in_cellar, kept_to_fermenter, losses, tinseth,
};
use crate::error::{WortError, check};
use crate::kit::Kit;
use crate::mash::map_ions;
use crate::mix::{Mix, water_kg};
use crate::plan::{BoilPlan, HopAddition, HopForm, HopTime, WortPlan};
use crate::state::{Carbohydrates, PitchingWort, SweetWort, Traces};
use crate::sugars::limit_of;
use crate::sulfide::{Sulfide, stripping};
use crate::thermal::Course;

pub use browning::BoilColour;
use browning::Litres;
pub use dry::DryHopped;
pub use follow::BoilMoment;
use follow::{Followed, alpha_mg, given_by};
pub(crate) use heat::latent_kj_per_kg;
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
    /// What dry hops do to it; none without dry hops.
    pub dry_hops: Option<DryHopped>,
    /// Colour, and what the boil formed of it.
    pub colour: BoilColour,
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
    check(
        "temperature in the kettle",
        sweet.temperature.c(),
        "°C",
        -20.0,
        110.0,
    )?;
    let kettle = Kettle::new(plan, sweet)?;
    let heat_up_min = kettle.heat_up_min(plan)?;
    let comes_up = (kettle.filled_c, heat_up_min.unwrap_or(0.0));
    let course = Course::of(&plan.kit, &plan.boil, &plan.hops, comes_up)?;
    let start = kettle.sulfide_before(sweet);
    let followed = follow::follow(&kettle, &plan.hops, &course, start, sweet.ph.ph());
    let hops = kettle.hop_shares(plan, &followed.acids)?;
    let colour = BoilColour::of(plan, &course, sweet.colour, kettle.litres());
    let sulfide = followed.sulfide;
    let wort = kettle.pitching_wort(plan, sweet, &course, &hops, colour.wort.value, sulfide)?;
    let parts = Parts {
        heat: kettle.heat(plan, heat_up_min),
        dms_left: instead::dms_left(plan, sweet, &kettle, comes_up, sulfide)?,
        dry_hops: DryHopped::of(plan, wort.volume.l(), wort.bitterness.ibu()),
        hops,
        colour,
        followed,
    };
    let report = kettle.report(plan, &course, parts);
    Ok(Boiled { wort, report })
}

/// What the report is put together from.
struct Parts {
    followed: Followed,
    hops: Vec<HopShare>,
    dry_hops: Option<DryHopped>,
    colour: BoilColour,
    heat: BoilHeat,
    dms_left: Vec<DmsLeft>,
}

/// The amounts before and after.
struct Kettle {
    /// Temperature when it is full.
    filled_c: f64,
    before: Mix,
    after: Mix,
    into_fermenter: Mix,
    losses_l: f64,
    top_up_kg: f64,
    steam_kg: f64,
    steam_kg_per_h: f64,
}

impl Kettle {
    fn new(plan: &WortPlan, sweet: &SweetWort) -> Result<Self, WortError> {
        let kit = &plan.kit;
        let before = Mix::from_volume(sweet.volume.l(), sweet.gravity.plato());
        let full = Self {
            filled_c: sweet.temperature.c().min(kit.boiling_point().c()),
            before,
            after: before,
            into_fermenter: before,
            losses_l: kit.kettle_loss.l()
                + kit.hop_absorption.l_per_kg() * plan.kettle_hop_kg()
                + kit.transfer_loss.l(),
            top_up_kg: water_kg(plan.top_up_l()),
            steam_kg: 0.0,
            steam_kg_per_h: 0.0,
        };
        full.boiled(kit, &plan.boil)
    }

    /// The same kettle boiled in a way.
    fn boiled(&self, kit: &Kit, boil: &BoilPlan) -> Result<Self, WortError> {
        let steam_kg_per_h = kit.steam_kg_per_h();
        let steam_kg = steam_kg_per_h * boil.duration.h();
        if steam_kg >= self.before.water_kg {
            return Err(WortError::BoilsDry {
                steam_kg,
                water_kg: self.before.water_kg,
            });
        }
        let after = self.before.minus(Mix::water(steam_kg));
        let wort_l = after.volume_l();
        if self.losses_l >= wort_l {
            return Err(WortError::AllLost {
                losses: Volume::from_l(self.losses_l),
                wort: Volume::from_l(wort_l),
            });
        }
        check("gravity after the boil", after.plato(), "°P", 0.0, 45.0)?;
        Ok(Self {
            after,
            into_fermenter: after.share(1.0 - self.losses_l / wort_l),
            steam_kg,
            steam_kg_per_h,
            ..*self
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

    fn stripping(&self) -> f64 {
        let mean_kg = f64::midpoint(self.before.mass_kg(), self.after.mass_kg());
        stripping(self.steam_kg_per_h, mean_kg)
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
                let alpha = Fraction::from_ratio(hop.alpha.ratio() * given_by(hop.form));
                let by_tinseth = boil_time(plan, hop)
                    .map(|t| tinseth(alpha, hop.mass, Volume::from_l(litres), gravity, t))
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
        colour: Colour,
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
            colour,
            bitterness: Bitterness::from_ibu(hops.iter().map(|h| h.bitterness.ibu()).sum()),
            attenuation_limit: limit_of(gravity, &carbohydrates)?,
            carbohydrates,
            ions: self.ions(plan, &sweet.ions, factor),
            traces: self.traces(plan, &sweet.traces, iso, sulfide),
        })
    }

    fn litres(&self) -> Litres {
        Litres {
            kettle_full: self.before.volume_l(),
            end: self.after.volume_l() / self.diluted(),
        }
    }

    /// What a way leaves in the fermenter.
    fn left(&self, way: BoilWay, end: Sulfide) -> DmsLeft {
        let mg = |x: f64| MassConcentration::from_mg_per_l((x * self.diluted()).max(0.0));
        DmsLeft {
            way,
            dms: mg(end.dms),
            smm: mg(end.smm),
        }
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

    fn report(&self, plan: &WortPlan, course: &Course, parts: Parts) -> BoilReport {
        let Parts { followed, hops, .. } = parts;
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
            notes: self.notes(plan, followed.waited, parts.dry_hops.as_ref()),
            bitterness: with_spread(plan, &hops),
            hops,
            dry_hops: parts.dry_hops,
            colour: parts.colour,
            timeline: followed.timeline,
            heat: parts.heat,
            dms_left: parts.dms_left,
            alpha_left: MassConcentration::from_mg_per_l(alpha_left),
            bitterness_by_tinseth: Bitterness::from_ibu(tinseth),
            dms_stripped: MassConcentration::from_mg_per_l(followed.sulfide.stripped),
            cautions,
        }
    }

    fn notes(&self, plan: &WortPlan, waited: bool, dry: Option<&DryHopped>) -> Vec<Note> {
        let mut notes: Vec<Note> = dry.map(DryHopped::note).into_iter().collect();
        if waited {
            let dosed_mg: f64 = plan.hops.iter().map(alpha_mg).sum();
            let dosed = dosed_mg / self.after.volume_l();
            notes.push(Note::fine(format!(
                "the hops bring {dosed:.0} mg/L of alpha-acids; about {DISSOLVES_MG_PER_L:.0} mg/L dissolve at the boil (Hough et al. 1982; a buffer at pH 5.2 took up 90, Malowicki 2004), and the rest is reckoned to follow as they isomerise"
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

fn with_spread(plan: &WortPlan, hops: &[HopShare]) -> Measured<Bitterness> {
    let total: f64 = hops.iter().map(|h| h.bitterness.ibu()).sum();
    let alone: f64 = plan
        .hops
        .iter()
        .zip(hops)
        .map(|(hop, share)| {
            let stated = hop.alpha_sd.map_or(0.0, |sd| {
                sd.ratio() / hop.alpha.ratio().max(f64::MIN_POSITIVE)
            });
            let form = match hop.form {
                Some(HopForm::Pellets) => figures::FIGURES.pellets_give.relative_sd(),
                _ => 0.0,
            };
            (ALPHA_SD.hypot(stated.min(1.0)).hypot(form) * share.bitterness.ibu()).powi(2)
        })
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

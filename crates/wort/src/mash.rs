//! Two waters and a grist become sweet wort.

mod conversion;
mod course;
pub(crate) mod figures;
mod loss;
mod missed;
mod modified;
mod rates;
mod starch;

use quantity::{
    Calcium, Caution, Chlorine, DiastaticPower, Fraction, Gravity, Mark, MassConcentration,
    Measured, Note, Ph, SulfurDioxide,
};
use water::{BrewingWater, Ions, ResidualChlorine};

use crate::amounts::Volumes;
use crate::colour::{malt_colour_units, morey, note_beyond_fit};
use crate::error::{WortError, check};
use crate::ferulic;
use crate::figures::Figure;
use crate::heat::{MashHeat, Tun, scheduled};
use crate::malts::{Fermentable, Kind};
use crate::plan::WortPlan;
use crate::state::{SweetWort, Traces};
use crate::sugars::{Spectrum, attenuation_limit, fermentable_share};
use crate::volumes::kettle_sugars;

/// Free amino nitrogen for a gram of malt extract \[mg/g\]: 180 mg/L in all-malt wort
/// of 12 °P, which holds 125.57 g/L (common practice; from memory).
const FAN_MG_PER_G: f64 = 180.0 / 125.57;

/// Diastatic power below which a grist may not convert, and below which it will
/// hardly \[°Lintner\] (common practice).
const CONVERTS_LINTNER: f64 = 40.0;
const HARDLY_CONVERTS_LINTNER: f64 = 30.0;

pub(crate) use conversion::Ground;
pub use conversion::{Conversion, MashMoment, SugarShares};
pub use course::{MashCourse, TemperatureReading};
use figures::FIGURES;
pub use loss::TunLoss;
pub use missed::{Missed, Remedy, WayBack, missed};

/// Temperatures at which a rest frees amino nitrogen \[°C\] (from memory).
const FAN_REST_C: std::ops::RangeInclusive<f64> = 45.0..=55.0;

/// What the mash gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Mashed {
    /// Wort in the kettle, before the boil.
    pub wort: SweetWort,
    /// Strike water and steps; none without grain.
    pub heat: Option<MashHeat>,
    /// Limit of attenuation that the mash gives its own wort; none without grain.
    pub attenuation_limit: Option<Measured<Fraction>>,
    /// Its temperature over time, as planned; none without grain.
    pub planned: Option<MashCourse>,
    /// The same with what was read in it.
    pub course: Option<MashCourse>,
    /// What becomes of the starch along that course.
    pub conversion: Option<Conversion>,
    /// The limit of attenuation by interpolation in the published data alone, rest by
    /// rest: a second opinion.
    pub limit_by_rests: Option<Measured<Fraction>>,
    /// What its readings say of the heat that the tun loses.
    pub tun_loss: Option<TunLoss>,
    /// Free amino nitrogen in the kettle, with its spread.
    pub amino_nitrogen: Measured<MassConcentration>,
    /// Free ferulic acid in the kettle, with its spread.
    pub ferulic_acid: Measured<MassConcentration>,
    /// Diastatic power of the grist, by mass; none without grain.
    pub diastatic_power: Option<DiastaticPower>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// Mashes, lauters and fills the kettle.
///
/// `mash_ph` is the pH of the mash as a cooled sample reads. What the two waters
/// carry reaches the kettle by the shares of [`Volumes::solutes`]; minerals of the
/// malt are not counted. All chlorine counts as having met malt. Its upper bound,
/// and that of sulfite, supposes that none stays with the grain.
///
/// # Errors
/// [`WortError`] where the plan cannot be brewed.
pub fn mash(
    plan: &WortPlan,
    volumes: &Volumes,
    mash_water: &BrewingWater,
    sparge_water: &BrewingWater,
    mash_ph: Ph,
) -> Result<Mashed, WortError> {
    plan.check()?;
    check("mash pH", mash_ph.ph(), "", 3.0, 8.0)?;
    let has_grain = plan.grain_kg() > 0.0;
    let by_rests = has_grain
        .then(|| attenuation_limit(&plan.mash.rests))
        .transpose()?;
    let (heat, planned) = if has_grain {
        let (heat, schedule) = scheduled(plan, volumes)?;
        let tun = Tun::new(plan, volumes)?;
        (Some(heat), Some(MashCourse::planned(schedule, &tun)))
    } else {
        (None, None)
    };
    let course = planned
        .clone()
        .map(|course| course.with_readings(&plan.mash.measured));
    let conversion = course
        .as_ref()
        .map(|course| Conversion::along(course, &ground(plan, volumes, mash_ph)));
    let limit = conversion.as_ref().map(|found| found.limit);
    let colour = morey(malt_colour_units(&plan.grist, volumes.pre_boil.volume));
    let mixed = Blend::new(volumes, mash_water, sparge_water);
    let wort = SweetWort {
        volume: volumes.pre_boil.volume,
        gravity: volumes.pre_boil.gravity,
        temperature: course.as_ref().map_or(plan.kit.room, MashCourse::ends),
        ph: mash_ph,
        colour,
        carbohydrates: kettle_spectrum(plan, volumes, conversion.as_ref())?
            .in_litres(mixed.kettle_l),
        ions: mixed.ions(),
        traces: traces(plan, volumes, &mixed, course.as_ref(), mash_ph),
    };
    let mut notes = grist_notes(plan);
    let rested_min = course.as_ref().map_or(0.0, protein_rest_min);
    notes.extend(modified::notes(plan, rested_min));
    notes.extend(note_beyond_fit(colour));
    notes.extend(heat.iter().flat_map(|heat| heat.notes.clone()));
    notes.extend(conversion.iter().flat_map(|found| found.notes.clone()));
    let tun_loss = planned
        .as_ref()
        .filter(|_| !plan.mash.is_heated())
        .and_then(|planned| loss::tun_loss(planned, &plan.mash.measured, plan.kit.room));
    Ok(Mashed {
        tun_loss,
        amino_nitrogen: spread(wort.traces.fan, FIGURES.amino_nitrogen_sd.value),
        ferulic_acid: spread(wort.traces.ferulic_acid, FIGURES.ferulic_acid_sd.value),
        wort,
        heat,
        attenuation_limit: limit,
        planned,
        course,
        conversion,
        limit_by_rests: by_rests,
        diastatic_power: has_grain.then(|| diastatic_power(plan)),
        notes,
        cautions: vec![Caution::HotLiquor],
    })
}

/// What pH the enzymes of a mash want, in words, and how that is known.
#[must_use]
pub fn ph_of_enzymes() -> [(&'static str, Mark); 4] {
    let f = &*FIGURES;
    [&f.beta_ph, &f.alpha_ph, &f.protease_ph, &f.ferulic_ph]
        .map(|row| (row.what.as_str(), row.mark))
}

/// Extract in the kettle by how it ferments \[kg\].
fn kettle_spectrum(
    plan: &WortPlan,
    volumes: &Volumes,
    mashed: Option<&Conversion>,
) -> Result<Spectrum, WortError> {
    let mut sum = Spectrum::default();
    if let Some(mashed) = mashed {
        let from_mash_kg = plan.mash_extract_kg() * volumes.solutes.mash.ratio();
        let share = fermentable_share(malt_gravity(volumes), mashed.limit.value)?;
        sum = Spectrum::mashed(from_mash_kg, share, &mashed.sugars);
    }
    for item in plan.kettled() {
        let extract_kg = item.mass.kg() * item.fermentable.extract_as_is().ratio();
        sum = sum.plus(Spectrum::kettled(&item.fermentable, extract_kg));
    }
    Ok(sum)
}

/// The strength at which the limit of attenuation is read; it hardly matters.
fn malt_gravity(volumes: &Volumes) -> Gravity {
    Gravity::from_plato(volumes.pre_boil.gravity.plato().clamp(5.0, 25.0))
}

/// Litres of each water whose dissolved matter is in the kettle.
struct Blend<'a> {
    kettle_l: f64,
    mash: (&'a BrewingWater, f64, f64),
    sparge: (&'a BrewingWater, f64, f64),
}

impl<'a> Blend<'a> {
    fn new(volumes: &Volumes, mash: &'a BrewingWater, sparge: &'a BrewingWater) -> Self {
        let (mash_l, sparge_l) = (volumes.mash_liquor.l(), volumes.sparge_liquor.l());
        Self {
            kettle_l: volumes.pre_boil.volume.l(),
            mash: (mash, mash_l, mash_l * volumes.solutes.mash.ratio()),
            sparge: (sparge, sparge_l, sparge_l * volumes.solutes.sparge.ratio()),
        }
    }

    /// Per litre of kettle, of what is carried there.
    fn carried(&self, of: impl Fn(&BrewingWater) -> f64) -> f64 {
        (self.mash.2 * of(self.mash.0) + self.sparge.2 * of(self.sparge.0)) / self.kettle_l
    }

    /// Per litre of kettle, if nothing stayed with the grain.
    fn at_most(&self, of: impl Fn(&BrewingWater) -> f64) -> f64 {
        (self.mash.1 * of(self.mash.0) + self.sparge.1 * of(self.sparge.0)) / self.kettle_l
    }

    fn ions(&self) -> Ions {
        map_ions(|get| self.carried(|w| get(&w.ions)))
    }

    fn chlorine(&self) -> ResidualChlorine {
        let mg = Chlorine::from_mg_per_l;
        ResidualChlorine {
            free: mg(self.carried(|w| w.chlorine.free.mg_per_l())),
            combined: mg(self.carried(|w| w.chlorine.combined.mg_per_l())),
            at_most: mg(self.at_most(|w| w.chlorine.at_most.mg_per_l())),
        }
    }
}

/// Builds ions from a rule that is told how to read each.
pub(crate) fn map_ions(rule: impl Fn(&dyn Fn(&Ions) -> f64) -> f64) -> Ions {
    use quantity::{Ammonium, Chloride, Magnesium, Nitrate, Potassium, Sodium, Sulfate};
    Ions {
        calcium: Calcium::from_mg_per_l(rule(&|i| i.calcium.mg_per_l())),
        magnesium: Magnesium::from_mg_per_l(rule(&|i| i.magnesium.mg_per_l())),
        sodium: Sodium::from_mg_per_l(rule(&|i| i.sodium.mg_per_l())),
        potassium: Potassium::from_mg_per_l(rule(&|i| i.potassium.mg_per_l())),
        ammonium: Ammonium::from_mg_per_l(rule(&|i| i.ammonium.mg_per_l())),
        chloride: Chloride::from_mg_per_l(rule(&|i| i.chloride.mg_per_l())),
        sulfate: Sulfate::from_mg_per_l(rule(&|i| i.sulfate.mg_per_l())),
        nitrate: Nitrate::from_mg_per_l(rule(&|i| i.nitrate.mg_per_l())),
    }
}

/// What the enzymes have to work with.
fn ground(plan: &WortPlan, volumes: &Volumes, mash_ph: Ph) -> Ground {
    Ground {
        ph: mash_ph,
        lintner: diastatic_power(plan).lintner(),
        l_per_kg: volumes.mash_liquor.l() / plan.grain_kg(),
    }
}

fn spread(value: MassConcentration, relative_sd: f64) -> Measured<MassConcentration> {
    Measured::with_sd(value, relative_sd * value.mg_per_l())
}

/// How an enzyme works at a pH, of what it does at its best: a bell.
fn at_ph(ph: f64, best: &Figure, width: &Figure) -> f64 {
    (-((ph - best.value) / width.value).powi(2)).exp()
}

/// The same, of what it does in the mashes that the rates are for.
fn at_ph_of_fit(ph: Ph, best: &Figure, width: &Figure) -> f64 {
    at_ph(ph.ph(), best, width) / at_ph(FIGURES.fitted_ph.value, best, width)
}

/// Minutes that a mash spends where a rest frees amino nitrogen.
fn protein_rest_min(course: &MashCourse) -> f64 {
    let stretches = course.stretches();
    let in_range = stretches.filter(|(a, b)| FAN_REST_C.contains(&f64::midpoint(a.1, b.1)));
    in_range.map(|(a, b)| b.0 - a.0).sum()
}

/// How much a protein rest multiplies free amino nitrogen.
fn fan_factor(course: Option<&MashCourse>, mash_ph: Ph) -> f64 {
    let rested_min = course.map_or(0.0, protein_rest_min);
    let figures = &*FIGURES;
    let works = at_ph_of_fit(mash_ph, &figures.protease_ph, &figures.protease_ph_width);
    let done = -(-works * rested_min / figures.fan_rest.value).exp_m1();
    1.0 + figures.fan_by_rest.value * done
}

fn traces(
    plan: &WortPlan,
    volumes: &Volumes,
    mixed: &Blend<'_>,
    course: Option<&MashCourse>,
    mash_ph: Ph,
) -> Traces {
    let collected = volumes.solutes.mash.ratio();
    let per_l = |mg: f64| MassConcentration::from_mg_per_l(mg / mixed.kettle_l);
    let smm = |mashed: bool| -> f64 {
        let items = plan
            .grist
            .iter()
            .filter(|g| g.fermentable.kind.is_mashed() == mashed);
        items
            .map(|g| g.mass.kg() * g.fermentable.smm.value.mg_per_kg())
            .sum()
    };
    let ferulic: f64 = plan
        .mashed()
        .map(|g| g.mass.kg() * g.fermentable.ferulic.relative())
        .sum();
    Traces {
        smm: per_l(smm(true) * collected + smm(false)),
        dms: MassConcentration::default(),
        fan: per_l(fan_mg(plan, collected) * fan_factor(course, mash_ph)),
        ferulic_acid: per_l(
            ferulic * course.map_or(0.0, |c| ferulic::freed_mg_per_kg(c, mash_ph)) * collected,
        ),
        iso_alpha: MassConcentration::default(),
        sulfur_dioxide_at_most: SulfurDioxide::from_mg_per_l(
            mixed.at_most(|w| w.sulfur_dioxide_at_most.mg_per_l()),
        ),
        halogen_met: mixed.chlorine(),
    }
}

/// Free amino nitrogen that malt brings into the kettle \[mg\], without a rest for it; raw
/// grain and sugars bring hardly any.
fn fan_mg(plan: &WortPlan, collected: f64) -> f64 {
    let of = |kind: Kind| -> f64 {
        let items = plan.grist.iter().filter(|g| g.fermentable.kind == kind);
        items
            .map(|g| g.mass.kg() * fan_mg_per_kg(&g.fermentable))
            .sum()
    };
    of(Kind::Malt) * plan.kit.mash_conversion.ratio() * collected + of(Kind::MaltExtract)
}

/// Free amino nitrogen of a malt as it is \[mg/kg\]: by its own sheet, or as much as its
/// extract usually brings, and more or less as its soluble protein is.
fn fan_mg_per_kg(malt: &Fermentable) -> f64 {
    let dry = 1.0 - malt.moisture.value.ratio();
    malt.amino_nitrogen.map_or_else(
        || {
            let usual = FAN_MG_PER_G * 1000.0 * malt.extract_as_is().ratio();
            usual * modified::soluble_protein(malt)
        },
        |fan| fan.mg_per_kg() * dry,
    )
}

fn diastatic_power(plan: &WortPlan) -> DiastaticPower {
    let total: f64 = plan
        .mashed()
        .map(|g| g.mass.kg() * g.fermentable.diastatic_power.value.lintner())
        .sum();
    DiastaticPower::from_lintner(total / plan.grain_kg())
}

const HOURS_PER_MONTH: f64 = 730.5;

/// A malt that is kept for too long. What it loses is not reckoned: no rates were at hand.
fn past_its_best(malt: &Fermentable) -> Option<Note> {
    let months = |age: quantity::Duration| age.h() / HOURS_PER_MONTH;
    let figures = &*FIGURES;
    let (age, keeps, how) = match (malt.crushed, malt.malted) {
        (Some(age), _) if months(age) > figures.crushed_malt_keeps.value => {
            (age, &figures.crushed_malt_keeps, "crushed")
        }
        (_, Some(age)) => (age, &figures.whole_malt_keeps, "malted"),
        _ => return None,
    };
    (months(age) > keeps.value).then(|| {
        Note::look(format!(
            "{} was {how} {:.0} months ago; the {} is {:.0} months ({}): it takes up moisture and loses enzymes and aroma, which nothing here reckons; weigh a dried sample and enter its moisture",
            malt.name, months(age), keeps.what, keeps.value, keeps.mark
        ))
    })
}

fn grist_notes(plan: &WortPlan) -> Vec<Note> {
    let mut notes = Vec::new();
    if plan.grain_kg() > 0.0 {
        let power = diastatic_power(plan).lintner();
        let text = format!(
            "the grist has {power:.0} °Lintner; it should have {CONVERTS_LINTNER:.0}, and {HARDLY_CONVERTS_LINTNER:.0} at least, to convert its starch: more base malt would help"
        );
        if power < HARDLY_CONVERTS_LINTNER {
            notes.push(Note::act(text));
        } else if power < CONVERTS_LINTNER {
            notes.push(Note::look(text));
        }
    }
    notes.extend(plan.mashed().filter_map(|g| past_its_best(&g.fermentable)));
    let total_kg: f64 = plan.grist.iter().map(|g| g.mass.kg()).sum();
    for item in &plan.grist {
        let share = item.mass.kg() / total_kg;
        let most = item.fermentable.max_share;
        if share > most.ratio() + 1e-9 {
            let name = &item.fermentable.name;
            let share = Fraction::from_ratio(share);
            notes.push(Note::fine(format!(
                "{name} is {share} of the grist; usual is up to {most}"
            )));
        }
    }
    if plan.grain_kg() > 0.0 && kettle_sugars(plan).extract_kg > plan.mash_extract_kg() {
        notes.push(Note::look(
            "more than half of the extract comes from the kettle: the yeast may lack amino nitrogen",
        ));
    }
    notes
}

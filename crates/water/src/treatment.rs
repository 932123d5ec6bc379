//! From the sources to liquor that is ready for malt.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use quantity::{Alkalinity, Caution, Mass, Note, Volume};

use crate::acids::{AcidAmount, AcidDose};
use crate::analysis::{self, Analysis};
use crate::check;
use crate::dechlorination::{Dechlorinated, Dechlorination, Volumes, dechlorinate};
use crate::error::WaterError;
use crate::mash_ph::{MashAcid, MashLiquor};
use crate::salts::SaltDose;
use crate::state::{BrewingWater, Ions, SourceShare};

/// Which liquor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Liquor {
    /// That of the mash.
    Mash,
    /// That of the sparge.
    Sparge,
}

impl fmt::Display for Liquor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Mash => "mash",
            Self::Sparge => "sparge",
        })
    }
}

/// What is to be done to the water.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterPlan {
    /// The sources, whose shares make a whole.
    pub sources: Vec<SourceShare>,
    /// How much liquor for the mash.
    pub mash_volume: Volume,
    /// How much liquor for the sparge.
    pub sparge_volume: Volume,
    /// How chlorine is taken out.
    pub dechlorination: Dechlorination,
    /// Salts.
    pub salts: Vec<SaltDose>,
    /// Acids.
    pub acids: Vec<AcidDose>,
}

/// How much of something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// To weigh.
    Mass(Mass),
    /// To measure.
    Volume(Volume),
}

/// Something to weigh or measure into a liquor, in the order of use.
#[derive(Debug, Clone, PartialEq)]
pub struct ToWeigh {
    /// Into which liquor.
    pub into: Liquor,
    /// What.
    pub what: String,
    /// How much.
    pub amount: Amount,
}

/// Water that is ready for malt, and how it came about.
#[derive(Debug, Clone, PartialEq)]
pub struct TreatedWater {
    /// The tap: the sources blended, before treatment.
    pub tap: Analysis,
    /// What became of the chlorine.
    pub dechlorination: Dechlorinated,
    /// What to weigh and measure, in the order of use: reagent, salts, acids.
    /// Nothing for a water that must not be used.
    pub weigh: Vec<ToWeigh>,
    /// The liquor for the mash.
    pub mash: BrewingWater,
    /// The liquor for the sparge.
    pub sparge: BrewingWater,
    /// The mash liquor with its acids kept apart, for
    /// [`mash_ph`](crate::mash_ph::mash_ph).
    pub mash_liquor: MashLiquor,
    /// All remarks, those of the tap and of the dechlorination among them.
    pub notes: Vec<Note>,
    /// All that can hurt someone.
    pub cautions: Vec<Caution>,
}

/// What is said in place of doses for a water that must not be used.
const NO_ADVICE: &str = "No doses are given for this water, as it must not be used: what is \
     reckoned from it shows only what the plan would come to. Take another water.";

/// Treats a water: blend, dechlorinate, add salts, add acids.
///
/// Each liquor keeps the charge balance of its parts: salts are neutral, strong
/// acids trade alkalinity for their anion, and the anions of weak acids are the
/// only ones not carried on. The volume of what is stirred in is left out.
///
/// # Errors
/// [`WaterError`] for impossible figures, shares that are not a whole, liquors
/// without volume, and doses into them.
pub fn treat(plan: &WaterPlan) -> Result<TreatedWater, WaterError> {
    let volumes = Volumes {
        mash: plan.mash_volume,
        sparge: plan.sparge_volume,
    };
    let tap = analysis::analyse_blend(&plan.sources)?;
    let dechlorination = dechlorinate(&tap.water, volumes, &plan.dechlorination)?;
    check_doses(plan)?;
    let mut notes = tap.notes.clone();
    notes.extend(dechlorination.notes.iter().cloned());
    let start = Liquid::of(&tap, &dechlorination);
    let salted = start.with_salts(plan, Liquor::Mash, &mut notes)?;
    let mash = salted.with_acids(plan, Liquor::Mash)?;
    let sparge = start
        .with_salts(plan, Liquor::Sparge, &mut notes)?
        .with_acids(plan, Liquor::Sparge)?;
    notes.extend(remarks(plan, &tap, &dechlorination, mash, sparge)?);
    let weigh = if tap.verdict.usable() {
        to_weigh(plan, &dechlorination)
    } else {
        notes.push(Note::act(NO_ADVICE));
        vec![]
    };
    let ready = |liquid: Liquid, volume| BrewingWater {
        volume,
        ions: liquid.ions,
        alkalinity: liquid.alkalinity,
        chlorine: dechlorination.residual,
        sulfur_dioxide_at_most: dechlorination.sulfur_dioxide_at_most,
    };
    Ok(TreatedWater {
        weigh,
        mash: ready(mash, plan.mash_volume),
        sparge: ready(sparge, plan.sparge_volume),
        mash_liquor: salted.as_mash_liquor(plan),
        cautions: cautions(plan, &tap, &dechlorination),
        tap,
        dechlorination,
        notes,
    })
}

/// The ions and the alkalinity of a liquor on its way.
#[derive(Debug, Clone, Copy)]
struct Liquid {
    ions: Ions,
    alkalinity: Alkalinity,
}

impl Liquid {
    fn of(tap: &Analysis, dechlorination: &Dechlorinated) -> Self {
        let start = Self {
            ions: tap.water.ions,
            alkalinity: tap.water.alkalinity,
        };
        start.plus(dechlorination.added, dechlorination.alkalinity_change)
    }

    fn plus(self, ions: Ions, alkalinity: Alkalinity) -> Self {
        Self {
            ions: self.ions.plus(ions),
            alkalinity: Alkalinity::from_meq_per_l(
                self.alkalinity.meq_per_l() + alkalinity.meq_per_l(),
            ),
        }
    }

    fn with_salts(
        self,
        plan: &WaterPlan,
        into: Liquor,
        notes: &mut Vec<Note>,
    ) -> Result<Self, WaterError> {
        // Two doses of one salt share its solubility.
        let mut masses: BTreeMap<&str, (SaltDose, f64)> = BTreeMap::new();
        for dose in plan.salts.iter().filter(|dose| dose.into == into) {
            masses.entry(&dose.salt.name).or_insert((*dose, 0.0)).1 += dose.mass.kg();
        }
        let mut liquid = self;
        for (dose, kg) in masses.into_values() {
            let dissolved = dose
                .salt
                .dissolved(Mass::from_kg(kg), volume_of(plan, into))?;
            liquid = liquid.plus(dissolved.ions, dissolved.alkalinity);
            notes.extend(dissolved.note);
        }
        liquid.checked(into)
    }

    fn with_acids(self, plan: &WaterPlan, into: Liquor) -> Result<Self, WaterError> {
        let mut liquid = self;
        for dose in plan.acids.iter().filter(|dose| dose.into == into) {
            let done = dose.product.acidified(dose.amount, volume_of(plan, into))?;
            liquid = liquid.plus(done.ions, done.alkalinity);
        }
        liquid.checked(into)
    }

    fn checked(self, into: Liquor) -> Result<Self, WaterError> {
        let (liquor, alkalinity) = match into {
            Liquor::Mash => ("mash liquor", "alkalinity of the mash liquor"),
            Liquor::Sparge => ("sparge liquor", "alkalinity of the sparge liquor"),
        };
        check::ions(liquor, &self.ions)?;
        check::within(alkalinity, self.alkalinity)?;
        Ok(self)
    }

    fn as_mash_liquor(self, plan: &WaterPlan) -> MashLiquor {
        let acids = plan.acids.iter().filter(|dose| dose.into == Liquor::Mash);
        MashLiquor {
            volume: plan.mash_volume,
            alkalinity: self.alkalinity,
            calcium: self.ions.calcium,
            magnesium: self.ions.magnesium,
            acids: acids
                .map(|dose| MashAcid {
                    product: dose.product,
                    amount: dose.amount,
                })
                .collect(),
        }
    }
}

fn volume_of(plan: &WaterPlan, liquor: Liquor) -> Volume {
    match liquor {
        Liquor::Mash => plan.mash_volume,
        Liquor::Sparge => plan.sparge_volume,
    }
}

fn check_doses(plan: &WaterPlan) -> Result<(), WaterError> {
    for dose in &plan.salts {
        check::within(check::Of(dose.salt, "mass"), dose.mass)?;
    }
    let salts = plan.salts.iter();
    let salts = salts.map(|dose| (&dose.salt as &dyn fmt::Display, dose.into));
    let acids = plan.acids.iter();
    let acids = acids.map(|dose| (&dose.product as &dyn fmt::Display, dose.into));
    for (what, liquor) in salts.chain(acids) {
        if volume_of(plan, liquor).l() <= 0.0 {
            let what = what.to_string();
            return Err(WaterError::DoseWithoutLiquor { what, liquor });
        }
    }
    Ok(())
}

fn to_weigh(plan: &WaterPlan, dechlorination: &Dechlorinated) -> Vec<ToWeigh> {
    let mut weigh = vec![];
    if let Some(dose) = &dechlorination.dose {
        for (into, mass) in [(Liquor::Mash, dose.mash), (Liquor::Sparge, dose.sparge)] {
            weigh.push((into, dose.reagent.to_string(), Amount::Mass(mass)));
        }
    }
    for dose in &plan.salts {
        weigh.push((dose.into, dose.salt.to_string(), Amount::Mass(dose.mass)));
    }
    for dose in &plan.acids {
        let amount = match dose.amount {
            AcidAmount::Volume(volume) => Amount::Volume(volume),
            AcidAmount::Mass(mass) => Amount::Mass(mass),
        };
        weigh.push((dose.into, dose.product.to_string(), amount));
    }
    let some = |amount: &Amount| match amount {
        Amount::Mass(mass) => mass.kg() > 0.0,
        Amount::Volume(volume) => volume.l() > 0.0,
    };
    weigh
        .into_iter()
        .filter(|(.., amount)| some(amount))
        .map(|(into, what, amount)| ToWeigh { into, what, amount })
        .collect()
}

fn cautions(plan: &WaterPlan, tap: &Analysis, dechlorination: &Dechlorinated) -> Vec<Caution> {
    let salts = plan.salts.iter().filter_map(|dose| dose.salt.caution);
    let acids = plan.acids.iter().map(|_| Caution::Acid);
    let all: BTreeSet<Caution> = tap
        .cautions
        .iter()
        .chain(&dechlorination.cautions)
        .copied()
        .chain(salts)
        .chain(acids)
        .collect();
    all.into_iter().collect()
}

fn remarks(
    plan: &WaterPlan,
    tap: &Analysis,
    dechlorination: &Dechlorinated,
    mash: Liquid,
    sparge: Liquid,
) -> Result<Vec<Note>, WaterError> {
    let mut notes = vec![];
    let sulfite = dechlorination
        .dose
        .is_some_and(|dose| dose.reagent.is_sulfite() && dose.total.kg() > 0.0);
    if sulfite && !plan.acids.is_empty() {
        // How to do it, not something that is wrong with the plan.
        notes.push(Note::fine(
            "Never bring sulfite and acid together: they give off sulfur dioxide gas. Sulfite \
             first, into all of the liquor; stir, wait 10 min; acid last, into the full volume.",
        ));
    }
    notes.extend(remarks_of_products(plan));
    notes.extend(taste_notes(plan)?);
    if plan.mash_volume.l() > 0.0 {
        notes.extend(analysis::brewing_notes(&tap.water.ions, &mash.ions));
    }
    if plan.sparge_volume.l() > 0.0 && sparge.alkalinity.meq_per_l() < 0.0 {
        notes.push(Note::look(
            "The acid is more than the sparge liquor's alkalinity: the liquor itself turns sour. \
             By common practice sparge liquor stands at pH 5.5 to 6, so dose \
             a little less than the alkalinity.",
        ));
    }
    Ok(notes)
}

/// What the tables say about what is used, each once.
fn remarks_of_products(plan: &WaterPlan) -> Vec<Note> {
    let salts = plan
        .salts
        .iter()
        .filter_map(|dose| dose.salt.remark.clone());
    let acids = plan
        .acids
        .iter()
        .filter_map(|dose| dose.product.remark.as_ref());
    let mut notes: Vec<Note> = vec![];
    for note in salts.chain(acids.map(Note::fine)) {
        if !notes.contains(&note) {
            notes.push(note);
        }
    }
    notes
}

/// A remark where an acid can be tasted, were all liquor to end as beer.
fn taste_notes(plan: &WaterPlan) -> Result<Vec<Note>, WaterError> {
    let litres = plan.mash_volume.l() + plan.sparge_volume.l();
    let mut mg: BTreeMap<&str, f64> = BTreeMap::new();
    for dose in &plan.acids {
        let acid = dose.product.acid;
        let grams = dose.product.mol(dose.amount)? * acid.molar_mass_g_per_mol;
        *mg.entry(&acid.key).or_default() += 1000.0 * grams;
    }
    let note = |acid: &crate::acids::Acid| {
        let mg_per_l = mg.get(acid.key.as_str())? / litres;
        let taste = acid.taste.as_ref()?;
        (mg_per_l > taste.from.mg_per_l()).then(|| {
            Note::look(format!(
                "{mg_per_l:.0} mg/L of {} over all liquor can be tasted: its threshold in beer is \
                 told as about {} ({}).",
                acid.name, taste.from, taste.source.mark
            ))
        })
    };
    Ok(crate::acids::acids().iter().filter_map(note).collect())
}

#[cfg(test)]
mod tests;

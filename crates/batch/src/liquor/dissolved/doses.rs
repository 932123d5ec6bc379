//! How much lime or acid, and what each dose would do.

use std::fmt;

use quantity::{
    Alkalinity, Mass, MassConcentration, Molality, Note, PartialPressure, Ph, Units, Volume, show,
};
use water::acids::{AcidAmount, AcidProduct};
use water::speciation::{
    AcidToPh, Air, LimeDose, LimePoint, OUTDOOR_AIR, Solution, Speciated, SpeciationError,
    TitrationPoint, acid_to, acid_to_alkalinity, lime, lime_curve, lime_dose, titration,
};

use super::question::{self, Question, tell};
use super::waters::{Which, before_acid};
use crate::liquor::Wrong;
use crate::stream::Reckoning;

/// Lime stirred into a water.
#[derive(Debug, Clone, PartialEq)]
pub struct Lime {
    /// What practice doses, and why.
    pub dose: LimeDose,
    /// The dose that was taken.
    pub taken: MassConcentration,
    /// For how much water.
    pub volume: Volume,
    /// What that comes to.
    pub in_all: Mass,
    /// The water poured off its chalk.
    pub settled: Speciated,
    /// What each dose would do.
    pub curve: Vec<LimePoint>,
}

/// What a water is brought to with acid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AcidAim {
    /// A pH.
    Ph(Ph),
    /// An alkalinity.
    Alkalinity(Alkalinity),
}

impl AcidAim {
    /// Printed in customary units.
    #[must_use]
    pub fn show(self, units: Units) -> String {
        match self {
            Self::Ph(ph) => show(ph, units),
            Self::Alkalinity(alkalinity) => show(alkalinity, units),
        }
    }
}

impl fmt::Display for AcidAim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.show(Units::Metric))
    }
}

/// Acid stirred into a water that has none of the plan's yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Acid {
    /// Which.
    pub product: &'static AcidProduct,
    /// To where.
    pub aim: AcidAim,
    /// For how much water.
    pub volume: Volume,
    /// The pH before.
    pub before: Ph,
    /// What it takes while carbon dioxide stays, and where the water then stands.
    pub closed: AcidToPh,
    /// The same once carbon dioxide has left to air.
    pub open: AcidToPh,
    /// pH over acid while carbon dioxide stays.
    pub curve_closed: Vec<TitrationPoint>,
    /// pH over acid once it has left.
    pub curve_open: Vec<TitrationPoint>,
}

impl Acid {
    /// What the water takes while carbon dioxide stays.
    #[must_use]
    pub fn amount(&self) -> AcidAmount {
        self.closed.amount_for(self.volume)
    }

    /// What ten litres take: of one the figure would be too small to measure.
    #[must_use]
    pub fn per_ten_litres(&self) -> AcidAmount {
        self.closed.amount_for(Volume::from_l(10.0))
    }

    /// What the water takes once carbon dioxide has left.
    #[must_use]
    pub fn amount_open(&self) -> AcidAmount {
        self.open.amount_for(self.volume)
    }

    /// An amount for a dose of the curves.
    #[must_use]
    pub fn amount_of(&self, dose: Molality) -> AcidAmount {
        let one = AcidToPh {
            dose,
            ..self.closed.clone()
        };
        one.amount_for(self.volume)
    }

    pub(super) fn notes(&self) -> impl Iterator<Item = &Note> {
        self.closed.notes.iter().chain(&self.open.notes)
    }
}

/// The curves' points.
const POINTS: u32 = 40;
/// The least bicarbonate that lime is spent on \[mEq/L\] (judgement).
const WORTH_LIMING_MEQ_PER_L: f64 = 1.0;

pub(super) fn has_bicarbonate(water: &Solution) -> bool {
    water.alkalinity().meq_per_l() > WORTH_LIMING_MEQ_PER_L
        && water.inorganic_carbon().mmol_per_kg() > WORTH_LIMING_MEQ_PER_L
}

pub(super) fn lime_of(
    water: &Solution,
    question: &Question,
    volume: Volume,
    wrong: &mut Vec<Wrong>,
) -> Result<Option<Lime>, SpeciationError> {
    let asked = question::quantity("lime", &question.lime, wrong);
    let volume = asked_volume(question, volume, &mut vec![]);
    if !has_bicarbonate(water) {
        return Ok(None);
    }
    let dose = lime_dose(water)?;
    let (low, high) = (dose.recommended_low, dose.recommended_high);
    let middle = MassConcentration::from_mg_per_l(f64::midpoint(low.mg_per_l(), high.mg_per_l()));
    let mut taken = asked.unwrap_or(middle);
    let settled = match lime(water, taken) {
        Ok(settled) => settled,
        Err(error) if asked.is_some() => {
            tell(wrong, "lime", error.to_string());
            taken = middle;
            lime(water, middle)?
        }
        Err(error) => return Err(error),
    };
    let most = (1.3 * dose.stoichiometric.mg_per_l()).max(1.1 * taken.mg_per_l());
    let doses: Vec<MassConcentration> = (0..=POINTS)
        .map(|n| MassConcentration::from_mg_per_l(most * f64::from(n) / f64::from(POINTS)))
        .collect();
    Ok(Some(Lime {
        curve: lime_curve(water, &doses)?,
        settled: settled.speciated(),
        in_all: Mass::from_g(taken.mg_per_l() * volume.l() / 1000.0),
        volume,
        taken,
        dose,
    }))
}

pub(super) fn acid_of(
    r: &Reckoning,
    of: Which,
    question: &Question,
    wrong: &mut Vec<Wrong>,
) -> Result<Option<Acid>, SpeciationError> {
    let water = before_acid(of, r)?;
    let volume = asked_volume(question, of.volume(r), wrong);
    let product = question::acid(question, r, wrong);
    let aim = question::aim(question, r, wrong);
    let (Some(product), Some(aim)) = (product, aim) else {
        return Ok(None);
    };
    let (closed, open) = match both(&water, product, aim) {
        Ok(both) => both,
        Err(error) => {
            // A water that is there already needs no acid, and is no mistake where
            // nothing was asked.
            if !question.to.trim().is_empty() {
                tell(wrong, "to", error.to_string());
            }
            return Ok(None);
        }
    };
    let most = 1.5 * closed.dose.mmol_per_kg().max(open.dose.mmol_per_kg());
    let doses: Vec<Molality> = (0..=POINTS)
        .map(|n| Molality::from_mmol_per_kg(most * f64::from(n) / f64::from(POINTS)))
        .collect();
    Ok(Some(Acid {
        curve_closed: titration(&water, product, &doses, Air::Closed)?,
        curve_open: titration(&water, product, &doses, Air::Open(AIR))?,
        before: water.ph(),
        product,
        aim,
        volume,
        closed,
        open,
    }))
}

const AIR: PartialPressure = OUTDOOR_AIR;

fn both(
    water: &Solution,
    product: &'static AcidProduct,
    aim: AcidAim,
) -> Result<(AcidToPh, AcidToPh), SpeciationError> {
    match aim {
        AcidAim::Ph(ph) => Ok((
            acid_to(water, product, ph, Air::Closed)?,
            acid_to(water, product, ph, Air::Open(AIR))?,
        )),
        AcidAim::Alkalinity(alkalinity) => {
            let closed = acid_to_alkalinity(water, product, alkalinity)?;
            let open = AcidToPh {
                after: closed.after.open_to(AIR)?,
                notes: vec![],
                ..closed.clone()
            };
            Ok((closed, open))
        }
    }
}

/// The alkalinity that the sparge water keeps at a pH, just after a strong acid was
/// stirred in, its carbon dioxide still in it.
///
/// # Errors
/// [`SpeciationError`], for one where it stands below that pH without any acid.
pub(in crate::liquor) fn sparge_alkalinity_at(
    r: &Reckoning,
    ph: Ph,
) -> Result<Alkalinity, SpeciationError> {
    let water = before_acid(Which::Sparge, r)?;
    let strong = AcidProduct::named(STRONG)?;
    Ok(acid_to(&water, strong, ph, Air::Closed)?.after.alkalinity())
}

/// It gives all its protons at any pH, so that the alkalinity is that of the water alone.
const STRONG: &str = "hydrochloric acid 10 %";

fn asked_volume(question: &Question, usual: Volume, wrong: &mut Vec<Wrong>) -> Volume {
    let asked: Option<Volume> = question::quantity("volume", &question.volume, wrong);
    match asked {
        Some(volume) if volume.l() > 0.0 => volume,
        Some(_) => {
            let message = "no water is none to dose; write a volume such as \"12 L\"";
            tell(wrong, "volume", message.to_owned());
            usual
        }
        None => usual,
    }
}

//! What readings of the mash mean, as JSON.

use ::water::Amount;
use ::water::mash_reading::{Action, Advice, Dose};
use quantity::{Measured, Ph};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::liquor::reading::{IfItReads, malt_names, shares, taught};
use crate::stream::Reckoning;
use crate::wire::reckoning::{caution, note};
use crate::wire::{CautionForm, NoteForm};

/// Where a mash stands, what to do, and what was learned. A pH is that of a cooled
/// sample; sd are standard deviations.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterMash {
    /// The version of this form: "gylewright/water-mash/1".
    pub schema: &'static str,
    /// What was predicted.
    pub predicted: PhForm,
    /// Where the uncertainty of the prediction comes from, as parts of the variance.
    pub shares: Vec<ShareForm>,
    /// Each reading, those of the document first.
    pub readings: Vec<ReadingForm>,
    /// Where the mash stands: prediction and readings together.
    pub stands_at: PhForm,
    /// The pH aimed at.
    pub aim_ph: f64,
    /// How far off it does no harm.
    pub aim_within_ph: f64,
    /// nothing, wait, read, lower, raise or out of reach.
    pub action: &'static str,
    /// How long to wait, where that is to be done.
    pub wait_min: Option<f64>,
    /// The ways of moving it, each one by itself, the better first.
    pub ways: Vec<WayForm>,
    /// What the readings taught; null without one that counts and can be believed.
    pub learned: Option<LearnedForm>,
    /// What to add if it reads some tenths above or below the aim.
    pub if_it_reads: Vec<IfItReadsForm>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
}

/// A pH and its standard deviation.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PhForm {
    /// The pH.
    pub ph: f64,
    /// Its standard deviation.
    pub sd: f64,
}

/// A part of what is not known.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShareForm {
    /// Of what.
    pub of: String,
    /// How much, 0 to 1.
    pub share: f64,
}

/// A reading as that of a cooled sample.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReadingForm {
    /// What a cooled sample would read.
    pub ph: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// By how much it was moved for that.
    pub moved_ph: f64,
    /// Whether it counts; one taken too early does not.
    pub counts: bool,
}

/// A way of moving the mash.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WayForm {
    /// With what.
    pub what: String,
    /// What to give first.
    pub first: AmountForm,
    /// What it should come to in all.
    pub full: AmountForm,
    /// The least that the aim may ask for, two standard deviations down.
    pub least: AmountForm,
    /// The most that it may ask for, two standard deviations up.
    pub most: AmountForm,
    /// Where the mash should stand after the first part.
    pub after_first: PhForm,
    /// Where it should stand after all of it.
    pub after_full: PhForm,
    /// Whether it reaches the aim.
    pub reaches_the_aim: bool,
    /// The same in words.
    pub text: String,
    /// Remarks.
    pub notes: Vec<NoteForm>,
}

/// An amount, weighed or measured.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AmountForm {
    /// Where it is weighed.
    pub mass_g: Option<f64>,
    /// Where it is measured.
    pub volume_ml: Option<f64>,
}

/// What readings taught of the grist.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LearnedForm {
    /// The distilled-water pH of the grist against what its figures said.
    pub offset_ph: f64,
    /// Its standard deviation.
    pub offset_sd: f64,
    /// The buffering of the grist.
    pub buffering_meq_per_kg_ph: f64,
    /// Its standard deviation.
    pub buffering_sd: f64,
    /// Each malt with the figures that the next batch should take.
    pub malts: Vec<LearnedMaltForm>,
}

/// What was learned of a malt.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LearnedMaltForm {
    /// What it is called.
    pub name: String,
    /// The pH of its mash in distilled water.
    pub distilled_ph: PhForm,
    /// Its buffering.
    pub buffering_meq_per_kg_ph: f64,
    /// The standard deviation of that.
    pub buffering_sd: f64,
}

/// What to add for a reading that may come.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct IfItReadsForm {
    /// What a cooled sample reads.
    pub ph: f64,
    /// nothing, wait, read, lower, raise or out of reach.
    pub action: &'static str,
    /// With what.
    pub what: Option<String>,
    /// What to give first.
    pub first: Option<AmountForm>,
    /// What it should come to in all.
    pub full: Option<AmountForm>,
}

/// The JSON Schema of [`WaterMash`].
#[must_use]
pub fn water_mash_schema() -> Value {
    crate::wire::named::<WaterMash>("urn:gylewright:schema:water-mash:1")
}

impl WaterMash {
    /// The form of advice for a batch.
    #[must_use]
    pub fn of(r: &Reckoning, advice: &Advice, table: &[IfItReads]) -> Self {
        let aim = r.mash_aim();
        Self {
            schema: "gylewright/water-mash/1",
            predicted: ph(&advice.predicted),
            shares: shares(r)
                .into_iter()
                .map(|part| ShareForm {
                    of: part.of,
                    share: part.share.ratio(),
                })
                .collect(),
            readings: advice
                .cooled
                .iter()
                .map(|cooled| ReadingForm {
                    ph: cooled.ph.value.ph(),
                    sd: cooled.ph.sd(),
                    moved_ph: cooled.moved.ph(),
                    counts: cooled.counts,
                })
                .collect(),
            stands_at: ph(&advice.ph),
            aim_ph: aim.ph.ph(),
            aim_within_ph: aim.within.ph(),
            action: word(&advice.action),
            wait_min: match advice.action {
                Action::Wait { wait } => Some(wait.min()),
                _ => None,
            },
            ways: advice.ways.iter().map(way).collect(),
            learned: taught(advice).then(|| learned(r, advice)),
            if_it_reads: table.iter().map(IfItReadsForm::from).collect(),
            notes: advice.notes.iter().map(note).collect(),
            cautions: advice.cautions.iter().copied().map(caution).collect(),
        }
    }
}

fn learned(r: &Reckoning, advice: &Advice) -> LearnedForm {
    let learned = &advice.learned;
    LearnedForm {
        offset_ph: learned.offset.value.ph(),
        offset_sd: learned.offset.sd(),
        buffering_meq_per_kg_ph: learned.buffering.value.meq_per_kg_ph(),
        buffering_sd: learned.buffering.sd(),
        malts: learned
            .malts
            .iter()
            .zip(malt_names(r))
            .map(|(malt, name)| LearnedMaltForm {
                name,
                distilled_ph: ph(&malt.ph_di),
                buffering_meq_per_kg_ph: malt.buffer.value.meq_per_kg_ph(),
                buffering_sd: malt.buffer.sd(),
            })
            .collect(),
    }
}

fn way(dose: &Dose) -> WayForm {
    WayForm {
        what: dose.what.name().to_owned(),
        first: amount(dose.first),
        full: amount(dose.full),
        least: amount(dose.least),
        most: amount(dose.most),
        after_first: ph(&dose.after_first),
        after_full: ph(&dose.after_full),
        reaches_the_aim: dose.reaches,
        text: dose.text.clone(),
        notes: dose.notes.iter().map(note).collect(),
    }
}

impl From<&IfItReads> for IfItReadsForm {
    fn from(line: &IfItReads) -> Self {
        let dose = line.dose.as_ref();
        Self {
            ph: line.reads.ph(),
            action: word(&line.action),
            what: dose.map(|dose| dose.what.name().to_owned()),
            first: dose.map(|dose| amount(dose.first)),
            full: dose.map(|dose| amount(dose.full)),
        }
    }
}

fn ph(measured: &Measured<Ph>) -> PhForm {
    PhForm {
        ph: measured.value.ph(),
        sd: measured.sd(),
    }
}

fn amount(amount: Amount) -> AmountForm {
    match amount {
        Amount::Mass(mass) => AmountForm {
            mass_g: Some(mass.g()),
            volume_ml: None,
        },
        Amount::Volume(volume) => AmountForm {
            mass_g: None,
            volume_ml: Some(1000.0 * volume.l()),
        },
    }
}

const fn word(action: &Action) -> &'static str {
    match action {
        Action::Nothing => "nothing",
        Action::Wait { .. } => "wait",
        Action::Read => "read",
        Action::Lower => "lower",
        Action::Raise => "raise",
        Action::OutOfReach { .. } => "out of reach",
    }
}

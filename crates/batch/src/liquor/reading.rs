//! A meter in the mash: from the readings of a document to advice, and the table for
//! the brew day.
//!
//! ```
//! use batch::{Document, Reckoning};
//! use water::mash_reading::Action;
//! let text = include_str!("../../../../examples/lantern-pale.toml")
//!     .replace("[boil]", "[[mash.reading]]\nph = \"5.80 ± 0.03\"\nafter = \"15 min\"\n\n[boil]");
//! let (document, assumptions) = Document::read(&text).map_err(|faults| faults[0].to_string())?;
//! let reckoning = Reckoning::of(document, assumptions).map_err(|fault| fault.to_string())?;
//! let advice = reckoning.reading.ok_or("a reading is answered")?;
//! assert_eq!(advice.action, Action::Lower);
//! # Ok::<(), String>(())
//! ```

mod shares;
mod typed;
mod words;

use quantity::{Duration, Measured, Ph, PhShift, Temperature};
use water::acids::AcidProduct;
use water::mash_ph::AcidMalt;
use water::mash_reading::{
    Action, Addition, Advice, AtHand, Compensation, Dose, MashAim, Reading, Remedy, advise,
};
use water::salts::Salt;
use water::{Amount, WaterError};

use crate::document::{AddedEntry, Document, ReadingEntry};
use crate::stream::{MashToRead, Reckoning};
use crate::words::ACID_MALT;

pub use shares::{Share, malt_names, shares};
pub use typed::{Typed, TypedAddition};
pub use words::{action_words, dose_words};

/// How near is near enough, where the aim says less \[pH\] (judgement: what a hand meter
/// can tell).
const WITHIN: f64 = 0.05;

/// What to add for a reading that may come.
#[derive(Debug, Clone, PartialEq)]
pub struct IfItReads {
    /// What a cooled sample would read, a quarter of an hour after mashing in.
    pub reads: Ph,
    /// What to do.
    pub action: Action,
    /// How much of what, the first of the ways; none where nothing is to be given.
    pub dose: Option<Dose>,
}

impl Reckoning {
    /// Where the mash is to land: what the aim says, or the middle of what is preferred.
    #[must_use]
    pub fn mash_aim(&self) -> MashAim {
        mash_aim(&self.document)
    }

    /// Where a cooled sample of the mash stands, by prediction and readings together;
    /// none without malt.
    #[must_use]
    pub fn mash_stands(&self) -> Option<Measured<Ph>> {
        let read = self.reading.as_ref().map(|advice| advice.ph);
        read.or(self.mash_ph.as_ref().map(|predicted| predicted.ph))
    }

    /// What readings mean and what to do, those of the document not counted unless they
    /// are among them. What the batch uses already stands first among the ways.
    ///
    /// # Errors
    /// [`WaterError`]: water that must not be used, or readings that cannot be.
    pub fn mash_advice(&self, readings: &[Reading]) -> Result<Advice, WaterError> {
        let given = self.mash_to_read()?;
        advice(&self.document, &given, readings, self.mash_aim())
    }

    /// What to add if the mash reads some tenths above or below the aim.
    ///
    /// # Errors
    /// As [`mash_advice`](Self::mash_advice).
    pub fn if_it_reads(&self) -> Result<Vec<IfItReads>, WaterError> {
        let given = self.mash_to_read()?;
        let aim = self.mash_aim();
        let few = few(&self.document)?;
        STEPS
            .iter()
            .map(|step| {
                let reads = Ph::from_ph(aim.ph.ph() + step);
                let reading = Reading {
                    ph: Measured::exactly(reads),
                    sample: COOLED,
                    compensation: Compensation::Automatic,
                    after_mash_in: SETTLED,
                    added: vec![],
                };
                let advice = advise(&given.mash, &[reading], aim, &few)?;
                let moves = matches!(advice.action, Action::Lower | Action::Raise);
                Ok(IfItReads {
                    reads,
                    dose: advice.ways.into_iter().next().filter(|_| moves),
                    action: advice.action,
                })
            })
            .collect()
    }
}

const STEPS: [f64; 7] = [-0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3];
const COOLED: Temperature = Temperature::from_c(20.0);
const SETTLED: Duration = Duration::from_h(0.25);

fn mash_aim(document: &Document) -> MashAim {
    let aim = document.aim.as_ref().and_then(|aim| aim.mash_ph);
    aim.map_or_else(MashAim::preferred, |ph| MashAim {
        ph: ph.value,
        within: PhShift::from_ph(ph.sd().max(WITHIN)),
    })
}

/// Whether there is something for the next batch to take over: a reading counted, and
/// it can be believed.
#[must_use]
pub fn taught(advice: &Advice) -> bool {
    advice.credible && advice.cooled.iter().any(|cooled| cooled.counts)
}

/// The readings of a document that were read; what was given before one that was not
/// counts with the next.
#[must_use]
pub fn readings(document: &Document) -> Vec<Reading> {
    let mut readings = vec![];
    let mut added: Vec<Addition> = vec![];
    for entry in &document.mash.readings {
        added.extend(entry.added.iter().filter_map(addition));
        if let Some(ph) = entry.ph {
            readings.push(reading(entry, ph, std::mem::take(&mut added)));
        }
    }
    readings
}

fn reading(entry: &ReadingEntry, ph: Measured<Ph>, added: Vec<Addition>) -> Reading {
    Reading {
        ph,
        sample: entry.temperature.value,
        compensation: entry.set_to.map_or(Compensation::Automatic, |set| {
            Compensation::FixedAt(set.value)
        }),
        after_mash_in: entry.after.value,
        added,
    }
}

fn addition(entry: &AddedEntry) -> Option<Addition> {
    let by_volume = entry.volume.map(|v| Amount::Volume(v.value));
    let by_mass = entry.mass.map(|m| Amount::Mass(m.value));
    Some(Addition {
        what: remedy(&entry.what).ok()?,
        amount: by_volume.or(by_mass)?,
    })
}

/// What a word names.
fn remedy(word: &str) -> Result<Remedy, WaterError> {
    if word.trim().eq_ignore_ascii_case(ACID_MALT) {
        return Ok(acid_malt());
    }
    match AcidProduct::named(word) {
        Ok(product) => Ok(Remedy::Acid(product)),
        Err(error) => Salt::named(word).map(Remedy::Salt).map_err(|_| error),
    }
}

fn acid_malt() -> Remedy {
    Remedy::AcidulatedMalt(AcidMalt::unmeasured(quantity::Mass::default()).acidity)
}

pub(crate) fn advice(
    document: &Document,
    given: &MashToRead,
    readings: &[Reading],
    aim: MashAim,
) -> Result<Advice, WaterError> {
    let mut advice = advise(&given.mash, readings, aim, &AtHand::usual()?)?;
    let used = used(document);
    let is_used = |dose: &Dose| used.contains(&dose.what.name());
    advice
        .ways
        .sort_by_key(|dose| (!dose.reaches, !is_used(dose)));
    Ok(advice)
}

/// The readings of a document answered; none where there are none, no malt, or the
/// water must not be used.
pub(crate) fn answered(
    document: &Document,
    given: impl FnOnce() -> Result<MashToRead, WaterError>,
) -> Result<Option<Advice>, WaterError> {
    let readings = readings(document);
    if readings.is_empty() {
        return Ok(None);
    }
    match given() {
        Err(WaterError::DoNotUse { .. }) => Ok(None),
        Err(other) => Err(other),
        Ok(given) if given.mash.malts.is_empty() => Ok(None),
        Ok(given) => advice(document, &given, &readings, mash_aim(document)).map(Some),
    }
}

/// What the plan puts into its waters.
fn used(document: &Document) -> Vec<&str> {
    let acids = document.water.acids.iter().map(|a| a.acid.as_str());
    let salts = document.water.salts.iter().map(|s| s.salt.as_str());
    acids.chain(salts).collect()
}

/// The acid of the plan, or lactic, and baking soda: what a table has room for.
fn few(document: &Document) -> Result<AtHand, WaterError> {
    let planned = document.water.acids.first();
    let acid = planned.map_or("lactic acid 80 %", |acid| acid.acid.as_str());
    let names = [acid, "baking soda"];
    let mut at_hand = AtHand::usual()?;
    at_hand
        .remedies
        .retain(|stocked| names.contains(&stocked.what.name()));
    Ok(at_hand)
}

#[cfg(test)]
mod tests;

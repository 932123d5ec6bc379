//! What is dissolved in the waters of a batch as what, and what heat, air, a boil,
//! lime and acid make of it.
//!
//! ```
//! use batch::liquor::dissolved::{Question, dissolved};
//! use batch::{Document, Reckoning};
//! let text = include_str!("../../../../examples/lantern-pale.toml");
//! let (document, assumptions) = Document::read(text).map_err(|faults| faults[0].to_string())?;
//! let reckoning = Reckoning::of(document, assumptions).map_err(|fault| fault.to_string())?;
//! let question = Question { of: "sparge".to_owned(), to: "5.6".to_owned(), ..Question::default() };
//! let found = dissolved(&reckoning, &question).map_err(|error| error.to_string())?;
//! assert!(found.wrong.is_empty() && found.acid.is_some());
//! # Ok::<(), String>(())
//! ```

mod changes;
mod doses;
mod question;
mod sure;
mod waters;

use quantity::{Caution, Note, Temperature};
use water::WaterError;
use water::analysis::verdict;
use water::speciation::{
    Decarbonated, LimeDose, OUTDOOR_AIR, Speciated, SpeciationError, boil, lime_dose,
};

use crate::certainty::Between;
use crate::liquor::Wrong;
use crate::plan::source_water;
use crate::stream::Reckoning;

pub(in crate::liquor) use doses::sparge_alkalinity_at;
pub use doses::{Acid, AcidAim, Lime};
pub use question::{Question, SPARGE_PH};
pub use sure::{AcidSure, DoseSure, StateSure, Sure, sure};
pub use waters::Which;

/// Why a water has no chemistry.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{water}: {why}")]
pub struct DissolvedError {
    /// The water.
    pub water: String,
    /// Why.
    pub why: SpeciationError,
}

/// What is known of a water at a glance.
#[derive(Debug, Clone, PartialEq)]
pub struct Glance {
    /// As it is drawn.
    pub is: Speciated,
    /// Heated to the strike; none without a mash.
    pub strike: Option<Speciated>,
    /// Boiled and poured off its chalk.
    pub boiled: Decarbonated,
    /// The lime that takes its bicarbonate out; none where there is none to take, or
    /// no advice is given.
    pub lime: Option<LimeDose>,
}

/// What is dissolved in a water, and what can be made of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Dissolved {
    /// Which water of the batch.
    pub of: Which,
    /// What it is called.
    pub name: String,
    /// As it is.
    pub is: Speciated,
    /// Heated, with nothing leaving.
    pub heated: Speciated,
    /// After it has stood open to air.
    pub open: Speciated,
    /// Boiled and poured off its chalk; none for a liquor, which is past that.
    pub boiled: Option<Decarbonated>,
    /// Limed; none for a liquor, and where there is nothing for lime to take out.
    pub lime: Option<Lime>,
    /// Brought down with acid; none where that cannot be.
    pub acid: Option<Acid>,
    /// Why no dose is advised, for a water that must not be used.
    pub refused: Option<WaterError>,
    /// What cannot be read in the question, or cannot be done.
    pub wrong: Vec<Wrong>,
}

/// The state of a water with nothing done to it.
pub const AS_IT_IS: &str = "as it is";
/// Heated, with nothing leaving.
pub const HEATED: &str = "heated";
/// Boiled as far as practice goes.
pub const BOILED_OFF: &str = "boiled, poured off";
/// Boiled for as long as chalk forms.
pub const BOILED_TO_THE_END: &str = "boiled to the end";

/// A state of a water, and what was done to bring it about.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// In words.
    pub name: &'static str,
    /// What it then holds.
    pub is: Speciated,
}

impl Reckoning {
    /// The blended tap at a glance.
    ///
    /// # Errors
    /// [`DissolvedError`], where figures do not go together.
    pub fn glance(&self) -> Result<Glance, DissolvedError> {
        let made = || {
            let tap = waters::tap(&self.document)?;
            let strike = self.mash.heat.as_ref().map(|heat| heat.strike_temperature);
            let heated = |to| tap.heated(to).map(|hot| hot.speciated());
            let advised = self.water.tap.verdict.usable() && doses::has_bicarbonate(&tap);
            Ok(Glance {
                is: tap.speciated(),
                strike: strike.map(heated).transpose()?,
                boiled: boil(&tap, OUTDOOR_AIR)?,
                lime: advised.then(|| lime_dose(&tap)).transpose()?,
            })
        };
        made().map_err(|why| DissolvedError {
            water: self.water.tap.water.name.clone(),
            why,
        })
    }
}

/// Answers a question about a water of a batch.
///
/// What of the question cannot be read or done is told in [`Dissolved::wrong`], and
/// all the rest is answered.
///
/// # Errors
/// [`DissolvedError`], where the figures of the water do not go together.
pub fn dissolved(r: &Reckoning, question: &Question) -> Result<Dissolved, DissolvedError> {
    let mut wrong = vec![];
    let of = question::which(&question.of, r, &mut wrong);
    let name = of.name(r);
    let usual = r
        .mash
        .heat
        .as_ref()
        .map_or(HOT, |heat| heat.strike_temperature);
    let to = question::temperature(&question.temperature, &mut wrong).unwrap_or(usual);
    let refused = refusal(of, r);
    let made = |wrong: &mut Vec<Wrong>| {
        let water = waters::whole(of, r)?;
        let advised = refused.is_none();
        Ok(Dissolved {
            is: water.speciated(),
            heated: water.heated(to)?.speciated(),
            open: water.open_to(OUTDOOR_AIR)?.speciated(),
            boiled: (!of.is_liquor())
                .then(|| boil(&water, OUTDOOR_AIR))
                .transpose()?,
            lime: if advised && !of.is_liquor() {
                doses::lime_of(&water, question, of.volume(r), wrong)?
            } else {
                None
            },
            acid: if advised {
                doses::acid_of(r, of, question, wrong)?
            } else {
                None
            },
            refused: refused.clone(),
            wrong: vec![],
            of,
            name: name.clone(),
        })
    };
    let found = made(&mut wrong).map_err(|why| DissolvedError {
        water: name.clone(),
        why,
    })?;
    Ok(Dissolved { wrong, ..found })
}

/// Where there is no mash to heat for: a little below the boil.
const HOT: Temperature = Temperature::from_c(75.0);

fn refusal(of: Which, r: &Reckoning) -> Option<WaterError> {
    let allowed = match of.source().and_then(|n| r.document.water.sources.get(n)) {
        Some(source) => {
            let water = source_water(source);
            verdict(&water).allow_advice(&water.name)
        }
        None => {
            let tap = &r.water.tap;
            tap.verdict.allow_advice(&tap.water.name)
        }
    };
    allowed.err()
}

impl Dissolved {
    /// What becomes of the water, one way beside the other.
    #[must_use]
    pub fn states(&self) -> Vec<State> {
        let state = |name, is: &Speciated| State {
            name,
            is: is.clone(),
        };
        let mut states = vec![
            state(AS_IT_IS, &self.is),
            state(HEATED, &self.heated),
            state("stood open to air", &self.open),
        ];
        if let Some(boiled) = &self.boiled {
            states.push(state(BOILED_OFF, &boiled.likely.speciated()));
            states.push(state(BOILED_TO_THE_END, &boiled.end_point.speciated()));
        }
        states.extend(self.lime.as_ref().map(|l| state("limed", &l.settled)));
        states
    }

    /// All remarks, each once.
    #[must_use]
    pub fn notes(&self) -> Vec<Note> {
        let acid = self.acid.iter().flat_map(Acid::notes);
        let lime = self.lime.iter().flat_map(|l| &l.dose.notes);
        let mut notes: Vec<Note> = vec![];
        let boiled = self.boiled.iter().flat_map(|b| &b.notes);
        let all = self.is.notes.iter().chain(boiled);
        for note in all.chain(lime).chain(acid) {
            if !notes.contains(note) {
                notes.push(note.clone());
            }
        }
        notes
    }

    /// What can hurt someone, each once.
    #[must_use]
    pub fn cautions(&self) -> Vec<Caution> {
        let lime = self.lime.iter().flat_map(|l| &l.dose.cautions);
        let acid = self.acid.iter().flat_map(|a| &a.closed.cautions);
        let boiled = self.boiled.iter().flat_map(|b| &b.cautions);
        let all = self.heated.cautions.iter().chain(boiled);
        let mut cautions: Vec<Caution> = all.chain(lime).chain(acid).copied().collect();
        cautions.sort_unstable();
        cautions.dedup();
        cautions
    }
}

/// What chalk does in a water of this saturation index, in words. Within a tenth of
/// balance nothing happens that anyone would see (judgement).
#[must_use]
pub fn saturation_words(index: f64) -> String {
    let words = match index {
        i if i > 0.1 => "would scale",
        i if i < -0.1 => "dissolves chalk",
        _ => "in balance",
    };
    format!("{words}: {index:+.2}")
}

/// Between which saturation indices it is, printed.
#[must_use]
pub fn saturation_between(between: Between<f64>) -> String {
    format!("{:+.2} to {:+.2}", between.low, between.high)
}

#[cfg(test)]
mod tests;

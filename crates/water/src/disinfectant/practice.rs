//! What a supply keeps, judged by a report, a figure or a smell.
//!
//! Every sign multiplies the odds of chloramine against free chlorine. The odds
//! and the signs are rows of `data/chloramine_practice.toml`, all of them
//! judgement: what comes out is a graded opinion with its reasons, and the test
//! that would settle it.

mod rows;
mod shares;

use quantity::{Alkalinity, Ammonium, Chlorine, Fraction, Mark, Measured, Note, Source};

use super::DisinfectantError;
use crate::check;
use crate::state::SourceWater;
use rows::{Sign, table};

/// Where the water comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Region {
    /// Most supplies keep a little free chlorine, or nothing.
    Europe,
    /// Many supplies keep chloramine.
    UnitedStates,
    /// Anywhere else.
    Elsewhere,
}

/// What the tap smells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Smell {
    /// Of a swimming pool.
    SwimmingPool,
    /// Of bleach.
    Bleach,
    /// Of nothing.
    Nothing,
}

/// What is known of a supply; each of it may be missing.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Where the water comes from.
    pub region: Region,
    /// What the report or the supplier says, in its words.
    pub words: String,
    /// Total chlorine, where it is called that.
    pub total: Option<Measured<Chlorine>>,
    /// Free chlorine, where it is called that.
    pub free: Option<Measured<Chlorine>>,
    /// A figure that is only called "chlorine" or "residual".
    pub unnamed: Option<Measured<Chlorine>>,
    /// Ammonium.
    pub ammonium: Option<Ammonium>,
    /// What the tap smells of.
    pub smell: Option<Smell>,
}

impl Known {
    /// Nothing but the region.
    #[must_use]
    pub fn in_region(region: Region) -> Self {
        Self {
            region,
            words: String::new(),
            total: None,
            free: None,
            unnamed: None,
            ammonium: None,
            smell: None,
        }
    }
}

/// What a supply keeps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Practice {
    /// Free chlorine.
    FreeChlorine,
    /// Chloramine.
    Chloramine,
}

/// How far a judgement goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// It may be either.
    Open,
    /// One is likelier, by four to one or more.
    Likely,
    /// There is hardly a doubt, thirty to one or more.
    Shown,
}

/// A sign and what it does to the odds.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// The sign, in words.
    pub says: String,
    /// How many times it makes chloramine likelier; below one it speaks for free
    /// chlorine.
    pub times: f64,
    /// How that was obtained.
    pub mark: Mark,
}

/// What was judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// The likelier practice.
    pub practice: Practice,
    /// How far to trust that.
    pub grade: Grade,
    /// The probability that chloramine is kept (judgement).
    pub chloramine: Fraction,
    /// What speaks for and against it, the region first.
    pub reasons: Vec<Reason>,
    /// Free chlorine, with what it may be.
    pub free: Measured<Chlorine>,
    /// Combined chlorine, with what it may be.
    pub combined: Measured<Chlorine>,
    /// Total chlorine, with what it may be.
    pub total: Measured<Chlorine>,
    /// What to ask the supplier.
    pub ask: Vec<String>,
    /// The tests that settle it.
    pub settle: Vec<String>,
    /// Where the odds come from.
    pub source: Source,
    /// Remarks.
    pub notes: Vec<Note>,
}

impl Judgement {
    /// A water that holds what was judged, and no ions yet.
    #[must_use]
    pub fn water(&self, name: &str, alkalinity: Alkalinity) -> SourceWater {
        self.put_into(SourceWater {
            alkalinity,
            ..SourceWater::named(name)
        })
    }

    /// The same water with the chlorine that was judged.
    #[must_use]
    pub fn put_into(&self, water: SourceWater) -> SourceWater {
        SourceWater {
            total_chlorine: self.total,
            free_chlorine: Some(self.free),
            ..water
        }
    }
}

/// Judges what a supply keeps, and how much.
///
/// log-odds add: ln(odds) = ln(odds of the region) + Σ ln(ratio of each sign). The
/// signs are treated as if they did not depend on each other, which overstates
/// them a little. Free and combined chlorine are ranges wherever a figure is
/// missing; nothing is filled in as if it had been measured.
///
/// # Errors
/// [`WaterError::OutOfBounds`](crate::WaterError::OutOfBounds), and
/// [`WaterError::FreeAboveTotal`](crate::WaterError::FreeAboveTotal) where free
/// chlorine is above total by more than both are uncertain.
pub fn judge(known: &Known) -> Result<Judgement, DisinfectantError> {
    checked(known)?;
    let region = table().region(known.region);
    let mut reasons = vec![Reason {
        says: format!("without any sign, in this region: {}", region.source.text),
        times: region.odds,
        mark: region.source.mark,
    }];
    reasons.extend(signs(known));
    let log_odds: f64 = reasons.iter().map(|reason| reason.times.ln()).sum();
    let chloramine = 1.0 / (1.0 + (-log_odds).exp());
    let (practice, sure) = if chloramine >= 0.5 {
        (Practice::Chloramine, chloramine)
    } else {
        (Practice::FreeChlorine, 1.0 - chloramine)
    };
    let grade = match sure {
        p if p >= 30.0 / 31.0 => Grade::Shown,
        p if p >= 0.8 => Grade::Likely,
        _ => Grade::Open,
    };
    let held = shares::held(known, practice, grade, chloramine)?;
    Ok(Judgement {
        practice,
        grade,
        chloramine: Fraction::from_ratio(chloramine),
        reasons,
        ask: ask(known, grade),
        settle: settle(known, grade),
        source: table().about.clone(),
        notes: notes(known, &held),
        free: held.free,
        combined: held.combined,
        total: held.total,
    })
}

fn checked(known: &Known) -> Result<(), DisinfectantError> {
    for (what, given) in [
        ("total chlorine", &known.total),
        ("free chlorine", &known.free),
        ("chlorine", &known.unnamed),
    ] {
        if let Some(given) = given {
            check::measured(what, given)?;
        }
    }
    if let Some(ammonium) = known.ammonium {
        check::within("ammonium", ammonium)?;
    }
    Ok(())
}

/// Ammonium that a supply would not hold beside free chlorine, and what counts as
/// none \[mg/L\]: 0.1 and 0.05 mg/L as N (judgement).
const AMMONIUM_THERE_MG_PER_L: f64 = 0.13;
const AMMONIUM_NONE_MG_PER_L: f64 = 0.065;
/// From here on a residual is kept for long mains \[mg/L as Cl₂\] (judgement).
const MUCH_MG_PER_L: f64 = 2.0;

fn signs(known: &Known) -> Vec<Reason> {
    let mut reasons = table().of_words(&known.words);
    let mut sign = |sign: Sign| reasons.push(table().sign(sign));
    if let (Some(total), Some(free)) = (known.total, known.free) {
        let total_mg = total.value.mg_per_l();
        let combined = total_mg - free.value.mg_per_l();
        // A difference that lies within the noise of both says nothing.
        let noise = total.sd().hypot(free.sd());
        if total_mg > 0.0 && total_mg > 2.0 * noise {
            match combined / total_mg {
                share if share >= 0.7 => sign(Sign::CombinedMost),
                share if share >= 0.3 => sign(Sign::CombinedSome),
                _ => sign(Sign::CombinedLittle),
            }
        }
    }
    if let Some(ammonium) = known.ammonium {
        let holds_chlorine = known
            .total
            .or(known.free)
            .or(known.unnamed)
            .is_some_and(|c| c.value.mg_per_l() > 0.05);
        if ammonium.mg_per_l() >= AMMONIUM_THERE_MG_PER_L && holds_chlorine {
            sign(Sign::Ammonia);
        } else if ammonium.mg_per_l() < AMMONIUM_NONE_MG_PER_L {
            sign(Sign::NoAmmonia);
        }
    }
    match known.smell {
        Some(Smell::SwimmingPool) => sign(Sign::Pool),
        Some(Smell::Bleach) => sign(Sign::Bleach),
        Some(Smell::Nothing) => sign(Sign::Odourless),
        None => {}
    }
    let residual = known.total.or(known.unnamed);
    if residual.is_some_and(|c| c.value.mg_per_l() > MUCH_MG_PER_L) {
        sign(Sign::Much);
    }
    reasons
}

fn ask(known: &Known, grade: Grade) -> Vec<String> {
    let mut ask = vec![];
    if grade < Grade::Shown {
        ask.push(
            "Do you keep free chlorine or chloramine in the mains at this address, and do you \
             change over for some weeks of the year?"
                .to_owned(),
        );
    }
    if known.unnamed.is_some() {
        ask.push("Is the chlorine in your report free or total chlorine?".to_owned());
    }
    if known.total.is_none() {
        ask.push(
            "What total chlorine is usual at this end of the network, and what is the most?"
                .to_owned(),
        );
    }
    ask
}

fn settle(known: &Known, grade: Grade) -> Vec<String> {
    let mut settle = vec![];
    if known.total.is_none() || known.free.is_none() || grade < Grade::Shown {
        settle.push(
            "DPD on water drawn cold after a minute's run: No. 1 within a minute is free chlorine, \
             then No. 3 and two minutes is total. Much more total than free is chloramine."
                .to_owned(),
        );
        settle.push(
            "A strip with a field for free and one for total, in steps of 0.5 mg/L, settles it from \
             about 1 mg/L on."
                .to_owned(),
        );
    }
    settle
}

fn notes(known: &Known, held: &shares::Held) -> Vec<Note> {
    let mut notes = vec![];
    if known.words.to_lowercase().contains("chlorine dioxide") {
        notes.push(Note::look(
            "Chlorine dioxide is another disinfectant: DPD reads a part of it as chlorine, and it \
             is not reckoned here. Ask the supplier what is left at the tap.",
        ));
    }
    if known.smell == Some(Smell::SwimmingPool) {
        notes.push(Note::look(
            "The nose does not measure, and nitrogen trichloride is smelled at hundredths of a mg/L.",
        ));
    }
    if let Some(text) = &held.remark {
        notes.push(Note::look(text.clone()));
    }
    if known.total.is_none() {
        notes.push(Note::look(
            "Total chlorine was not measured: until it is, the dose has to cover the top of a wide \
             range.",
        ));
    }
    notes
}

#[cfg(test)]
mod tests;

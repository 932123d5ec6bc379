//! How chlorine, ammonia and chloramines turn into each other over time.
//!
//! The scheme of Jafvert & Valentine 1992 (Environ. Sci. Technol. 26(3), 577-586)
//! with the constants of Vikesland, Ozekin & Valentine 2001 (Water Res. 35(7),
//! 1766-1776): fourteen reactions among free ammonia, free chlorine, mono-, di-
//! and trichloramine and an intermediate, at a pH that is held. It knows no
//! organic matter, no light, no walls and no air, all of which only take chlorine
//! away. How fast chloramine goes hangs on the free ammonia beside it, which slows
//! it and is seldom known: 3 mg/L at pH 7.5 and 25 °C lose 0.8 mg/L in a day
//! without any, and 0.2 mg/L beside 0.2 mg/L of it as N.
//!
//! ```
//! use quantity::{Chlorine, Duration};
//! use water::chloramine::{Conditions, Start, course};
//!
//! // A covered bucket of chloraminated water, a week long.
//! let start = Start::of_monochloramine("3 mg/L".parse()?);
//! let around = Conditions {
//!     ph: "7.5".parse()?,
//!     temperature: "20 °C".parse()?,
//!     alkalinity: "100 mg/L as CaCO3".parse()?,
//! };
//! let week = course(&start, &around, &[Duration::from_h(168.0)])?;
//! assert!((week.moments[0].total().mg_per_l() - 1.30).abs() < 0.01);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod breakpoint;
mod constants;
mod model;
mod solve;

use quantity::{
    Alkalinity, Ammonium, Chlorine, Duration, Nitrate, Note, Ph, Quantity, Temperature,
    molar_mass as m,
};

use crate::error::WaterError;
use model::{Model, STATES};

pub use breakpoint::{BreakpointCurve, breakpoint_curve};
pub use constants::{Constants, Equilibrium, Rate, constants};

/// Why a course could not be reckoned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChloramineError {
    /// A figure that the model cannot take.
    #[error(transparent)]
    Water(#[from] WaterError),
    /// Times that do not rise.
    #[error("time {number} is before the one in front of it; give the times in rising order")]
    TimesNotRising {
        /// Which one, counted from one.
        number: usize,
    },
    /// The solver gave up.
    #[error(
        "the reactions could not be followed beyond {after}: {reason}; take a water nearer to tap water"
    )]
    Solver {
        /// How far it came.
        after: Duration,
        /// Why it stopped.
        reason: String,
    },
}

/// What is dissolved at the beginning.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Start {
    /// Free chlorine, HOCl and OCl⁻.
    pub free: Chlorine,
    /// Monochloramine, as Cl₂.
    pub monochloramine: Chlorine,
    /// Dichloramine, as Cl₂.
    pub dichloramine: Chlorine,
    /// Free ammonia, NH₃ and NH₄⁺ together, not that which is bound to chlorine.
    pub free_ammonia: Ammonium,
}

impl Start {
    /// Chlorine just dosed into water that holds ammonia.
    #[must_use]
    pub fn of_dose(chlorine: Chlorine, free_ammonia: Ammonium) -> Self {
        Self {
            free: chlorine,
            free_ammonia,
            ..Self::default()
        }
    }

    /// Water that holds monochloramine and no free ammonia.
    #[must_use]
    pub fn of_monochloramine(monochloramine: Chlorine) -> Self {
        Self {
            monochloramine,
            ..Self::default()
        }
    }
}

/// What the reactions run in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// The pH, taken to be held.
    pub ph: Ph,
    /// The temperature, taken to be held.
    pub temperature: Temperature,
    /// The alkalinity, whose carbonates help some reactions.
    pub alkalinity: Alkalinity,
}

/// A course over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// One for each time wanted.
    pub moments: Vec<Moment>,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// What is dissolved at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// When.
    pub time: Duration,
    /// Free chlorine.
    pub free: Chlorine,
    /// Monochloramine, as Cl₂.
    pub monochloramine: Chlorine,
    /// Dichloramine, as Cl₂; it smells of swimming pools.
    pub dichloramine: Chlorine,
    /// Trichloramine, as Cl₂; it smells strongest.
    pub trichloramine: Chlorine,
    /// Free ammonia, NH₃ and NH₄⁺.
    pub free_ammonia: Ammonium,
    /// The short-lived intermediate, taken to be HNO, counted as ammonium.
    pub intermediate: Ammonium,
    /// Nitrogen lost as gas, counted as ammonium.
    pub nitrogen_gas: Ammonium,
    /// Nitrate made.
    pub nitrate: Nitrate,
}

impl Moment {
    /// Combined chlorine, as a DPD test counts it.
    #[must_use]
    pub fn combined(&self) -> Chlorine {
        Chlorine::from_mg_per_l(
            self.monochloramine.mg_per_l()
                + self.dichloramine.mg_per_l()
                + self.trichloramine.mg_per_l(),
        )
    }

    /// Total chlorine, as a DPD test counts it.
    #[must_use]
    pub fn total(&self) -> Chlorine {
        Chlorine::from_mg_per_l(self.free.mg_per_l() + self.combined().mg_per_l())
    }
}

impl Course {
    /// When total chlorine first is at or below a level, by straight lines between
    /// the moments; none where it is not within the course.
    #[must_use]
    pub fn reaches(&self, level: Chlorine) -> Option<Duration> {
        let level = level.mg_per_l();
        let at = self
            .moments
            .iter()
            .position(|moment| moment.total().mg_per_l() <= level)?;
        let after = self.moments.get(at)?;
        let Some(before) = at.checked_sub(1).and_then(|i| self.moments.get(i)) else {
            return Some(after.time);
        };
        let (high, low) = (before.total().mg_per_l(), after.total().mg_per_l());
        let part = (high - level) / (high - low);
        Some(Duration::from_h(
            before.time.h() + part * (after.time.h() - before.time.h()),
        ))
    }
}

/// Follows a water over time.
///
/// Fourteen reactions with the rate constants of [`constants`], solved by backward
/// differences to seven digits. mg/L as Cl₂ count a dichloramine twice and a
/// trichloramine three times, as DPD tests do.
///
/// Range of validity: 5 to 35 °C and pH 6 to 9; outside the course carries a note.
///
/// # Errors
/// [`ChloramineError::Water`] where a figure is beyond what the model can take (up
/// to 1000 mg/L of chlorine, pH 4 to 11, 0 to 50 °C, alkalinity from 0 to
/// 40 mEq/L), [`ChloramineError::TimesNotRising`], and [`ChloramineError::Solver`].
pub fn course(
    start: &Start,
    around: &Conditions,
    times: &[Duration],
) -> Result<Course, ChloramineError> {
    let start_mol = moles(start)?;
    let model = model_of(around)?;
    let times_s = seconds(times)?;
    let states = solve::solve(&model, start_mol, &times_s)?;
    let moments = times
        .iter()
        .zip(states)
        .map(|(time, state)| moment(*time, &state))
        .collect();
    Ok(Course {
        moments,
        notes: notes(around),
    })
}

const CHLORINE_AT_MOST_MG_PER_L: f64 = 1000.0;
const AMMONIUM_AT_MOST_MG_PER_L: f64 = 1000.0;
/// Below this nothing is there.
const NOTHING_MOL_PER_L: f64 = 1e-14;

/// The start \[mol/L\].
fn moles(start: &Start) -> Result<[f64; STATES], ChloramineError> {
    let chlorine = |what: &str, value: Chlorine, pairs: f64| {
        let most = Chlorine::from_mg_per_l(CHLORINE_AT_MOST_MG_PER_L);
        between(what, value, Chlorine::default(), most)
            .map(|c| c.mg_per_l() / 1000.0 / m::CL2 / pairs)
    };
    let ammonia = between(
        "free ammonia",
        start.free_ammonia,
        Ammonium::default(),
        Ammonium::from_mg_per_l(AMMONIUM_AT_MOST_MG_PER_L),
    )?;
    Ok([
        ammonia.mmol_per_l() / 1000.0,
        chlorine("free chlorine", start.free, 1.0)?,
        chlorine("monochloramine", start.monochloramine, 1.0)?,
        chlorine("dichloramine", start.dichloramine, 2.0)?,
        0.0,
        0.0,
        0.0,
        0.0,
    ])
}

fn model_of(around: &Conditions) -> Result<Model, ChloramineError> {
    let ph = between("pH", around.ph, Ph::from_ph(4.0), Ph::from_ph(11.0))?;
    let temperature = between(
        "temperature",
        around.temperature,
        Temperature::from_c(0.0),
        Temperature::from_c(50.0),
    )?;
    let alkalinity = between(
        "alkalinity",
        around.alkalinity,
        Alkalinity::default(),
        Alkalinity::from_meq_per_l(40.0),
    )?;
    Ok(Model::new(
        ph.ph(),
        temperature.k(),
        alkalinity.meq_per_l() / 1000.0,
    ))
}

/// Refuses what lies outside of two limits, or is no number.
fn between<Q: Quantity>(what: &str, value: Q, min: Q, max: Q) -> Result<Q, WaterError> {
    if value.canonical().is_finite() && value >= min && value <= max {
        return Ok(value);
    }
    let unit = Q::UNITS.first();
    let written = |x: Q| unit.map_or(x.canonical(), |u| (u.from_canonical)(x.canonical()));
    Err(WaterError::OutOfBounds {
        what: what.to_owned(),
        given: written(value),
        min: written(min),
        max: written(max),
        unit: unit.map_or("", |u| u.symbol),
    })
}

fn seconds(times: &[Duration]) -> Result<Vec<f64>, ChloramineError> {
    let mut before = 0.0;
    let mut out = Vec::with_capacity(times.len());
    for (i, time) in times.iter().enumerate() {
        let h = crate::check::within("time wanted", *time)?.h();
        if h < before {
            return Err(ChloramineError::TimesNotRising { number: i + 1 });
        }
        before = h;
        out.push(h * 3600.0);
    }
    Ok(out)
}

/// A state in the units of the trade. The solver may leave a species below zero by
/// less than its tolerance, which is cut off here.
fn moment(time: Duration, state: &[f64; STATES]) -> Moment {
    let [ammonia, free, mono, di, tri, intermediate, gas, nitrate] = state.map(|x| {
        if x < NOTHING_MOL_PER_L {
            0.0
        } else {
            x * 1000.0
        }
    });
    let chlorine = |mmol: f64, pairs: f64| Chlorine::from_mg_per_l(mmol * pairs * m::CL2);
    let ammonium = |mmol: f64| Ammonium::from_mg_per_l(mmol * Ammonium::MOLAR_MASS);
    Moment {
        time,
        free: chlorine(free, 1.0),
        monochloramine: chlorine(mono, 1.0),
        dichloramine: chlorine(di, 2.0),
        trichloramine: chlorine(tri, 3.0),
        free_ammonia: ammonium(ammonia),
        intermediate: ammonium(intermediate),
        nitrogen_gas: ammonium(2.0 * gas),
        nitrate: Nitrate::from_mg_per_l(nitrate * Nitrate::MOLAR_MASS),
    }
}

fn notes(around: &Conditions) -> Vec<Note> {
    let c = constants();
    let mut notes = vec![];
    if around.temperature < c.coldest || around.temperature > c.warmest {
        notes.push(Note::look(format!(
            "The water is at {}; the rates of chloramine hold for {} to {}.",
            around.temperature, c.coldest, c.warmest
        )));
    }
    if around.ph < c.lowest_ph || around.ph > c.highest_ph {
        notes.push(Note::look(format!(
            "The water is at pH {}; the rates of chloramine hold for pH {} to {}.",
            around.ph, c.lowest_ph, c.highest_ph
        )));
    }
    notes
}

#[cfg(test)]
mod tests;

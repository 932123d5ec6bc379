//! Chlorine of a water that stands: chloramine by its kinetics, free chlorine by its
//! wide half-lives.

use quantity::{Ammonium, Chlorine, Duration, Measured, Note, Temperature, molar_mass as m};

use super::losses::{residual, standing};
use crate::analysis::free_and_combined;
use crate::chloramine::{ChloramineError, Conditions, Course, Start, course};
use crate::disinfectant::{chloramination, unknown_ph};
use crate::state::{ResidualChlorine, SourceWater};

/// Water as it is drawn; it warms while it stands, and chloramine then goes a little
/// faster (judgement).
pub(crate) const DRAWN_AT: Temperature = Temperature::from_c(12.0);

/// What is left of standing water over time.
pub(crate) struct Stood {
    pub(crate) residuals: Vec<ResidualChlorine>,
    pub(crate) notes: Vec<Note>,
}

/// What is left of a water's chlorine while it stands at a temperature.
///
/// Combined chlorine by the kinetic model, with the ammonia that a works leaves beside
/// it: a chlorine to nitrogen ratio of 4.5 expected, of 3 at most, the more ammonia the
/// slower. The bound is also no quicker than the 4 % a day that was measured in a closed
/// vessel. Free chlorine by its wide half-lives.
///
/// # Errors
/// [`ChloramineError`] where the reactions cannot be followed.
pub(crate) fn stood(
    water: &SourceWater,
    temperature: Temperature,
    times: &[Duration],
) -> Result<Stood, ChloramineError> {
    let (free, combined) = free_and_combined(water)?;
    let top = water.total_chlorine.upper().mg_per_l();
    let nothing = Measured::exactly(Chlorine::default());
    let sure_free = water.free_chlorine.unwrap_or(nothing).lower();
    let most_combined = (top - sure_free.mg_per_l()).max(0.0);
    let [usual, least] = chloramination();
    let around = Conditions {
        ph: water.ph.unwrap_or(unknown_ph()),
        temperature,
        alkalinity: water.alkalinity,
    };
    let expected = decaying(&around, combined.mg_per_l(), usual, times)?;
    let slowest = decaying(&around, most_combined, least, times)?;
    let losses = standing();
    let residuals = times.iter().enumerate().map(|(i, time)| {
        let at = |course: &Course| course.moments.get(i).map_or(0.0, |x| x.total().mg_per_l());
        let slow = at(&slowest).max(most_combined * losses.combined.remaining_at_most(*time));
        let free_left = sure_free.mg_per_l().min(top) * losses.free.remaining_at_most(*time);
        ResidualChlorine {
            free: Chlorine::from_mg_per_l(free.mg_per_l() * losses.free.remaining(*time)),
            combined: Chlorine::from_mg_per_l(at(&expected)),
            at_most: Chlorine::from_mg_per_l(slow + free_left),
        }
    });
    Ok(Stood {
        residuals: residuals.collect(),
        notes: expected.notes,
    })
}

/// What is left after a time in a vessel, as a plan has it: by half-lives alone, and
/// said to be, for a water that the reactions cannot be followed in.
pub(super) fn in_a_vessel(water: &SourceWater, time: Duration) -> (ResidualChlorine, Vec<Note>) {
    let followed = stood(water, DRAWN_AT, &[time]).ok();
    match followed.and_then(|stood| Some((stood.residuals.first().copied()?, stood.notes))) {
        Some(left) => left,
        None => (
            residual(water, standing(), time),
            vec![Note::look(
                "The reactions of chloramine cannot be followed in this water: what is left is by \
                 half-lives that were measured in others.",
            )],
        ),
    }
}

/// Chloramine that stands, with the free ammonia of the ratio that it was made at.
fn decaying(
    around: &Conditions,
    mono_mg_per_l: f64,
    ratio: f64,
    times: &[Duration],
) -> Result<Course, ChloramineError> {
    let bound_n = mono_mg_per_l / m::CL2 * m::N;
    let free_n = (mono_mg_per_l / ratio - bound_n).max(0.0);
    let start = Start {
        free_ammonia: Ammonium::from_mg_per_l(free_n / m::N * Ammonium::MOLAR_MASS),
        ..Start::of_monochloramine(Chlorine::from_mg_per_l(mono_mg_per_l))
    };
    course(&start, around, times)
}

//! From what a meter showed to what a cooled sample would read.

use quantity::{Duration, Measured, Note, Ph, PhShift, Spread, Temperature, ZERO_CELSIUS_K};

use super::{Compensation, Cooled, Reading};
use crate::check;
use crate::error::WaterError;
use crate::mash_ph::constants;

/// The least and the most that a meter can show in anything like a mash.
const READABLE: (f64, f64) = (3.0, 9.0);

/// Refuses what no meter shows in a mash.
pub(super) fn check(reading: &Reading) -> Result<(), WaterError> {
    check::measured("reading of the mash", &reading.ph)?;
    check::within("time after mashing in", reading.after_mash_in)?;
    let ph = reading.ph.value.ph();
    if !(READABLE.0..=READABLE.1).contains(&ph) {
        return Err(out("reading of the mash", ph, READABLE, "pH"));
    }
    temperatures(reading)
}

/// Refuses temperatures that no sample and no meter has.
fn temperatures(reading: &Reading) -> Result<(), WaterError> {
    check::within("temperature of the sample", reading.sample)?;
    if let Compensation::FixedAt(at) = reading.compensation {
        check::within("temperature that the meter is set to", at)?;
    }
    let c = reading.sample.c();
    if !(0.0..=100.0).contains(&c) {
        return Err(out("temperature of the sample", c, (0.0, 100.0), "°C"));
    }
    Ok(())
}

fn out(what: &str, given: f64, (min, max): (f64, f64), unit: &'static str) -> WaterError {
    WaterError::OutOfBounds {
        what: what.to_owned(),
        given,
        min,
        max,
        unit,
    }
}

/// Which readings count: those of a mash that has settled.
pub(super) fn settled(readings: &[Reading]) -> Vec<bool> {
    readings
        .iter()
        .enumerate()
        .map(|(n, reading)| left_to_settle(&readings[..=n], reading).h() <= 0.0)
        .collect()
}

/// How long the mash still takes to settle after the last of these readings.
pub(super) fn left_to_settle(readings: &[Reading], last: &Reading) -> Duration {
    let c = constants();
    let now_min = last.after_mash_in.min();
    let mashed = c.settled_min.value - now_min;
    let before = readings.iter().rev().nth(1);
    let stirred = match (before, last.added.is_empty()) {
        (Some(before), false) => c.stirred_min.value - (now_min - before.after_mash_in.min()),
        _ => 0.0,
    };
    // Minutes are kept as hours, and an hour's tenth is no binary fraction.
    let left = mashed.max(stirred);
    Duration::from_min(if left > 1e-6 { left } else { 0.0 })
}

/// The reading with the electrode's slope put right, the mash as hot as it is \[pH\].
///
/// An electrode gives no voltage at pH 7 and a slope that goes with the absolute
/// temperature (Nernst): pH = 7 + (shown − 7)·T_set/T.
pub(super) fn at_temperature(reading: &Reading) -> f64 {
    let shown = reading.ph.value.ph();
    match reading.compensation {
        Compensation::Automatic => shown,
        Compensation::FixedAt(set) => {
            let ratio = (set.c() + ZERO_CELSIUS_K) / (reading.sample.c() + ZERO_CELSIUS_K);
            7.0 + (shown - 7.0) * ratio
        }
    }
}

/// Degrees above a cooled sample \[K\].
pub(super) fn above_cooled(reading: &Reading) -> f64 {
    reading.sample.c() - constants().cooled_c.value
}

/// Standard deviation of the meter's calibration \[pH\].
pub(super) fn meter_sd(reading: &Reading) -> f64 {
    match reading.ph.spread {
        Spread::Unstated => constants().meter_sd.value,
        _ => reading.ph.sd(),
    }
}

/// Standard deviation that belongs to one reading alone \[pH\].
pub(super) fn own_sd(reading: &Reading) -> f64 {
    constants().sample_sd.value.hypot(uncompensated_sd(reading))
}

/// Standard deviation that a meter without temperature compensation adds \[pH\].
fn uncompensated_sd(reading: &Reading) -> f64 {
    match reading.compensation {
        Compensation::Automatic => 0.0,
        Compensation::FixedAt(set) => {
            constants().uncompensated_sd_per_k.value * (reading.sample.c() - set.c()).abs()
        }
    }
}

/// The reading as that of a cooled sample.
pub(super) fn cooled(reading: &Reading, counts: bool) -> Cooled {
    let c = constants();
    let k = above_cooled(reading);
    let value = at_temperature(reading) + c.ph_per_k.value * k;
    let sd = meter_sd(reading)
        .hypot(own_sd(reading))
        .hypot(c.ph_per_k_sd.value * k);
    Cooled {
        ph: Measured::with_sd(Ph::from_ph(value), sd),
        moved: PhShift::from_ph(value - reading.ph.value.ph()),
        counts,
    }
}

/// A reading of wort or beer \[pH\] as that of a sample at 20 °C, whatever the
/// temperature at which it was read; its spread is that of the meter.
///
/// pH₂₀ = 7 + (shown − 7)·T_set/T + 0.006·(T − 20): the electrode's slope where the meter
/// does not compensate (Nernst), which an instrument can put right, and the sample's own
/// fall with temperature, 0.006 ± 0.001 per K (of mash, from memory), which none can. Beer
/// is taken as mash is: within 10 K of 20 °C that is a few hundredths (judgement).
///
/// # Errors
/// [`WaterError::OutOfBounds`] outside 0 to 100 °C, or for a meter set to what no meter is.
///
/// ```
/// use quantity::{Measured, Ph, Temperature};
/// use water::mash_reading::{Compensation, as_cooled};
/// let shown = Measured::with_sd(Ph::from_ph(5.2), 0.03);
/// let cooled = as_cooled(shown, Temperature::from_c(65.0), Compensation::Automatic)?;
/// assert!((cooled.value.ph() - 5.47).abs() < 1e-9);
/// # Ok::<(), water::WaterError>(())
/// ```
pub fn as_cooled(
    shown: Measured<Ph>,
    sample: Temperature,
    compensation: Compensation,
) -> Result<Measured<Ph>, WaterError> {
    let reading = Reading {
        ph: shown,
        sample,
        compensation,
        after_mash_in: Duration::from_min(0.0),
        added: Vec::new(),
    };
    check::measured("reading", &reading.ph)?;
    temperatures(&reading)?;
    let c = constants();
    let k = above_cooled(&reading);
    let value = at_temperature(&reading) + c.ph_per_k.value * k;
    let sd = meter_sd(&reading)
        .hypot(uncompensated_sd(&reading))
        .hypot(c.ph_per_k_sd.value * k);
    Ok(Measured::with_sd(Ph::from_ph(value), sd))
}

/// Remarks on how it was read.
pub(super) fn notes(readings: &[Reading]) -> Vec<Note> {
    let c = constants();
    let mut notes = vec![];
    if readings
        .iter()
        .any(|r| above_cooled(r).abs() > 5.0 && r.compensation == Compensation::Automatic)
    {
        notes.push(Note::fine(
            "Automatic temperature compensation puts right the electrode's slope, not the mash: hot \
             mash truly has a lower pH than a cooled sample of it, by 0.2 to 0.35 at mash \
             temperature. The reading is brought to a cooled sample here.",
        ));
    }
    if readings.iter().any(|r| r.sample.c() > c.hot_sample_c.value) {
        notes.push(Note::look(
            "Cool the sample to room temperature before you read it: heat wears out the electrode, \
             and the correction for it is less sure than the meter.",
        ));
    }
    if readings.iter().any(|r| r.ph.spread == Spread::Unstated) {
        notes.push(Note::fine(format!(
            "The meter's own uncertainty is not said; ± {:.2} pH is taken (judgement). Calibrate it \
             with fresh buffers at pH 4 and 7.",
            2.0 * c.meter_sd.value
        )));
    }
    notes
}

//! A pH meter beside its buffers.

use std::f64::consts::LN_10;

use quantity::{Measured, Note, Ph, Temperature};

use crate::error::{WortError, check};

/// One buffer: what it is, and what the meter showed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Buffer {
    /// Its pH at its temperature, as its label has it.
    pub is: Measured<Ph>,
    /// Potential of the electrode \[mV\].
    pub shows_mv: f64,
}

/// How an electrode stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Electrode {
    /// Slope as a share of the Nernst slope \[%\].
    pub slope_percent: f64,
    /// Potential at pH 7 \[mV\]; nought for one like new.
    pub offset_mv: f64,
    /// What to know, and what to do.
    pub notes: Vec<Note>,
}

/// Molar gas constant over the Faraday constant \[mV/K\] (both exact, SI 2019).
const R_OVER_F_MV: f64 = 8.314_462_618_153_24 / 96_485.332_123_31 * 1000.0;

/// The slope that theory asks of an electrode \[mV per pH\]: ln 10 · R·T/F.
#[must_use]
pub fn nernst_slope_mv(at: Temperature) -> f64 {
    LN_10 * R_OVER_F_MV * at.k()
}

/// How an electrode stands by two buffers at one temperature.
///
/// slope = −(E₂ − E₁)/(pH₂ − pH₁) against [`nernst_slope_mv`]; the offset is E at pH 7
/// on the line through both. In use: 92 to 102 % and within ± 30 mV (common practice).
///
/// # Errors
/// [`WortError::Impossible`] for buffers nearer than one pH, or a temperature at which
/// no buffer is used.
pub fn electrode(one: Buffer, other: Buffer, at: Temperature) -> Result<Electrode, WortError> {
    check("temperature of the buffers", at.c(), "°C", 0.0, 60.0)?;
    let apart = other.is.canonical() - one.is.canonical();
    check("distance of the buffers", apart.abs(), "", 1.0, 14.0)?;
    for buffer in [one, other] {
        check("potential", buffer.shows_mv, "mV", -1000.0, 1000.0)?;
    }
    let slope = -(other.shows_mv - one.shows_mv) / apart;
    let slope_percent = 100.0 * slope / nernst_slope_mv(at);
    let offset_mv = one.shows_mv + slope * (one.is.canonical() - 7.0);
    let mut notes = Vec::new();
    if !(92.0..=102.0).contains(&slope_percent) {
        notes.push(Note::act(
            "the slope is outside 92 to 102 % of theory: clean the electrode, use fresh buffers, and replace it if that does not help",
        ));
    }
    if offset_mv.abs() > 30.0 {
        notes.push(Note::act(
            "more than 30 mV at pH 7: the reference of the electrode is spent or dirty; soak it in its storage solution, and replace it if that does not help",
        ));
    }
    notes.push(Note::fine(
        "calibrate on the day with buffers of about 4 and 7 whose temperature is that of the sample; rinse between them, store the electrode in its storage solution (3 mol/L KCl), never in pure water",
    ));
    notes.push(Note::fine(
        "automatic temperature compensation corrects the slope of the electrode, not the chemistry of the sample: cool mash samples to 20 to 25 °C",
    ));
    Ok(Electrode {
        slope_percent,
        offset_mv,
        notes,
    })
}

/// The pH behind a reading of a meter without temperature compensation that was
/// calibrated at another temperature: 7 + (shown − 7)·T_cal/T.
///
/// # Errors
/// [`WortError::Impossible`] for temperatures outside 0 to 100 °C.
pub fn uncompensated_ph(
    shown: Ph,
    at: Temperature,
    calibrated_at: Temperature,
) -> Result<Ph, WortError> {
    check("temperature of the sample", at.c(), "°C", 0.0, 100.0)?;
    check(
        "temperature of the buffers",
        calibrated_at.c(),
        "°C",
        0.0,
        60.0,
    )?;
    Ok(Ph::from_ph(
        7.0 + (shown.ph() - 7.0) * calibrated_at.k() / at.k(),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn buffer(ph: f64, mv: f64) -> Buffer {
        Buffer {
            is: Measured::exactly(Ph::from_ph(ph)),
            shows_mv: mv,
        }
    }

    /// ln 10 · R·T/F at round temperatures, as printed in handbooks of electrodes.
    #[test]
    fn the_slope_of_theory_is_the_printed_one() {
        for (c, mv) in [
            (0.0, 54.20),
            (20.0, 58.17),
            (25.0, 59.16),
            (50.0, 64.12),
            (100.0, 74.04),
        ] {
            let ours = nernst_slope_mv(Temperature::from_c(c));
            assert!((ours - mv).abs() < 5e-3, "{c}: {ours}");
        }
    }

    #[test]
    fn a_new_electrode_is_fine_and_a_spent_one_is_told() {
        let at = Temperature::from_c(25.0);
        let new = electrode(buffer(7.0, 0.0), buffer(4.0, 3.0 * 59.16), at).unwrap();
        assert!((new.slope_percent - 100.0).abs() < 0.01 && new.offset_mv.abs() < 1e-9);
        assert_eq!(new.notes.len(), 2);
        let spent = electrode(buffer(6.865, 40.0), buffer(4.005, 180.0), at).unwrap();
        assert!((spent.slope_percent - 100.0 * 140.0 / 2.86 / 59.159).abs() < 0.01);
        assert!((spent.offset_mv - (40.0 - 0.135 * 140.0 / 2.86)).abs() < 1e-9);
        assert!(
            spent.notes[0].text.contains("92 to 102"),
            "{:?}",
            spent.notes
        );
        assert!(spent.notes[1].text.contains("30 mV"));
        let near = electrode(buffer(7.0, 0.0), buffer(6.8, 12.0), at).unwrap_err();
        assert!(
            near.to_string().contains("distance of the buffers"),
            "{near}"
        );
    }

    /// A true 5.40 at 65 °C shows 5.19, and at 20 °C 5.43, on a meter of 25 °C that does
    /// not compensate (Nernst, by hand).
    #[test]
    fn a_meter_that_does_not_compensate_is_set_right() {
        let truly = |shown: f64, c: f64| {
            let at = Temperature::from_c(c);
            uncompensated_ph(Ph::from_ph(shown), at, Temperature::from_c(25.0))
                .unwrap()
                .ph()
        };
        assert!((truly(5.19, 65.0) - 5.40).abs() < 5e-3);
        assert!((truly(5.43, 20.0) - 5.40).abs() < 5e-3);
        let hot = Temperature::from_c(140.0);
        assert!(uncompensated_ph(Ph::from_ph(5.0), hot, hot).is_err());
    }
}

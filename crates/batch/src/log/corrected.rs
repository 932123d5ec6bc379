//! Readings set right by the instrument that they name.

use quantity::{Gravity, Measured, Ph, Quantity, Temperature};
use water::mash_reading::as_cooled;
use wort::instruments::{
    HydrometerReading, RefractometerReading, read_hydrometer, read_refractometer,
    read_refractometer_on_the_way, usual_wort_factor,
};

use super::{LogReading, What};
use crate::library::{Instrument, InstrumentKind};

/// A temperature counts for a reading that was taken within this of it \[ms\].
const TOGETHER_MS: i64 = 30 * 60_000;

/// A reading set right, in canonical units.
#[derive(Debug, Clone, PartialEq)]
pub struct Corrected {
    /// The number.
    pub value: f64,
    /// Its standard deviation: of the reading and of what was done to it.
    pub sd: f64,
    /// What the instrument would show were it right: after its checks, before anything
    /// that belongs to the sample.
    pub mark: f64,
    /// It was read after the day until which the checks hold, and its spread is wider.
    pub lapsed: bool,
    /// What was done, in words.
    pub done: Vec<&'static str>,
}

/// What else is known when a reading is set right.
#[derive(Debug, Clone, Copy, Default)]
pub struct Beside<'b> {
    /// Temperatures of the same sample or beer, by time.
    pub temperatures: &'b [LogReading],
    /// The instrument itself read those temperatures, so that they are the sample's.
    pub of_sample: bool,
    /// Gravity before fermentation.
    pub original: Option<Gravity>,
}

/// A reading set right by its instrument; none where the instrument reads something
/// else.
///
/// The correction of the checks is added first; after the day until which they hold the
/// spread is wider by [`InstrumentKind::lapsed_sd`]. A hydrometer with a stem temperature
/// is then brought to 20 °C by the temperature nearest in time (with the alcohol, where
/// the original gravity is known and the sample is below it); a refractometer's mark
/// becomes a gravity by the usual factor of wort, or that of beer where the original
/// gravity is known; pH is brought to a sample at 20 °C ([`as_cooled`]) where the meter
/// read the temperature of its sample. What cannot be corrected is left, and its spread
/// says so.
#[must_use]
pub fn corrected(
    reading: &LogReading,
    instrument: &Instrument,
    beside: Beside<'_>,
) -> Option<Corrected> {
    let fits = match instrument.kind {
        InstrumentKind::Thermometer => {
            matches!(reading.what, What::Temperature | What::Surroundings)
        }
        InstrumentKind::Hydrometer | InstrumentKind::Refractometer => reading.what == What::Gravity,
        InstrumentKind::PhMeter => reading.what == What::Ph,
    };
    if !fits {
        return None;
    }
    let mut out = checked(reading, instrument);
    match instrument.kind {
        InstrumentKind::Hydrometer => warmed(&mut out, reading, instrument, beside),
        InstrumentKind::Refractometer => refracted(&mut out, beside),
        InstrumentKind::PhMeter => cooled(&mut out, reading, instrument, beside),
        InstrumentKind::Thermometer => {}
    }
    out.value.is_finite().then_some(out)
}

/// A reading by the checks of its instrument alone.
fn checked(reading: &LogReading, instrument: &Instrument) -> Corrected {
    let mut out = Corrected {
        value: reading.canonical,
        sd: instrument.sd,
        mark: reading.canonical,
        lapsed: instrument.days_lapsed(reading.at_ms).is_some_and(|d| d > 0),
        done: Vec::new(),
    };
    if let Ok(Some(correction)) = instrument.correction() {
        let (by, sd) = correction.at(out.value);
        out.value += by;
        out.sd = out.sd.hypot(sd);
        out.done.push("set right by its checks");
    }
    if out.lapsed {
        out.sd = out.sd.hypot(instrument.kind.lapsed_sd());
        out.done.push("wider: its checks no longer hold");
    }
    out.mark = out.value;
    out
}

/// The temperature that was read nearest in time.
fn together(reading: &LogReading, beside: Beside<'_>) -> Option<Temperature> {
    let apart = |t: &&LogReading| t.at_ms.abs_diff(reading.at_ms);
    let nearest = beside.temperatures.iter().min_by_key(apart);
    nearest
        .filter(|t| apart(t) <= TOGETHER_MS.unsigned_abs())
        .map(|t| Temperature::from_canonical(t.canonical))
}

/// Brings a hydrometer's mark to 20 °C.
fn warmed(out: &mut Corrected, reading: &LogReading, instrument: &Instrument, beside: Beside<'_>) {
    let (Some(stem), Some(at)) = (instrument.stem, together(reading, beside)) else {
        return;
    };
    let asked = HydrometerReading {
        reading: Measured::with_sd(Gravity::from_plato(out.value), out.sd),
        at: Measured::with_sd(at, InstrumentKind::Thermometer.usual_sd()),
        calibrated_at: stem.value,
        original: beside.original.filter(|og| og.plato() > out.value),
    };
    if let Ok(found) = read_hydrometer(&asked) {
        out.value = found.gravity.canonical();
        out.sd = found.gravity.sd();
        out.done.push("brought to 20 °C");
    }
}

/// Brings a pH to that of a sample at 20 °C.
fn cooled(out: &mut Corrected, reading: &LogReading, instrument: &Instrument, beside: Beside<'_>) {
    let Some(at) = together(reading, beside).filter(|_| beside.of_sample) else {
        return;
    };
    let shown = Measured::with_sd(Ph::from_ph(out.value), out.sd);
    if let Ok(found) = as_cooled(shown, at, instrument.compensation()) {
        out.value = found.canonical();
        out.sd = found.sd();
        if instrument.set_to.is_some() {
            out.done.push("electrode's slope put right");
        }
        out.done.push("brought to a sample at 20 °C");
    }
}

/// Makes a gravity of a refractometer's mark.
fn refracted(out: &mut Corrected, beside: Beside<'_>) {
    let mark = |bx: f64, sd: f64| RefractometerReading {
        reading: Measured::with_sd(quantity::Brix::from_bx(bx), sd),
        uncompensated_at: None,
    };
    let factor = usual_wort_factor();
    let now = mark(out.value, out.sd);
    let before = beside
        .original
        .map(|og| og.plato() * factor.canonical())
        .filter(|before| *before > out.value + out.sd);
    let found = match before {
        Some(before) => read_refractometer_on_the_way(&mark(before, out.sd), &now, factor)
            .map(|gravity| (gravity, "alcohol taken out")),
        None => {
            read_refractometer(&now, factor).map(|found| (found.gravity, "by the factor of wort"))
        }
    };
    if let Ok((gravity, done)) = found {
        out.value = gravity.canonical();
        out.sd = gravity.sd();
        out.done.push(done);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::library::InstrumentCheck;

    fn reading(what: What, canonical: f64) -> LogReading {
        LogReading {
            instrument: "glass".to_owned(),
            what,
            at_ms: 1_773_480_000_000,
            value: canonical,
            unit: what.canonical_unit(),
            canonical,
            raw: String::new(),
            lapsed_sd: 0.0,
        }
    }

    fn instrument(kind: InstrumentKind) -> Instrument {
        Instrument {
            stem: Some(Measured::exactly(Temperature::from_c(20.0))),
            ..Instrument::usual("glass", kind)
        }
    }

    fn off_by(reference: f64, read: f64) -> InstrumentCheck {
        InstrumentCheck {
            day: None,
            reference: String::new(),
            read: String::new(),
            figures: [(reference, 0.0), (read, 0.0)],
        }
    }

    /// 1.048 at 28 °C on a stem of 20 °C is 1.0502 (ICUMSA densities and the glass of
    /// ISO 1768, as the hydrometer's own table has it).
    #[test]
    fn a_warm_hydrometer_is_brought_to_twenty_degrees() {
        let mark = Gravity::from_sg(1.048).plato();
        let warm = [reading(What::Temperature, 28.0)];
        let beside = Beside {
            temperatures: &warm,
            ..Beside::default()
        };
        let glass = instrument(InstrumentKind::Hydrometer);
        let found = corrected(&reading(What::Gravity, mark), &glass, beside).unwrap();
        assert!((Gravity::from_plato(found.value).sg() - 1.0502).abs() < 1e-4);
        assert!(found.sd > glass.sd && found.done == ["brought to 20 °C"]);
        let alone = corrected(&reading(What::Gravity, mark), &glass, Beside::default()).unwrap();
        assert!((alone.value - mark).abs() < 1e-12 && alone.done.is_empty());
        assert_eq!(
            corrected(&reading(What::Ph, 4.4), &glass, Beside::default()),
            None
        );
    }

    /// 6.29 °Bx after 1.048 is 1.0118 by the regression of Terrill (2011), with a factor
    /// of one; the usual factor of 1.04 moves it by less than two points.
    #[test]
    fn a_refractometer_in_beer_takes_the_alcohol_out() {
        let beside = Beside {
            original: Some(Gravity::from_sg(1.048)),
            ..Beside::default()
        };
        let scope = instrument(InstrumentKind::Refractometer);
        let found = corrected(&reading(What::Gravity, 6.29), &scope, beside).unwrap();
        let sg = Gravity::from_plato(found.value).sg();
        assert!((1.0095..1.0140).contains(&sg), "{sg}");
        assert_eq!(found.done, ["alcohol taken out"]);
        // The checks of the instrument come before the alcohol: the mark is what is off.
        let checked = Instrument {
            checks: vec![off_by(0.0, 0.4)],
            ..scope.clone()
        };
        let high = corrected(&reading(What::Gravity, 6.69), &checked, beside).unwrap();
        assert!((high.mark - 6.29).abs() < 1e-9 && (high.value - found.value).abs() < 1e-9);
        assert!(high.sd > found.sd);
        let wort = corrected(&reading(What::Gravity, 12.48), &scope, Beside::default()).unwrap();
        assert!((wort.value - 12.0).abs() < 1e-9, "{wort:?}");
    }

    /// 7 + (5.2 − 7)·298.15/338.15 + 0.006·45 = 5.6829, by hand: 25 °C is what the meter is
    /// set to, 65 °C what the sample has.
    #[test]
    fn a_ph_read_warm_is_brought_to_a_cooled_sample() {
        let warm = [reading(What::Temperature, 65.0)];
        let beside = Beside {
            temperatures: &warm,
            of_sample: true,
            original: None,
        };
        let meter = instrument(InstrumentKind::PhMeter);
        let shown = reading(What::Ph, 5.2);
        let found = corrected(&shown, &meter, beside).unwrap();
        assert!((found.value - 5.47).abs() < 1e-9, "{found:?}");
        assert!(found.sd > meter.sd && (found.mark - 5.2).abs() < 1e-12);
        let set = Instrument {
            set_to: Some(Temperature::from_c(25.0)),
            ..meter.clone()
        };
        let plain = corrected(&shown, &set, beside).unwrap();
        assert!((plain.value - 5.6829).abs() < 1e-4, "{plain:?}");
        assert!(plain.sd > found.sd && plain.done.len() == 2);
        // The temperature of the beer says nothing of a sample that was cooled.
        let of_beer = Beside {
            of_sample: false,
            ..beside
        };
        assert!((corrected(&shown, &meter, of_beer).unwrap().value - 5.2).abs() < 1e-12);
    }

    #[test]
    fn a_reading_after_the_checks_hold_no_longer_is_less_sure() {
        // The readings are of 14 March 2026.
        let until = |day: &str| Instrument {
            valid_until: Some(day.to_owned()),
            ..instrument(InstrumentKind::Thermometer)
        };
        let warm = reading(What::Temperature, 19.5);
        let holds = corrected(&warm, &until("2026-03-14"), Beside::default()).unwrap();
        assert!(!holds.lapsed && (holds.sd - 0.3).abs() < 1e-12);
        let late = corrected(&warm, &until("2026-03-13"), Beside::default()).unwrap();
        assert!(late.lapsed && late.done == ["wider: its checks no longer hold"]);
        // √(0.3² + 0.5²), by hand.
        assert!((late.sd - 0.583_095).abs() < 1e-6 && (late.value - holds.value).abs() < 1e-12);
    }
}

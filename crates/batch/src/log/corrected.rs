//! Readings set right by the instrument that they name.

use quantity::{Gravity, Measured, Quantity, Temperature};
use wort::instruments::{
    HydrometerReading, RefractometerReading, read_hydrometer, read_refractometer,
    read_refractometer_in_beer, usual_wort_factor,
};

use super::{LogReading, What};
use crate::library::{Instrument, InstrumentKind};

/// A temperature counts for a gravity that was read within this of it \[ms\].
const TOGETHER_MS: i64 = 30 * 60_000;

/// A reading set right, in canonical units.
#[derive(Debug, Clone, PartialEq)]
pub struct Corrected {
    /// The number.
    pub value: f64,
    /// Its standard deviation: of the reading and of what was done to it.
    pub sd: f64,
    /// What was done, in words.
    pub done: Vec<&'static str>,
}

/// What else is known when a reading is set right.
#[derive(Debug, Clone, Copy, Default)]
pub struct Beside<'b> {
    /// Temperatures of the same sample or beer, by time.
    pub temperatures: &'b [LogReading],
    /// Gravity before fermentation.
    pub original: Option<Gravity>,
}

/// A reading set right by its instrument; none where the instrument reads something
/// else.
///
/// A hydrometer with a stem temperature is brought to 20 °C by the temperature nearest
/// in time (with the alcohol, where the original gravity is known and the sample is
/// below it); a refractometer's mark becomes a gravity by the usual factor of wort, or
/// that of beer where the original gravity is known; then the correction of the checks
/// is added. What cannot be corrected is left, and its spread says so.
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
    let mut out = Corrected {
        value: reading.canonical,
        sd: instrument.sd,
        done: Vec::new(),
    };
    // The checks tell what the mark is off by, so they come first.
    if let Ok(Some(correction)) = instrument.correction() {
        let (by, sd) = correction.at(out.value);
        out.value += by;
        out.sd = out.sd.hypot(sd);
        out.done.push("set right by its checks");
    }
    match instrument.kind {
        InstrumentKind::Hydrometer => warmed(&mut out, reading, instrument, beside),
        InstrumentKind::Refractometer => refracted(&mut out, beside),
        InstrumentKind::Thermometer | InstrumentKind::PhMeter => {}
    }
    out.value.is_finite().then_some(out)
}

/// Brings a hydrometer's mark to 20 °C.
fn warmed(out: &mut Corrected, reading: &LogReading, instrument: &Instrument, beside: Beside<'_>) {
    let near = beside
        .temperatures
        .iter()
        .min_by_key(|t| t.at_ms.abs_diff(reading.at_ms))
        .filter(|t| t.at_ms.abs_diff(reading.at_ms) <= TOGETHER_MS.unsigned_abs());
    let (Some(stem), Some(at)) = (instrument.stem, near) else {
        return;
    };
    let asked = HydrometerReading {
        reading: Measured::with_sd(Gravity::from_plato(out.value), out.sd),
        at: Measured::with_sd(
            Temperature::from_canonical(at.canonical),
            InstrumentKind::Thermometer.usual_sd(),
        ),
        calibrated_at: stem.value,
        original: beside.original.filter(|og| og.plato() > out.value),
    };
    if let Ok(found) = read_hydrometer(&asked) {
        out.value = found.gravity.canonical();
        out.sd = found.gravity.sd();
        out.done.push("brought to 20 °C");
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
        Some(before) => read_refractometer_in_beer(&mark(before, out.sd), &now, factor)
            .map(|found| (found.analysis.apparent, "alcohol taken out")),
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

    fn reading(what: What, canonical: f64) -> LogReading {
        LogReading {
            instrument: "glass".to_owned(),
            what,
            at_ms: 1_773_480_000_000,
            value: canonical,
            unit: what.canonical_unit(),
            canonical,
            raw: String::new(),
        }
    }

    fn instrument(kind: InstrumentKind) -> Instrument {
        Instrument {
            name: "glass".to_owned(),
            kind,
            stem: Some(Measured::exactly(Temperature::from_c(20.0))),
            sd: kind.usual_sd(),
            valid_until: None,
            checks: Vec::new(),
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
            original: None,
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
            temperatures: &[],
            original: Some(Gravity::from_sg(1.048)),
        };
        let scope = instrument(InstrumentKind::Refractometer);
        let found = corrected(&reading(What::Gravity, 6.29), &scope, beside).unwrap();
        let sg = Gravity::from_plato(found.value).sg();
        assert!((1.0095..1.0140).contains(&sg), "{sg}");
        assert_eq!(found.done, ["alcohol taken out"]);
        let wort = corrected(&reading(What::Gravity, 12.48), &scope, Beside::default()).unwrap();
        assert!((wort.value - 12.0).abs() < 1e-9, "{wort:?}");
    }
}

//! The figures of `data/instruments.toml`, and the spread of a reading that says
//! nothing about itself.

use std::sync::LazyLock;

use quantity::density::specific_gravity_from_plato;
use quantity::{Gravity, Measured, Note, Quantity, Spread, Temperature, Units, show_measured};

use crate::figures::Figure;

const FILE: &str = "instruments.toml";
const TEXT: &str = include_str!("../../data/instruments.toml");

/// The whole file.
pub(crate) static FIGURES: LazyLock<Figures> =
    LazyLock::new(|| quantity::data::builtin(FILE, TEXT));

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Figures {
    pub(crate) hydrometer_reading: Figure,
    pub(crate) refractometer_reading: Figure,
    pub(crate) wort_factor: Figure,
    pub(crate) wort_factor_sd: Figure,
    pub(crate) thermometer: Figure,
    pub(crate) marked_volume: Figure,
    pub(crate) density_meter: Figure,
    pub(crate) spirit_strength: Figure,
    pub(crate) gas_in_sample: Figure,
    pub(crate) gas_in_sample_width: Figure,
    pub(crate) glass_expansion: Figure,
    pub(crate) real_extract_model: Figure,
    pub(crate) alcohol_model: Figure,
    pub(crate) final_by_refractometer: Figure,
    pub(crate) temperature_correction: TemperatureCorrection,
    pub(crate) final_gravity_linear: Regression,
    pub(crate) final_gravity_cubic: Regression,
    pub(crate) sucrose_index: Polynomial,
    pub(crate) ethanol_index: Polynomial,
    pub(crate) energy: Energy,
}

/// What to add to a reading \[°Bx\], by temperature and at three readings.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct TemperatureCorrection {
    /// Temperature \[°C\] and the corrections at the three readings.
    pub(crate) rows: Vec<(f64, f64, f64, f64)>,
    pub(crate) at_bx: (f64, f64, f64),
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "mark")]
    _mark: String,
}

/// Coefficients of the powers, from the first, of two readings.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Regression {
    pub(crate) initial: Vec<f64>,
    pub(crate) last: Vec<f64>,
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "mark")]
    _mark: String,
}

/// Coefficients, the constant first.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Polynomial {
    pub(crate) polynomial: Vec<f64>,
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "mark")]
    _mark: String,
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Energy {
    pub(crate) ethanol_kcal_per_g: f64,
    pub(crate) extract_kcal_per_g: f64,
    pub(crate) ash_percent: f64,
    #[serde(rename = "source")]
    _source: String,
    #[serde(rename = "mark")]
    _mark: String,
}

/// A reading with a spread: its own, or the usual one of its instrument in
/// canonical units, which a note then tells.
pub(crate) fn with_usual_spread<Q: Quantity>(
    reading: Measured<Q>,
    usual_sd: f64,
    instrument: &Figure,
    notes: &mut Vec<Note>,
) -> Measured<Q> {
    if !matches!(reading.spread, Spread::Unstated) {
        return reading;
    }
    let taken = Measured::with_sd(reading.value, usual_sd);
    let shown = show_measured(&taken, Units::Metric);
    let spread = shown.split_once("± ").map_or("", |(_, spread)| spread);
    let note = Note::fine(format!(
        "{} is taken as ± {spread}: {} ({}). Write ± behind the reading to say better.",
        Q::NAME,
        instrument.what,
        instrument.mark,
    ));
    if !notes.contains(&note) {
        notes.push(note);
    }
    taken
}

/// A gravity with the usual spread of a hydrometer.
pub(crate) fn gravity_with_spread(
    reading: Measured<Gravity>,
    notes: &mut Vec<Note>,
) -> Measured<Gravity> {
    let instrument = &FIGURES.hydrometer_reading;
    let sd = plato_of_sg(instrument.value, reading.canonical());
    with_usual_spread(reading, sd, instrument, notes)
}

/// A temperature with the usual spread of a thermometer.
pub(crate) fn temperature_with_spread(
    reading: Measured<Temperature>,
    notes: &mut Vec<Note>,
) -> Measured<Temperature> {
    let instrument = &FIGURES.thermometer;
    with_usual_spread(reading, instrument.value, instrument, notes)
}

/// A small difference of specific gravity as one of extract \[°P\], at an extract.
pub(crate) fn plato_of_sg(sg: f64, plato: f64) -> f64 {
    let slope = specific_gravity_from_plato(plato + 0.5) - specific_gravity_from_plato(plato - 0.5);
    sg / slope
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_names_its_source_and_how_it_was_obtained() {
        crate::figures::assert_sourced(FILE, TEXT, 20);
        assert!(FIGURES.glass_expansion.value < 1e-4);
    }

    /// Local slope of the table: 0.001 is 0.2482 °P near 1.024 and 0.2374 °P near
    /// 1.050 (ASBC polynomial, computed).
    #[test]
    fn a_point_of_gravity_is_about_a_quarter_of_a_degree_plato() {
        for (sg, plato) in [(1.024, 0.2482), (1.050, 0.2374)] {
            let ours = plato_of_sg(0.001, Gravity::from_sg(sg).plato());
            assert!((ours - plato).abs() < 4e-4, "{ours} against {plato}");
        }
    }

    #[test]
    fn a_spread_that_was_said_is_kept_and_no_note_is_made() {
        let mut notes = Vec::new();
        let said = "1.050 ± 0.002".parse().unwrap();
        assert_eq!(gravity_with_spread(said, &mut notes), said);
        assert!(notes.is_empty());
        let unsaid = gravity_with_spread("1.050".parse().unwrap(), &mut notes);
        assert!((unsaid.sd() - 0.2374).abs() < 1e-3);
        assert_eq!(
            notes[0].text,
            "gravity is taken as ± 0.0010: a hydrometer marked every 0.002, read to half a mark (common practice). Write ± behind the reading to say better."
        );
    }
}

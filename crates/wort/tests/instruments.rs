//! The instruments against values of an implementation apart from this one:
//! `reference/instruments.py`, NumPy and SciPy, which wrote `reference/instruments.toml`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on must stop")]

use quantity::{Brix, Gravity, Measured, Temperature, Volume, WortFactor};
use wort::instruments::{
    Change, HydrometerReading, RefractometerReading, Wanted, read_hydrometer,
    read_refractometer_in_beer, set_strength,
};

#[derive(serde::Deserialize)]
struct File {
    refraction: Vec<Refraction>,
    hydrometer: Vec<Hydrometer>,
    dilution: Vec<Dilution>,
}

#[derive(serde::Deserialize)]
struct Refraction {
    og: f64,
    fg: f64,
    factor: f64,
    bx: f64,
}

#[derive(serde::Deserialize)]
struct Hydrometer {
    og: f64,
    fg: f64,
    at_c: f64,
    stem_c: f64,
    shown: f64,
}

#[derive(serde::Deserialize)]
struct Dilution {
    litres: f64,
    plato: f64,
    at_c: f64,
    to_plato: f64,
    added_kg: f64,
    then_l: f64,
}

fn reference() -> File {
    toml::from_str(include_str!("reference/instruments.toml")).unwrap()
}

#[test]
fn a_refractometer_in_beer_finds_the_gravity_that_the_indices_were_summed_for() {
    let rows = reference().refraction;
    assert_eq!(rows.len(), 4);
    for row in rows {
        let bx = |bx: f64| RefractometerReading {
            reading: Measured::exactly(Brix::from_bx(bx)),
            uncompensated_at: None,
        };
        let before = Gravity::from_sg(row.og).plato() * row.factor;
        let factor = Measured::with_sd(WortFactor::from_ratio(row.factor), 0.01);
        let ours = read_refractometer_in_beer(&bx(before), &bx(row.bx), factor).unwrap();
        assert!((ours.by_index.unwrap().sg() - row.fg).abs() < 1e-9);
        assert!((ours.analysis.apparent.value.sg() - row.fg).abs() < 0.0025);
    }
}

#[test]
fn a_hydrometer_in_beer_finds_the_gravity_that_it_floats_in() {
    let rows = reference().hydrometer;
    assert_eq!(rows.len(), 4);
    for row in rows {
        let ours = read_hydrometer(&HydrometerReading {
            reading: Measured::exactly(Gravity::from_sg(row.shown)),
            at: Measured::exactly(Temperature::from_c(row.at_c)),
            calibrated_at: Temperature::from_c(row.stem_c),
            original: Some(Gravity::from_sg(row.og)),
        })
        .unwrap();
        let sg = ours.gravity.value.sg();
        assert!((sg - row.fg).abs() < 1e-9, "{sg} against {}", row.fg);
    }
}

#[test]
fn a_dilution_closes_the_balances_of_mass() {
    let rows = reference().dilution;
    assert_eq!(rows.len(), 4);
    for row in rows {
        let ours = set_strength(
            Measured::exactly(Volume::from_l(row.litres)),
            Measured::exactly(Gravity::from_plato(row.plato)),
            Wanted::Gravity(Gravity::from_plato(row.to_plato)),
            Temperature::from_c(row.at_c),
        )
        .unwrap();
        let sign = if ours.change == Change::Add {
            1.0
        } else {
            -1.0
        };
        assert!((sign * ours.water_mass.value.kg() - row.added_kg).abs() < 1e-8);
        assert!((ours.volume.value.l() - row.then_l).abs() < 1e-8);
    }
}

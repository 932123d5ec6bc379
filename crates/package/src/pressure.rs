//! The pressure in a closed bottle, and the gas that may still come.

use quantity::molar_mass as m;
use quantity::{Altitude, CarbonDioxide, GaugePressure, Gravity, Temperature, Volume};

use crate::carbonation::{atmosphere_bar, beer_temperature, henry_g_per_l_bar};
use crate::error::{PackageError, sound, within};
use crate::priming::{LEAST_VOLUME_L, REAL_PER_APPARENT, beer_kg_per_l};

/// Gas constant \[L·bar/(mol·K)\] (exact by the SI of 2019).
const GAS_L_BAR_PER_MOL_K: f64 = 0.083_144_626_181_532_4;

/// How a bottle is filled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fill {
    /// Beer in it.
    pub beer: Volume,
    /// Room above the beer.
    pub head_space: Volume,
    /// Whether the air was driven out of that room with CO₂ or foam.
    pub purged: bool,
}

impl Fill {
    /// A bottle with air above the beer.
    #[must_use]
    pub const fn with_air(beer: Volume, head_space: Volume) -> Self {
        Self {
            beer,
            head_space,
            purged: false,
        }
    }

    pub(crate) fn checked(&self) -> Result<(f64, f64), PackageError> {
        let beer_l = within("beer in a bottle", self.beer, LEAST_VOLUME_L, 1000.0)?.l();
        // More air than beer is no filled bottle.
        let head_l = within("head space of a bottle", self.head_space, 0.0, beer_l)?.l();
        Ok((beer_l, head_l))
    }
}

/// Gauge pressure \[bar\] in a closed bottle that holds so much CO₂ per litre
/// of beer, dissolved and above it together.
///
/// Solves m = k(t) p V_beer + (M/(R T)) p V_head for the pressure p of the CO₂
/// (k by [`Fit::Henry`](crate::Fit::Henry)), then adds trapped air, warmed
/// from the filling to the storage temperature, and water vapour. Air keeps
/// its full share, though yeast takes up the oxygen: the safe side. The real
/// gas lies at most 0.4 % below this up to 12 bar (CoolProp 8.0), as nearly all
/// of it is dissolved. Beer's own expansion is left out.
///
/// # Errors
/// [`PackageError::Impossible`] where a quantity cannot be.
pub fn final_pressure(
    held: CarbonDioxide,
    fill: &Fill,
    filled_at: Temperature,
    stored_at: Temperature,
    altitude: Altitude,
) -> Result<GaugePressure, PackageError> {
    let filled = beer_temperature(filled_at)?;
    let stored = beer_temperature(stored_at)?;
    let outside_bar = atmosphere_bar(altitude)?;
    let air_bar = if fill.purged {
        0.0
    } else {
        (outside_bar - vapour_bar(filled.c())) * stored.k() / filled.k()
    };
    let co2_bar = carbon_dioxide_bar(held, fill, stored)?;
    sound(
        "pressure in the bottle",
        GaugePressure::from_bar(co2_bar + air_bar + vapour_bar(stored.c()) - outside_bar),
    )
}

/// CO₂ \[g/L of beer\] in a closed vessel, dissolved and above it together, at a gauge
/// pressure of CO₂ and water vapour alone: [`final_pressure`] of a purged vessel, backwards.
///
/// # Errors
/// [`PackageError::Impossible`] where a quantity cannot be.
pub fn held_at(
    pressure: GaugePressure,
    fill: &Fill,
    temperature: Temperature,
    altitude: Altitude,
) -> Result<CarbonDioxide, PackageError> {
    let at = beer_temperature(temperature)?;
    let (beer_l, head_l) = fill.checked()?;
    let whole_bar = sound("pressure", pressure)?.bar() + atmosphere_bar(altitude)?;
    let co2_bar = (whole_bar - vapour_bar(at.c())).max(0.0);
    let in_gas = m::CO2 / (GAS_L_BAR_PER_MOL_K * at.k()) * head_l / beer_l;
    sound(
        "carbon dioxide in the vessel",
        CarbonDioxide::from_g_per_l((henry_g_per_l_bar(at.c()) + in_gas) * co2_bar),
    )
}

/// CO₂ in solution \[g/L\] in a closed bottle that holds so much per litre of
/// beer in all; the rest is in the head space.
///
/// # Errors
/// As [`final_pressure`].
pub fn in_solution(
    held: CarbonDioxide,
    fill: &Fill,
    temperature: Temperature,
) -> Result<CarbonDioxide, PackageError> {
    let at = beer_temperature(temperature)?;
    let co2_bar = carbon_dioxide_bar(held, fill, at)?;
    Ok(CarbonDioxide::from_g_per_l(
        henry_g_per_l_bar(at.c()) * co2_bar,
    ))
}

/// CO₂ \[g/L\] from extract that still ferments in the closed package, given as
/// a fall of the apparent extract from the gravity at filling.
///
/// Apparent °P · 0.8192 (Balling, from memory) · 10 ρ · 0.5144 g CO₂ per gram,
/// the yield of maltose without growth of yeast: the safe side. About 0.55 vol
/// for one point of gravity.
///
/// # Errors
/// [`PackageError::Impossible`] where a quantity is out of bounds or the fall
/// is negative.
pub fn carbon_dioxide_to_come(
    left: Gravity,
    gravity: Gravity,
) -> Result<CarbonDioxide, PackageError> {
    // A rounding error below zero is none.
    let apparent = within("extract that still ferments", left, -1e-6, 35.0)?
        .plato()
        .max(0.0);
    let density = beer_kg_per_l(sound("gravity", gravity)?);
    let real_g_per_l = apparent * REAL_PER_APPARENT * 10.0 * density;
    sound(
        "carbon dioxide to come",
        CarbonDioxide::from_g_per_l(real_g_per_l * 4.0 * m::CO2 / m::DISACCHARIDE),
    )
}

fn carbon_dioxide_bar(
    held: CarbonDioxide,
    fill: &Fill,
    at: Temperature,
) -> Result<f64, PackageError> {
    let (beer_l, head_l) = fill.checked()?;
    let grams = sound("carbon dioxide in the bottle", held)?.g_per_l() * beer_l;
    let head_g_per_bar = m::CO2 / (GAS_L_BAR_PER_MOL_K * at.k()) * head_l;
    Ok(grams / (henry_g_per_l_bar(at.c()) * beer_l + head_g_per_bar))
}

/// Vapour pressure of water \[bar\]: Alduchov & Eskridge 1996 (from memory),
/// within 0.3 % of IAPWS from 0 to 40 °C.
pub(crate) fn vapour_bar(temp_c: f64) -> f64 {
    6.1094e-3 * (17.625 * temp_c / (temp_c + 243.04)).exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carbonation::Fit;
    use proptest::prelude::*;

    const SEA: Altitude = Altitude::from_m(0.0);

    fn small(purged: bool) -> Fill {
        Fill {
            beer: Volume::from_l(0.330),
            head_space: Volume::from_l(0.015),
            purged,
        }
    }

    fn bar(volumes: f64, fill: &Fill, temp_c: f64) -> f64 {
        final_pressure(
            CarbonDioxide::from_volumes(volumes),
            fill,
            Temperature::from_c(20.0),
            Temperature::from_c(temp_c),
            SEA,
        )
        .unwrap()
        .bar()
    }

    proptest! {
        /// A closed vessel holds what its pressure says, and the other way round.
        #[test]
        fn what_is_held_gives_its_pressure_back(
            volumes in 0.5..5.0f64, temp_c in 0.0..40.0f64, head in 0.0..0.3f64, m in 0.0..2500.0f64,
        ) {
            let fill = Fill { beer: Volume::from_l(1.0), head_space: Volume::from_l(head), purged: true };
            let (at, altitude) = (Temperature::from_c(temp_c), Altitude::from_m(m));
            let held = CarbonDioxide::from_volumes(volumes);
            let pressure = final_pressure(held, &fill, at, at, altitude).unwrap();
            let back = held_at(pressure, &fill, at, altitude).unwrap();
            prop_assert!((back.volumes() - volumes).abs() < 1e-9);
        }
    }

    /// The same balance with the real gas, solved with CoolProp 8.0; 330 mL,
    /// 15 mL of air shut in at 20 °C. The ideal gas lies 0 to 0.4 % above.
    #[test]
    fn pressures_are_those_of_the_real_gas_or_a_little_above() {
        for (volumes, row) in [
            (2.0, [1.33, 1.65, 2.30, 2.68, 3.10, 4.06]),
            (2.5, [1.68, 2.08, 2.87, 3.34, 3.85, 5.04]),
            (3.0, [2.03, 2.50, 3.45, 4.00, 4.61, 6.02]),
            (3.5, [2.38, 2.93, 4.02, 4.66, 5.37, 7.01]),
            (4.0, [2.73, 3.35, 4.60, 5.33, 6.13, 7.99]),
            (4.5, [3.08, 3.77, 5.17, 5.99, 6.89, 8.97]),
            (5.0, [3.42, 4.20, 5.74, 6.65, 7.65, 9.95]),
            (6.0, [4.12, 5.04, 6.89, 7.97, 9.16, 11.91]),
        ] {
            for (temp_c, printed) in [4.0, 10.0, 20.0, 25.0, 30.0, 40.0].into_iter().zip(row) {
                let apart = bar(volumes, &small(false), temp_c) - printed;
                assert!(
                    (-0.006..=0.006 + 0.004 * printed).contains(&apart),
                    "{volumes} {temp_c}: {apart}"
                );
            }
        }
    }

    /// 2.5 vol at 20 °C, CoolProp 8.0: purged 1.88 bar; without any head space
    /// the pressure of the solubility fit, 2.01 bar, plus the water vapour and
    /// air that the balance counts apart.
    #[test]
    fn a_purged_bottle_holds_an_atmosphere_less() {
        assert!((bar(2.5, &small(true), 20.0) - 1.88).abs() < 0.006);
        let brimful = Fill {
            head_space: Volume::from_l(0.0),
            ..small(true)
        };
        let plain = Fit::Henry
            .pressure(
                CarbonDioxide::from_volumes(2.5),
                Temperature::from_c(20.0),
                SEA,
            )
            .unwrap();
        assert!((plain.bar() - 2.01).abs() < 0.006);
        assert!((bar(2.5, &brimful, 20.0) - plain.bar() - vapour_bar(20.0)).abs() < 1e-9);
    }

    /// IAPWS-95 saturation pressures \[Pa\], CoolProp 8.0.
    #[test]
    fn vapour_pressure_follows_iapws() {
        for (temp_c, pascal) in [
            (4.0, 813.5),
            (10.0, 1228.2),
            (20.0, 2339.3),
            (30.0, 4247.0),
            (40.0, 7384.9),
        ] {
            assert!(
                (vapour_bar(temp_c) * 1e5 / pascal - 1.0).abs() < 3e-3,
                "{temp_c}"
            );
        }
    }

    /// One point of gravity near 1.010 gives 1.08 g/L, 0.55 vol, without growth
    /// (computed from Balling's figures); trade rule: two points are a volume.
    #[test]
    fn a_point_of_gravity_is_half_a_volume() {
        let point = Gravity::from_plato(
            Gravity::from_sg(1.0105).plato() - Gravity::from_sg(1.0095).plato(),
        );
        let gas = carbon_dioxide_to_come(point, Gravity::from_sg(1.010)).unwrap();
        assert!((gas.g_per_l() - 1.08).abs() < 0.015, "{}", gas.g_per_l());
        assert!((gas.volumes() - 0.55).abs() < 0.01);
    }

    /// 2.5 volumes and x points more at 0.985 g/L each \[bar\], CoolProp 8.0.
    #[test]
    fn points_left_raise_the_pressure_as_printed() {
        for (points, row) in [
            (0.0, [1.7, 2.9, 3.9, 5.0]),
            (1.0, [2.0, 3.5, 4.6, 6.0]),
            (2.0, [2.4, 4.0, 5.4, 7.0]),
            (3.0, [2.7, 4.6, 6.1, 8.0]),
            (5.0, [3.4, 5.7, 7.6, 9.9]),
            (8.0, [4.5, 7.5, 9.9, 12.9]),
            (10.0, [5.2, 8.6, 11.4, 14.8]),
        ] {
            let gas = CarbonDioxide::from_volumes(2.5).g_per_l() + 0.985 * points;
            let volumes = CarbonDioxide::from_g_per_l(gas).volumes();
            for (temp_c, printed) in [4.0, 20.0, 30.0, 40.0].into_iter().zip(row) {
                let apart = bar(volumes, &small(false), temp_c) - printed;
                assert!(
                    (-0.06..=0.06 + 0.006 * printed).contains(&apart),
                    "{points} {temp_c}: {apart}"
                );
            }
        }
    }

    /// Unprimed beer with 0.86 vol and 5 points to go reaches 3.9 bar at 20 °C
    /// (0.985 g/L a point, computed with CoolProp 8.0).
    #[test]
    fn unprimed_beer_can_still_reach_a_pressure() {
        let held = CarbonDioxide::from_volumes(0.86).g_per_l() + 5.0 * 0.985;
        let volumes = CarbonDioxide::from_g_per_l(held).volumes();
        assert!((bar(volumes, &small(false), 20.0) - 3.9).abs() < 0.06);
    }

    /// Head space takes about 5 % of the gas at 20 °C (computed).
    #[test]
    fn head_space_takes_its_share() {
        let held = CarbonDioxide::from_volumes(2.5);
        let dissolved = in_solution(held, &small(false), Temperature::from_c(20.0)).unwrap();
        assert!((1.0 - dissolved.g_per_l() / held.g_per_l() - 0.05).abs() < 0.005);
    }

    #[test]
    fn impossible_bottles_are_refused() {
        let none = Fill::with_air(Volume::from_l(0.0), Volume::from_l(0.015));
        let held = CarbonDioxide::from_volumes(2.5);
        let room = Temperature::from_c(20.0);
        assert!(final_pressure(held, &none, room, room, SEA).is_err());
        assert!(
            final_pressure(
                held,
                &small(false),
                room,
                Temperature::from_c(f64::NAN),
                SEA
            )
            .is_err()
        );
        assert!(
            carbon_dioxide_to_come(Gravity::from_plato(-0.5), Gravity::from_plato(2.5)).is_err()
        );
    }

    proptest! {
        #[test]
        fn pressure_rises_with_gas_and_with_warmth(
            volumes in 0.5..8.0f64, more in 0.01..2.0f64, temp_c in 0.0..45.0f64, warmer in 0.1..10.0f64,
            head_ml in 0.0..50.0f64, purged: bool,
        ) {
            let fill = Fill { beer: Volume::from_l(0.5), head_space: Volume::from_l(head_ml / 1000.0), purged };
            let here = bar(volumes, &fill, temp_c);
            prop_assert!(bar(volumes + more, &fill, temp_c) > here);
            prop_assert!(bar(volumes, &fill, temp_c + warmer) > here);
        }

        /// Gas in solution and gas above the beer are all the gas.
        #[test]
        fn gas_is_conserved(volumes in 0.5..8.0f64, temp_c in 0.0..45.0f64, head_ml in 0.0..50.0f64) {
            let fill = Fill { beer: Volume::from_l(0.5), head_space: Volume::from_l(head_ml / 1000.0), purged: true };
            let held = CarbonDioxide::from_volumes(volumes);
            let at = Temperature::from_c(temp_c);
            let dissolved = in_solution(held, &fill, at).unwrap().g_per_l() * 0.5;
            let co2_bar = bar(volumes, &fill, temp_c) - vapour_bar(temp_c) + atmosphere_bar(SEA).unwrap();
            let above = co2_bar * head_ml / 1000.0 * m::CO2 / (GAS_L_BAR_PER_MOL_K * at.k());
            prop_assert!((dissolved + above - held.g_per_l() * 0.5).abs() < 1e-9);
        }
    }
}

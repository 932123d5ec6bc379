//! Oxygen in the package: what air brings, what purging leaves, and what a shaken
//! bottle tells.

use ferment::air_saturation;
use quantity::{
    Altitude, Fraction, GaugePressure, Gravity, MassConcentration, Measured, Note, Temperature,
    Volume, ZERO_CELSIUS_K,
};

use crate::carbonation::atmosphere_bar;
use crate::error::{PackageError, sound, within};
use crate::pressure::{Fill, vapour_bar};

/// Oxygen in dry air, by volume.
const IN_AIR: f64 = 0.209_46;
const OXYGEN_G_PER_MOL: f64 = 31.998;
const GAS_L_BAR_PER_MOL_K: f64 = 0.083_144_626_181_532_4;
/// Relative standard deviation of the oxygen of a package from a shaken one, mostly by
/// the volume of the head space: Kemper & Patino, *MBAA Tech. Q.* 1987 (abstract read).
const SHAKEN_SD: f64 = 0.11;

/// How the air of an empty vessel is driven out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Purge {
    /// Fill with gas to a pressure and vent, so many times.
    Cycles {
        /// The pressure.
        pressure: GaugePressure,
        /// How often.
        count: u32,
    },
    /// Let gas flow through, as if it mixed at once.
    Flush {
        /// Gas at the pressure of the room.
        gas: Volume,
        /// The vessel.
        vessel: Volume,
    },
}

/// Oxygen that the air of a head space brings into the beer, if all of it goes in
/// \[mg/L of beer\].
///
/// Ideal gas, air saturated with water at the temperature of filling.
///
/// # Errors
/// [`PackageError::Impossible`] for beer or head space that cannot be, or a temperature
/// outside −5 to 60 °C.
pub fn from_head_space(
    fill: &Fill,
    filled_at: Temperature,
    altitude: Altitude,
) -> Result<MassConcentration, PackageError> {
    let (beer_l, head_l) = fill.checked()?;
    let mg = if fill.purged {
        0.0
    } else {
        air_oxygen_mg_per_l(filled_at, altitude)? * head_l
    };
    Ok(MassConcentration::from_mg_per_l(mg / beer_l))
}

/// Oxygen of a whole package from what a meter shows after shaking \[mg/L of beer\].
///
/// TPO = DO (1 + H V_h/V_l), H the oxygen of a litre of gas over that of a litre of
/// liquid in balance with it (29.9 at 20 °C). Shake at a known temperature until the
/// figure stands, within two hours of filling (MEBAK B-420.29.900, read). Beer is taken
/// to dissolve oxygen as water does.
///
/// # Errors
/// [`PackageError::Impossible`], outside 0 to 40 °C too.
pub fn whole_package(
    shaken: MassConcentration,
    fill: &Fill,
    temperature: Temperature,
) -> Result<Measured<MassConcentration>, PackageError> {
    let (beer_l, head_l) = fill.checked()?;
    let shown = within("oxygen shown", shaken, 0.0, 50.0)?.mg_per_l();
    let ratio = gas_over_liquid(temperature)?;
    let whole = shown * (1.0 + ratio * head_l / beer_l);
    Ok(Measured::with_sd(
        MassConcentration::from_mg_per_l(whole),
        SHAKEN_SD * whole,
    ))
}

/// Share of oxygen that purging leaves in the gas of a vessel that held air, by volume.
///
/// Cycles: 0.2095 (p₀/(p₀ + p))ⁿ, mixed well each time. Flush: 0.2095 e^(−V/V₀), mixed
/// at once, so the worst case of flushing. Pushing a full vessel of liquid out with gas
/// is better than both. Oxygen of the gas itself is not counted.
///
/// # Errors
/// [`PackageError::Impossible`] for a pressure outside 0 to 10 bar, more than a thousand
/// cycles, or no vessel.
pub fn left_by(purge: Purge, altitude: Altitude) -> Result<Fraction, PackageError> {
    let left = match purge {
        Purge::Cycles { pressure, count } => {
            let outside_bar = atmosphere_bar(altitude)?;
            let bar = within("pressure of purging", pressure, 0.0, 10.0)?.bar();
            let cycles = within(
                "cycles of purging",
                quantity::Count::from_number(f64::from(count)),
                0.0,
                1000.0,
            )?;
            (outside_bar / (outside_bar + bar)).powf(cycles.number())
        }
        Purge::Flush { gas, vessel } => {
            let vessel_l = within("volume of the vessel", vessel, 1e-3, 1e5)?.l();
            (-sound("volume of gas", gas)?.l() / vessel_l).exp()
        }
    };
    Ok(Fraction::from_ratio(IN_AIR * left))
}

/// How often to fill and vent until a share of oxygen is left.
///
/// # Errors
/// [`PackageError::Impossible`] for a share outside 10⁻⁷ to 0.2 or a pressure outside
/// 0.05 to 10 bar.
pub fn cycles_to(
    share: Fraction,
    pressure: GaugePressure,
    altitude: Altitude,
) -> Result<u32, PackageError> {
    let wanted = within("oxygen to be left", share, 1e-7, 0.2)?.ratio();
    let outside_bar = atmosphere_bar(altitude)?;
    let bar = within("pressure of purging", pressure, 0.05, 10.0)?.bar();
    let each = (outside_bar / (outside_bar + bar)).ln();
    let count = ((wanted / IN_AIR).ln() / each - 1e-9).ceil().max(0.0);
    // Bounded by the limits above: at most some three hundred.
    Ok(count as u32)
}

/// Oxygen that a gas brings into the beer below it, if all of it goes in \[mg/L of
/// beer\]: what purging left over in a keg's head space.
///
/// # Errors
/// [`PackageError::Impossible`] as [`from_head_space`], for a share above one too.
pub fn from_gas(
    share: Fraction,
    gas: Volume,
    beer: Volume,
    temperature: Temperature,
    altitude: Altitude,
) -> Result<MassConcentration, PackageError> {
    let of_gas = within("oxygen of the gas", share, 0.0, 1.0)?.ratio();
    let beer_l = within("beer", beer, 1e-3, 1e5)?.l();
    let gas_l = sound("volume of gas", gas)?.l();
    let mg_per_l = air_oxygen_mg_per_l(temperature, altitude)? / IN_AIR * of_gas;
    Ok(MassConcentration::from_mg_per_l(mg_per_l * gas_l / beer_l))
}

/// What so much oxygen in a package means.
///
/// Under 0.05 mg/L is good work, under 0.15 acceptable, bottling by hand often brings
/// 0.5 to 5 (common practice); yeast in the bottle takes up milligrams within days.
#[must_use]
pub fn judged(oxygen: MassConcentration, live_yeast: bool) -> Note {
    let mg_per_l = oxygen.mg_per_l();
    let said = format!("{mg_per_l:.2} mg/L of oxygen in the package");
    match (mg_per_l, live_yeast) {
        (x, _) if x <= 0.05 => Note::fine(format!("{said}: good work")),
        (x, _) if x <= 0.15 => Note::fine(format!("{said}: acceptable")),
        (x, true) if x <= 5.0 => Note::fine(format!(
            "{said}: yeast in the bottle takes up as much within days, if it is alive"
        )),
        (_, true) => Note::look(format!(
            "{said}: more than yeast in the bottle can be trusted with; fill higher or purge"
        )),
        (_, false) => Note::look(format!(
            "{said}, and no yeast to take it up: the beer stales soon; purge, fill higher, keep it cold"
        )),
    }
}

/// Oxygen of a litre of moist air \[mg\].
fn air_oxygen_mg_per_l(temperature: Temperature, altitude: Altitude) -> Result<f64, PackageError> {
    let temp_c = crate::carbonation::beer_temperature(temperature)?.c();
    let oxygen_bar = IN_AIR * (atmosphere_bar(altitude)? - vapour_bar(temp_c));
    Ok(oxygen_bar * gas_mg_per_l_bar(temp_c))
}

fn gas_mg_per_l_bar(temp_c: f64) -> f64 {
    OXYGEN_G_PER_MOL * 1000.0 / (GAS_L_BAR_PER_MOL_K * (temp_c + ZERO_CELSIUS_K))
}

fn gas_over_liquid(temperature: Temperature) -> Result<f64, PackageError> {
    let at = within("temperature of the shaken package", temperature, 0.0, 40.0)?;
    let sea = Altitude::from_m(0.0);
    let oxygen_bar = IN_AIR * (atmosphere_bar(sea)? - vapour_bar(at.c()));
    // The limits above are those of the law, so it cannot refuse.
    let liquid = air_saturation(at, Gravity::from_plato(0.0), sea)
        .map_or(f64::NAN, MassConcentration::mg_per_l);
    Ok(gas_mg_per_l_bar(at.c()) * oxygen_bar / liquid)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SEA: Altitude = Altitude::from_m(0.0);

    fn bottle(beer_ml: f64, head_ml: f64) -> Fill {
        Fill::with_air(
            Volume::from_l(beer_ml / 1000.0),
            Volume::from_l(head_ml / 1000.0),
        )
    }

    fn c(x: f64) -> Temperature {
        Temperature::from_c(x)
    }

    /// Gas over liquid from Benson & Krause 1984 and the ideal gas, computed with NumPy.
    #[test]
    fn oxygen_parts_between_gas_and_liquid_as_computed() {
        for (temp_c, ratio) in [
            (0.0, 20.3),
            (5.0, 22.8),
            (10.0, 25.3),
            (15.0, 27.6),
            (20.0, 29.9),
            (25.0, 32.1),
            (30.0, 34.2),
        ] {
            let ours = gas_over_liquid(c(temp_c)).unwrap();
            assert!((ours - ratio).abs() < 0.06, "{temp_c}: {ours}");
        }
        let one = MassConcentration::from_mg_per_l(0.1);
        let whole = whole_package(one, &bottle(355.0, 15.0), c(20.0)).unwrap();
        assert!((whole.value.mg_per_l() / 0.1 - 2.27).abs() < 0.006);
    }

    /// A litre of dry air holds 295 mg of oxygen at 4 °C and 279 at 20 °C; 1 mL of it
    /// in 330 mL of beer is 0.82 mg/L, 15 mL 12.4 mg/L, half a litre over 19 L at 4 °C
    /// 7.8 mg/L (computed for moist air, the last for dry, which holds 0.8 % more).
    #[test]
    fn air_brings_what_was_computed() {
        let dry = |temp_c: f64| IN_AIR * 1.013_25 * gas_mg_per_l_bar(temp_c);
        assert!((dry(4.0) - 295.0).abs() < 0.6);
        assert!((dry(20.0) - 279.0).abs() < 0.6);
        for (head_ml, printed) in [(1.0, 0.82), (15.0, 12.4)] {
            let found = from_head_space(&bottle(330.0, head_ml), c(20.0), SEA).unwrap();
            assert!((found.mg_per_l() / printed - 1.0).abs() < 0.015, "{found}");
        }
        let keg = from_gas(
            Fraction::from_ratio(IN_AIR),
            Volume::from_l(0.5),
            Volume::from_l(19.0),
            c(4.0),
            SEA,
        )
        .unwrap();
        assert!((keg.mg_per_l() - 7.8).abs() < 0.12, "{keg}");
    }

    /// Shares of oxygen after cycles of filling and venting, computed with NumPy.
    #[test]
    fn cycles_leave_what_was_computed() {
        for (psi, row, to_a_thousandth, to_100_ppm) in [
            (5.0, [15.6, 8.7, 4.8, 2.0, 1.1], 19, 27),
            (10.0, [12.5, 4.4, 1.56, 0.33, 0.12], 11, 15),
            (15.0, [10.4, 2.5, 0.62, 0.075, 0.018], 8, 11),
            (20.0, [8.9, 1.6, 0.29, 0.022, 0.004], 7, 9),
            (30.0, [6.9, 0.74, 0.081, 0.003, 0.0005], 5, 7),
        ] {
            let pressure = GaugePressure::from_bar(psi * quantity::PSI_BAR);
            for (count, percent) in [1, 3, 5, 8, 10].into_iter().zip(row) {
                let left = left_by(Purge::Cycles { pressure, count }, SEA).unwrap();
                let apart = (left.ratio() * 100.0 - percent).abs();
                assert!(apart < 0.06 * percent + 6e-4, "{psi} {count}: {left}");
            }
            let to = |share: f64| cycles_to(Fraction::from_ratio(share), pressure, SEA).unwrap();
            assert_eq!((to(1e-3), to(1e-4)), (to_a_thousandth, to_100_ppm), "{psi}");
        }
    }

    #[test]
    fn what_cannot_be_is_refused_and_words_follow_the_figure() {
        let none = Purge::Flush {
            gas: Volume::from_l(10.0),
            vessel: Volume::from_l(0.0),
        };
        assert!(left_by(none, SEA).is_err());
        assert!(cycles_to(Fraction::from_ratio(0.0), GaugePressure::from_bar(1.0), SEA).is_err());
        let hot = whole_package(
            MassConcentration::from_mg_per_l(0.1),
            &bottle(330.0, 15.0),
            c(60.0),
        );
        assert!(hot.is_err());
        let said = |mg: f64, yeast| judged(MassConcentration::from_mg_per_l(mg), yeast).text;
        assert!(said(0.03, false).contains("good work"));
        assert!(said(1.0, true).contains("takes up"));
        assert!(said(1.0, false).contains("stales soon"));
        assert!(said(9.0, true).contains("fill higher"));
    }

    proptest! {
        #[test]
        fn the_cycles_that_are_named_are_just_enough(share in 1e-6..0.1f64, bar in 0.1..3.0f64) {
            let pressure = GaugePressure::from_bar(bar);
            let count = cycles_to(Fraction::from_ratio(share), pressure, SEA).unwrap();
            let left = |count| left_by(Purge::Cycles { pressure, count }, SEA).unwrap().ratio();
            prop_assert!(left(count) <= share * (1.0 + 1e-9));
            prop_assert!(count == 0 || left(count - 1) > share * (1.0 - 1e-9));
        }

        #[test]
        fn a_flush_only_helps(gas in 0.0..200.0f64, more in 0.1..50.0f64) {
            let left = |l: f64| left_by(
                Purge::Flush { gas: Volume::from_l(l), vessel: Volume::from_l(19.0) }, SEA,
            ).unwrap();
            prop_assert!(left(gas + more) < left(gas));
        }
    }
}

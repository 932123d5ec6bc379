//! Oxygen for the yeast: how much the wort takes up, and how much is wanted.

mod ways;

use quantity::density::standard_atmosphere_bar;
use quantity::{
    Altitude, Caution, Duration, Fraction, GasTransfer, Gravity, MassConcentration, Note,
    Temperature, ZERO_CELSIUS_K,
};

use crate::error::{FermentError, within};

pub use ways::{OxygenClass, OxygenWay, oxygen_classes, oxygen_ways};

/// Pressure of one atmosphere \[bar\].
const ATMOSPHERE_BAR: f64 = 1.013_25;
/// Oxygen in dry air, by volume.
const OXYGEN_IN_AIR: f64 = 0.209_46;
/// How much extract lowers the solubility of oxygen \[per °P\]: from the ratio
/// of wort of 15 °P to water at 10 and 20 °C in Oliver (ed.), The Oxford
/// Companion to Beer, 2012, "oxygen" (read; coefficient computed).
const SALTING_OUT_PER_PLATO: f64 = 0.020_28;
/// Share of air saturation that wort takes up by running into the vessel
/// (judgement).
const BY_FILLING: f64 = 0.1;
/// Share of air saturation after five minutes of shaking: 2.71 mg/L in wort of
/// 1.077 at 24 °C, White & Zainasheff 2010 (from memory).
const BY_SHAKING: f64 = 0.47;

/// How oxygen gets into the wort.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aeration {
    /// Nothing but what filling the vessel brings.
    None,
    /// Shaking the vessel for some minutes.
    Shaking,
    /// Air by pump or splashing, up to a share of saturation.
    Air {
        /// The share of air saturation reached.
        saturation: Fraction,
    },
    /// Oxygen from a cylinder through a stone.
    Oxygen {
        /// For how long.
        time: Duration,
        /// How fast it goes in, if known.
        transfer: Option<GasTransfer>,
    },
}

/// What is known of oxygen after pitching: yeast takes it up within 3 to 9 h (read);
/// beyond 12 h it only stales the beer (common practice).
pub const OXYGEN_AFTER_PITCHING: &str = "Yeast takes the oxygen up within 3 to 9 hours. Never aerate again later than 12 hours after pitching: from then on it stales the beer. Dry yeast brings its own reserves and needs little or none the first time.";

/// Oxygen at pitching.
#[derive(Debug, Clone, PartialEq)]
pub struct OxygenReport {
    /// Oxygen in the wort.
    pub dissolved: MassConcentration,
    /// What the wort would hold under air.
    pub air_saturation: MassConcentration,
    /// The least that is wanted.
    pub wanted_from: MassConcentration,
    /// The most that is wanted.
    pub wanted_to: MassConcentration,
    /// Remarks.
    pub notes: Vec<Note>,
    /// Cautions.
    pub cautions: Vec<Caution>,
}

/// Oxygen in wort under air \[mg/L\].
///
/// Benson & Krause 1984 (Limnol. Oceanogr. 29, 620) for fresh water, 0 to 40 °C,
/// with the pressure at an altitude by ISO 2533, times exp(−0.02028 °P) for the
/// extract (from the wort figures of the Oxford Companion to Beer, 2012).
///
/// # Errors
/// [`FermentError::Impossible`] outside 0 to 40 °C, 0 to 35 °P or −430 to 6000 m.
pub fn air_saturation(
    temperature: Temperature,
    gravity: Gravity,
    altitude: Altitude,
) -> Result<MassConcentration, FermentError> {
    let temp_c = within("wort temperature at aeration", temperature, 0.0, 40.0)?.c();
    let plato = within("original gravity", gravity, 0.0, 35.0)?.plato();
    let height_m = within("altitude", altitude, -430.0, 6000.0)?.m();
    let pressure_atm = standard_atmosphere_bar(height_m) / ATMOSPHERE_BAR;
    let water = water_saturation_mg_per_l(temp_c) * pressure_factor(temp_c, pressure_atm);
    Ok(MassConcentration::from_mg_per_l(
        water * (-SALTING_OUT_PER_PLATO * plato).exp(),
    ))
}

/// Oxygen in the wort after aeration.
///
/// Pure oxygen: C = C_s − (C_s − C₀) exp(−k_La t), with C_s the air saturation
/// over the share of oxygen in air; k_La of a fine stone where it is not known.
///
/// # Errors
/// As [`air_saturation`]; also for a share above 100 %, more than two hours of
/// oxygen, or a transfer rate outside 0 to 20 per minute.
pub fn oxygenate(
    aeration: Aeration,
    temperature: Temperature,
    gravity: Gravity,
    altitude: Altitude,
) -> Result<MassConcentration, FermentError> {
    let air = air_saturation(temperature, gravity, altitude)?.mg_per_l();
    let filled = BY_FILLING * air;
    let reached = match aeration {
        Aeration::None => filled,
        Aeration::Shaking => BY_SHAKING * air,
        Aeration::Air { saturation } => {
            air * within("share of air saturation", saturation, 0.0, 1.0)?
                .ratio()
                .max(BY_FILLING)
        }
        Aeration::Oxygen { time, transfer } => {
            let minutes = within("time of oxygenation", time, 0.0, 2.0)?.min();
            let k = transfer.unwrap_or_else(ways::through_a_stone);
            let k_per_min = within("transfer rate of oxygen", k, 0.0, 20.0)?.per_min();
            let pure = air / OXYGEN_IN_AIR;
            pure - (pure - filled) * (-k_per_min * minutes).exp()
        }
    };
    Ok(MassConcentration::from_mg_per_l(reached))
}

/// Oxygen that is wanted of a wort \[mg/L\], the least and the most: ale 8 to 10,
/// lager 8 to 12, strong wort 10 to 15 (common practice); dry yeast brings its own
/// sterols and needs little the first time.
#[must_use]
pub fn oxygen_wanted(
    wort: Gravity,
    bottom_fermenting: bool,
    dry_yeast: bool,
) -> (MassConcentration, MassConcentration) {
    let (from, to) = match (dry_yeast, wort.plato() > 17.0, bottom_fermenting) {
        (true, ..) => (0.0, 10.0),
        (_, true, _) => (10.0, 15.0),
        (_, _, true) => (8.0, 12.0),
        _ => (8.0, 10.0),
    };
    let mg = MassConcentration::from_mg_per_l;
    (mg(from), mg(to))
}

pub(crate) fn report(
    dissolved: MassConcentration,
    air: MassConcentration,
    (wanted_from, wanted_to): (MassConcentration, MassConcentration),
    aeration: Aeration,
) -> OxygenReport {
    let cautions = match aeration {
        Aeration::Oxygen { .. } => vec![Caution::Oxygen],
        _ => Vec::new(),
    };
    OxygenReport {
        dissolved,
        air_saturation: air,
        wanted_from,
        wanted_to,
        notes: notes(
            dissolved.mg_per_l(),
            wanted_from.mg_per_l(),
            wanted_to.mg_per_l(),
        ),
        cautions,
    }
}

fn notes(mg_per_l: f64, from: f64, to: f64) -> Vec<Note> {
    if mg_per_l < 0.5 * from {
        return vec![Note::look(format!(
            "{mg_per_l:.1} mg/L of oxygen is less than half of the {from:.0} mg/L wanted: the yeast will grow little, ferment slowly and leave more esters"
        ))];
    }
    if mg_per_l > 1.5 * to {
        return vec![Note::look(format!(
            "{mg_per_l:.1} mg/L of oxygen is far above the {to:.0} mg/L wanted: the yeast grows at the cost of flavour, and the wort stales"
        ))];
    }
    if mg_per_l < 0.85 * from {
        return vec![Note::fine(format!(
            "{mg_per_l:.1} mg/L of oxygen; {from:.0} to {to:.0} mg/L is usual"
        ))];
    }
    Vec::new()
}

/// Oxygen in air-saturated fresh water at one atmosphere \[mg/L\].
fn water_saturation_mg_per_l(temp_c: f64) -> f64 {
    let t = temp_c + ZERO_CELSIUS_K;
    (-139.344_11 + 1.575_701e5 / t - 6.642_308e7 / t.powi(2) + 1.243_800e10 / t.powi(3)
        - 8.621_949e11 / t.powi(4))
    .exp()
}

/// Factor on the saturation at one atmosphere for another pressure \[atm\].
fn pressure_factor(temp_c: f64, pressure_atm: f64) -> f64 {
    let u = vapour_pressure_atm(temp_c);
    let theta = 0.000_975 - 1.426e-5 * temp_c + 6.436e-8 * temp_c * temp_c;
    (pressure_atm - u) * (1.0 - theta * pressure_atm) / ((1.0 - u) * (1.0 - theta))
}

fn vapour_pressure_atm(temp_c: f64) -> f64 {
    let t = temp_c + ZERO_CELSIUS_K;
    (11.8571 - 3840.70 / t - 216_961.0 / (t * t)).exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sea() -> Altitude {
        Altitude::from_m(0.0)
    }

    /// Benson & Krause 1984, recomputed with NumPy; 14.62, 9.09 and 8.26 mg/L
    /// are the values of the USGS tables.
    #[test]
    fn water_follows_benson_and_krause() {
        for (temp_c, air, at_09, vapour, pure) in [
            (0.0, 14.6208, 13.1512, 0.006_027, 69.80),
            (5.0, 12.7710, 11.4839, 0.008_607, 60.97),
            (10.0, 11.2879, 10.1462, 0.012_116, 53.89),
            (12.0, 10.7770, 9.6849, 0.013_839, 51.45),
            (15.0, 10.0839, 9.0589, 0.016_827, 48.14),
            (18.0, 9.4670, 8.5012, 0.020_367, 45.20),
            (20.0, 9.0924, 8.1623, 0.023_074, 43.41),
            (25.0, 8.2635, 7.4109, 0.031_262, 39.45),
            (30.0, 7.5588, 6.7703, 0.041_876, 36.09),
        ] {
            let ours = water_saturation_mg_per_l(temp_c);
            assert!((ours - air).abs() < 6e-5, "{ours} {air}");
            assert!((ours * pressure_factor(temp_c, 0.9) - at_09).abs() < 6e-5);
            assert!((vapour_pressure_atm(temp_c) - vapour).abs() < 6e-7);
            assert!((ours / OXYGEN_IN_AIR - pure).abs() < 6e-3);
        }
    }

    /// Oliver (ed.) 2012, "oxygen": water 10.9 and 8.9 mg/L, wort of 15 °P 8.0 and
    /// 6.6, at 10 and 20 °C; further rows computed with NumPy.
    #[test]
    fn wort_holds_less_than_water() {
        let at = |plato, temp_c| {
            air_saturation(
                Temperature::from_c(temp_c),
                Gravity::from_plato(plato),
                sea(),
            )
            .unwrap()
            .mg_per_l()
        };
        for (temp_c, water, wort) in [(10.0, 10.9, 8.0), (20.0, 8.9, 6.6)] {
            let ratio = at(15.0, temp_c) / at(0.0, temp_c);
            assert!((ratio - wort / water).abs() < 0.006, "{ratio}");
        }
        for (plato, cold, warm) in [(12.0, 8.85, 7.13), (18.0, 7.84, 6.31), (20.0, 7.53, 6.06)] {
            assert!((at(plato, 10.0) - cold).abs() < 6e-3);
            assert!((at(plato, 20.0) - warm).abs() < 6e-3);
        }
    }

    /// ISO 2533 pressures, 0.9421 atm at 500 m and 0.8345 at 1500 m.
    #[test]
    fn altitude_lowers_saturation_with_pressure() {
        let at = |m| {
            air_saturation(
                Temperature::from_c(20.0),
                Gravity::from_plato(0.0),
                Altitude::from_m(m),
            )
            .unwrap()
            .mg_per_l()
        };
        for (m, pressure) in [(500.0, 0.9421), (1500.0, 0.8345)] {
            assert!((at(m) / at(0.0) - pressure_factor(20.0, pressure)).abs() < 1e-4);
        }
    }

    /// White & Zainasheff 2010, oxygen trial (from memory): 1.077, 24 °C; 30, 60
    /// and 120 s gave 5.12, 9.20 and 14.08 mg/L, which k_La = 0.411, 0.407, 0.358
    /// with nothing there before reproduces.
    #[test]
    fn oxygen_through_a_stone_follows_the_trial() {
        let wort = Gravity::from_sg(1.077);
        let warm = Temperature::from_c(24.0);
        let pure = air_saturation(warm, wort, sea()).unwrap().mg_per_l() / OXYGEN_IN_AIR;
        assert!((pure - 27.5).abs() < 0.2, "{pure}");
        for (minutes, measured, k) in [(0.5, 5.12, 0.411), (1.0, 9.20, 0.407), (2.0, 14.08, 0.358)]
        {
            let from_nothing = pure * (1.0 - f64::exp(-k * minutes));
            assert!(
                (from_nothing - measured).abs() < 0.1,
                "{from_nothing} {measured}"
            );
            let aeration = Aeration::Oxygen {
                time: Duration::from_min(minutes),
                transfer: Some(GasTransfer::from_per_min(k)),
            };
            let ours = oxygenate(aeration, warm, wort, sea()).unwrap().mg_per_l();
            let head_start = BY_FILLING * pure * OXYGEN_IN_AIR * f64::exp(-k * minutes);
            assert!((ours - from_nothing - head_start).abs() < 1e-9);
        }
        let shaken = oxygenate(Aeration::Shaking, warm, wort, sea())
            .unwrap()
            .mg_per_l();
        assert!((shaken - 2.71).abs() < 0.05, "{shaken}");
    }

    #[test]
    fn impossible_aeration_is_refused() {
        let wort = Gravity::from_plato(12.0);
        let at = Temperature::from_c(20.0);
        let too_much = Aeration::Air {
            saturation: Fraction::from_ratio(1.5),
        };
        assert!(oxygenate(too_much, at, wort, sea()).is_err());
        assert!(oxygenate(Aeration::None, Temperature::from_c(80.0), wort, sea()).is_err());
        let never = Aeration::Oxygen {
            time: Duration::from_h(f64::NAN),
            transfer: None,
        };
        assert!(oxygenate(never, at, wort, sea()).is_err());
    }

    proptest! {
        #[test]
        fn more_time_gives_more_and_never_above_pure_saturation(
            plato in 0.0..30.0f64, temp_c in 0.0..40.0f64, a in 0.0..60.0f64, b in 0.0..60.0f64,
        ) {
            let wort = Gravity::from_plato(plato);
            let at = Temperature::from_c(temp_c);
            let after = |minutes| {
                let time = Duration::from_min(minutes);
                oxygenate(Aeration::Oxygen { time, transfer: None }, at, wort, sea()).unwrap()
            };
            let most = air_saturation(at, wort, sea()).unwrap().mg_per_l() / OXYGEN_IN_AIR;
            prop_assert!(after(a.min(b)) <= after(a.max(b)));
            prop_assert!(after(a).mg_per_l() <= most * (1.0 + 1e-12));
        }
    }
}

//! Heat of the boil: what brings the kettle to it, what steams.

use quantity::{Altitude, Duration, Energy, EvaporationRate, Gravity, Power, Temperature};
use quantity::{TemperatureDifference, density};

use crate::error::{WortError, check};
use crate::heat::{KJ_PER_KWH, WATER_KJ_PER_KG_K};
use crate::plan::WortPlan;

use super::Kettle;

/// The heat that a boil takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoilHeat {
    /// Temperature of the kettle when it is full: what the mash had come to.
    pub from: Temperature,
    /// Heat that brings the wort to the boil.
    pub to_boil: Energy,
    /// Heat that the steam carries off.
    pub steam: Energy,
    /// Heat lost by the walls meanwhile; none where the power is not known.
    pub lost: Option<Energy>,
    /// Time from a full kettle to the boil, where the power is known.
    pub heat_up: Option<Duration>,
    /// Heat drawn from the source if it runs at its power until the end of the boil.
    pub drawn: Option<Energy>,
    /// Power that keeps up the boil as planned, with the loss of the walls if known.
    pub power_at_boil: Power,
    /// How much hotter than water the wort boils at the end, by its extract.
    pub elevation: TemperatureDifference,
}

/// Latent heat of water \[kJ/kg\] at its boiling point: 2256.4 + 2.67·x − 0.006·x²,
/// x = 100 °C − T. Fitted to IAPWS values (CoolProp 8.0), right to 1 kJ/kg from 80
/// to 100 °C.
pub(crate) fn latent_kj_per_kg(boils_c: f64) -> f64 {
    let below = 100.0 - boils_c;
    2256.4 + 2.67 * below - 0.006 * below * below
}

/// Heat capacity of wort \[kJ/(kg K)\]: water's 4.187 and extract's 1.42 by mass
/// (judgement).
pub(crate) fn wort_heat_capacity(plato: f64) -> f64 {
    WATER_KJ_PER_KG_K * (1.0 - plato / 100.0) + 1.42 * plato / 100.0
}

/// How much hotter than water a wort boils \[K\]: 0.513 K·kg/mol times the molality
/// of its extract counted as sucrose. An upper bound for dextrins, a lower one for
/// glucose.
///
/// # Errors
/// [`WortError::Impossible`] outside 0 to 45 °P.
pub fn boiling_point_elevation(gravity: Gravity) -> Result<TemperatureDifference, WortError> {
    let plato = check("gravity", gravity.plato(), "°P", 0.0, 45.0)?;
    Ok(TemperatureDifference::from_k(elevation_k(plato)))
}

fn elevation_k(plato: f64) -> f64 {
    const SUCROSE_KG_PER_MOL: f64 = 0.342_3;
    0.513 * plato / (100.0 - plato) / SUCROSE_KG_PER_MOL
}

/// Steam that a power drives off an open kettle \[kg/h\]: (power − loss of the
/// walls) over the latent heat at the boiling point of the altitude.
///
/// # Errors
/// [`WortError::Impossible`] where the loss takes all the power.
pub fn evaporation_by_power(
    power: Power,
    loss: Power,
    altitude: Altitude,
) -> Result<EvaporationRate, WortError> {
    let loss_kw = check("heat loss of the kettle", loss.kw(), "kW", 0.0, 1e4)?;
    let power_kw = check("power of the kettle", power.kw(), "kW", loss_kw, 1e4)?;
    let height_m = check("altitude", altitude.m(), "m", -430.0, 6000.0)?;
    let latent = latent_kj_per_kg(density::boiling_point_c(height_m));
    Ok(EvaporationRate::from_kg_per_h(
        (power_kw - loss_kw) * KJ_PER_KWH / latent,
    ))
}

impl Kettle {
    fn to_boil_kj(&self, plan: &WortPlan) -> f64 {
        let rise_k = plan.kit.boiling_point().c() - self.filled_c;
        self.before.mass_kg() * wort_heat_capacity(self.before.plato()) * rise_k
    }

    /// Time from a full kettle to the boil \[min\], where the power is known.
    pub(super) fn heat_up_min(&self, plan: &WortPlan) -> Result<Option<f64>, WortError> {
        let Some(power) = plan.kit.power else {
            return Ok(None);
        };
        let loss_kw = plan.kit.heat_loss.kw();
        let least_kw = loss_kw + 0.05;
        let power_kw = check("power of the kettle", power.kw(), "kW", least_kw, 1e4)?;
        let min = self.to_boil_kj(plan) / (power_kw - loss_kw) / 60.0;
        check("time to come to the boil", min, "min", 0.0, 24.0 * 60.0).map(Some)
    }

    pub(super) fn heat(&self, plan: &WortPlan, heat_up_min: Option<f64>) -> BoilHeat {
        let latent = latent_kj_per_kg(plan.kit.boiling_point().c());
        let loss_kw = plan.kit.heat_loss.kw();
        let boil_h = plan.boil.duration.h();
        let hours = heat_up_min.map(|min| min / 60.0 + boil_h);
        // What condenses on a lid gives its heat back, so only escaping steam counts.
        let steam_kw = plan.kit.steam_kg_per_h() * latent / KJ_PER_KWH;
        BoilHeat {
            from: Temperature::from_c(self.filled_c),
            to_boil: Energy::from_kwh(self.to_boil_kj(plan) / KJ_PER_KWH),
            steam: Energy::from_kwh(steam_kw * boil_h),
            lost: hours.map(|h| Energy::from_kwh(loss_kw * h)),
            heat_up: heat_up_min.map(Duration::from_min),
            drawn: hours
                .zip(plan.kit.power)
                .map(|(h, power)| Energy::from_kwh(power.kw() * h)),
            power_at_boil: Power::from_kw(steam_kw + loss_kw),
            elevation: TemperatureDifference::from_k(elevation_k(self.after.plato())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(ours: f64, printed: f64, tolerance: f64) {
        assert!(
            (ours - printed).abs() <= tolerance,
            "{ours} against {printed}"
        );
    }

    /// IAPWS (CoolProp 8.0).
    #[test]
    fn latent_heat_is_that_of_water() {
        for (boils_c, kj_per_kg) in [(100.0, 2256.0), (95.0, 2270.0), (90.0, 2282.0)] {
            near(latent_kj_per_kg(boils_c), kj_per_kg, 0.6);
        }
    }

    /// Ebullioscopic constant of water 0.513 K·kg/mol, worked with NumPy.
    #[test]
    fn extract_raises_the_boiling_point() {
        for (plato, rise) in [(10.0, 0.17), (12.0, 0.20), (20.0, 0.37)] {
            let ours = boiling_point_elevation(Gravity::from_plato(plato)).unwrap();
            near(ours.k(), rise, 6e-3);
        }
        assert!(boiling_point_elevation(Gravity::from_plato(60.0)).is_err());
    }

    /// Worked from the two heat capacities.
    #[test]
    fn heat_capacity_of_worts() {
        for (plato, kj) in [(10.0, 3.91), (12.0, 3.85), (20.0, 3.63)] {
            near(wort_heat_capacity(plato), kj, 6e-3);
        }
    }

    /// From the latent heat of IAPWS: 1 kW boils off 1.6 kg/h.
    #[test]
    fn power_drives_off_steam() {
        let sea = Altitude::from_m(0.0);
        let steam = |kw, lost| evaporation_by_power(Power::from_kw(kw), Power::from_kw(lost), sea);
        near(steam(1.0, 0.0).unwrap().kg_per_h(), 1.6, 0.05);
        near(steam(2.5, 0.5).unwrap().kg_per_h(), 3.19, 6e-3);
        near(3.0 * latent_kj_per_kg(100.0) / KJ_PER_KWH, 1.88, 6e-3);
        assert_eq!(
            steam(0.3, 0.5).unwrap_err().to_string(),
            "power of the kettle cannot be 0.3 kW; between 0.5 and 10000 kW would work"
        );
    }
}

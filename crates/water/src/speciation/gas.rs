//! Carbon dioxide over a water.

use std::sync::LazyLock;

use quantity::PartialPressure;

use super::constants::Constants;
use super::error::SpeciationError;
use super::kernel::{Answer, Buffer};
use super::table::{Makeup, phase_place, table};
use crate::check;

/// What a molecule of carbon dioxide brings to a water.
pub(super) fn carbon_dioxide() -> &'static Makeup {
    &table().phases[place()].makeup
}

/// Carbon dioxide held at a pressure.
pub(super) fn held(
    constants: &Constants,
    pressure: PartialPressure,
) -> Result<Buffer, SpeciationError> {
    let pressure = check::above_zero("carbon dioxide: partial pressure", pressure)?;
    let atm = pressure.atm().max(1e-12);
    let ln_fugacity = atm.ln() + ln_fugacity_coefficient(constants.temperature_k, atm);
    Ok(Buffer::phase(
        *carbon_dioxide(),
        constants.ln_k_phase[place()] + ln_fugacity,
    ))
}

/// log10 of the fugacity \[atm\] that a water stands in equilibrium with.
pub(super) fn log_fugacity(constants: &Constants, answer: &Answer) -> f64 {
    let ln_fugacity = answer.ln_product(carbon_dioxide()) - constants.ln_k_phase[place()];
    ln_fugacity / std::f64::consts::LN_10
}

fn place() -> usize {
    static PLACE: LazyLock<usize> = LazyLock::new(|| phase_place("CO2(g)"));
    *PLACE
}

/// ln φ of carbon dioxide at a low pressure \[atm\].
///
/// ln φ = B p/(RT), the first term of the Peng-Robinson equation (1976, Ind. Eng.
/// Chem. Fundam. 15, 59; constants from memory): B = b − a α/(RT), with the
/// critical point and acentric factor of phreeqc.dat (304.2 K, 72.86 atm, 0.225).
/// At 1 atm and 25 °C φ is 0.995.
fn ln_fugacity_coefficient(temperature_k: f64, pressure_atm: f64) -> f64 {
    const CRITICAL_K: f64 = 304.2;
    const CRITICAL_ATM: f64 = 72.86;
    const ACENTRIC: f64 = 0.225;
    let slope = 0.374_64 + 1.542_26 * ACENTRIC - 0.269_92 * ACENTRIC * ACENTRIC;
    let reduced = temperature_k / CRITICAL_K;
    let alpha = (1.0 + slope * (1.0 - reduced.sqrt())).powi(2);
    let attraction = 0.457_235 * alpha / (reduced * reduced);
    let covolume = 0.077_796 / reduced;
    (covolume - attraction) * pressure_atm / CRITICAL_ATM
}

//! Constants at one temperature: equilibria and the Debye-Hückel limiting slopes.

use std::f64::consts::{LN_10, PI};

use super::compiled::compiled;
use super::table::{Gamma, MAX_SPECIES, table};

/// Reference temperature of the table \[K\].
pub(super) const REFERENCE_K: f64 = 298.15;
/// log10 K changes by an enthalpy of reaction \[kJ/mol\] times this times
/// 1/298.15 − 1/T. The gas constant is rounded as where the enthalpies were fitted.
pub(super) const VAN_T_HOFF: f64 = 1.0 / (LN_10 * 8.3147e-3);
/// Most phases in the table.
pub(super) const MAX_PHASES: usize = 8;

/// Everything that depends on temperature alone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Constants {
    pub temperature_k: f64,
    /// ln K of every species.
    pub ln_k: [f64; MAX_SPECIES],
    /// ln K of every phase.
    pub ln_k_phase: [f64; MAX_PHASES],
    pub slopes: DebyeHuckel,
}

/// The numbers of ln γ = limiting·√I/(1 + size·√I) + slope·I of one species.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct GammaAt {
    pub limiting: f64,
    pub size: f64,
    pub slope: f64,
}

impl GammaAt {
    /// ln γ at the root of an ionic strength \[(mol/kg)^½\].
    pub fn ln_at(&self, root: f64) -> f64 {
        root * (self.limiting / (1.0 + self.size * root) + self.slope * root)
    }
}

impl Constants {
    /// Evaluates the table at a temperature \[K\].
    pub fn at(temperature_k: f64) -> Self {
        let compiled = compiled();
        Self {
            temperature_k,
            ln_k: compiled.ln_k.at(temperature_k),
            ln_k_phase: compiled.ln_k_phase.at(temperature_k),
            slopes: DebyeHuckel::at(temperature_k),
        }
    }

    /// ln γ of a species, by its place, at the root of an ionic strength.
    pub fn ln_gamma(&self, place: usize, root: f64) -> f64 {
        let species = &table().species[place];
        let gamma = self.slopes.gamma(species.gamma, species.charge);
        gamma.ln_at(root)
    }
}

/// The limiting slopes of water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct DebyeHuckel {
    /// A \[(kg/mol)^½\], for log10 γ.
    pub a: f64,
    /// B \[(kg/mol)^½/Å\].
    pub b: f64,
}

impl DebyeHuckel {
    /// From the Bjerrum length e²/(εkT) and the density of water, in cgs units.
    pub fn at(temperature_k: f64) -> Self {
        /// Elementary charge squared over the Boltzmann constant \[esu² K/erg\].
        const CHARGE2_PER_BOLTZMANN: f64 = 1.671_008e-3;
        /// Avogadro's constant on the carbon-12 scale of 1961, which the published
        /// slopes use \[1/mol\].
        const AVOGADRO: f64 = 6.022_52e23;
        let bjerrum_cm =
            CHARGE2_PER_BOLTZMANN / (dielectric_constant(temperature_k) * temperature_k);
        let density_g_per_ml = water_density(temperature_k) / 1000.0;
        let b_per_cm = (8.0 * PI * AVOGADRO * bjerrum_cm * density_g_per_ml / 1000.0).sqrt();
        Self {
            a: b_per_cm * bjerrum_cm / (2.0 * LN_10),
            b: b_per_cm / 1e8,
        }
    }

    /// What makes ln γ of a species of a charge.
    pub fn gamma(self, gamma: Gamma, charge: f64) -> GammaAt {
        let limiting = -LN_10 * self.a * charge * charge;
        match gamma {
            Gamma::Neutral => GammaAt {
                limiting: 0.0,
                size: 0.0,
                slope: 0.1 * LN_10,
            },
            Gamma::Davies => GammaAt {
                limiting,
                size: 1.0,
                slope: -0.3 * limiting,
            },
            Gamma::Sized {
                size_angstrom,
                slope,
            } => GammaAt {
                limiting,
                size: self.b * size_angstrom,
                slope: LN_10 * slope,
            },
        }
    }
}

/// Relative dielectric constant of water at 1 atm \[–\].
///
/// Bradley & Pitzer 1979, J. Phys. Chem. 83, 1599 (coefficients from memory; the
/// values agree with EPS_R of PHREEQC 3.7.3 to all its digits).
fn dielectric_constant(temperature_k: f64) -> f64 {
    const PRESSURE_BAR: f64 = 1.013_25;
    let t = temperature_k;
    let at_1000_bar = 342.79 * (t * (-5.0866e-3 + t * 9.469e-7)).exp();
    let c = -2.0525 + 3115.9 / (t - 182.89);
    let b = -8032.5 + 4.2142e6 / t + 2.1417 * t;
    at_1000_bar + c * ((b + PRESSURE_BAR) / (b + 1000.0)).ln()
}

/// Density of water at 1 atm \[kg/m³\].
///
/// Saturated liquid by Wagner & Pruss 2002, J. Phys. Chem. Ref. Data 31, 387,
/// eq. 2.6 (coefficients from memory), brought to 1 atm with a compressibility of
/// 4.5e-5 per atm. Agrees with RHO_0 of PHREEQC 3.7.3 within 0.01 kg/m³.
fn water_density(temperature_k: f64) -> f64 {
    const CRITICAL_K: f64 = 647.096;
    let cube_root = (1.0 - temperature_k / CRITICAL_K).cbrt();
    let term = |b: f64, thirds: i32| b * cube_root.powi(thirds);
    let reduced = 1.0
        + term(1.992_740_64, 1)
        + term(1.099_653_42, 2)
        + term(-0.510_839_303, 5)
        + term(-1.754_934_79, 16)
        + term(-45.517_035_2, 43)
        + term(-6.746_944_5e5, 110);
    let vapour_pressure_atm = (11.6702 - 3816.44 / (temperature_k - 46.13)).exp();
    322.0 * reduced + 0.045 * (1.0 - vapour_pressure_atm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::speciation::table::{phase_place, species_place};

    /// DH_A, DH_B, EPS_R and RHO_0 of PHREEQC 3.7.3-15968, phreeqc.dat as shipped
    /// in phreeqpython 1.6.2, pure water.
    #[test]
    fn debye_huckel_slopes_agree_with_phreeqc() {
        for (celsius, a, b, epsilon, density) in [
            (0.0, 0.490_833_7, 0.324_620_7, 87.856_419, 999.840_02),
            (10.0, 0.497_864_0, 0.326_147_9, 83.949_907, 999.699_32),
            (20.0, 0.505_756_0, 0.327_698_6, 80.200_381, 998.202_90),
            (25.0, 0.510_024_8, 0.328_490_6, 78.384_418, 997.043_01),
            (50.0, 0.534_578_9, 0.332_671_1, 69.876_636, 988.029_12),
            (65.0, 0.551_888_4, 0.335_372_5, 65.207_817, 980.544_58),
            (80.0, 0.571_171_4, 0.338_220_7, 60.842_542, 971.785_20),
            (100.0, 0.600_073_1, 0.342_239_6, 55.459_435, 958.346_80),
        ] {
            let t = celsius + 273.15;
            let ours = DebyeHuckel::at(t);
            assert!((ours.a - a).abs() < 5e-6, "A at {celsius}: {}", ours.a);
            assert!((ours.b - b).abs() < 3e-6, "B at {celsius}: {}", ours.b);
            assert!((dielectric_constant(t) - epsilon).abs() < 1e-6, "{celsius}");
            assert!((water_density(t) - density).abs() < 0.01, "{celsius}");
        }
    }

    /// Worked from the coefficients in phreeqc.dat by a program of its own:
    /// pK1, pK2, pKw, pK of calcite, -log KH, and log K of CaHCO3+ (from HCO3-),
    /// CaCO3, CaSO4 and MgSO4.
    #[test]
    fn equilibrium_constants_agree_with_worked_values() {
        #[rustfmt::skip]
        let rows = [
            (0.0, [6.5786, 10.6286, 14.9385, 8.3814, 1.1081, 0.8201, 3.1354, 2.1611, 2.0647]),
            (10.0, [6.4633, 10.4879, 14.5314, 8.4105, 1.2695, 0.9681, 3.1356, 2.1985, 2.1933]),
            (20.0, [6.3819, 10.3756, 14.1646, 8.4533, 1.4071, 1.0689, 3.1858, 2.2334, 2.3131]),
            (25.0, [6.3519, 10.3289, 13.9948, 8.4798, 1.4682, 1.1058, 3.2253, 2.2500, 2.3700]),
            (50.0, [6.2858, 10.1744, 13.2617, 8.6628, 1.7108, 1.2074, 3.5132, 2.3251, 2.6280]),
            (65.0, [6.2978, 10.1342, 12.9008, 8.8116, 1.8163, 1.2392, 3.7199, 2.3649, 2.7645]),
            (100.0, [6.4266, 10.1552, 12.2383, 9.2665, 1.9792, 1.3558, 4.1694, 2.4452, 3.0403]),
        ];
        for (celsius, expected) in rows {
            let constants = Constants::at(celsius + 273.15);
            let k = |name: &str| constants.ln_k[species_place(name)] / LN_10;
            let phase = |name: &str| constants.ln_k_phase[phase_place(name)] / LN_10;
            let ours = [
                k("CO2") - k("HCO3-"),
                k("HCO3-"),
                -k("OH-"),
                -phase("calcite"),
                -(phase("CO2(g)") + k("CO2")),
                k("CaHCO3+") - k("HCO3-"),
                k("CaCO3"),
                k("CaSO4"),
                k("MgSO4"),
            ];
            for (n, (ours, expected)) in ours.iter().zip(expected).enumerate() {
                assert!((ours - expected).abs() < 6e-5, "{celsius} °C, {n}: {ours}");
            }
        }
    }
}

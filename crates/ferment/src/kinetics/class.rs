//! Kinetic numbers of the course model: the rows of `data/kinetics.toml`.

use std::sync::LazyLock;

use quantity::{Mark, Source, data};

use crate::temperature::Cardinal;

const FILE: &str = "kinetics.toml";

/// Rates of one class at its reference temperature.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ClassKinetics {
    pub(crate) reference_c: f64,
    /// Specific growth with all at hand \[1/h\].
    pub(crate) growth_per_h: f64,
    /// Maltose taken up by 10⁶ cells/mL \[g/(L h)\].
    pub(crate) uptake_g_per_l_h: f64,
    pub(crate) lag_h: f64,
    pub(crate) growth_at: Cardinal,
    pub(crate) uptake_at: Cardinal,
    pub(crate) settling_per_h: f64,
    /// Acetolactate relative to the common figure.
    pub(crate) diacetyl: f64,
    /// Sulfite made in wort of 12 °P \[mg/L as SO₂\].
    pub(crate) sulfite_mg_per_l: f64,
    pub(crate) source: Source,
}

/// Numbers that the classes share; each is explained in the file.
#[derive(Debug, Clone, Copy, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Common {
    pub(crate) uptake_min_shift_k: f64,
    pub(crate) class_limit: f64,
    pub(crate) simple_ratio: f64,
    pub(crate) maltotriose_ratio: f64,
    pub(crate) half_simple_g_per_l: f64,
    pub(crate) half_maltose_g_per_l: f64,
    pub(crate) half_maltotriose_g_per_l: f64,
    pub(crate) repress_by_simple_g_per_l: f64,
    pub(crate) repress_by_maltose_g_per_l: f64,
    pub(crate) half_growth_g_per_l: f64,
    pub(crate) readiness_per_h: f64,
    pub(crate) sterols_dry_fold: f64,
    pub(crate) sterols_other_fold: f64,
    pub(crate) cells_per_oxygen: f64,
    pub(crate) nitrogen_per_cells: f64,
    pub(crate) tolerance_steepness: i32,
    pub(crate) crowd_millions_per_ml: f64,
    pub(crate) stir_g_per_l_h: f64,
    pub(crate) cold_margin_k: f64,
    pub(crate) cold_width_k: f64,
    pub(crate) death_per_h: f64,
    pub(crate) heat_death_per_h: f64,
    pub(crate) heat_death_width_k: f64,
    pub(crate) acetolactate_mg_per_cells: f64,
    pub(crate) acetolactate_decay_per_h: f64,
    pub(crate) acetolactate_energy_kj_per_mol: f64,
    pub(crate) acetolactate_ph_factor: f64,
    pub(crate) diacetyl_reduction: f64,
    pub(crate) reduction_q10: f64,
    pub(crate) acetaldehyde_mg_per_g: f64,
    pub(crate) acetaldehyde_reduction: f64,
    pub(crate) ester_slope_per_k: f64,
    pub(crate) fusel_q10: f64,
    pub(crate) pitch_exponent: f64,
    pub(crate) ester_gravity_exponent: f64,
    pub(crate) fusel_gravity_exponent: f64,
    pub(crate) dms_half_co2_g_per_l: f64,
    pub(crate) thermal_vinylguaiacol: f64,
    pub(crate) dextrin_split_per_h: f64,
    pub(crate) dextrin_q10: f64,
    pub(crate) dextrin_reference_c: f64,
    pub(crate) beer_ph: f64,
    pub(crate) beer_ph_slope: f64,
    pub(crate) ph_fall: f64,
    pub(crate) pressure_slope_per_bar: f64,
}

/// The numbers that the classes share.
pub(crate) fn common() -> &'static Common {
    &TABLE.common
}

/// The kinetic numbers of a class of the strain table.
pub(crate) fn class_kinetics(name: &str) -> ClassKinetics {
    let row = TABLE.class.iter().find(|row| row.name == name);
    match row {
        Some(row) => row.kinetics(&TABLE.common),
        #[expect(clippy::panic, reason = "a broken built-in file is a defect of the program")]
        None => panic!("built-in data file {FILE}: no class {name:?}"),
    }
}

static TABLE: LazyLock<File> =
    LazyLock::new(|| data::builtin(FILE, include_str!("../../data/kinetics.toml")));

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    common: Common,
    class: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    reference_c: f64,
    growth_per_h: f64,
    uptake_g_per_l_h: f64,
    lag_h: f64,
    cardinal_c: [f64; 3],
    settling_per_h: f64,
    diacetyl: f64,
    sulfite_mg_per_l: f64,
    calibrated_on: String,
    mark: String,
}

impl Row {
    fn kinetics(&self, common: &Common) -> ClassKinetics {
        let [min_c, best_c, max_c] = self.cardinal_c;
        let growth_at = Cardinal {
            min_c,
            best_c,
            max_c,
        };
        let mark: Mark = data::mark(FILE, &self.name, &self.mark);
        ClassKinetics {
            reference_c: self.reference_c,
            growth_per_h: self.growth_per_h,
            uptake_g_per_l_h: self.uptake_g_per_l_h,
            lag_h: self.lag_h,
            growth_at,
            uptake_at: Cardinal {
                min_c: min_c - common.uptake_min_shift_k,
                ..growth_at
            },
            settling_per_h: self.settling_per_h,
            diacetyl: self.diacetyl,
            sulfite_mg_per_l: self.sulfite_mg_per_l,
            source: Source {
                text: self.calibrated_on.clone(),
                mark,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_has_numbers_that_can_be() {
        for strain in crate::strains() {
            let k = class_kinetics(&strain.name);
            assert!(k.growth_at.min_c < k.reference_c && k.reference_c < k.growth_at.max_c);
            assert!(
                k.growth_at.min_c < k.growth_at.best_c && k.growth_at.best_c < k.growth_at.max_c
            );
            assert!(k.growth_per_h > 0.0 && k.uptake_g_per_l_h > 0.0 && k.lag_h > 0.0);
            assert!(!k.source.text.is_empty());
            assert!(
                strain.working.low.c() <= k.reference_c && k.reference_c <= strain.working.high.c()
            );
        }
        assert_eq!(TABLE.class.len(), crate::strains().len());
    }
}

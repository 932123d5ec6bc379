//! The figures of `data/mashing.toml`.

use std::sync::LazyLock;

use crate::figures::Figure;

const FILE: &str = "mashing.toml";
const TEXT: &str = include_str!("../../data/mashing.toml");

/// The whole file.
pub(crate) static FIGURES: LazyLock<Figures> =
    LazyLock::new(|| quantity::data::builtin(FILE, TEXT));

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Figures {
    pub(crate) heating_rate: Figure,
    pub(crate) pouring: Figure,
    pub(crate) decoction_boil: Figure,
    pub(crate) thick_mash: Figure,
    pub(crate) grain_volume: Figure,
    pub(crate) thermometer_repeats: Figure,
    pub(crate) loss_reads_apart: Figure,
    pub(crate) fastest_loss: Figure,
    pub(crate) whole_malt_keeps: Figure,
    pub(crate) crushed_malt_keeps: Figure,
    pub(crate) beta_ph: Figure,
    pub(crate) beta_ph_width: Figure,
    pub(crate) alpha_ph: Figure,
    pub(crate) alpha_ph_width: Figure,
    pub(crate) fitted_ph: Figure,
    pub(crate) protease_ph: Figure,
    pub(crate) protease_ph_width: Figure,
    pub(crate) fan_by_rest: Figure,
    pub(crate) fan_rest: Figure,
    pub(crate) amino_nitrogen_sd: Figure,
    pub(crate) kolbach_least: Figure,
    pub(crate) kolbach_most: Figure,
    pub(crate) difference_most: Figure,
    pub(crate) protein_usual: Figure,
    pub(crate) ferulic_ph: Figure,
    pub(crate) ferulic_ph_width: Figure,
    pub(crate) ferulic_acid_sd: Figure,
}

#[cfg(test)]
mod tests {
    use super::{FILE, TEXT};

    #[test]
    fn every_row_names_its_source_and_how_it_was_obtained() {
        crate::figures::assert_sourced(FILE, TEXT, 27);
    }
}

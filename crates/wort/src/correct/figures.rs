//! The figures of `data/brew_day.toml`.

use std::sync::LazyLock;

use crate::figures::Figure;

const FILE: &str = "brew_day.toml";
const TEXT: &str = include_str!("../../data/brew_day.toml");

/// The whole file.
pub(super) static FIGURES: LazyLock<Figures> =
    LazyLock::new(|| quantity::data::builtin(FILE, TEXT));

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Figures {
    pub(super) conversion: Figure,
    pub(super) left_in_tun: Figure,
    pub(super) water: Figure,
    pub(super) evaporation: Figure,
    pub(super) losses: Figure,
    pub(super) last_runnings_model: Figure,
}

#[cfg(test)]
mod tests {
    use super::{FILE, TEXT};

    #[test]
    fn every_row_names_its_source_and_how_it_was_obtained() {
        crate::figures::assert_sourced(FILE, TEXT, 6);
    }
}

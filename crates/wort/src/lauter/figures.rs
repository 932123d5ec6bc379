//! The figures of `data/lauter.toml`.

use std::sync::LazyLock;

use crate::figures::Figure;

const FILE: &str = "lauter.toml";
const TEXT: &str = include_str!("../../data/lauter.toml");

/// The whole file.
pub(crate) static FIGURES: LazyLock<Figures> =
    LazyLock::new(|| quantity::data::builtin(FILE, TEXT));

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Figures {
    pub(crate) soluble_buffering: Figure,
    pub(crate) carbonic_acid_pk: Figure,
    pub(crate) stop_gravity: Figure,
    pub(crate) stop_ph: Figure,
    pub(crate) hot_sparge: Figure,
}

#[cfg(test)]
mod tests {
    use super::{FILE, TEXT};

    #[test]
    fn every_row_names_its_source_and_how_it_was_obtained() {
        crate::figures::assert_sourced(FILE, TEXT, 5);
    }
}

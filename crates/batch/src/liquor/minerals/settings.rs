//! The rows of `data/minerals.toml`.

use std::sync::LazyLock;

use quantity::data;

use crate::defaults::{DefaultRow, File, Rows, by_key, row_of};

const FILE: &str = "minerals.toml";

static ROWS: LazyLock<Rows> = LazyLock::new(|| {
    let file: File = data::builtin(FILE, include_str!("../../../data/minerals.toml"));
    by_key(FILE, file.default)
});

/// The row of a key.
///
/// # Panics
/// If there is none: a test asks for every key.
pub(super) fn setting(key: &str) -> &'static DefaultRow {
    row_of(FILE, &ROWS, key)
}

//! Loading the data files that are built into the crates.

use crate::provenance::Mark;

/// Reads a built-in TOML file.
///
/// # Panics
/// If the file does not have the shape of `T`. Built-in files are part of the
/// program and each is loaded by a test of its crate, so this cannot depend on
/// what a user does.
#[must_use]
pub fn builtin<T: serde::de::DeserializeOwned>(name: &str, text: &str) -> T {
    match toml::from_str(text) {
        Ok(value) => value,
        #[expect(clippy::panic, reason = "a broken built-in file is a defect of the program")]
        Err(error) => panic!("built-in data file {name}: {error}"),
    }
}

/// Reads the mark of a row of a built-in file.
///
/// # Panics
/// As [`builtin`].
#[must_use]
pub fn mark(file: &str, row: &str, words: &str) -> Mark {
    match Mark::from_words(words) {
        Some(mark) => mark,
        #[expect(clippy::panic, reason = "a broken built-in file is a defect of the program")]
        None => panic!("built-in data file {file}, row {row}: unknown mark {words:?}"),
    }
}

/// Reads a quantity of a row of a built-in file.
///
/// # Panics
/// As [`builtin`].
#[must_use]
pub fn quantity<T>(file: &str, row: &str, text: &str) -> T
where
    T: std::str::FromStr<Err = crate::QuantityError>,
{
    match text.parse() {
        Ok(value) => value,
        #[expect(clippy::panic, reason = "a broken built-in file is a defect of the program")]
        Err(error) => panic!("built-in data file {file}, row {row}: {error}"),
    }
}

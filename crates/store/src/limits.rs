//! How long things may be, and what no text may hold.

use crate::StoreError;

/// The longest text of a document or an analysis \[bytes\].
pub const MAX_TEXT_BYTES: usize = 16 * 1024 * 1024;
/// The longest title, note or raw reading \[bytes\].
pub const MAX_LINE_BYTES: usize = 4096;
/// The longest name of an author, instrument, quantity, unit or source
/// \[bytes\]. Names are part of keys, which PostgreSQL limits to about 2,700.
pub const MAX_NAME_BYTES: usize = 400;

/// A long text that both engines take.
pub(crate) fn text(what: &'static str, given: &str) -> Result<(), StoreError> {
    within(what, given, MAX_TEXT_BYTES)
}

/// A short text that both engines take.
pub(crate) fn line(what: &'static str, given: &str) -> Result<(), StoreError> {
    within(what, given, MAX_LINE_BYTES)
}

/// A name that is not empty.
pub(crate) fn name(what: &'static str, given: &str) -> Result<(), StoreError> {
    if given.is_empty() {
        return Err(StoreError::impossible(
            what,
            given,
            "a name of at least one letter",
        ));
    }
    within(what, given, MAX_NAME_BYTES)
}

/// A name that is shown in lists, and so stands on one line.
pub(crate) fn shown_name(what: &'static str, given: &str) -> Result<(), StoreError> {
    name(what, given)?;
    if given.contains(char::is_control) {
        return Err(StoreError::impossible(
            what,
            given.escape_debug(),
            "a name on one line, without line breaks, tabs and other control characters",
        ));
    }
    Ok(())
}

fn within(what: &'static str, given: &str, most_bytes: usize) -> Result<(), StoreError> {
    if given.len() > most_bytes {
        return Err(StoreError::impossible(
            what,
            given,
            format!("at most {most_bytes} bytes"),
        ));
    }
    // PostgreSQL has no way to keep it, and TOML forbids it.
    if given.contains('\0') {
        return Err(StoreError::impossible(
            what,
            given,
            "a text without the character NUL",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_byte_that_fits_is_taken_and_the_next_refused() {
        assert!(line("title", &"a".repeat(MAX_LINE_BYTES)).is_ok());
        assert!(line("title", &"a".repeat(MAX_LINE_BYTES + 1)).is_err());
        assert!(name("unit", "").is_err());
        assert!(shown_name("device", "float, left").is_ok());
        for other in ["", "a\nb", "a\tb", "a\u{1b}[31mb", "a\u{85}b"] {
            assert!(shown_name("device", other).is_err(), "{other:?}");
        }
        assert!(text("text", "").is_ok());
        assert!(text("text", "a\0").is_err());
    }
}

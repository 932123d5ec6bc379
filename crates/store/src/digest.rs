//! Fingerprints of texts.

use std::fmt::Write as _;

use sha2::{Digest as _, Sha256};

/// The SHA-256 of a text in small hexadecimal letters (FIPS 180-4).
pub(crate) fn sha256_hex(text: &str) -> String {
    Sha256::digest(text.as_bytes())
        .iter()
        .fold(String::with_capacity(64), |mut hex, byte| {
            // Writing to a `String` cannot fail.
            let _ = write!(hex, "{byte:02x}");
            hex
        })
}

#[cfg(test)]
mod tests {
    /// FIPS 180-2 (2002), appendix B.1: the digest of "abc".
    #[test]
    fn the_published_digest_of_abc() {
        assert_eq!(
            super::sha256_hex("abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}

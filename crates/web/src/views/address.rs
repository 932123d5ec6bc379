//! Addresses that hold a question.

/// Pairs as the query of an address.
pub fn query<'p>(pairs: impl Iterator<Item = (&'p str, &'p str)>) -> String {
    let pairs = pairs.map(|(name, text)| format!("{}={}", encoded(name), encoded(text)));
    pairs.collect::<Vec<_>>().join("&")
}

/// A text as a part of an address (RFC 3986, section 2.1).
fn encoded(text: &str) -> String {
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"-._~".contains(&b);
    let one = |b: u8| {
        if plain(b) {
            char::from(b).to_string()
        } else {
            format!("%{b:02X}")
        }
    };
    text.bytes().map(one).collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn what_an_address_cannot_hold_is_encoded() {
        let pairs = [("colour", "12 ± 1 EBC"), ("a&b", "x=y")];
        assert_eq!(
            super::query(pairs.into_iter()),
            "colour=12%20%C2%B1%201%20EBC&a%26b=x%3Dy"
        );
    }
}

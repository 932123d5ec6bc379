//! What the pointer or a key reads at one place.

/// One reading place: a heading, and names with values.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tip {
    /// Where it is: "2.5 d", "tap, cations".
    pub head: String,
    /// Name and value with unit.
    pub lines: Vec<(String, String)>,
}

/// The tips as one JSON array of `[head, [name, value], …]`.
pub(crate) fn json(tips: &[Tip]) -> String {
    let rows: Vec<String> = tips.iter().map(row).collect();
    format!("[{}]", rows.join(","))
}

fn row(tip: &Tip) -> String {
    let mut out = format!("[{}", quoted(&tip.head));
    for (name, value) in &tip.lines {
        out.push_str(&format!(",[{},{}]", quoted(name), quoted(value)));
    }
    out.push(']');
    out
}

/// A JSON string (RFC 8259, section 7).
fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push_str(&format!("\\u{:04x}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn json_reads_back(head in any::<String>(), name in any::<String>(), value in any::<String>()) {
            let tip = Tip { head: head.clone(), lines: vec![(name.clone(), value.clone())] };
            let back: serde_json::Value = serde_json::from_str(&json(&[tip])).unwrap();
            prop_assert_eq!(back, serde_json::json!([[head, [name, value]]]));
        }
    }
}

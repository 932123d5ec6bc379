//! What a form or an address brings: names, and what was typed under them.

pub(super) type Pairs = Vec<(String, String)>;

/// What was typed under a name; empty where nothing was.
pub(super) fn value<'p>(pairs: &'p [(String, String)], name: &str) -> &'p str {
    let found = pairs.iter().find(|(key, _)| key == name);
    found.map_or("", |(_, value)| value.trim())
}

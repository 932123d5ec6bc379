//! The demo documents, built into the binary. All of them are invented.

use crate::problem::Problem;

struct Example {
    name: &'static str,
    about: &'static str,
    text: &'static str,
}

const EXAMPLES: [Example; 3] = [
    Example {
        name: "lantern-pale",
        about: "a pale dry ale on a phenolic yeast; hard, chloraminated water, treated",
        text: include_str!("../../../examples/lantern-pale.toml"),
    },
    Example {
        name: "lantern-pale-first",
        about: "the same beer as first brewed: untreated water, one packet, a warm start",
        text: include_str!("../../../examples/lantern-pale-first.toml"),
    },
    Example {
        name: "towpath-amber",
        about: "an amber lager on soft spring water, kegged; some figures in US units",
        text: include_str!("../../../examples/towpath-amber.toml"),
    },
];

/// The text of a demo document, by name.
///
/// # Errors
/// If there is none of that name.
pub fn find(name: &str) -> Result<&'static str, Problem> {
    let plain = name.trim_end_matches(".toml");
    EXAMPLES
        .iter()
        .find(|e| e.name == plain)
        .map(|e| e.text)
        .ok_or_else(|| Problem::NoExample {
            name: name.to_owned(),
            known: EXAMPLES.map(|e| e.name).join(", "),
        })
}

/// The list for reading.
pub fn listing() -> String {
    let lines: String = EXAMPLES
        .iter()
        .map(|e| format!("  {:<20} {}\n", e.name, e.about))
        .collect();
    format!(
        "Demo documents (beers, town and waters are invented):\n{lines}\nWrite one with: gyle example lantern-pale > mine.toml\n"
    )
}

/// The list for programs.
pub fn list() -> serde_json::Value {
    EXAMPLES
        .iter()
        .map(|e| serde_json::json!({"name": e.name, "about": e.about}))
        .collect()
}

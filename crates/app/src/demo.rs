//! The demo documents, built into the binary. All of them are invented.

/// A demo document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Demo {
    /// Its name.
    pub name: &'static str,
    /// What it is, in a line.
    pub about: &'static str,
    /// Its text.
    pub text: &'static str,
}

const DEMOS: [Demo; 3] = [
    Demo {
        name: "lantern-pale",
        about: "a pale dry ale on a phenolic yeast; hard, chloraminated water, treated",
        text: include_str!("../../../examples/lantern-pale.toml"),
    },
    Demo {
        name: "lantern-pale-first",
        about: "the same beer as first brewed: untreated water, one packet, a warm start",
        text: include_str!("../../../examples/lantern-pale-first.toml"),
    },
    Demo {
        name: "towpath-amber",
        about: "an amber lager on soft spring water, kegged; some figures in US units",
        text: include_str!("../../../examples/towpath-amber.toml"),
    },
];

/// The demo documents; beers, town and waters are invented.
#[must_use]
pub fn demos() -> &'static [Demo] {
    &DEMOS
}

impl Demo {
    /// A demo document by name, with or without ".toml".
    #[must_use]
    pub fn find(name: &str) -> Option<&'static Self> {
        let plain = name.trim_end_matches(".toml");
        DEMOS.iter().find(|d| d.name == plain)
    }
}

//! What must never meet: rows of `data/mixtures.toml`.

use std::sync::LazyLock;

use quantity::Source;

use super::agent::Agent;
use crate::error::{PackageError, find};

/// Two kinds that must not meet.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture {
    /// One kind.
    pub a: String,
    /// The other.
    pub b: String,
    /// What comes of it.
    pub gives: String,
    /// How bad that is.
    pub severity: Severity,
    /// Where that comes from.
    pub source: Source,
}

/// How bad a meeting is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// It can hurt someone.
    Danger,
    /// It undoes the work or the vessel.
    Spoils,
}

impl Severity {
    /// The word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Danger => "danger",
            Self::Spoils => "spoils",
        }
    }
}

/// Something that is no cleaning agent and can meet one.
#[derive(Debug, Clone, PartialEq)]
pub struct Substance {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// What it counts as.
    pub kinds: Vec<String>,
}

/// Something by its key, as agent or substance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// Its key.
    pub key: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it counts as.
    pub kinds: &'static [String],
}

impl Mixture {
    /// All of them, the dangerous ones first.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &TABLES.0
    }
}

impl Substance {
    /// All of them.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &TABLES.1
    }
}

/// What comes of two that meet; nothing known is not the same as safe.
#[must_use]
pub fn never_meet(one: &[String], other: &[String]) -> Vec<&'static Mixture> {
    let has = |kinds: &[String], kind: &String| kinds.contains(kind);
    let rows = Mixture::all().iter();
    rows.filter(|m| (has(one, &m.a) && has(other, &m.b)) || (has(one, &m.b) && has(other, &m.a)))
        .collect()
}

/// An agent or a substance by its key.
///
/// # Errors
/// [`PackageError::UnknownKey`] with the nearest key.
pub fn kinds_of(key: &str) -> Result<Meeting, PackageError> {
    let all = names_that_meet();
    find("agent or substance", &all, |m| m.key, key).copied()
}

/// All that can be asked about: the agents, then the substances.
#[must_use]
pub fn names_that_meet() -> Vec<Meeting> {
    let agents = Agent::all().iter().map(|a| Meeting {
        key: &a.key,
        name: &a.name,
        kinds: &a.kinds,
    });
    let substances = Substance::all().iter().map(|s| Meeting {
        key: &s.key,
        name: &s.name,
        kinds: &s.kinds,
    });
    agents.chain(substances).collect()
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    mixture: Vec<MixtureRow>,
    substance: Vec<SubstanceRow>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct MixtureRow {
    a: String,
    b: String,
    gives: String,
    severity: SeverityWord,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum SeverityWord {
    Danger,
    Spoils,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SubstanceRow {
    key: String,
    name: String,
    kinds: Vec<String>,
}

const FILE: &str = "mixtures.toml";

static TABLES: LazyLock<(Vec<Mixture>, Vec<Substance>)> = LazyLock::new(|| {
    let file: File = quantity::data::builtin(FILE, include_str!("../../data/mixtures.toml"));
    let mixtures = file.mixture.into_iter().map(|row| Mixture {
        source: Source {
            mark: quantity::data::mark(FILE, &row.a, &row.mark),
            text: row.source,
        },
        a: row.a,
        b: row.b,
        gives: row.gives,
        severity: match row.severity {
            SeverityWord::Danger => Severity::Danger,
            SeverityWord::Spoils => Severity::Spoils,
        },
    });
    let substances = file.substance.into_iter().map(|row| Substance {
        key: row.key,
        name: row.name,
        kinds: row.kinds,
    });
    (mixtures.collect(), substances.collect())
});

#[cfg(test)]
mod tests {
    use super::*;

    fn found(one: &str, other: &str) -> Vec<&'static Mixture> {
        never_meet(kinds_of(one).unwrap().kinds, kinds_of(other).unwrap().kinds)
    }

    /// Toxicology text (read): hypochlorite with acid gives chlorine, with ammonia
    /// chloramines; ILO cards (from memory) for the others.
    #[test]
    fn what_gases_or_burns_is_known_from_either_side() {
        for (one, other, gives) in [
            ("hypochlorite", "acid-cleaner", "chlorine gas"),
            ("hypochlorite", "acid-anionic", "chlorine gas"),
            ("hypochlorite", "vinegar", "chlorine gas"),
            ("hypochlorite", "iodophor", "chlorine gas"),
            ("hypochlorite", "ammonia", "chloramine"),
            ("hypochlorite", "percarbonate", "oxygen"),
            ("hypochlorite", "spirit", "chloroform"),
            ("acid-cleaner", "sulfite", "sulfur dioxide"),
            ("caustic", "aluminium", "hydrogen"),
            ("caustic", "carbon-dioxide", "collapses"),
            ("caustic", "peracetic-acid", "heat"),
            ("percarbonate", "closed-vessel", "pressure"),
            ("spirit", "flame", "fire"),
        ] {
            let (there, back) = (found(one, other), found(other, one));
            assert!(
                there.iter().any(|m| m.gives.contains(gives)),
                "{one} {other}"
            );
            assert!(there.iter().any(|m| m.severity == Severity::Danger));
            assert_eq!(there, back);
        }
        assert!(found("peracetic-acid", "stainless-steel").is_empty());
        assert!(found("percarbonate", "caustic").is_empty(), "both alkaline");
    }

    #[test]
    fn every_kind_of_a_mixture_is_one_of_something() {
        let all = names_that_meet();
        for mixture in Mixture::all() {
            for kind in [&mixture.a, &mixture.b] {
                assert!(all.iter().any(|m| m.kinds.contains(kind)), "{kind}");
            }
            assert!(!mixture.source.text.is_empty());
        }
        let mut keys: Vec<_> = all.iter().map(|m| m.key).collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), all.len());
        assert!(
            kinds_of("bleach")
                .unwrap_err()
                .to_string()
                .contains("hypochlorite")
        );
    }
}

//! Flavour compounds and their thresholds: the rows of `data/thresholds.toml`.

use std::sync::LazyLock;

use quantity::{MassConcentration, Source};
use serde::de::Error as _;
use serde::{Deserialize, Deserializer};

/// A flavour compound.
#[derive(Debug, Clone, PartialEq)]
pub struct Compound {
    /// The key that documents and findings use.
    pub key: String,
    /// Its name.
    pub name: String,
    /// What it is chemically.
    pub class: Class,
    /// What it smells or tastes of.
    pub words: Vec<String>,
    /// What the thresholds were found in.
    pub medium: Medium,
    /// From what concentration it is noticed.
    pub threshold: Threshold,
    /// Taste threshold in water, where known too.
    pub in_water: Option<MassConcentration>,
    /// How much beers usually hold, in words.
    pub usual: String,
    /// Where it comes from.
    pub origin: String,
    /// Where the typical threshold comes from.
    pub source: Source,
    /// Where the range comes from.
    pub range_source: String,
}

/// Concentrations from which tasters notice a compound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// The least in print, or that sensitive tasters need.
    pub low: MassConcentration,
    /// The figure to reckon with.
    pub typical: MassConcentration,
    /// The highest in use.
    pub high: MassConcentration,
}

/// What thresholds were found in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Medium {
    /// Beer.
    Beer,
    /// Water: in beer more will be needed.
    Water,
}

macro_rules! classes {
    ($($(#[$doc:meta])* $name:ident => $word:literal;)+) => {
        /// Chemical class of a flavour compound.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Class {
            $($(#[$doc])* $name,)+
        }

        impl Class {
            /// The word for it.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$name => $word,)+ }
            }

            fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$name),)+ _ => None }
            }
        }
    };
}

classes! {
    /// Ester: acid and alcohol joined.
    Ester => "ester";
    /// Higher (fusel) alcohol.
    HigherAlcohol => "higher alcohol";
    /// Ethanol.
    Alcohol => "alcohol";
    /// Aldehyde.
    Aldehyde => "aldehyde";
    /// Vicinal diketone.
    VicinalDiketone => "vicinal diketone";
    /// Phenol without halogen.
    Phenol => "phenol";
    /// Phenol with chlorine on the ring.
    Chlorophenol => "chlorophenol";
    /// Sulfide: two carbons on a sulfur; copper does not bind it.
    Sulfide => "sulfide";
    /// Sulfhydryl: hydrogen on a sulfur; copper binds it.
    Sulfhydryl => "sulfhydryl";
    /// Sulfur dioxide and sulfite.
    Sulfite => "sulfite";
    /// Bitter acid of hops.
    BitterAcid => "bitter acid";
    /// Organic acid.
    Acid => "acid";
    /// Chlorine and chloramine.
    Oxidant => "oxidant";
    /// Ion of a salt.
    Ion => "ion";
    /// Carbon dioxide.
    Gas => "gas";
}

impl Compound {
    /// All compounds of the table.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &COMPOUNDS
    }

    /// The compound with a key.
    #[must_use]
    pub fn find(key: &str) -> Option<&'static Self> {
        COMPOUNDS.iter().find(|compound| compound.key == key)
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    compound: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    name: String,
    #[serde(deserialize_with = "class")]
    class: Class,
    words: Vec<String>,
    #[serde(deserialize_with = "medium")]
    medium: Medium,
    low: String,
    typical: String,
    high: String,
    in_water: Option<String>,
    usual: String,
    origin: String,
    source: String,
    mark: String,
    range: String,
}

fn class<'de, D: Deserializer<'de>>(word: D) -> Result<Class, D::Error> {
    let word = String::deserialize(word)?;
    Class::from_word(&word).ok_or_else(|| D::Error::custom(format!("unknown class {word:?}")))
}

fn medium<'de, D: Deserializer<'de>>(word: D) -> Result<Medium, D::Error> {
    match String::deserialize(word)?.as_str() {
        "beer" => Ok(Medium::Beer),
        "water" => Ok(Medium::Water),
        other => Err(D::Error::custom(format!("unknown medium {other:?}"))),
    }
}

const FILE: &str = "thresholds.toml";

static COMPOUNDS: LazyLock<Vec<Compound>> = LazyLock::new(|| {
    let file: File = quantity::data::builtin(FILE, include_str!("../data/thresholds.toml"));
    file.compound.into_iter().map(compound).collect()
});

fn compound(row: Row) -> Compound {
    let amount = |text: &str| quantity::data::quantity(FILE, &row.key, text);
    Compound {
        threshold: Threshold {
            low: amount(&row.low),
            typical: amount(&row.typical),
            high: amount(&row.high),
        },
        in_water: row.in_water.as_deref().map(amount),
        source: Source {
            text: row.source,
            mark: quantity::data::mark(FILE, &row.key, &row.mark),
        },
        key: row.key,
        name: row.name,
        class: row.class,
        words: row.words,
        medium: row.medium,
        usual: row.usual,
        origin: row.origin,
        range_source: row.range,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_sound_and_has_its_own_key() {
        for (i, c) in Compound::all().iter().enumerate() {
            let t = c.threshold;
            assert!(t.low.mg_per_l() > 0.0, "{}", c.key);
            assert!(t.low <= t.typical && t.typical <= t.high, "{}", c.key);
            let texts = [
                &c.name,
                &c.usual,
                &c.origin,
                &c.source.text,
                &c.range_source,
            ];
            assert!(texts.iter().all(|text| !text.is_empty()) && !c.words.is_empty());
            assert!(
                Compound::all()
                    .iter()
                    .skip(i + 1)
                    .all(|other| other.key != c.key)
            );
        }
    }

    #[test]
    fn chemistry_is_kept_straight() {
        for (class, keys) in [
            (
                Class::Ester,
                &["ethyl-acetate", "isoamyl-acetate", "ethyl-hexanoate"][..],
            ),
            (
                Class::Phenol,
                &["4-vinylguaiacol", "4-vinylphenol", "4-ethylphenol"],
            ),
            (
                Class::Chlorophenol,
                &["2-chlorophenol", "2,4-dichlorophenol", "2,6-dichlorophenol"],
            ),
            (
                Class::HigherAlcohol,
                &["isoamyl-alcohol", "isobutanol", "phenylethanol"],
            ),
            (Class::VicinalDiketone, &["diacetyl", "2,3-pentanedione"]),
            (Class::Sulfide, &["dimethyl-sulfide"]),
            (Class::Sulfhydryl, &["hydrogen-sulfide"]),
        ] {
            for key in keys {
                assert_eq!(Compound::find(key).unwrap().class, class, "{key}");
            }
        }
    }

    /// Liguori et al. 2018, J. Food Quality 8780725, Table 4 (read).
    #[test]
    fn typical_thresholds_are_those_in_print() {
        for (key, mg_per_l) in [
            ("diacetyl", 0.15),
            ("2,3-pentanedione", 0.9),
            ("acetaldehyde", 25.0),
            ("ethyl-acetate", 33.0),
            ("isoamyl-acetate", 1.6),
            ("isoamyl-alcohol", 70.0),
        ] {
            let typical = Compound::find(key).unwrap().threshold.typical.mg_per_l();
            assert!((typical - mg_per_l).abs() < 1e-12, "{key}");
        }
    }
}

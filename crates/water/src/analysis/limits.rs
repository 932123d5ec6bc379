//! Limits for water: the rows of `data/limits.toml`.

use std::sync::LazyLock;

use quantity::Source;
use quantity::data::{builtin, mark};

use crate::lookup::known;
use crate::state::{Ions, SourceWater};

const FILE: &str = "limits.toml";

/// What a limit is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// What brewing minds.
    Brewing,
    /// A legal or recommended figure that is not about harm.
    Quality,
    /// A health limit.
    Health,
}

/// A limit for one item of a water analysis.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// The item, such as "nitrate".
    pub item: Item,
    /// What it is for.
    pub kind: Kind,
    /// The figure \[mg/L; chlorine as Cl₂\].
    pub mg_per_l: f64,
    /// True where the remark holds below the figure.
    pub low: bool,
    /// Who set it.
    pub who: String,
    /// What follows.
    pub remark: Option<String>,
    /// Where it comes from.
    pub source: Source,
}

/// What a limit can be set for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Item {
    Nitrate,
    Nitrite,
    Lead,
    Arsenic,
    Fluoride,
    Copper,
    Manganese,
    Iron,
    Ammonium,
    Chloride,
    Sulfate,
    Sodium,
    Calcium,
    Magnesium,
    Chlorine,
    CombinedChlorine,
}

/// All limits.
#[must_use]
pub fn limits() -> &'static [Limit] {
    &LIMITS
}

impl Item {
    /// All of them.
    pub const ALL: [Self; 16] = [
        Self::Nitrate,
        Self::Nitrite,
        Self::Lead,
        Self::Arsenic,
        Self::Fluoride,
        Self::Copper,
        Self::Manganese,
        Self::Iron,
        Self::Ammonium,
        Self::Chloride,
        Self::Sulfate,
        Self::Sodium,
        Self::Calcium,
        Self::Magnesium,
        Self::Chlorine,
        Self::CombinedChlorine,
    ];

    /// The word for it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Nitrate => "nitrate",
            Self::Nitrite => "nitrite",
            Self::Lead => "lead",
            Self::Arsenic => "arsenic",
            Self::Fluoride => "fluoride",
            Self::Copper => "copper",
            Self::Manganese => "manganese",
            Self::Iron => "iron",
            Self::Ammonium => "ammonium",
            Self::Chloride => "chloride",
            Self::Sulfate => "sulfate",
            Self::Sodium => "sodium",
            Self::Calcium => "calcium",
            Self::Magnesium => "magnesium",
            Self::Chlorine => "chlorine",
            Self::CombinedChlorine => "combined chlorine",
        }
    }

    /// What a water has of it \[mg/L; chlorine as Cl₂\]; none where not measured.
    pub(super) fn of(self, water: &SourceWater) -> Option<f64> {
        let total = water.total_chlorine.value.mg_per_l();
        match self {
            Self::Nitrite => water.nitrite.map(quantity::Nitrite::mg_per_l),
            Self::Iron => water.iron.map(quantity::Iron::mg_per_l),
            Self::Manganese => water.manganese.map(quantity::Manganese::mg_per_l),
            Self::Chlorine => Some(total),
            Self::CombinedChlorine => Some(
                total
                    - water
                        .free_chlorine
                        .map_or(0.0, |free| free.value.mg_per_l()),
            ),
            _ => self.of_ions(&water.ions),
        }
    }

    /// As `of`, of treated liquor.
    pub(super) fn of_ions(self, ions: &Ions) -> Option<f64> {
        match self {
            Self::Nitrate => Some(ions.nitrate.mg_per_l()),
            Self::Ammonium => Some(ions.ammonium.mg_per_l()),
            Self::Chloride => Some(ions.chloride.mg_per_l()),
            Self::Sulfate => Some(ions.sulfate.mg_per_l()),
            Self::Sodium => Some(ions.sodium.mg_per_l()),
            Self::Calcium => Some(ions.calcium.mg_per_l()),
            Self::Magnesium => Some(ions.magnesium.mg_per_l()),
            _ => None,
        }
    }
}

/// The limits that a value passes, the strictest kind first.
pub(super) fn passed(item: Item, mg_per_l: f64) -> Vec<&'static Limit> {
    let mut limits: Vec<&Limit> = LIMITS
        .iter()
        .filter(|l| l.item == item && !l.low && mg_per_l > l.mg_per_l)
        .collect();
    limits.sort_by_key(|l| std::cmp::Reverse(l.kind));
    limits
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    limit: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    item: String,
    kind: String,
    mg_per_l: f64,
    #[serde(default)]
    low: bool,
    who: Option<String>,
    remark: Option<String>,
    source: String,
    mark: String,
}

static LIMITS: LazyLock<Vec<Limit>> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../data/limits.toml"));
    file.limit.into_iter().map(limit_of_row).collect()
});

fn limit_of_row(row: Row) -> Limit {
    let item = Item::ALL.into_iter().find(|item| item.name() == row.item);
    let kind = match row.kind.as_str() {
        "health" => Some(Kind::Health),
        "quality" => Some(Kind::Quality),
        "brewing" => Some(Kind::Brewing),
        _ => None,
    };
    Limit {
        item: known(FILE, &row.item, "item", item),
        kind: known(FILE, &row.item, "kind", kind),
        mg_per_l: row.mg_per_l,
        low: row.low,
        who: row.who.unwrap_or_else(|| "brewing".to_owned()),
        remark: row.remark,
        source: Source {
            mark: mark(FILE, &row.item, &row.mark),
            text: row.source,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_rows_load() {
        assert!(limits().len() > 25);
        for limit in limits() {
            assert!(
                limit.mg_per_l > 0.0 && !limit.source.text.is_empty(),
                "{limit:?}"
            );
        }
        for item in Item::ALL {
            assert!(
                limits().iter().any(|l| l.item == item),
                "{item:?} has no row"
            );
        }
    }

    /// WHO guideline 50 mg/L; US 10 mg/L as N and 1 mg/L as N.
    #[test]
    fn limits_as_nitrogen_are_converted() {
        let us = |item| {
            let row = limits()
                .iter()
                .find(|l| l.item == item && l.who.starts_with("US"));
            row.unwrap().mg_per_l
        };
        let nitrate: quantity::Nitrate = "10 mg/L as N".parse().unwrap();
        let nitrite: quantity::Nitrite = "1 mg/L as N".parse().unwrap();
        assert!((us(Item::Nitrate) - nitrate.mg_per_l()).abs() < 0.05);
        assert!((us(Item::Nitrite) - nitrite.mg_per_l()).abs() < 0.005);
    }
}

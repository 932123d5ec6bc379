//! Limits for water, and what rules a water out whatever its figures: the rows of
//! `data/limits.toml`.

use std::sync::LazyLock;

use quantity::data::{builtin, mark, quantity};
use quantity::{Duration, Ph, Source};

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
    Zinc,
    Chloride,
    Sulfate,
    Sodium,
    Calcium,
    Magnesium,
    DissolvedSolids,
    Chlorine,
    CombinedChlorine,
}

/// The pH that a water should have at the tap; it is no limit of brewing.
#[derive(Debug, Clone, PartialEq)]
pub struct PhLimit {
    /// The least.
    pub low: Ph,
    /// The most.
    pub high: Ph,
    /// Who set it.
    pub who: String,
    /// Where it comes from.
    pub source: Source,
}

/// What rules a water out, whatever its figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Refusal {
    /// Why.
    pub cause: Cause,
    /// What follows, one sentence.
    pub text: String,
    /// Whether it is a matter of health, and not of brewing alone.
    pub health: bool,
    /// Where it comes from.
    pub source: Source,
}

/// How long a test of a private well speaks for its water.
#[derive(Debug, Clone, PartialEq)]
pub struct TestedFor {
    /// For so long.
    pub at_most: Duration,
    /// Where it comes from.
    pub source: Source,
}

/// All limits.
#[must_use]
pub fn limits() -> &'static [Limit] {
    &TABLE.limits
}

/// The limits of pH.
#[must_use]
pub fn ph_limits() -> &'static [PhLimit] {
    &TABLE.ph
}

/// All that rules a water out, whatever its figures.
#[must_use]
pub fn refusals() -> &'static [Refusal] {
    &TABLE.refusals
}

/// How long a test of a private well speaks for its water.
#[must_use]
pub fn tested_for() -> &'static TestedFor {
    &TABLE.tested_for
}

macro_rules! causes {
    ($($(#[$doc:meta])* $name:ident => $key:literal;)+) => {
        /// Why a water is ruled out.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Cause {
            $($(#[$doc])* $name,)+
        }

        impl Cause {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// The key of its row.
            #[must_use]
            pub const fn key(self) -> &'static str {
                match self { $(Self::$name => $key,)+ }
            }
        }
    };
}

causes! {
    /// E. coli was found.
    Germs => "e-coli";
    /// A notice to boil it.
    BoilNotice => "boil-notice";
    /// A notice not to drink it.
    DoNotDrink => "do-not-drink";
    /// A chemical got into it.
    ChemicalIncident => "chemical-incident";
    /// It smells of sewage.
    Sewage => "sewage";
    /// It smells of fuel.
    Fuel => "fuel";
    /// It smells of solvent.
    Solvent => "solvent";
    /// A well or spring without a recent test.
    Untested => "untested";
    /// The hot tap or a tank.
    HotTank => "hot-tank";
    /// A hose not made for drinking water.
    GardenHose => "garden-hose";
    /// A household softener.
    Softened => "softened";
}

impl Item {
    /// All of them.
    pub const ALL: [Self; 18] = [
        Self::Nitrate,
        Self::Nitrite,
        Self::Lead,
        Self::Arsenic,
        Self::Fluoride,
        Self::Copper,
        Self::Manganese,
        Self::Iron,
        Self::Ammonium,
        Self::Zinc,
        Self::Chloride,
        Self::Sulfate,
        Self::Sodium,
        Self::Calcium,
        Self::Magnesium,
        Self::DissolvedSolids,
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
            Self::Zinc => "zinc",
            Self::Chloride => "chloride",
            Self::Sulfate => "sulfate",
            Self::Sodium => "sodium",
            Self::Calcium => "calcium",
            Self::Magnesium => "magnesium",
            Self::DissolvedSolids => "dissolved solids",
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
            Self::Lead => water.lead.map(quantity::Lead::mg_per_l),
            Self::Arsenic => water.arsenic.map(quantity::Arsenic::mg_per_l),
            Self::Fluoride => water.fluoride.map(quantity::Fluoride::mg_per_l),
            Self::Copper => water.copper.map(quantity::Copper::mg_per_l),
            Self::Zinc => water.zinc.map(quantity::Zinc::mg_per_l),
            Self::DissolvedSolids => water
                .dissolved_solids
                .map(quantity::MassConcentration::mg_per_l),
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
    pub(crate) fn of_ions(self, ions: &Ions) -> Option<f64> {
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

/// The row of a cause.
pub(super) fn refusal(cause: Cause) -> &'static Refusal {
    // The order of the file is the order of the enum; a test holds it so.
    &TABLE.refusals[cause as usize % TABLE.refusals.len()]
}

/// The limits that a value passes, the strictest kind first.
pub(super) fn passed(item: Item, mg_per_l: f64) -> Vec<&'static Limit> {
    let mut limits: Vec<&Limit> = limits()
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
    ph: Vec<PhRow>,
    tested_for: TestedRow,
    refusal: Vec<RefusalRow>,
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

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct PhRow {
    low: f64,
    high: f64,
    who: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct TestedRow {
    at_most: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct RefusalRow {
    key: String,
    text: String,
    health: bool,
    source: String,
    mark: String,
}

struct Table {
    limits: Vec<Limit>,
    ph: Vec<PhLimit>,
    tested_for: TestedFor,
    refusals: Vec<Refusal>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../data/limits.toml"));
    Table {
        limits: file.limit.into_iter().map(limit_of_row).collect(),
        ph: file.ph.into_iter().map(ph_limit_of_row).collect(),
        tested_for: TestedFor {
            at_most: quantity(FILE, "tested_for", &file.tested_for.at_most),
            source: source("tested_for", file.tested_for.source, &file.tested_for.mark),
        },
        refusals: file.refusal.into_iter().map(refusal_of_row).collect(),
    }
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
        source: source(&row.item, row.source, &row.mark),
    }
}

fn ph_limit_of_row(row: PhRow) -> PhLimit {
    PhLimit {
        low: Ph::from_ph(row.low),
        high: Ph::from_ph(row.high),
        source: source(&row.who, row.source, &row.mark),
        who: row.who,
    }
}

fn refusal_of_row(row: RefusalRow) -> Refusal {
    let cause = Cause::ALL.iter().copied().find(|c| c.key() == row.key);
    Refusal {
        cause: known(FILE, &row.key, "cause", cause),
        text: row.text,
        health: row.health,
        source: source(&row.key, row.source, &row.mark),
    }
}

fn source(row: &str, text: String, words: &str) -> Source {
    Source {
        mark: mark(FILE, row, words),
        text,
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

    #[test]
    fn every_cause_has_its_row_in_order() {
        assert_eq!(refusals().len(), Cause::ALL.len());
        for cause in Cause::ALL {
            let row = refusal(*cause);
            assert_eq!(row.cause, *cause);
            assert!(row.text.ends_with('.') && !row.source.text.is_empty());
        }
        assert!(ph_limits().iter().all(|l| l.low < l.high));
        assert!(tested_for().at_most.h() > 0.0);
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

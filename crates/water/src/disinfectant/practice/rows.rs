//! The rows of `data/chloramine_practice.toml`.

use std::sync::LazyLock;

use quantity::data::{builtin, mark, quantity};
use quantity::{Chlorine, Mark, Measured, Source};

use super::{Reason, Region};
use crate::lookup::known;

const FILE: &str = "chloramine_practice.toml";

/// A sign that is not a word.
#[derive(Debug, Clone, Copy)]
pub(super) enum Sign {
    CombinedMost,
    CombinedSome,
    CombinedLittle,
    Ammonia,
    NoAmmonia,
    Pool,
    Bleach,
    Odourless,
    Much,
}

pub(super) struct Table {
    regions: Vec<RegionRow>,
    words: Vec<Words>,
    signs: Signs,
    pub(super) free_kept: Share,
    pub(super) chloramine_kept: Share,
    pub(super) most: Most,
    /// Where the ratios come from.
    pub(super) about: Source,
}

pub(super) struct RegionRow {
    key: String,
    pub(super) odds: f64,
    pub(super) usual: Measured<Chlorine>,
    pub(super) source: Source,
}

/// The combined share of total chlorine.
#[derive(Debug, Clone)]
pub(super) struct Share {
    pub(super) low: f64,
    pub(super) value: f64,
    pub(super) high: f64,
    source: Source,
}

impl Share {
    /// From the low end of one to the high end of another.
    pub(super) fn between(low: &Self, value: f64, high: &Self) -> Self {
        Self {
            low: low.low,
            value,
            high: high.high,
            source: low.source.clone(),
        }
    }
}

/// The most chlorine that a supply may hold.
pub(super) struct Most {
    pub(super) chlorine: Chlorine,
    pub(super) source: Source,
}

pub(super) fn table() -> &'static Table {
    &TABLE
}

impl Table {
    pub(super) fn region(&self, region: Region) -> &RegionRow {
        let key = match region {
            Region::Europe => "Europe",
            Region::UnitedStates => "United States",
            Region::Elsewhere => "elsewhere",
        };
        let row = self.regions.iter().find(|row| row.key == key);
        known(FILE, key, "region", row)
    }

    pub(super) fn sign(&self, sign: Sign) -> Reason {
        let row = match sign {
            Sign::CombinedMost => &self.signs.combined_most,
            Sign::CombinedSome => &self.signs.combined_some,
            Sign::CombinedLittle => &self.signs.combined_little,
            Sign::Ammonia => &self.signs.ammonia,
            Sign::NoAmmonia => &self.signs.no_ammonia,
            Sign::Pool => &self.signs.pool,
            Sign::Bleach => &self.signs.bleach,
            Sign::Odourless => &self.signs.odourless,
            Sign::Much => &self.signs.much,
        };
        reason(&row.says, row.ratio, &row.mark)
    }

    /// What the words of a report say. A denial takes the place of the word that it
    /// denies.
    pub(super) fn of_words(&self, written: &str) -> Vec<Reason> {
        let written = written.to_lowercase();
        let found: Vec<&Words> = self
            .words
            .iter()
            .filter(|row| row.any.iter().any(|word| written.contains(word.as_str())))
            .collect();
        let denied: Vec<&str> = found
            .iter()
            .filter_map(|row| row.instead_of.as_deref())
            .collect();
        found
            .iter()
            .filter(|row| !row.any.iter().any(|word| denied.contains(&word.as_str())))
            .map(|row| reason(&row.says, row.ratio, &row.mark))
            .collect()
    }
}

fn reason(says: &str, times: f64, words: &str) -> Reason {
    Reason {
        says: says.to_owned(),
        times,
        mark: mark_of(says, words),
    }
}

fn mark_of(row: &str, words: &str) -> Mark {
    mark(FILE, row, words)
}

fn source(text: String, words: &str) -> Source {
    Source {
        mark: mark_of(&text, words),
        text,
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    about: About,
    region: Vec<FileRegion>,
    words: Vec<Words>,
    sign: Signs,
    share: Shares,
    most: MostRow,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct About {
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct FileRegion {
    key: String,
    odds: f64,
    usual: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Words {
    any: Vec<String>,
    ratio: f64,
    says: String,
    instead_of: Option<String>,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Signs {
    combined_most: SignRow,
    combined_some: SignRow,
    combined_little: SignRow,
    ammonia: SignRow,
    no_ammonia: SignRow,
    pool: SignRow,
    bleach: SignRow,
    odourless: SignRow,
    much: SignRow,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SignRow {
    ratio: f64,
    says: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Shares {
    free_kept: ShareRow,
    chloramine_kept: ShareRow,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ShareRow {
    low: f64,
    value: f64,
    high: f64,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct MostRow {
    chlorine: String,
    source: String,
    mark: String,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../../data/chloramine_practice.toml"));
    let region = |row: FileRegion| RegionRow {
        odds: row.odds,
        usual: quantity(FILE, &row.key, &row.usual),
        source: source(row.source, &row.mark),
        key: row.key,
    };
    let share = |row: ShareRow| Share {
        low: row.low,
        value: row.value,
        high: row.high,
        source: source(row.source, &row.mark),
    };
    Table {
        regions: file.region.into_iter().map(region).collect(),
        words: file.words,
        signs: file.sign,
        free_kept: share(file.share.free_kept),
        chloramine_kept: share(file.share.chloramine_kept),
        most: Most {
            chlorine: quantity(FILE, "most", &file.most.chlorine),
            source: source(file.most.source, &file.most.mark),
        },
        about: source(file.about.source, &file.about.mark),
    }
});

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_has_its_source_and_its_mark() {
        let table = table();
        let mut sources: Vec<&Source> = table.regions.iter().map(|row| &row.source).collect();
        sources.extend([
            &table.free_kept.source,
            &table.chloramine_kept.source,
            &table.most.source,
            &table.about,
        ]);
        assert!(sources.iter().all(|source| !source.text.is_empty()));
        for row in &table.words {
            assert!(row.ratio > 0.0 && !row.any.is_empty(), "{}", row.says);
            assert_eq!(mark_of(&row.says, &row.mark), Mark::Judgement);
        }
    }
}

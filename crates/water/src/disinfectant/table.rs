//! The rows of `data/ways.toml`.

use std::sync::LazyLock;

use quantity::data::{builtin, mark, quantity};
use quantity::{Duration, Money, Ph, Power, Source};

use super::ways::Reliability;
use crate::lookup::known;

const FILE: &str = "ways.toml";

/// A way that is not offered.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// What it is.
    pub name: String,
    /// Why not.
    pub why: String,
    /// Where that comes from.
    pub source: Source,
}

/// What is not offered for brewing liquor, and why.
#[must_use]
pub fn refused() -> &'static [Refused] {
    &TABLE.refused
}

/// Where the figures of the ways come from, by row.
#[must_use]
pub fn ways_sources() -> &'static [(String, Source)] {
    &TABLE.sources
}

pub(super) struct Table {
    prices: Vec<PriceRow>,
    ways: Vec<WayRow>,
    refused: Vec<Refused>,
    sources: Vec<(String, Source)>,
    pub(super) stirred: Duration,
    pub(super) settled: Duration,
    pub(super) sulfite_stock_keeps: Duration,
    pub(super) ascorbate_stock_keeps: Duration,
    /// mg of chlorine per mg of ammonia nitrogen, usual and least.
    pub(super) chloramination: [f64; 2],
    pub(super) boil_time: Duration,
    pub(super) boil_power: Power,
    pub(super) unknown_ph: Ph,
    pub(super) peroxide_kg_per_l: f64,
}

pub(super) fn table() -> &'static Table {
    &TABLE
}

impl Table {
    pub(super) fn price(&self, key: &str) -> Money {
        let row = self.prices.iter().find(|row| row.key == key);
        Money::from_units(known(FILE, key, "price", row).units)
    }

    /// Hands-on time and how sure a way is.
    pub(super) fn way(&self, key: &str) -> (Duration, Reliability) {
        let row = self.ways.iter().find(|row| row.key == key);
        let row = known(FILE, key, "way", row);
        let reliability = match row.reliability.as_str() {
            "high" => Some(Reliability::High),
            "fair" => Some(Reliability::Fair),
            "poor" => Some(Reliability::Poor),
            "none" => Some(Reliability::None),
            _ => None,
        };
        (
            Duration::from_min(row.work_min),
            known(FILE, key, "reliability", reliability),
        )
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    price: Vec<PriceRow>,
    way: Vec<WayRow>,
    refused: Vec<RefusedRow>,
    reagent: ReagentRow,
    stock: StockRows,
    chloramination: ChloraminationRow,
    boil: BoilRow,
    unknown: UnknownRow,
    peroxide: PeroxideRow,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct PriceRow {
    key: String,
    #[expect(dead_code, reason = "says what the price is of, to whoever edits the file")]
    per: String,
    units: f64,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct WayRow {
    key: String,
    work_min: f64,
    reliability: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct RefusedRow {
    key: String,
    why: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ReagentRow {
    stirred: String,
    settled: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct StockRows {
    sulfite: KeepsRow,
    ascorbate: KeepsRow,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct KeepsRow {
    keeps: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ChloraminationRow {
    usual: f64,
    least: f64,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct BoilRow {
    time: String,
    power: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct UnknownRow {
    ph: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct PeroxideRow {
    density_kg_per_l: f64,
    source: String,
    mark: String,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../data/ways.toml"));
    let sources = file.sources();
    let refused = file.refused.into_iter().map(|row| Refused {
        source: source(&row.key, &row.source, &row.mark),
        name: row.key,
        why: row.why,
    });
    Table {
        refused: refused.collect(),
        sources,
        prices: file.price,
        ways: file.way,
        stirred: quantity(FILE, "reagent", &file.reagent.stirred),
        settled: quantity(FILE, "reagent", &file.reagent.settled),
        sulfite_stock_keeps: quantity(FILE, "stock", &file.stock.sulfite.keeps),
        ascorbate_stock_keeps: quantity(FILE, "stock", &file.stock.ascorbate.keeps),
        chloramination: [file.chloramination.usual, file.chloramination.least],
        boil_time: quantity(FILE, "boil", &file.boil.time),
        boil_power: quantity(FILE, "boil", &file.boil.power),
        unknown_ph: quantity(FILE, "unknown", &file.unknown.ph),
        peroxide_kg_per_l: file.peroxide.density_kg_per_l,
    }
});

impl File {
    /// Where the figures of each row come from. Prices and hours of work have no
    /// source but somebody's judgement.
    fn sources(&self) -> Vec<(String, Source)> {
        let judged = "a place to start; enter your own";
        let prices = self.price.iter().map(|row| (&row.key, &row.mark));
        let ways = self.way.iter().map(|row| (&row.key, &row.mark));
        let plain = prices.chain(ways);
        let mut all: Vec<(String, Source)> = plain
            .map(|(key, mark)| (key.clone(), source(key, judged, mark)))
            .collect();
        for (key, text, words) in [
            ("reagent", &self.reagent.source, &self.reagent.mark),
            (
                "stock.sulfite",
                &self.stock.sulfite.source,
                &self.stock.sulfite.mark,
            ),
            (
                "stock.ascorbate",
                &self.stock.ascorbate.source,
                &self.stock.ascorbate.mark,
            ),
            (
                "chloramination",
                &self.chloramination.source,
                &self.chloramination.mark,
            ),
            ("boil", &self.boil.source, &self.boil.mark),
            ("unknown", &self.unknown.source, &self.unknown.mark),
            ("peroxide", &self.peroxide.source, &self.peroxide.mark),
        ] {
            all.push((key.to_owned(), source(key, text, words)));
        }
        all
    }
}

fn source(row: &str, text: &str, words: &str) -> Source {
    Source {
        mark: mark(FILE, row, words),
        text: text.to_owned(),
    }
}

/// Chlorine to nitrogen as a works doses them: usual, and the least.
pub(crate) fn chloramination() -> [f64; 2] {
    table().chloramination
}

/// The pH of a water whose pH nobody says.
pub(crate) fn unknown_ph() -> Ph {
    table().unknown_ph
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Mark;

    #[test]
    fn every_price_is_a_judgement_above_nought() {
        for row in &TABLE.prices {
            assert!(row.units > 0.0, "{}", row.key);
            assert_eq!(mark(FILE, &row.key, &row.mark), Mark::Judgement);
        }
    }

    #[test]
    fn every_way_has_its_row() {
        for key in [
            "reagent", "peroxide", "stand", "aerate", "boil", "carbon", "dilute", "nothing",
        ] {
            assert!(TABLE.way(key).0.h() >= 0.0);
        }
        assert!(refused().iter().any(|r| r.name == "thiosulfate"));
    }
}

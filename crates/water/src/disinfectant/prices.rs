//! What things cost, in units of money.

use std::collections::BTreeMap;

use quantity::Money;

use super::table::table;
use crate::dechlorination::Reagent;

/// What the brewer pays, in units of money of whatever currency.
#[derive(Debug, Clone, PartialEq)]
pub struct Prices {
    /// Of a kilogram of each reagent.
    pub reagent_per_kg: BTreeMap<Reagent, Money>,
    /// Of a litre of peroxide solution.
    pub peroxide_per_l: Money,
    /// Of carbon for a thousand litres.
    pub carbon_per_1000_l: Money,
    /// Of a kilowatt-hour.
    pub energy_per_kwh: Money,
    /// Of a litre of distilled, reverse-osmosis or bottled water.
    pub clean_water_per_l: Money,
    /// Of an hour of the brewer's time.
    pub work_per_h: Money,
}

impl Prices {
    /// Prices to start from: judgement, in `data/ways.toml`.
    #[must_use]
    pub fn judged() -> Self {
        let price = |key| table().price(key);
        Self {
            reagent_per_kg: Reagent::ALL
                .into_iter()
                .map(|reagent| (reagent, price(&reagent.data().name)))
                .collect(),
            peroxide_per_l: price("hydrogen peroxide"),
            carbon_per_1000_l: price("carbon filter"),
            energy_per_kwh: price("energy"),
            clean_water_per_l: price("clean water"),
            work_per_h: price("work"),
        }
    }

    /// Of a kilogram of a reagent; the price to start from where none is set.
    #[must_use]
    pub fn per_kg(&self, reagent: Reagent) -> Money {
        let set = self.reagent_per_kg.get(&reagent).copied();
        set.unwrap_or_else(|| table().price(&reagent.data().name))
    }
}

impl Default for Prices {
    fn default() -> Self {
        Self::judged()
    }
}

//! What a recipe costs: the prices that were asked with, then those of the stores.

use super::entries::alike;
use super::levers::AtHand;
use super::typed::Read;
use crate::document::{Document, YeastForm};
use crate::library::Stores;

/// Prices by name, in one currency: of malts, hops and salts a kilogram, of yeast a packet,
/// of acids a litre, or a kilogram of those that are weighed.
#[derive(Clone, Copy)]
pub(super) struct Prices<'p> {
    asked: &'p [(String, f64)],
    stores: Option<&'p Stores>,
}

impl<'p> Prices<'p> {
    pub(super) fn of(asked: &'p Read, at_hand: Option<&AtHand<'p>>) -> Self {
        Self {
            asked: &asked.prices,
            stores: at_hand.map(|at_hand| at_hand.stores),
        }
    }

    /// Of what goes by any of these names; empty names are passed over.
    pub(super) fn named(&self, names: &[&str]) -> Option<f64> {
        let names = || names.iter().filter(|name| !name.is_empty());
        let asked = |name: &&str| self.asked.iter().find(|(of, _)| alike(of, name));
        if let Some((_, price)) = names().find_map(asked) {
            return Some(*price);
        }
        let stored: Vec<(&str, f64)> = self.stores.map(stored).into_iter().flatten().collect();
        let kept = |name: &&str| stored.iter().find(|(of, _)| alike(of, name));
        names().find_map(kept).map(|(_, price)| *price)
    }

    /// What everything in a recipe costs of which a price is known; none where no price is.
    pub(super) fn whole(&self, document: &Document) -> Option<f64> {
        let part = |amount: f64, names: &[&str]| Some(amount * self.named(names)?);
        let malts = document.grist.iter().map(|entry| {
            let names = [entry.name.as_deref().unwrap_or(""), &entry.class];
            part(entry.amount.value.kg(), &names)
        });
        let hops = document.hops.iter();
        let hops = hops.map(|entry| part(entry.amount.value.kg(), &[&entry.hop]));
        let water = &document.water;
        let salts = water.salts.iter();
        let salts = salts.map(|entry| part(entry.amount.value.kg(), &[&entry.salt]));
        let acids = water.acids.iter().map(|entry| {
            let litres = entry.volume.map(|volume| volume.value.l());
            let amount = litres.or(entry.mass.map(|mass| mass.value.kg()))?;
            part(amount, &[&entry.acid])
        });
        let yeast = &document.yeast;
        let packets = match yeast.form {
            YeastForm::Dry | YeastForm::Liquid => yeast.packets,
            YeastForm::Slurry => 0.0,
        };
        let names = [yeast.name.as_deref().unwrap_or(""), &yeast.class];
        let yeast = (packets > 0.0).then(|| part(packets, &names));
        let all = malts.chain(hops).chain(salts).chain(acids).chain(yeast);
        let known: Vec<f64> = all.flatten().collect();
        (!known.is_empty()).then(|| known.iter().sum())
    }
}

/// Names and prices of what is in the stores.
fn stored(stores: &Stores) -> impl Iterator<Item = (&str, f64)> {
    let malts = stores.malts.iter().flat_map(|m| {
        let names = [m.name.as_deref(), Some(m.class.as_str())];
        names.map(|name| (name, m.price))
    });
    let hops = stores.hops.iter().map(|h| (Some(h.hop.as_str()), h.price));
    let yeasts = stores.yeasts.iter().flat_map(|y| {
        let names = [y.name.as_deref(), Some(y.class.as_str())];
        names.map(|name| (name, y.price))
    });
    let salts = stores.salts.iter();
    let salts = salts.map(|s| (Some(s.salt.as_str()), s.price));
    let acids = stores.acids.iter();
    let acids = acids.map(|a| (Some(a.acid.as_str()), a.price));
    let all = malts.chain(hops).chain(yeasts).chain(salts).chain(acids);
    all.filter_map(|(name, price)| Some((name?, price?.canonical())))
}

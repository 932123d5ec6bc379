//! The question as a person writes it: names and quantities in words.

use quantity::rounded;

use crate::document::Document;
use crate::library::Stores;
use crate::stream::Reckoning;

use super::settings::setting;

/// The name of distilled water among what is at hand; by reverse osmosis will do.
pub const DISTILLED: &str = "distilled water";

/// The name of acidulated malt among what is at hand.
pub const MALT: &str = "acidulated malt";

/// Something at hand.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Have {
    /// A salt, an acid, [`MALT`] or [`DISTILLED`].
    pub what: String,
    /// How much there is, such as "50 g"; empty where there is plenty.
    pub amount: String,
    /// What a kilogram costs, or a litre of what is measured; empty for nothing.
    pub price: String,
}

impl Have {
    /// Plenty of it, at no price.
    #[must_use]
    pub fn plenty(what: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            ..Self::default()
        }
    }
}

/// What is asked beside the document. Text that is empty takes the usual.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Question {
    /// What is at hand.
    pub have: Vec<Have>,
    /// The least step of the scale.
    pub scale: String,
    /// The least step of the syringe.
    pub syringe: String,
    /// The most kinds of addition; empty for any number.
    pub most: String,
    /// What the brewer would pay to bring one aim from one tolerance off to its
    /// target; empty where cost does not matter.
    pub worth: String,
    /// Whether the shares of the waters may change.
    pub free_blend: bool,
    /// Whether a water may be boiled and poured off its chalk first.
    pub boiled: bool,
    /// Whether a water may be limed and poured off its chalk first.
    pub limed: bool,
    /// Whether no ion and no acid may come to where it is tasted.
    pub taste: bool,
    /// The pH of the sparge liquor just after its acid; empty where its alkalinity alone
    /// is limited.
    pub sparge_ph: String,
    /// Whether the sparge liquor is to have the ions of the mash liquor.
    pub sparge_alike: bool,
}

impl Question {
    /// The usual salts and acid, and those that the batch uses already.
    #[must_use]
    pub fn usual(r: &Reckoning) -> Self {
        let mut names: Vec<String> = setting("have")
            .value
            .split(", ")
            .map(String::from)
            .collect();
        names.extend(used(&r.document));
        let mut have: Vec<Have> = vec![];
        for name in names {
            if !have.iter().any(|h| h.what == name) {
                have.push(Have::plenty(name));
            }
        }
        Self {
            have,
            ..Self::default()
        }
    }

    /// What stores hold, and how much of it.
    #[must_use]
    pub fn of_stores(stores: &Stores) -> Self {
        let salts = stores
            .salts
            .iter()
            .map(|s| (&s.salt, grams(s.amount.value), s.price));
        let acids = stores.acids.iter().map(|a| {
            let litres = a.volume.map(|v| format!("{} mL", 1000.0 * v.value.l()));
            let mass = a.mass.map(|m| grams(m.value));
            (&a.acid, litres.or(mass).unwrap_or_default(), a.price)
        });
        let malts = stores
            .malts
            .iter()
            .filter(|m| m.class == MALT)
            .map(|m| (&m.class, grams(m.amount.value), m.price));
        let all = salts.chain(acids).chain(malts);
        let have = all.map(|(what, amount, price)| Have {
            what: what.clone(),
            amount,
            price: price.map_or_else(String::new, |price| rounded(price.canonical())),
        });
        Self {
            have: have.collect(),
            ..Self::default()
        }
    }

    /// Whether something of this name is at hand.
    #[must_use]
    pub fn has(&self, what: &str) -> Option<&Have> {
        self.have.iter().find(|have| have.what == what)
    }
}

fn grams(mass: quantity::Mass) -> String {
    format!("{} g", mass.g())
}

/// What a document adds already.
fn used(document: &Document) -> impl Iterator<Item = String> + '_ {
    let water = &document.water;
    let salts = water.salts.iter().map(|s| s.salt.clone());
    let acids = water.acids.iter().map(|a| a.acid.clone());
    let malts = document.grist.iter().map(|g| g.class.clone());
    salts
        .chain(acids)
        .chain(malts.filter(|class| class == MALT))
}

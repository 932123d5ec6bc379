//! From the words of a question to what the search takes.

use std::str::FromStr;

use quantity::{Mass, Ph, QuantityError, Volume};
use water::WaterError;
use water::acids::{AcidAmount, AcidProduct};
use water::design::{AcidAtHand, Money, SaltAtHand};
use water::salts::Salt;

use super::question::{DISTILLED, Have, MALT, Question};
use super::settings::setting;
use crate::liquor::Wrong;
use crate::reader::Assumption;

/// Whether the shares of the waters may change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Blend {
    /// They stay as planned.
    AsPlanned,
    /// They are found.
    Free,
}

impl Blend {
    /// Whether they are found.
    #[must_use]
    pub const fn is_free(self) -> bool {
        matches!(self, Self::Free)
    }
}

/// Distilled water that can be bought or is in the house.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DistilledAtHand {
    /// How much; none where there is plenty.
    pub at_hand: Option<Volume>,
    /// What a litre costs.
    pub price_per_litre: Option<Money>,
}

/// Acidulated malt in the store.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MaltAtHand {
    /// How much; none where there is plenty.
    pub at_hand: Option<Mass>,
    /// What a kilogram costs.
    pub price_per_kg: Option<Money>,
}

/// What can be added, how finely, and what may be done to the waters.
#[derive(Debug, Clone, PartialEq)]
pub struct AtHand {
    /// Salts.
    pub salts: Vec<SaltAtHand>,
    /// Acids.
    pub acids: Vec<AcidAtHand>,
    /// Acidulated malt.
    pub acid_malt: Option<MaltAtHand>,
    /// Distilled water.
    pub distilled: Option<DistilledAtHand>,
    /// The shares of the waters; found wherever distilled water is at hand.
    pub blend: Blend,
    /// Whether a water may be boiled first.
    pub boiled: bool,
    /// Whether a water may be limed first.
    pub limed: bool,
    /// Whether what can be tasted is a limit.
    pub taste: bool,
    /// The pH of the sparge liquor just after its acid.
    pub sparge_ph: Option<Ph>,
    /// Whether the sparge liquor gets the ions of the mash liquor.
    pub sparge_alike: bool,
    /// The most kinds of addition.
    pub at_most_kinds: Option<usize>,
    /// What an aim is worth.
    pub worth: Option<Money>,
    /// What was taken where the question does not say.
    pub assumptions: Vec<Assumption>,
}

impl AtHand {
    /// Reads a question.
    ///
    /// # Errors
    /// Everything that is wrong in it, field by field.
    pub fn of(question: &Question) -> Result<Self, Vec<Wrong>> {
        let mut asks = Asks::default();
        let scale = asks.step::<Mass>("scale", &question.scale);
        let syringe = asks.step::<Volume>("syringe", &question.syringe);
        let mut at_hand = Self {
            salts: vec![],
            acids: vec![],
            acid_malt: None,
            distilled: None,
            blend: if question.free_blend {
                Blend::Free
            } else {
                Blend::AsPlanned
            },
            boiled: question.boiled,
            limed: question.limed,
            taste: question.taste,
            sparge_ph: asks.amount("sparge_ph", &question.sparge_ph),
            sparge_alike: question.sparge_alike,
            at_most_kinds: asks.kinds(&question.most),
            worth: asks.money("worth", &question.worth),
            assumptions: vec![],
        };
        for have in &question.have {
            at_hand.take(have, (scale, syringe), &mut asks);
        }
        at_hand.assumptions = asks.assumptions;
        if asks.wrong.is_empty() {
            Ok(at_hand)
        } else {
            Err(asks.wrong)
        }
    }

    /// How many kinds of addition there are.
    #[must_use]
    pub fn kinds(&self) -> usize {
        self.salts.len() + self.acids.len() + usize::from(self.acid_malt.is_some())
    }

    fn take(&mut self, have: &Have, steps: (Mass, Volume), asks: &mut Asks) {
        let what = have.what.trim();
        let amount = format!("amount.{what}");
        let price = asks.money(&format!("price.{what}"), &have.price);
        match what {
            DISTILLED => {
                self.blend = Blend::Free;
                self.distilled = Some(DistilledAtHand {
                    at_hand: asks.amount(&amount, &have.amount),
                    price_per_litre: price,
                });
            }
            MALT => {
                self.acid_malt = Some(MaltAtHand {
                    at_hand: asks.amount(&amount, &have.amount),
                    price_per_kg: price,
                });
            }
            _ => match (Salt::named(what), AcidProduct::named(what)) {
                (Ok(salt), _) => {
                    let salt = SaltAtHand {
                        at_hand: asks.amount(&amount, &have.amount),
                        price_per_kg: price,
                        ..SaltAtHand::plenty(salt, steps.0)
                    };
                    if self.salts.iter().all(|s| s.salt != salt.salt) {
                        self.salts.push(salt);
                    }
                }
                (_, Ok(product)) => self.take_acid(product, have, steps, asks),
                (Err(no_salt), Err(no_acid)) => {
                    asks.wrong("have", not_known(what, &[no_salt, no_acid]));
                }
            },
        }
    }

    fn take_acid(
        &mut self,
        product: &'static AcidProduct,
        have: &Have,
        (scale, syringe): (Mass, Volume),
        asks: &mut Asks,
    ) {
        let field = format!("amount.{}", have.what.trim());
        let price = asks.money("", &have.price);
        let (resolution, at_hand) = match product.density_g_per_ml {
            Some(density) => {
                let litres = |mass: Mass| Volume::from_l(mass.kg() / density);
                let at_hand = asks.amount_or(&field, &have.amount, litres);
                (AcidAmount::Volume(syringe), at_hand.map(AcidAmount::Volume))
            }
            None => {
                let at_hand = asks.amount::<Mass>(&field, &have.amount);
                (AcidAmount::Mass(scale), at_hand.map(AcidAmount::Mass))
            }
        };
        if self.acids.iter().all(|a| a.product != product) {
            self.acids.push(AcidAtHand {
                at_hand,
                price_per_litre_or_kg: price,
                ..AcidAtHand::plenty(product, resolution)
            });
        }
    }
}

fn not_known(what: &str, errors: &[WaterError]) -> String {
    let near: Vec<&str> = errors
        .iter()
        .filter_map(|error| match error {
            WaterError::Unknown { nearest, .. } => Some(nearest),
            _ => None,
        })
        .flatten()
        .map(String::as_str)
        .collect();
    let near = if near.is_empty() {
        format!("the name of a salt or acid of the tables, {MALT} or {DISTILLED}")
    } else {
        near.join(" or ")
    };
    format!("there is no salt and no acid {what:?}; write {near}")
}

/// Reads fields and collects what is wrong with them.
#[derive(Default)]
pub(in crate::liquor) struct Asks {
    pub(in crate::liquor) wrong: Vec<Wrong>,
    assumptions: Vec<Assumption>,
}

impl Asks {
    pub(in crate::liquor) fn wrong(&mut self, field: &str, message: String) {
        let wrong = Wrong {
            field: field.to_owned(),
            message,
        };
        if !self.wrong.contains(&wrong) {
            self.wrong.push(wrong);
        }
    }

    /// A step of scale or syringe, the usual one where nothing is said.
    fn step<Q: FromStr<Err = QuantityError> + quantity::Quantity>(
        &mut self,
        field: &'static str,
        written: &str,
    ) -> Q {
        let usual = setting(field);
        if written.trim().is_empty() {
            self.assumptions.push(usual.assumed(field));
            return usual.quantity();
        }
        let read = self.amount::<Q>(field, written);
        if read.is_some_and(|step| step.canonical() <= 0.0) {
            self.wrong(
                field,
                format!(
                    "a step of nothing is none; write it such as {}",
                    usual.value
                ),
            );
        }
        read.unwrap_or_else(|| usual.quantity())
    }

    /// An amount; none where nothing is said.
    pub(in crate::liquor) fn amount<Q: FromStr<Err = QuantityError>>(
        &mut self,
        field: &str,
        written: &str,
    ) -> Option<Q> {
        let written = written.trim();
        if written.is_empty() {
            return None;
        }
        match written.parse() {
            Ok(value) => Some(value),
            Err(error) => {
                self.wrong(field, error.to_string());
                None
            }
        }
    }

    /// A volume, or a mass made one.
    fn amount_or(
        &mut self,
        field: &str,
        written: &str,
        litres: impl FnOnce(Mass) -> Volume,
    ) -> Option<Volume> {
        match written.trim().parse::<Mass>() {
            Ok(mass) => Some(litres(mass)),
            Err(_) => self.amount(field, written),
        }
    }

    pub(in crate::liquor) fn money(&mut self, field: &str, written: &str) -> Option<Money> {
        let written = written.trim();
        if written.is_empty() {
            return None;
        }
        let read = written.replace(',', ".").parse::<f64>().ok();
        let amount = read.filter(|amount| amount.is_finite() && (0.0..=1e6).contains(amount));
        if amount.is_none() && !field.is_empty() {
            self.wrong(
                field,
                format!("{written:?} is no price; write a number such as 6.50"),
            );
        }
        amount.map(Money::from_amount)
    }

    fn kinds(&mut self, written: &str) -> Option<usize> {
        let written = written.trim();
        if written.is_empty() {
            return None;
        }
        let read = written.parse::<usize>().ok().filter(|n| *n <= 40);
        if read.is_none() {
            self.wrong(
                "most",
                format!("{written:?} is no number of additions; write a whole one such as 3"),
            );
        }
        read
    }
}

//! What a brewer gives: waters, grist, aims, limits, and what is at hand.

use quantity::{
    Alkalinity, Calcium, Chloride, Fraction, Magnesium, Mass, MassConcentration, Measured, Ph,
    Potassium, Sodium, Sulfate, TitratableAcidity, Volume,
};

use crate::acids::{AcidAmount, AcidProduct};
use crate::analysis::{Item, Kind, limits};
use crate::dechlorination::Dechlorination;
use crate::mash_ph::{AcidMalt, MaltAcidity};
use crate::salts::Salt;
use crate::state::SourceWater;

/// What is to be designed.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// The waters at hand.
    pub sources: Vec<SourceAtHand>,
    /// The least step in which a water is measured out.
    pub pour: Volume,
    /// How chlorine is taken out.
    pub dechlorination: Dechlorination,
    /// The liquor for the mash.
    pub mash: LiquorTask,
    /// The liquor for the sparge; 0 L for none.
    pub sparge: LiquorTask,
    /// Whether both liquors are the same blend.
    pub blends: Together,
    /// Whether both liquors get the same additions in each litre.
    pub additions: Together,
    /// The malts, where the mash pH is to be reckoned.
    pub grist: Option<Grist>,
    /// The salts at hand.
    pub salts: Vec<SaltAtHand>,
    /// The acids at hand.
    pub acids: Vec<AcidAtHand>,
    /// Acidulated malt at hand.
    pub acid_malt: Option<AcidMaltAtHand>,
    /// Whether acids stay below what can be tasted over all liquor.
    pub acids_below_taste: bool,
    /// The most kinds of addition; none where any number will do.
    pub at_most_kinds: Option<usize>,
    /// Whether to tell what each further kind of addition buys.
    pub ladder: bool,
    /// What the brewer would pay to bring one aim from one tolerance off to its
    /// target; none where cost does not matter.
    pub worth_of_a_tolerance: Option<Money>,
}

impl Default for Task {
    /// Nothing at hand, 0 L, blends and additions apart, a jug of 0.5 L.
    fn default() -> Self {
        let none = LiquorTask {
            volume: Volume::default(),
            aims: Aims::default(),
            limits: Limits::default(),
        };
        Self {
            sources: vec![],
            pour: Volume::from_l(0.5),
            dechlorination: Dechlorination::None,
            mash: none.clone(),
            sparge: none,
            blends: Together::Alike,
            additions: Together::Apart,
            grist: None,
            salts: vec![],
            acids: vec![],
            acid_malt: None,
            acids_below_taste: false,
            at_most_kinds: None,
            ladder: false,
            worth_of_a_tolerance: None,
        }
    }
}

/// Whether two liquors are treated alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Together {
    /// Each by itself.
    Apart,
    /// Both the same.
    Alike,
}

/// Money, in whatever currency the brewer reckons.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Money(f64);

impl Money {
    /// From an amount in the brewer's currency.
    #[must_use]
    pub const fn from_amount(amount: f64) -> Self {
        Self(amount)
    }

    /// The amount in the brewer's currency.
    #[must_use]
    pub const fn amount(self) -> f64 {
        self.0
    }
}

/// A water that can be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceAtHand {
    /// The water as it is, and as it becomes when pre-treated: one of them is
    /// chosen for each liquor.
    pub variants: Vec<Variant>,
    /// How much there is for all liquor; none where the tap does not run dry.
    pub at_hand: Option<Volume>,
    /// Its share of each liquor.
    pub share: ShareLimits,
}

impl SourceAtHand {
    /// As much of a water as is wanted, as it is, at no price.
    #[must_use]
    pub fn plain(water: SourceWater) -> Self {
        Self {
            variants: vec![Variant {
                how: "as it is".to_owned(),
                water,
                price_per_litre: None,
            }],
            at_hand: None,
            share: ShareLimits::FREE,
        }
    }
}

/// One way of a water.
#[derive(Debug, Clone, PartialEq)]
pub struct Variant {
    /// How it was pre-treated, such as "as it is", "boiled", "limed".
    pub how: String,
    /// The water after that.
    pub water: SourceWater,
    /// What a litre costs, pre-treatment included.
    pub price_per_litre: Option<Money>,
}

/// What share of a liquor a water may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShareLimits {
    /// The least.
    pub at_least: Fraction,
    /// The most.
    pub at_most: Fraction,
}

impl ShareLimits {
    /// Any share.
    pub const FREE: Self = Self {
        at_least: Fraction::from_ratio(0.0),
        at_most: Fraction::from_ratio(1.0),
    };

    /// Just this share.
    #[must_use]
    pub const fn fixed(share: Fraction) -> Self {
        Self {
            at_least: share,
            at_most: share,
        }
    }
}

/// One liquor: how much, what it is to be, what it must not be.
#[derive(Debug, Clone, PartialEq)]
pub struct LiquorTask {
    /// How much.
    pub volume: Volume,
    /// What it is to be.
    pub aims: Aims,
    /// What it must not be.
    pub limits: Limits,
}

/// A figure to come near to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim<Q> {
    /// The figure.
    pub target: Q,
    /// How far off is as near as need be.
    pub tolerance: Q,
    /// How much it counts beside the other aims \[–\]; one for all alike.
    pub weight: f64,
    /// Whether it must be met to its tolerance, whatever the others come to.
    pub firm: bool,
}

impl<Q> Aim<Q> {
    /// An aim that counts like any other.
    #[must_use]
    pub const fn near(target: Q, tolerance: Q) -> Self {
        Self {
            target,
            tolerance,
            weight: 1.0,
            firm: false,
        }
    }

    /// An aim that must be met to its tolerance.
    #[must_use]
    pub const fn firm(target: Q, tolerance: Q) -> Self {
        Self {
            target,
            tolerance,
            weight: 1.0,
            firm: true,
        }
    }
}

/// Sulfate beside chloride. Kept linear, so that it stays an aim among others:
/// what counts is the distance of sulfate from ratio times chloride.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatioAim {
    /// Milligrams of sulfate to one of chloride \[–\].
    pub mass_ratio: f64,
    /// How far sulfate may be from ratio times chloride.
    pub tolerance: Sulfate,
    /// How much it counts beside the other aims \[–\].
    pub weight: f64,
    /// Whether it must be met to its tolerance.
    pub firm: bool,
}

/// What a liquor is to be.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[expect(missing_docs, reason = "the names say it")]
pub struct Aims {
    pub calcium: Option<Aim<Calcium>>,
    pub magnesium: Option<Aim<Magnesium>>,
    pub sodium: Option<Aim<Sodium>>,
    pub potassium: Option<Aim<Potassium>>,
    pub chloride: Option<Aim<Chloride>>,
    pub sulfate: Option<Aim<Sulfate>>,
    pub alkalinity: Option<Aim<Alkalinity>>,
    pub residual_alkalinity: Option<Aim<Alkalinity>>,
    pub sulfate_to_chloride: Option<RatioAim>,
}

/// What a figure must not pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds<Q> {
    /// The least.
    pub at_least: Option<Q>,
    /// The most.
    pub at_most: Option<Q>,
}

impl<Q> Default for Bounds<Q> {
    fn default() -> Self {
        Self {
            at_least: None,
            at_most: None,
        }
    }
}

impl<Q> Bounds<Q> {
    /// No more than this.
    #[must_use]
    pub fn at_most(most: Q) -> Self {
        Self {
            at_least: None,
            at_most: Some(most),
        }
    }

    /// No less than this.
    #[must_use]
    pub fn at_least(least: Q) -> Self {
        Self {
            at_least: Some(least),
            at_most: None,
        }
    }
}

/// What a liquor must not be. Health limits hold by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[expect(missing_docs, reason = "the names say it")]
pub struct Limits {
    pub calcium: Bounds<Calcium>,
    pub magnesium: Bounds<Magnesium>,
    pub sodium: Bounds<Sodium>,
    pub potassium: Bounds<Potassium>,
    pub chloride: Bounds<Chloride>,
    pub sulfate: Bounds<Sulfate>,
    pub alkalinity: Bounds<Alkalinity>,
    pub residual_alkalinity: Bounds<Alkalinity>,
}

impl Limits {
    /// No more than brewing minds, the highest of its rows in `data/limits.toml`
    /// for each ion: above it the beer can be tasted to be salty, harsh or bitter.
    #[must_use]
    pub fn of_taste() -> Self {
        fn most<Q>(item: Item, from_mg_per_l: fn(f64) -> Q) -> Bounds<Q> {
            let rows = limits()
                .iter()
                .filter(|l| l.item == item && l.kind == Kind::Brewing && !l.low)
                .map(|l| l.mg_per_l);
            Bounds {
                at_least: None,
                at_most: rows.reduce(f64::max).map(from_mg_per_l),
            }
        }
        Self {
            calcium: most(Item::Calcium, Calcium::from_mg_per_l),
            magnesium: most(Item::Magnesium, Magnesium::from_mg_per_l),
            sodium: most(Item::Sodium, Sodium::from_mg_per_l),
            chloride: most(Item::Chloride, Chloride::from_mg_per_l),
            sulfate: most(Item::Sulfate, Sulfate::from_mg_per_l),
            ..Self::default()
        }
    }
}

/// The malts, and the pH that their mash is to have.
#[derive(Debug, Clone, PartialEq)]
pub struct Grist {
    /// The malts.
    pub malts: Vec<MaltAcidity>,
    /// Acidulated malt that is part of the recipe anyway.
    pub acid_malts: Vec<AcidMalt>,
    /// The mash pH, as a cooled sample reads.
    pub aim: Option<Aim<Ph>>,
    /// What it must not pass.
    pub limits: Bounds<Ph>,
}

/// A salt in the cupboard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltAtHand {
    /// The salt.
    pub salt: &'static Salt,
    /// How much there is; none where there is plenty.
    pub at_hand: Option<Mass>,
    /// The least step of the scale: a dose is a whole number of them.
    pub resolution: Mass,
    /// The most in a litre of liquor, besides what dissolves.
    pub at_most: Option<MassConcentration>,
    /// What a kilogram costs.
    pub price_per_kg: Option<Money>,
}

impl SaltAtHand {
    /// Plenty of a salt, at no price.
    #[must_use]
    pub const fn plenty(salt: &'static Salt, resolution: Mass) -> Self {
        Self {
            salt,
            at_hand: None,
            resolution,
            at_most: None,
            price_per_kg: None,
        }
    }
}

/// An acid in the cupboard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidAtHand {
    /// The acid.
    pub product: &'static AcidProduct,
    /// How much there is; none where there is plenty.
    pub at_hand: Option<AcidAmount>,
    /// The least step of scale or syringe; it also says whether the acid is
    /// weighed or measured.
    pub resolution: AcidAmount,
    /// What a litre of it costs, or a kilogram where it is weighed.
    pub price_per_litre_or_kg: Option<Money>,
}

impl AcidAtHand {
    /// Plenty of an acid, at no price.
    #[must_use]
    pub const fn plenty(product: &'static AcidProduct, resolution: AcidAmount) -> Self {
        Self {
            product,
            at_hand: None,
            resolution,
            price_per_litre_or_kg: None,
        }
    }
}

/// Acidulated malt in the store.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidMaltAtHand {
    /// Its acid.
    pub acidity: Measured<TitratableAcidity>,
    /// How much there is; none where there is plenty.
    pub at_hand: Option<Mass>,
    /// The most beside the malts of the grist, as a share of their mass.
    pub at_most: Fraction,
    /// The least step of the scale.
    pub resolution: Mass,
    /// What a kilogram costs.
    pub price_per_kg: Option<Money>,
}

//! Which water for which beer: every water at hand and every blend of two,
//! designed for one aim and set beside each other, season by season.
//!
//! ```
//! use water::choice::{Candidate, choose};
//! use water::design::{Aim, Task};
//! use water::{Ions, SourceWater};
//!
//! let water = |name: &str, calcium: &str| -> Result<_, quantity::QuantityError> {
//!     Ok(SourceWater {
//!         ions: Ions { calcium: calcium.parse()?, ..Ions::default() },
//!         alkalinity: "1 mEq/L".parse()?,
//!         ..SourceWater::named(name)
//!     })
//! };
//! let candidates = [
//!     Candidate::steady(water("tap", "90 mg/L")?),
//!     Candidate::steady(water("spring", "10 mg/L")?).bought(None),
//! ];
//! let mut task = Task::default();
//! task.mash.volume = "20 L".parse()?;
//! task.mash.aims.calcium = Some(Aim::near("50 mg/L".parse()?, "5 mg/L".parse()?));
//! let choice = choose(&candidates, &task)?;
//! assert_eq!(choice.ranked[0].name, "tap and spring");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod seasons;

use std::cmp::Ordering;

use quantity::{Ph, Volume};

use crate::design::{
    Design, DesignError, Money, ShareLimits, SourceAtHand, Task, Variant, practical,
};
use crate::state::SourceWater;
use crate::treatment::{Amount, Liquor};

use seasons::{changes, in_force, turns};

/// A water that could be brewed with.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What it is called.
    pub name: String,
    /// Its analyses, in the order in which they came into force.
    pub seasons: Vec<Season>,
    /// Whether it is carried home, so that its litres count.
    pub bought: bool,
    /// What a litre costs.
    pub price_per_litre: Option<Money>,
    /// How much there is for a batch; none where there is plenty.
    pub at_hand: Option<Volume>,
}

/// An analysis and from when it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// From when: dates as in ISO 8601 ("2024-03", "2024-03-15"), which sort as
    /// they are written.
    pub from: String,
    /// The water from then on.
    pub water: SourceWater,
}

impl Candidate {
    /// A water that is the same all year, at no price.
    #[must_use]
    pub fn steady(water: SourceWater) -> Self {
        Self {
            name: water.name.clone(),
            seasons: vec![Season {
                from: String::new(),
                water,
            }],
            bought: false,
            price_per_litre: None,
            at_hand: None,
        }
    }

    /// The same, carried home at a price.
    #[must_use]
    pub fn bought(self, price_per_litre: Option<Money>) -> Self {
        Self {
            bought: true,
            price_per_litre,
            ..self
        }
    }
}

/// The waters and blends, the best first.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Those that can be brewed with.
    pub ranked: Vec<Ranked>,
    /// Those that cannot, and why.
    pub refused: Vec<Refused>,
}

/// A water, or a blend of two, and what it comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked {
    /// What it is called: "tap", "tap and spring".
    pub name: String,
    /// Which candidates, by their place.
    pub waters: Vec<usize>,
    /// The designs, one for each season.
    pub seasons: Vec<Dated>,
    /// The most aims that a season leaves unmet.
    pub unmet: usize,
    /// The misfit in the worst season, with amounts that can be weighed.
    pub misfit: f64,
    /// What the dearest season costs.
    pub cost: Money,
    /// The most additions in a season, the same into two liquors counting twice.
    pub additions: usize,
    /// The most water that has to be bought for a batch.
    pub bought: Volume,
    /// The mash pH over the seasons, least and greatest.
    pub mash_ph: Option<(Ph, Ph)>,
    /// What to change when a season turns.
    pub changes: Vec<Change>,
}

/// What puts one water before the next, the first that differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ahead {
    /// It misses fewer aims in its worst season.
    Aims,
    /// It comes nearer to them.
    Misfit,
    /// It costs less.
    Cost,
    /// It takes fewer additions.
    Additions,
    /// Less of it has to be bought.
    Bought,
    /// It is one water, not a blend.
    Waters,
    /// It comes nearer by less than can be told apart in the glass.
    Trifle,
}

impl Choice {
    /// Why the water at a place, counted from nought, stands before the next; none of
    /// the last.
    #[must_use]
    pub fn ahead(&self, place: usize) -> Option<Ahead> {
        let (this, next) = (self.ranked.get(place)?, self.ranked.get(place + 1)?);
        Some(compared(this, next).1)
    }
}

impl Ranked {
    /// The season that this batch likes best.
    #[must_use]
    pub fn best(&self) -> Option<&Dated> {
        self.seasons.iter().min_by(|a, b| liked(a, b))
    }

    /// The season that it likes least.
    #[must_use]
    pub fn worst(&self) -> Option<&Dated> {
        self.seasons.iter().max_by(|a, b| liked(a, b))
    }
}

fn liked(a: &Dated, b: &Dated) -> Ordering {
    let misfit = |dated: &Dated| dated.design.misfit.weighed;
    (a.unmet().cmp(&b.unmet())).then(misfit(a).total_cmp(&misfit(b)))
}

impl Dated {
    /// How many aims are missed.
    #[must_use]
    pub fn unmet(&self) -> usize {
        self.design.lines.iter().filter(|line| !line.met()).count()
    }
}

/// A design and from when it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Dated {
    /// From when; empty where nothing changes over the year.
    pub from: String,
    /// The design.
    pub design: Design,
}

/// An amount that differs from one season to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// When.
    pub from: String,
    /// Into which liquor; none of what goes into the grist.
    pub into: Option<Liquor>,
    /// Of what.
    pub what: String,
    /// How much until then; none where it was not used.
    pub before: Option<Amount>,
    /// How much from then on; none where it is no longer used.
    pub after: Option<Amount>,
}

/// A water or blend that has no design.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// What it is called.
    pub name: String,
    /// In which season.
    pub from: String,
    /// Why.
    pub error: DesignError,
}

/// Designs every candidate and every blend of two for a task, whose own sources
/// are left out of account, and ranks them.
///
/// First by how many aims the worst season leaves unmet; then by its misfit in
/// whole squared tolerances, as less is not told apart in the glass (judgement);
/// then by cost, number of additions, litres to be bought, and one water before a blend. Each is designed as it
/// would be poured ([`practical`]), with as few kinds as will do where no more than
/// eight are at hand. A blend that turns out to be one of its waters alone is not listed beside it.
///
/// # Errors
/// [`DesignError`] where a candidate has no analysis, there is none, or all are
/// refused for one and the same reason. Else a candidate that cannot be used is
/// listed with its reason.
pub fn choose(candidates: &[Candidate], task: &Task) -> Result<Choice, DesignError> {
    if candidates.is_empty() {
        return Err(crate::WaterError::NoSource.into());
    }
    for (at, candidate) in candidates.iter().enumerate() {
        if candidate.seasons.is_empty() {
            return Err(DesignError::NoVariant { number: at + 1 });
        }
    }
    let mut choice = Choice {
        ranked: vec![],
        refused: vec![],
    };
    for waters in singles_and_pairs(candidates.len()) {
        match rank(candidates, &waters, task) {
            Ok(ranked) if is_blend_in_name_only(&ranked) => {}
            Ok(ranked) => choice.ranked.push(ranked),
            Err(refused) => choice.refused.push(refused),
        }
    }
    // What no water can mend is a fault of the task.
    if let (true, Some(first)) = (choice.ranked.is_empty(), choice.refused.first())
        && choice.refused.iter().all(|r| r.error == first.error)
    {
        return Err(first.error.clone());
    }
    choice.ranked.sort_by(|a, b| compared(a, b).0);
    Ok(choice)
}

/// How two stand to each other, and by what.
fn compared(a: &Ranked, b: &Ranked) -> (Ordering, Ahead) {
    let whole = |ranked: &Ranked| ranked.misfit.round();
    let by = [
        (a.unmet.cmp(&b.unmet), Ahead::Aims),
        (whole(a).total_cmp(&whole(b)), Ahead::Misfit),
        (a.cost.amount().total_cmp(&b.cost.amount()), Ahead::Cost),
        (a.additions.cmp(&b.additions), Ahead::Additions),
        (a.bought.l().total_cmp(&b.bought.l()), Ahead::Bought),
        (a.waters.len().cmp(&b.waters.len()), Ahead::Waters),
    ];
    let last = (a.misfit.total_cmp(&b.misfit), Ahead::Trifle);
    let decided = by.into_iter().find(|(order, _)| order.is_ne());
    decided.unwrap_or(last)
}

fn singles_and_pairs(count: usize) -> impl Iterator<Item = Vec<usize>> {
    let pairs = (0..count).flat_map(move |a| (a + 1..count).map(move |b| vec![a, b]));
    (0..count).map(|at| vec![at]).chain(pairs)
}

/// So many kinds of addition are few enough to find, for every water and season, the
/// fewest that will do; the search for them grows with the subsets.
const FEW_KINDS: usize = 8;

fn kinds_at_hand(task: &Task) -> usize {
    task.salts.len() + task.acids.len() + usize::from(task.acid_malt.is_some())
}

fn rank(candidates: &[Candidate], waters: &[usize], task: &Task) -> Result<Ranked, Refused> {
    let chosen: Vec<&Candidate> = waters.iter().map(|at| &candidates[*at]).collect();
    let names: Vec<&str> = chosen.iter().map(|c| c.name.as_str()).collect();
    let name = names.join(" and ");
    let mut seasons = vec![];
    for from in turns(&chosen) {
        let task = Task {
            sources: chosen.iter().map(|c| source(c, &from)).collect(),
            ladder: kinds_at_hand(task) <= FEW_KINDS,
            ..task.clone()
        };
        match practical(&task) {
            Ok(found) => seasons.push(Dated {
                from,
                design: found.design,
            }),
            Err(error) => return Err(Refused { name, from, error }),
        }
    }
    let bought = |dated: &Dated| -> f64 {
        let parts = dated.design.liquors.iter().flat_map(|l| &l.blend);
        let litres = parts
            .filter(|part| chosen[part.source].bought)
            .map(|part| part.volume.l());
        litres.sum()
    };
    let additions = |dated: &Dated| {
        let malt = usize::from(dated.design.acid_malt.is_some());
        dated.design.salts().count() + dated.design.acids().count() + malt
    };
    let most = |of: &dyn Fn(&Dated) -> f64| seasons.iter().map(of).fold(0.0, f64::max);
    let phs = seasons
        .iter()
        .filter_map(|dated| Some(dated.design.mash_ph.as_ref()?.ph.value.ph()));
    Ok(Ranked {
        unmet: seasons.iter().map(Dated::unmet).max().unwrap_or(0),
        misfit: most(&|dated| dated.design.misfit.weighed),
        cost: Money::from_amount(most(&|dated| dated.design.cost.amount())),
        additions: seasons.iter().map(additions).max().unwrap_or(0),
        bought: Volume::from_l(most(&bought)),
        mash_ph: phs
            .fold(None, |ends: Option<(f64, f64)>, ph| {
                Some(ends.map_or((ph, ph), |(low, high)| (low.min(ph), high.max(ph))))
            })
            .map(|(low, high)| (Ph::from_ph(low), Ph::from_ph(high))),
        changes: changes(&seasons),
        waters: waters.to_vec(),
        seasons,
        name,
    })
}

fn source(candidate: &Candidate, from: &str) -> SourceAtHand {
    SourceAtHand {
        variants: in_force(candidate, from)
            .map(|season| Variant {
                how: "as it is".to_owned(),
                water: season.water.clone(),
                price_per_litre: candidate.price_per_litre,
            })
            .into_iter()
            .collect(),
        at_hand: candidate.at_hand,
        share: ShareLimits::FREE,
    }
}

/// Whether one of the two waters is in no liquor of any season.
fn is_blend_in_name_only(ranked: &Ranked) -> bool {
    let parts = || {
        let liquors = ranked.seasons.iter().flat_map(|d| &d.design.liquors);
        liquors.flat_map(|liquor| &liquor.blend)
    };
    (0..ranked.waters.len()).any(|source| parts().all(|part| part.source != source))
}

//! What comes out: amounts to weigh, the water after them, and why it is so.

use std::fmt;

use quantity::{Caution, Mass, Note, Ph, Quantity, Volume};

use super::figure::{Figure, Level};
use super::task::Money;
use crate::acids::AcidDose;
use crate::mash_ph::{AcidMalt, MashPh};
use crate::salts::SaltDose;
use crate::state::BrewingWater;
use crate::treatment::{Amount, Liquor, ToWeigh, WaterPlan};

/// The additions that come nearest to the aims, in amounts that can be weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// Mash liquor, then sparge liquor where there is one.
    pub liquors: Vec<DesignedLiquor>,
    /// Acidulated malt to add to the grist.
    pub acid_malt: Option<AcidMalt>,
    /// The mash pH, where there is a grist.
    pub mash_ph: Option<MashPh>,
    /// Aim by aim, how near.
    pub lines: Vec<Line>,
    /// The limits that keep the aims from being nearer.
    pub binding: Vec<Binding>,
    /// How far from the aims.
    pub misfit: Misfit,
    /// What water and additions cost, where a price was given.
    pub cost: Money,
    /// What each further kind of addition buys, where it was asked for.
    pub ladder: Vec<Rung>,
    /// What is to be done to the water, for [`treat`](crate::treat): one plan for
    /// both liquors where they are one blend, else one for each.
    pub plans: Vec<WaterPlan>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

impl Design {
    /// The salts, liquor by liquor.
    pub fn salts(&self) -> impl Iterator<Item = &SaltDose> {
        self.plans.iter().flat_map(|plan| &plan.salts)
    }

    /// The acids, liquor by liquor.
    pub fn acids(&self) -> impl Iterator<Item = &AcidDose> {
        self.plans.iter().flat_map(|plan| &plan.acids)
    }
}

/// One liquor and what makes it.
#[derive(Debug, Clone, PartialEq)]
pub struct DesignedLiquor {
    /// Which.
    pub liquor: Liquor,
    /// The waters that make it.
    pub blend: Vec<Part>,
    /// What is weighed and measured into it.
    pub additions: Vec<ToWeigh>,
    /// The water after all of it.
    pub water: BrewingWater,
}

/// A water in a blend.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Which source, by its place in the task.
    pub source: usize,
    /// What it is called, pre-treatment and all.
    pub name: String,
    /// How it was pre-treated.
    pub how: String,
    /// How much of it.
    pub volume: Volume,
}

/// The sum over the aims of weight · (distance/tolerance)² \[–\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misfit {
    /// Could any amount be weighed.
    pub unrounded: f64,
    /// With the amounts that are shown.
    pub weighed: f64,
}

/// An aim and what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// In which liquor; of the mash pH none.
    pub liquor: Option<Liquor>,
    /// Of what.
    pub figure: Figure,
    /// The target.
    pub target: Level,
    /// The tolerance; of sulfate to chloride, one of sulfate.
    pub tolerance: Level,
    /// What came out, with the amounts that are shown.
    pub reached: Level,
    /// What came out less the target; of sulfate to chloride, the sulfate beyond
    /// ratio times chloride.
    pub off: Level,
    /// The same in tolerances \[–\]: within ±1 the aim is met.
    pub off_in_tolerances: f64,
    /// What water and each addition bring to it, the largest first; of the mash
    /// pH, what each shifts it by.
    pub from: Vec<Contribution>,
    /// Of an aim that is not met, what holds it back most.
    pub held_by: Option<String>,
}

impl Line {
    /// Whether it is within its tolerance.
    #[must_use]
    pub fn met(&self) -> bool {
        within(self.off_in_tolerances)
    }

    /// What it would be with another water in the liquor: the figure, and whether that is
    /// within the tolerance. None of the mash pH.
    #[must_use]
    pub fn with_water(&self, water: &BrewingWater) -> Option<(Level, bool)> {
        let of = |figure: Figure| figure.of(&water.ions, water.alkalinity);
        let (value, off) = if self.figure == Figure::SulfateToChloride {
            let (sulfate, chloride) = (of(Figure::Sulfate)?, of(Figure::Chloride)?);
            let target = self.target.canonical();
            (sulfate / chloride, sulfate - target * chloride)
        } else {
            let value = of(self.figure)?;
            (value, value - self.target.canonical())
        };
        let off = off / self.tolerance.canonical();
        Some((self.figure.level(value), within(off)))
    }

    /// What a line of the mash pH would be with another pH, as [`Line::with_water`].
    #[must_use]
    pub fn with_mash_ph(&self, ph: Ph) -> Option<(Level, bool)> {
        let off = ph.canonical() - self.target.canonical();
        let met = within(off / self.tolerance.canonical());
        (self.figure == Figure::MashPh).then_some((Level::MashPh(ph), met))
    }
}

fn within(off_in_tolerances: f64) -> bool {
    off_in_tolerances.abs() <= 1.0 + 1e-9
}

/// What one water or addition brings to a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// The water or addition.
    pub what: String,
    /// What it brings.
    pub level: Level,
}

/// Which way a limit holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Not below it.
    AtLeast,
    /// Not above it.
    AtMost,
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::AtLeast => "at least",
            Self::AtMost => "at most",
        })
    }
}

/// A limit that binds, and what it costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Binding {
    /// What is limited, such as "sodium in the mash liquor".
    pub what: String,
    /// Which way.
    pub side: Side,
    /// The limit.
    pub limit: Level,
    /// By how much the misfit would fall for one unit of the limit, the canonical
    /// unit of its quantity, at the limit.
    pub price: f64,
    /// The limit a little looser.
    pub loosened: Level,
    /// The misfit with the looser limit, unrounded.
    pub misfit_then: f64,
    /// The aim that would come nearer most, and by how much.
    pub nearer: Option<Nearer>,
}

/// An aim that would come nearer.
#[derive(Debug, Clone, PartialEq)]
pub struct Nearer {
    /// In which liquor; of the mash pH none.
    pub liquor: Option<Liquor>,
    /// Of what.
    pub figure: Figure,
    /// By how much.
    pub by: Level,
}

impl fmt::Display for Binding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}: {} {} binds; letting it to {} would ",
            self.what, self.side, self.limit, self.loosened
        )?;
        match &self.nearer {
            Some(nearer) => write!(
                f,
                "bring {} nearer by {}",
                named(nearer.figure, nearer.liquor),
                nearer.by
            ),
            None => f.write_str("bring little"),
        }
    }
}

/// A limit or firm aim to let go by so much.
#[derive(Debug, Clone, PartialEq)]
pub struct Relaxation {
    /// What is limited.
    pub what: String,
    /// Which way.
    pub side: Side,
    /// The limit as it is.
    pub from: Level,
    /// The limit as it would have to be.
    pub to: Level,
}

impl fmt::Display for Relaxation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "let {} go from {} {} to {}",
            self.what, self.side, self.from, self.to
        )
    }
}

/// The best with so many kinds of addition.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    /// How many kinds are used.
    pub kinds: usize,
    /// Which, and how much of each over both liquors.
    pub additions: Vec<(String, Amount)>,
    /// Acidulated malt, where it is one of them.
    pub acid_malt: Option<Mass>,
    /// How far from the aims.
    pub misfit: Misfit,
    /// What water and additions cost, where a price was given.
    pub cost: Money,
}

/// "sodium in the mash liquor".
pub(super) fn named(figure: Figure, liquor: Option<Liquor>) -> String {
    match liquor {
        Some(liquor) => format!("{figure} in the {liquor} liquor"),
        None => figure.to_string(),
    }
}

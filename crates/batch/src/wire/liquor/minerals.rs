//! The JSON form of a search for salts and acid.

use ::water::Amount;
use ::water::design::Line;
use quantity::{Mass, Units};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::liquor::minerals::{Found, LineSure};
use crate::wire::reckoning::{caution, note};
use crate::wire::{Assumption, CautionForm, NoteForm};

/// What comes nearest to the aim of a batch. Field names end in the unit of the
/// number; text with a unit is metric.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Minerals {
    /// The version of this form: "gylewright/minerals/1".
    pub schema: &'static str,
    /// What to put into which liquor.
    pub additions: Vec<Addition>,
    /// The waters of each liquor.
    pub waters: Vec<PartOfBlend>,
    /// Acidulated malt in the grist, where it is at hand and used.
    pub acidulated_malt_kg: Option<f64>,
    /// The mash pH as a cooled sample, where there is a grist.
    pub mash_ph: Option<f64>,
    /// Aim by aim, how near.
    pub aims: Vec<Reached>,
    /// The limits that keep the aims from being nearer, a sentence each.
    pub binding: Vec<String>,
    /// The sum of (distance/tolerance)² with amounts that can be weighed.
    pub misfit: f64,
    /// The same, could any amount be weighed.
    pub misfit_unrounded: f64,
    /// What it costs in the currency of the prices; null where none was given.
    pub cost: Option<f64>,
    /// What each further kind of addition buys.
    pub ladder: Vec<Rung>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
    /// What was taken where nobody said.
    pub assumptions: Vec<Assumption>,
}

/// Something weighed or measured into a liquor.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Addition {
    /// mash or sparge.
    pub into: String,
    /// What.
    pub what: String,
    /// How much, where it is weighed.
    pub mass_g: Option<f64>,
    /// How much, where it is measured.
    pub volume_ml: Option<f64>,
}

/// A water in a liquor.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PartOfBlend {
    /// mash or sparge.
    pub into: String,
    /// What it is called.
    pub name: String,
    /// "as it is", "boiled" or "limed".
    pub how: String,
    /// How much.
    pub volume_l: f64,
    /// Slaked lime to stir into it before anything else; null where it is not limed.
    pub lime_g: Option<f64>,
}

/// An aim and what became of it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Reached {
    /// mash or sparge; null for the mash pH.
    pub liquor: Option<String>,
    /// Of what.
    pub figure: &'static str,
    /// The aim, printed.
    pub aim: String,
    /// What would do on either side, printed.
    pub tolerance: String,
    /// What came out, printed.
    pub reached: String,
    /// The distance in tolerances; within one of nought the aim is met.
    pub off_in_tolerances: f64,
    /// Whether it is met.
    pub met: bool,
    /// Where it lies in nine of ten batches of this plan, printed; null where nothing moves
    /// it, where the batch cannot be drawn, and in a choice of waters, whose seasons tell it.
    pub between: Option<String>,
    /// In how many of all such batches it is met, 0 to 1; null where those are not drawn.
    pub chance: Option<f64>,
}

/// The best with so many kinds of addition.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Rung {
    /// How many kinds.
    pub kinds: usize,
    /// Which.
    pub additions: Vec<String>,
    /// How far from the aims, with amounts that can be weighed.
    pub misfit: f64,
}

/// The JSON Schema of [`Minerals`].
#[must_use]
pub fn minerals_schema() -> Value {
    crate::wire::named::<Minerals>("urn:gylewright:schema:minerals:1")
}

impl Minerals {
    /// A design, and how sure each of its lines is.
    #[must_use]
    pub fn of(found: &Found, sure: Option<&[LineSure]>) -> Self {
        let design = &found.design;
        let liquors = || design.liquors.iter();
        Self {
            schema: "gylewright/minerals/1",
            additions: liquors().flat_map(|l| &l.additions).map(addition).collect(),
            waters: liquors()
                .flat_map(|l| l.blend.iter().map(|p| part(l.liquor, p, found.lime(p))))
                .collect(),
            acidulated_malt_kg: design.acid_malt.map(|malt| malt.mass.kg()),
            mash_ph: design.mash_ph.as_ref().map(|m| m.ph.value.ph()),
            aims: reached_all(&design.lines, sure),
            binding: design.binding.iter().map(ToString::to_string).collect(),
            misfit: design.misfit.weighed,
            misfit_unrounded: design.misfit.unrounded,
            cost: found.cost().map(::water::design::Money::amount),
            ladder: design
                .ladder
                .iter()
                .map(|rung| Rung {
                    kinds: rung.kinds,
                    additions: rung
                        .additions
                        .iter()
                        .map(|(name, _)| name.clone())
                        .collect(),
                    misfit: rung.misfit.weighed,
                })
                .collect(),
            notes: found.notes().map(note).collect(),
            cautions: found.cautions().into_iter().map(caution).collect(),
            assumptions: found
                .asked
                .assumptions
                .iter()
                .map(Assumption::from)
                .collect(),
        }
    }
}

pub(super) fn part(
    into: ::water::Liquor,
    part: &::water::design::Part,
    lime: Option<Mass>,
) -> PartOfBlend {
    PartOfBlend {
        into: into.to_string(),
        name: part.name.clone(),
        how: part.how.clone(),
        volume_l: part.volume.l(),
        lime_g: lime.map(Mass::g),
    }
}

pub(super) fn addition(weigh: &::water::ToWeigh) -> Addition {
    let (mass_g, volume_ml) = match weigh.amount {
        Amount::Mass(mass) => (Some(mass.g()), None),
        Amount::Volume(volume) => (None, Some(1000.0 * volume.l())),
    };
    Addition {
        into: weigh.into.to_string(),
        what: weigh.what.clone(),
        mass_g,
        volume_ml,
    }
}

pub(super) fn reached_all(lines: &[Line], sure: Option<&[LineSure]>) -> Vec<Reached> {
    let sure = |at: usize| sure.and_then(|sure| sure.get(at));
    let each = lines.iter().enumerate();
    each.map(|(at, line)| reached(line, sure(at))).collect()
}

fn reached(line: &Line, sure: Option<&LineSure>) -> Reached {
    Reached {
        liquor: line.liquor.map(|liquor| liquor.to_string()),
        figure: line.figure.name(),
        aim: line.target.to_string(),
        tolerance: line.tolerance.to_string(),
        reached: line.reached.to_string(),
        off_in_tolerances: line.off_in_tolerances,
        met: line.met(),
        between: sure.and_then(|sure| sure.show(Units::Metric)),
        chance: sure.map(|sure| sure.chance),
    }
}

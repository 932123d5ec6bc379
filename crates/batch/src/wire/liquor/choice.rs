//! The JSON form of a choice of waters.

use ::water::Amount;
use ::water::choice::{Change as Turn, Dated, Ranked as RankedWater};
use quantity::Units;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::liquor::choice::Chosen;
use crate::wire::liquor::minerals::{Addition, PartOfBlend, Reached, addition, part, reached_all};
use crate::wire::reckoning::{caution, note};
use crate::wire::{Assumption, CautionForm, NoteForm};

/// The waters at hand and their blends in pairs, the best for a batch first. Field
/// names end in the unit of the number; text with a unit is metric.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterChoice {
    /// The version of this form: "gylewright/water-choice/1".
    pub schema: &'static str,
    /// Those that can be brewed with, the best first.
    pub ranked: Vec<RankedChoice>,
    /// Those that cannot.
    pub refused: Vec<RefusedChoice>,
    /// The residual alkalinity above which this mash needs acid; null without malt.
    pub acid_above_residual_alkalinity_meq_per_l: Option<f64>,
    /// Remarks on the first.
    pub notes: Vec<NoteForm>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
    /// What was taken where nobody said.
    pub assumptions: Vec<Assumption>,
}

/// A water or a blend of two, and what it comes to.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RankedChoice {
    /// What it is called.
    pub name: String,
    /// The waters, by their keys in the question.
    pub waters: Vec<String>,
    /// Why it stands where it stands, a sentence each.
    pub reasons: Vec<String>,
    /// The most aims that a season misses.
    pub aims_missed: usize,
    /// The sum of (distance/tolerance)² in the worst season.
    pub misfit: f64,
    /// What the dearest season costs; null where nothing has a price.
    pub cost: Option<f64>,
    /// The most additions in a season, mash and sparge counted apart.
    pub additions: usize,
    /// The most water that has to be carried home.
    pub carried_home_l: f64,
    /// The lowest mash pH over the seasons; null without malt.
    pub mash_ph_lowest: Option<f64>,
    /// The highest mash pH over the seasons.
    pub mash_ph_highest: Option<f64>,
    /// Season by season, the oldest first.
    pub seasons: Vec<SeasonOfChoice>,
    /// What to change when a season turns.
    pub changes: Vec<ChangeOfSeason>,
}

/// A season and what is poured in it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SeasonOfChoice {
    /// From when it holds; empty where nothing changes over the year.
    pub from: String,
    /// How many aims are missed.
    pub aims_missed: usize,
    /// The sum of (distance/tolerance)².
    pub misfit: f64,
    /// The waters of each liquor.
    pub waters: Vec<PartOfBlend>,
    /// What to put into which liquor.
    pub additions: Vec<Addition>,
    /// Acidulated malt, where it is used.
    pub acidulated_malt_kg: Option<f64>,
    /// The mash pH as a cooled sample; null without malt.
    pub mash_ph: Option<f64>,
    /// Aim by aim, how near.
    pub aims: Vec<Reached>,
}

/// An amount that differs from one season to the next.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ChangeOfSeason {
    /// When.
    pub from: String,
    /// mash or sparge; null for what goes into the grist.
    pub into: Option<String>,
    /// Of what.
    pub what: String,
    /// How much until then, in g or mL as the unit says; null where it was not used.
    pub before: Option<f64>,
    /// How much from then on; null where it is no longer used.
    pub after: Option<f64>,
    /// "g" or "mL".
    pub unit: &'static str,
}

/// A water that has no design.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RefusedChoice {
    /// What it is called.
    pub name: String,
    /// In which season; empty where nothing changes over the year.
    pub from: String,
    /// Why.
    pub why: String,
}

/// The JSON Schema of [`WaterChoice`].
#[must_use]
pub fn water_choice_schema() -> Value {
    crate::wire::named::<WaterChoice>("urn:gylewright:schema:water-choice:1")
}

impl From<&Chosen> for WaterChoice {
    fn from(chosen: &Chosen) -> Self {
        let choice = &chosen.choice;
        Self {
            schema: "gylewright/water-choice/1",
            ranked: (choice.ranked.iter().enumerate())
                .map(|(place, one)| ranked(chosen, place, one))
                .collect(),
            refused: choice
                .refused
                .iter()
                .map(|refused| RefusedChoice {
                    name: refused.name.clone(),
                    from: refused.from.clone(),
                    why: refused.error.to_string(),
                })
                .collect(),
            acid_above_residual_alkalinity_meq_per_l: chosen
                .acid_above
                .map(quantity::Alkalinity::meq_per_l),
            notes: chosen.notes().iter().map(note).collect(),
            cautions: chosen.cautions().into_iter().map(caution).collect(),
            assumptions: (chosen.asked.assumptions.iter().map(Assumption::from)).collect(),
        }
    }
}

fn ranked(chosen: &Chosen, place: usize, one: &RankedWater) -> RankedChoice {
    let ph = one.mash_ph;
    RankedChoice {
        name: one.name.clone(),
        waters: chosen.waters_of(one).map(|w| w.key.clone()).collect(),
        reasons: chosen.reasons(place, Units::Metric),
        aims_missed: one.unmet,
        misfit: one.misfit,
        cost: chosen.priced.then_some(one.cost.amount()),
        additions: one.additions,
        carried_home_l: one.bought.l(),
        mash_ph_lowest: ph.map(|(low, _)| low.ph()),
        mash_ph_highest: ph.map(|(_, high)| high.ph()),
        seasons: one.seasons.iter().map(season).collect(),
        changes: one.changes.iter().map(change).collect(),
    }
}

fn season(dated: &Dated) -> SeasonOfChoice {
    let design = &dated.design;
    let liquors = || design.liquors.iter();
    SeasonOfChoice {
        from: dated.from.clone(),
        aims_missed: dated.unmet(),
        misfit: design.misfit.weighed,
        waters: liquors()
            .flat_map(|l| l.blend.iter().map(|p| part(l.liquor, p, None)))
            .collect(),
        additions: liquors().flat_map(|l| &l.additions).map(addition).collect(),
        acidulated_malt_kg: design.acid_malt.map(|malt| malt.mass.kg()),
        mash_ph: design.mash_ph.as_ref().map(|m| m.ph.value.ph()),
        aims: reached_all(&design.lines, None),
    }
}

fn change(turn: &Turn) -> ChangeOfSeason {
    let number = |amount: Amount| match amount {
        Amount::Mass(mass) => mass.g(),
        Amount::Volume(volume) => 1000.0 * volume.l(),
    };
    let either = turn.before.or(turn.after);
    ChangeOfSeason {
        from: turn.from.clone(),
        into: turn.into.map(|liquor| liquor.to_string()),
        what: turn.what.clone(),
        before: turn.before.map(number),
        after: turn.after.map(number),
        unit: match either {
            Some(Amount::Volume(_)) => "mL",
            _ => "g",
        },
    }
}

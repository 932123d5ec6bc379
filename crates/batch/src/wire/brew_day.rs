//! The lauter and the corrections of a brew day, as JSON.

use quantity::{Measured, Note, Quantity};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;
use wort::correct::{Outcome, PointFigures, Stands, Way};
use wort::lauter::Runnings;

use crate::brew_day::{Beer, Corrections, Lautering, WayOn, entries_of};
use crate::wire::reckoning::{caution, note};
use crate::wire::{CautionForm, NoteForm};

/// The run-off of a batch, its efficiency, and what the kit would give.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WortLauter {
    /// The version of this form: "gylewright/wort-lauter/1".
    pub schema: &'static str,
    /// Runnings in order.
    pub run_off: Vec<RunningsForm>,
    /// The last of them.
    pub last_runnings: RunningsForm,
    /// Where to stop: the first runnings past a limit; null where they stay within.
    pub stop: Option<RunningsForm>,
    /// The chain of efficiencies, 0 to 1 each.
    pub efficiency: Vec<EfficiencyForm>,
    /// Extract in the fermenter, of the laboratory extract of all that was used.
    pub brewhouse_efficiency: f64,
    /// What would move it.
    pub moves: Vec<MoveForm>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
}

/// Runnings when so much was collected.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RunningsForm {
    /// Wort collected before, at 20 °C.
    pub collected_l: f64,
    /// Extract.
    pub gravity_plato: f64,
    /// pH of a cooled sample.
    pub ph: f64,
}

/// A link of the chain of efficiencies.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EfficiencyForm {
    /// Its name.
    pub name: &'static str,
    /// Extract that comes through, 0 to 1.
    pub share: f64,
    /// What that means.
    pub means: &'static str,
}

/// Something that could be done with the kit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MoveForm {
    /// What.
    pub what: String,
    /// Brewhouse efficiency then, 0 to 1.
    pub brewhouse_efficiency: f64,
    /// By how much that is more, in points of a hundred.
    pub gain_percent: f64,
    /// Original gravity then.
    pub original_gravity_plato: f64,
    /// Last runnings then.
    pub last_runnings_plato: f64,
}

/// Where a brew day stands and what can be done.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WortCorrect {
    /// The version of this form: "gylewright/wort-correct/1".
    pub schema: &'static str,
    /// From where corrections are thought of.
    pub at: &'static str,
    /// Minutes after the boil began, where it is in the boil.
    pub after_min: Option<f64>,
    /// Planned and read, point by point.
    pub points: Vec<PointForm>,
    /// Original gravity, by plan and readings together.
    pub original_gravity: FigureForm,
    /// Volume in the fermenter, likewise.
    pub fermenter_l: FigureForm,
    /// What was learned of the kit; null without a reading.
    pub learned: Option<DayLearnedForm>,
    /// What the plan aims at.
    pub aim: OutcomeForm,
    /// What comes if nothing is done.
    pub now: OutcomeForm,
    /// The ways that can be gone, the better first.
    pub ways: Vec<CorrectionForm>,
    /// Those that cannot, with the reason.
    pub impossible: Vec<ImpossibleForm>,
    /// Remarks on the readings.
    pub notes: Vec<NoteForm>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
}

/// A figure and its standard deviation.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FigureForm {
    /// The figure: °P of a gravity, litres of a volume.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
}

/// A point of the brew day. Volumes are at 20 °C.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PointForm {
    /// Where.
    pub at: &'static str,
    /// Volume as planned; null where it says nothing.
    pub planned_l: Option<f64>,
    /// Gravity as planned.
    pub planned_plato: f64,
    /// Volumes read there.
    pub read_l: Vec<FigureForm>,
    /// Gravities read there.
    pub read_plato: Vec<FigureForm>,
    /// Volume by plan and readings together.
    pub volume_l: Option<FigureForm>,
    /// Gravity by plan and readings together.
    pub gravity_plato: FigureForm,
}

/// What a brew day taught of the kit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DayLearnedForm {
    /// Extract dissolved, of what a coarse laboratory grind gives.
    pub conversion: FigureForm,
    /// Extract in the kettle, of the laboratory extract of all that was used.
    pub into_kettle: FigureForm,
    /// Steam in an hour.
    pub evaporation_kg_per_h: FigureForm,
}

/// What a wort comes to.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OutcomeForm {
    /// Original gravity.
    pub original_gravity_plato: f64,
    /// The same as specific gravity 20/20.
    pub original_gravity_sg: f64,
    /// Volume in the fermenter.
    pub fermenter_l: f64,
    /// Bitterness.
    pub bitterness_ibu: f64,
    /// Colour.
    pub colour_ebc: f64,
    /// Dimethyl sulfide in the cold wort.
    pub dms_ug_per_l: f64,
    /// Alcohol of the beer; null where it cannot ferment.
    pub alcohol_percent_vol: Option<f64>,
    /// Final gravity of the beer.
    pub final_gravity_plato: Option<f64>,
}

/// A way of going on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CorrectionForm {
    /// A key, stable: boil, malt extract, sucrose, dextrose, dilute, both, hops, leave.
    pub key: &'static str,
    /// What to do.
    pub text: String,
    /// What it costs and changes.
    pub says: String,
    /// Misses and cost by judgement; the less the better.
    pub rank: f64,
    /// What it comes to.
    pub outcome: OutcomeForm,
    /// Hops to come, so many times as much, to hold the bitterness.
    pub hops_times: Option<f64>,
    /// Its entries of `brew_day.done`, key by key.
    pub done: Vec<std::collections::BTreeMap<String, String>>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
}

/// A way that cannot be gone.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ImpossibleForm {
    /// Its key.
    pub key: &'static str,
    /// What it would be.
    pub text: String,
    /// Why it cannot be done.
    pub why: String,
}

/// The JSON Schema of [`WortLauter`].
#[must_use]
pub fn wort_lauter_schema() -> Value {
    crate::wire::named::<WortLauter>("urn:gylewright:schema:wort-lauter:1")
}

/// The JSON Schema of [`WortCorrect`].
#[must_use]
pub fn wort_correct_schema() -> Value {
    crate::wire::named::<WortCorrect>("urn:gylewright:schema:wort-correct:1")
}

impl From<&Lautering> for WortLauter {
    fn from(lautering: &Lautering) -> Self {
        let run = &lautering.run_off;
        Self {
            schema: "gylewright/wort-lauter/1",
            run_off: run.course.iter().map(runnings).collect(),
            last_runnings: runnings(&run.last),
            stop: run.stop.map(|stop| runnings(&stop.at)),
            efficiency: lautering
                .efficiency
                .steps
                .iter()
                .map(|step| EfficiencyForm {
                    name: step.name,
                    share: step.share.ratio(),
                    means: step.means,
                })
                .collect(),
            brewhouse_efficiency: lautering.efficiency.brewhouse.ratio(),
            moves: lautering
                .moves
                .iter()
                .map(|m| MoveForm {
                    what: m.what.clone(),
                    brewhouse_efficiency: m.brewhouse.ratio(),
                    gain_percent: m.gain_percent,
                    original_gravity_plato: m.original_gravity.plato(),
                    last_runnings_plato: m.last_runnings.plato(),
                })
                .collect(),
            notes: notes(&run.notes),
            cautions: run.cautions.iter().copied().map(caution).collect(),
        }
    }
}

impl From<&Corrections> for WortCorrect {
    fn from(found: &Corrections) -> Self {
        let stands = &found.stands;
        let after_min = match found.at {
            wort::correct::Point::Boil(t) => Some(t.min()),
            _ => None,
        };
        Self {
            schema: "gylewright/wort-correct/1",
            at: found.at.name(),
            after_min,
            points: stands.points.iter().map(point).collect(),
            original_gravity: figure(&stands.original_gravity),
            fermenter_l: figure(&stands.volume),
            learned: learned(stands),
            aim: outcome(&found.aim.0, found.aim.1.as_ref()),
            now: outcome(&found.now.0, found.now.1.as_ref()),
            ways: found.ways.iter().filter_map(way).collect(),
            impossible: found.impossible.iter().map(impossible).collect(),
            notes: notes(&stands.notes),
            cautions: stands.cautions.iter().copied().map(caution).collect(),
        }
    }
}

fn notes(given: &[Note]) -> Vec<NoteForm> {
    given.iter().map(note).collect()
}

fn runnings(at: &Runnings) -> RunningsForm {
    RunningsForm {
        collected_l: at.collected.l(),
        gravity_plato: at.gravity.plato(),
        ph: at.ph.ph(),
    }
}

fn figure<Q: Quantity>(of: &Measured<Q>) -> FigureForm {
    FigureForm {
        value: of.canonical(),
        sd: of.sd(),
    }
}

fn point(at: &PointFigures) -> PointForm {
    PointForm {
        at: at.at.name(),
        planned_l: at.planned_volume.map(quantity::Volume::l),
        planned_plato: at.planned_gravity.plato(),
        read_l: at
            .read
            .iter()
            .filter_map(|r| r.volume.as_ref().map(figure))
            .collect(),
        read_plato: at
            .read
            .iter()
            .filter_map(|r| r.gravity.as_ref().map(figure))
            .collect(),
        volume_l: at.volume.as_ref().map(figure),
        gravity_plato: figure(&at.gravity),
    }
}

fn learned(stands: &Stands) -> Option<DayLearnedForm> {
    stands.learned.as_ref().map(|learned| DayLearnedForm {
        conversion: figure(&learned.conversion),
        into_kettle: figure(&learned.into_kettle),
        evaporation_kg_per_h: figure(&learned.evaporation),
    })
}

fn outcome(of: &Outcome, beer: Option<&Beer>) -> OutcomeForm {
    OutcomeForm {
        original_gravity_plato: of.original_gravity.plato(),
        original_gravity_sg: of.original_gravity.sg(),
        fermenter_l: of.volume.l(),
        bitterness_ibu: of.bitterness.ibu(),
        colour_ebc: of.colour.ebc(),
        dms_ug_per_l: of.dms.mg_per_l() * 1000.0,
        alcohol_percent_vol: beer.map(|b| b.alcohol.percent()),
        final_gravity_plato: beer.map(|b| b.final_gravity.plato()),
    }
}

fn way(on: &WayOn) -> Option<CorrectionForm> {
    let (comes_to, _) = on.way.outcome.as_ref()?;
    Some(CorrectionForm {
        key: on.way.key,
        text: on.way.text.clone(),
        says: on.way.says.clone(),
        rank: on.way.rank,
        outcome: outcome(comes_to, on.beer.as_ref()),
        hops_times: on.way.hops.as_ref().map(|h| h.times),
        done: entries_of(&on.way, false)
            .into_iter()
            .map(|entry| entry.into_iter().collect())
            .collect(),
        cautions: on.way.cautions.iter().copied().map(caution).collect(),
    })
}

fn impossible(way: &Way) -> ImpossibleForm {
    ImpossibleForm {
        key: way.key,
        text: way.text.clone(),
        why: way.says.clone(),
    }
}

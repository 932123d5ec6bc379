//! What is said beside the numbers.

use ferment::GreenBeer;
use quantity::{CarbonDioxide, Caution, Gravity, Note, Units};

use crate::plan::{Carbonation, PackagePlan, Vessel};
use crate::proof::{Basis, Left, POINT_PLATO};
use crate::verdict::{Safety, WorstCase};

/// What the remarks are about.
pub(crate) struct Facts<'a> {
    pub(crate) plan: &'a PackagePlan,
    pub(crate) green: &'a GreenBeer,
    pub(crate) saturation: CarbonDioxide,
    pub(crate) start: CarbonDioxide,
    pub(crate) held: CarbonDioxide,
    pub(crate) left: &'a Left,
    pub(crate) dissolved: CarbonDioxide,
    pub(crate) worst: &'a WorstCase,
}

/// Gas by which fermentation and saturation may differ without a word \[vol\].
const AGREE_VOLUMES: f64 = 0.15;
/// Below this bottles condition slowly \[°C\] (common practice).
const SLOW_CONDITIONING_C: f64 = 15.0;

pub(crate) fn notes(facts: &Facts) -> Vec<Note> {
    [
        verdict(facts.worst),
        diastatic(facts),
        still_fermenting(facts.left.at_most),
        proof(facts),
        starting_gas(facts),
        already_there(facts),
        head_space(facts),
        conditioning(facts.plan),
        beyond_the_charts(facts.worst),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The cautions that go with a plan.
pub(crate) fn cautions(plan: &PackagePlan) -> Vec<Caution> {
    let mut cautions = match plan.vessel {
        Vessel::Bottles { .. } => vec![Caution::BottlePressure],
        Vessel::Keg { .. } => vec![Caution::KegPressure, Caution::CarbonDioxide],
    };
    if matches!(
        (&plan.vessel, plan.carbonation),
        (Vessel::Bottles { .. }, Carbonation::Gas)
    ) {
        cautions.extend([Caution::KegPressure, Caution::CarbonDioxide]);
    }
    cautions
}

fn verdict(worst: &WorstCase) -> Option<Note> {
    let text = format!("{}: {}", worst.reason.text(Units::Metric), worst.remedy);
    match worst.safety {
        Safety::Safe => None,
        Safety::Look => Some(Note::look(text)),
        Safety::Stop => Some(Note::act(text)),
    }
}

fn diastatic(facts: &Facts) -> Option<Note> {
    let proven = facts.left.basis == Basis::Forced;
    (facts.green.diastatic && !proven).then(|| {
        Note::act(
            "this yeast ferments dextrins, slowly and for weeks: a fermentation that looks finished is not; wait until a forced sample of three weeks or more has stopped, prefer a keg or strong bottles, and keep them cold",
        )
    })
}

/// What the readings before packaging are worth.
fn proof(facts: &Facts) -> Option<Note> {
    match facts.left.basis {
        Basis::Forced => Some(Note::fine(format!(
            "a forced fermentation shows where the beer ends: {:.1} points above it, at most {:.1}",
            facts.left.likely.plato() / POINT_PLATO,
            facts.left.at_most.plato() / POINT_PLATO,
        ))),
        Basis::Model => None,
        Basis::ForcedTooShort { needed } => Some(Note::look(format!(
            "the forced fermentation is not known to have had {needed}: it does not count yet"
        ))),
        Basis::BelowForced => Some(Note::act(
            "the beer stands below where the forced sample ended: something in it ferments what that yeast does not, or the readings were mixed up; do not bottle before it is known why",
        )),
    }
}

fn still_fermenting(left: Gravity) -> Option<Note> {
    let points = left.plato() / POINT_PLATO;
    if points > 2.0 {
        return Some(Note::act(format!(
            "up to {points:.1} points of gravity can still ferment: do not bottle before a forced fermentation of a sample has shown where it ends"
        )));
    }
    (points > 1.0).then(|| {
        Note::look(format!(
            "up to {points:.1} points of gravity can still ferment; package only within one point of where a forced fermentation of a sample ends"
        ))
    })
}

fn starting_gas(facts: &Facts) -> Option<Note> {
    let apart = facts.start.volumes() - facts.saturation.volumes();
    (apart > AGREE_VOLUMES).then(|| {
        Note::look(format!(
            "fermentation leaves {:.2} vol, open beer that had been at {} would hold {:.2} vol: right for a closed fermenter; if it stood open, more sugar is needed",
            facts.start.volumes(),
            facts.green.warmest_after_end,
            facts.saturation.volumes(),
        ))
    })
}

fn already_there(facts: &Facts) -> Option<Note> {
    let (start, target) = (facts.start.volumes(), facts.plan.target.volumes());
    (start > target).then(|| {
        Note::look(format!(
            "the beer already holds {start:.2} vol, more than the aim of {target:.2} vol: no sugar; let it warm up or vent if it must be less"
        ))
    })
}

fn head_space(facts: &Facts) -> Option<Note> {
    let gone = facts.held.volumes() - facts.dissolved.volumes();
    (gone > 0.005).then(|| {
        Note::fine(format!(
            "{gone:.2} vol of the gas is above the beer at {}; sugar tables leave that out, and so does this dose",
            facts.plan.conditioning
        ))
    })
}

fn conditioning(plan: &PackagePlan) -> Option<Note> {
    let slow = plan.conditioning.c() < SLOW_CONDITIONING_C;
    (slow && !matches!(plan.carbonation, Carbonation::Gas)).then(|| {
        Note::look(format!(
            "at {} ale yeast takes up priming sugar slowly or not at all: condition at 18 °C or more, or allow weeks",
            plan.conditioning
        ))
    })
}

fn beyond_the_charts(worst: &WorstCase) -> Option<Note> {
    (worst.at.c() > 40.0).then(|| {
        Note::look(format!(
            "{} is beyond the 40 °C to which the solubility law was compared; the pressure is an estimate",
            worst.at
        ))
    })
}

//! The pitch as JSON.

use ferment::{
    Effect, GrownStep, OxygenWay, PitchCase, WayKind, WayToPitch, known_effects, oxygen_classes,
};
use quantity::{Duration, MassConcentration, Source, Units};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::pitch::{Pitching, way_words};
use crate::wire::reckoning::{caution, note};
use crate::wire::{CautionForm, NoteForm};

/// The pitch of a wort: cells needed and at hand, ways to close the gap, oxygen, and
/// what another start would do.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Pitch {
    /// The version of this form: "gylewright/pitch/1".
    pub schema: &'static str,
    /// The class of yeast.
    pub class: String,
    /// What the pitch is for: usual, clean, estery, phenolic, very dry.
    pub aim: &'static str,
    /// Pitching rate aimed at.
    pub rate_millions_per_ml_plato: f64,
    /// Where it comes from.
    pub rate_sources: Vec<PitchSourceForm>,
    /// Original gravity.
    pub gravity_plato: f64,
    /// Wort.
    pub volume_l: f64,
    /// Cells needed.
    pub cells_needed_billions: f64,
    /// The least that would do.
    pub cells_needed_low_billions: f64,
    /// The most that would do.
    pub cells_needed_high_billions: f64,
    /// Living cells at hand, after a starter if one is planned.
    pub cells_at_hand_billions: f64,
    /// Their standard deviation.
    pub cells_at_hand_sd_billions: f64,
    /// Living cells before a starter.
    pub before_starter_billions: f64,
    /// Share of the cells that lives, before a starter.
    pub viability: f64,
    /// At hand over needed.
    pub ratio: f64,
    /// The planned starter, step by step.
    pub starter: Vec<StarterStepForm>,
    /// Ways to have enough, the better first.
    pub ways: Vec<PitchWayForm>,
    /// What is better left.
    pub unwise: Vec<NoteForm>,
    /// How dry yeast is wetted; null where it is not dry.
    pub rehydration: Option<RehydrationForm>,
    /// The least oxygen wanted.
    pub oxygen_from_mg_per_l: f64,
    /// The most oxygen wanted.
    pub oxygen_to_mg_per_l: f64,
    /// What the ways to get it in are reckoned to.
    pub oxygen_aim_mg_per_l: f64,
    /// Ways to get oxygen in.
    pub oxygen: Vec<OxygenWayForm>,
    /// What kinds of yeast ask for.
    pub oxygen_classes: Vec<OxygenClassForm>,
    /// The same batch started otherwise; empty without a batch.
    pub cases: Vec<PitchCaseForm>,
    /// What the literature says of too few cells and a warm start.
    pub effects: Vec<PitchEffectForm>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// What can hurt.
    pub cautions: Vec<CautionForm>,
}

/// Where a figure comes from.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PitchSourceForm {
    /// Author, year and place, or what was done.
    pub source: String,
    /// How it was obtained.
    pub mark: &'static str,
}

/// A step of a starter.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StarterStepForm {
    /// Starter wort.
    pub volume_l: f64,
    /// Its gravity.
    pub gravity_plato: f64,
    /// How it is kept: still or stirred.
    pub way: &'static str,
    /// Cells to begin with.
    pub inoculum_millions_per_ml: f64,
    /// Living cells at the end.
    pub cells_billions: f64,
    /// Their standard deviation.
    pub cells_sd_billions: f64,
    /// Cells after over cells before.
    pub growth: f64,
    /// New cells by the fall of the apparent extract.
    pub yield_factor_millions_per_ml_plato: f64,
    /// Dried malt extract to weigh.
    pub dried_extract_g: f64,
    /// Extract that ferments.
    pub sugar_used_g: f64,
    /// Oxygen asked for beyond what the yeast brings.
    pub oxygen_mg_per_l: f64,
}

/// A way to have enough cells.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PitchWayForm {
    /// What is done: as_it_is, packets, starter, slurry or dry.
    pub kind: &'static str,
    /// In words.
    pub text: String,
    /// Living cells then.
    pub cells_billions: f64,
    /// Their standard deviation.
    pub cells_sd_billions: f64,
    /// Over the cells needed.
    pub ratio: f64,
    /// Chance that they are four fifths of those needed or more.
    pub chance_of_four_fifths: f64,
    /// Begun so long ahead at the least.
    pub ahead_from_h: f64,
    /// And at the most.
    pub ahead_to_h: f64,
    /// The steps, where it is a starter.
    pub steps: Vec<StarterStepForm>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
}

/// How dry yeast is wetted.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RehydrationForm {
    /// Clean water.
    pub water_ml: f64,
    /// Its temperature at the least.
    pub from_c: f64,
    /// And at the most.
    pub to_c: f64,
    /// Time at the least.
    pub from_min: f64,
    /// And at the most.
    pub to_min: f64,
    /// Where this comes from.
    pub source: String,
}

/// A way to get oxygen in.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OxygenWayForm {
    /// Its word.
    pub key: &'static str,
    /// What is done.
    pub name: &'static str,
    /// How fast it goes in.
    pub transfer_per_min: f64,
    /// What the wort can hold this way.
    pub saturation_mg_per_l: f64,
    /// Minutes that are usual.
    pub usual_min: f64,
    /// What they bring.
    pub usual_mg_per_l: f64,
    /// Minutes to the aim; null where it is out of reach.
    pub time_min: Option<f64>,
    /// One standard deviation below.
    pub time_low_min: Option<f64>,
    /// One standard deviation above.
    pub time_high_min: Option<f64>,
    /// Where the speed comes from.
    pub source: String,
    /// How that was obtained.
    pub mark: &'static str,
}

/// What a kind of yeast asks for.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OxygenClassForm {
    /// In words.
    pub name: &'static str,
    /// As a concentration.
    pub need_mg_per_l: f64,
    /// Whether it is more than that.
    pub more: bool,
}

/// The same batch started in one way.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PitchCaseForm {
    /// Its word: needed, planned, half, twice, warm.
    pub key: &'static str,
    /// What is different.
    pub label: &'static str,
    /// Cells pitched over cells needed.
    pub ratio: f64,
    /// Temperature at pitching.
    pub start_c: f64,
    /// When a twentieth of what can ferment is gone.
    pub works_after_h: Option<f64>,
    /// When 90 % is gone.
    pub ninety_percent_at_h: Option<f64>,
    /// Gravity at the end.
    pub final_gravity_plato: f64,
    /// Esters against the batch with the cells needed.
    pub esters: EffectForm,
    /// Fusel alcohols likewise.
    pub fusels: EffectForm,
    /// 4-Vinylguaiacol likewise.
    pub phenolics: EffectForm,
    /// When diacetyl, there and to come, is at last below 0.10 mg/L.
    pub clears_after_h: Option<f64>,
}

/// A factor on a flavour, with one standard deviation to each side.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EffectForm {
    /// The factor.
    pub factor: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Whether one standard deviation reaches over to the other direction.
    pub not_sure: bool,
}

/// What a cause does, as the literature has it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PitchEffectForm {
    /// The cause.
    pub cause: &'static str,
    /// On what.
    pub on: &'static str,
    /// What it does.
    pub text: &'static str,
    /// Where it comes from.
    pub source: String,
    /// How that was obtained.
    pub mark: &'static str,
}

/// The JSON Schema of a [`Pitch`].
#[must_use]
pub fn pitch_schema() -> Value {
    super::named::<Pitch>("urn:gylewright:schema:pitch:1")
}

impl From<&Pitching> for Pitch {
    fn from(p: &Pitching) -> Self {
        let (q, report) = (&p.question, &p.report);
        let starter = report.starter.iter().flat_map(|s| &s.steps);
        Self {
            schema: "gylewright/pitch/1",
            class: q.strain.name.clone(),
            aim: q.target.aim.word(),
            rate_millions_per_ml_plato: q.target.rate.millions_per_ml_plato(),
            rate_sources: q.target.sources.iter().map(source).collect(),
            gravity_plato: q.gravity.plato(),
            volume_l: q.volume.l(),
            cells_needed_billions: p.need.cells.billions(),
            cells_needed_low_billions: p.need.range.0.billions(),
            cells_needed_high_billions: p.need.range.1.billions(),
            cells_at_hand_billions: report.at_hand.value.billions(),
            cells_at_hand_sd_billions: report.at_hand.sd(),
            before_starter_billions: report.before_starter.billions(),
            viability: report.viability.ratio(),
            ratio: report.ratio,
            starter: starter.map(step).collect(),
            ways: p.ways.ways.iter().map(way).collect(),
            unwise: p.ways.unwise.iter().map(note).collect(),
            rehydration: p.rehydration.as_ref().map(rehydration),
            oxygen_from_mg_per_l: p.oxygen_wanted.0.mg_per_l(),
            oxygen_to_mg_per_l: p.oxygen_wanted.1.mg_per_l(),
            oxygen_aim_mg_per_l: p.oxygen_aim.mg_per_l(),
            oxygen: p.oxygen.iter().map(oxygen).collect(),
            oxygen_classes: classes(),
            cases: p.cases.iter().map(case).collect(),
            effects: effects(),
            notes: report.notes.iter().map(note).collect(),
            cautions: p.cautions.iter().map(|c| caution(*c)).collect(),
        }
    }
}

fn source(of: &Source) -> PitchSourceForm {
    PitchSourceForm {
        source: of.text.clone(),
        mark: of.mark.words(),
    }
}

fn step(of: &GrownStep) -> StarterStepForm {
    StarterStepForm {
        volume_l: of.step.volume.l(),
        gravity_plato: of.step.gravity.plato(),
        way: of.step.stirring.word(),
        inoculum_millions_per_ml: of.inoculum.millions_per_ml(),
        cells_billions: of.cells.value.billions(),
        cells_sd_billions: of.cells.sd(),
        growth: of.growth,
        yield_factor_millions_per_ml_plato: of.yield_factor,
        dried_extract_g: of.dried_extract.g(),
        sugar_used_g: of.sugar_used.g(),
        oxygen_mg_per_l: of.oxygen.mg_per_l(),
    }
}

fn way(of: &WayToPitch) -> PitchWayForm {
    let steps = match &of.kind {
        WayKind::Starter(plan) => plan.grown.steps.iter().map(step).collect(),
        _ => Vec::new(),
    };
    PitchWayForm {
        kind: of.kind.word(),
        text: way_words(of, Units::Metric),
        cells_billions: of.cells.value.billions(),
        cells_sd_billions: of.cells.sd(),
        ratio: of.ratio,
        chance_of_four_fifths: of.surely.ratio(),
        ahead_from_h: of.ahead.0.h(),
        ahead_to_h: of.ahead.1.h(),
        steps,
        notes: of.notes.iter().map(note).collect(),
    }
}

fn rehydration(of: &ferment::Rehydration) -> RehydrationForm {
    RehydrationForm {
        water_ml: of.water.l() * 1000.0,
        from_c: of.temperature.0.c(),
        to_c: of.temperature.1.c(),
        from_min: of.time.0.min(),
        to_min: of.time.1.min(),
        source: of.source.text.clone(),
    }
}

fn oxygen(of: &OxygenWay) -> OxygenWayForm {
    let minutes = |n: usize| of.time.and_then(|t| t.get(n).copied()).map(Duration::min);
    OxygenWayForm {
        key: of.key,
        name: of.name,
        transfer_per_min: of.transfer.per_min(),
        saturation_mg_per_l: of.saturation.mg_per_l(),
        usual_min: of.usual.0.min(),
        usual_mg_per_l: of.usual.1.mg_per_l(),
        time_min: minutes(1),
        time_low_min: minutes(0),
        time_high_min: minutes(2),
        source: of.source.text.clone(),
        mark: of.source.mark.words(),
    }
}

fn classes() -> Vec<OxygenClassForm> {
    let all = oxygen_classes().into_iter();
    all.map(|class| OxygenClassForm {
        name: class.name,
        need_mg_per_l: MassConcentration::mg_per_l(class.need),
        more: class.more,
    })
    .collect()
}

fn case(of: &PitchCase) -> PitchCaseForm {
    PitchCaseForm {
        key: of.key,
        label: of.label,
        ratio: of.ratio,
        start_c: of.start.c(),
        works_after_h: of.works_after.map(Duration::h),
        ninety_percent_at_h: of.ninety_percent_at.map(Duration::h),
        final_gravity_plato: of.final_gravity.value.plato(),
        esters: effect(&of.esters),
        fusels: effect(&of.fusels),
        phenolics: effect(&of.phenolics),
        clears_after_h: of.clears_after.map(Duration::h),
    }
}

fn effect(of: &Effect) -> EffectForm {
    EffectForm {
        factor: of.factor,
        low: of.low,
        high: of.high,
        not_sure: of.is_unsure(),
    }
}

fn effects() -> Vec<PitchEffectForm> {
    let all = known_effects().into_iter();
    all.map(|e| PitchEffectForm {
        cause: e.cause,
        on: e.on,
        text: e.text,
        source: e.source.text,
        mark: e.source.mark.words(),
    })
    .collect()
}

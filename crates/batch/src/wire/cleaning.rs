//! Cleaning as JSON.

use package::cleaning::{Agent, Amount, Mixture, Strength, Substance};
use quantity::{Temperature, Units};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::cleaning::{Mixed, Step, Together};
use crate::wire::reckoning::{caution, note};
use crate::wire::{CautionForm, NoteForm};

/// Cleaners and sanitisers, and what must never meet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CleaningAgents {
    /// The version of this form: "gylewright/cleaning-agents/1".
    pub schema: &'static str,
    /// The agents.
    pub agents: Vec<CleaningAgent>,
    /// What must never meet, by kind.
    pub mixtures: Vec<CleaningMixture>,
    /// What is no agent and can meet one.
    pub substances: Vec<CleaningSubstance>,
}

/// An agent. Strengths are written with their unit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CleaningAgent {
    /// Its key.
    pub key: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it is for.
    pub does: &'static str,
    /// What it counts as where agents meet.
    pub kinds: &'static [String],
    /// What its strength counts; null for heat.
    pub strength_of: Option<&'static str>,
    /// The least that is usual.
    pub strength_low: Option<String>,
    /// The most that is usual.
    pub strength_high: Option<String>,
    /// The strength above which it must be rinsed off; null: always, or for heat never.
    pub rinse_above: Option<String>,
    /// Whether it must always be rinsed off, however weak.
    pub rinse: bool,
    /// The least time.
    pub contact_low_min: f64,
    /// The usual most.
    pub contact_high_min: f64,
    /// From which temperature.
    pub coldest_c: Option<f64>,
    /// To which.
    pub warmest_c: Option<f64>,
    /// How it is used.
    pub usage: &'static str,
    /// What it can leave in beer.
    pub leaves: Vec<CleaningLeaves>,
    /// What can hurt.
    pub cautions: Vec<CautionForm>,
    /// Where the row comes from.
    pub source: &'static str,
    /// How that was obtained.
    pub mark: &'static str,
}

/// A fault that an agent can leave in beer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CleaningLeaves {
    /// In a word.
    pub fault: &'static str,
    /// What it is like.
    pub what: &'static str,
    /// When.
    pub when: &'static str,
    /// Where that comes from.
    pub source: &'static str,
    /// How that was obtained.
    pub mark: &'static str,
}

/// Two kinds that must not meet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CleaningMixture {
    /// One kind.
    pub a: &'static str,
    /// The other.
    pub b: &'static str,
    /// What comes of it.
    pub gives: &'static str,
    /// danger or spoils.
    pub severity: &'static str,
    /// Where that comes from.
    pub source: &'static str,
    /// How that was obtained.
    pub mark: &'static str,
}

/// Something that can meet an agent.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CleaningSubstance {
    /// Its key.
    pub key: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it counts as.
    pub kinds: &'static [String],
}

/// How much of a stock makes a solution.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CleaningMix {
    /// The version of this form: "gylewright/cleaning-mix/1".
    pub schema: &'static str,
    /// The agent.
    pub agent: &'static str,
    /// The stock.
    pub stock: String,
    /// The strength of the solution, with its unit.
    pub strength: String,
    /// How much of the stock, where it is measured.
    pub amount_ml: Option<f64>,
    /// How much of it, where it is weighed.
    pub amount_g: Option<f64>,
    /// How much solution that makes.
    pub volume_l: f64,
    /// In a sentence.
    pub sentence: String,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// What can hurt.
    pub cautions: Vec<CautionForm>,
}

/// Whether two may meet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CleaningTogether {
    /// The version of this form: "gylewright/cleaning-together/1".
    pub schema: &'static str,
    /// One.
    pub one: &'static str,
    /// The other.
    pub other: &'static str,
    /// What comes of it; empty where nothing is known, which is not the same as safe.
    pub mixtures: Vec<CleaningMixture>,
    /// In a sentence.
    pub sentence: String,
    /// What can hurt, where they must not meet.
    pub cautions: Vec<CautionForm>,
}

/// One cleaning of a batch.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CleaningStep {
    /// What was cleaned.
    pub vessel: &'static str,
    /// With what.
    pub agent: &'static str,
    /// How strong, with its unit.
    pub strength: Option<String>,
    /// The most of what works in it that a litre of the beer can have.
    pub left_at_most_mg_per_l: Option<f64>,
    /// The faults that this can have left.
    pub can_leave: Vec<CleaningLeaves>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
}

impl CleaningAgents {
    /// All of them.
    #[must_use]
    pub fn all() -> Self {
        Self {
            schema: "gylewright/cleaning-agents/1",
            agents: Agent::all().iter().map(agent).collect(),
            mixtures: Mixture::all().iter().map(mixture).collect(),
            substances: Substance::all()
                .iter()
                .map(|s| CleaningSubstance {
                    key: &s.key,
                    name: &s.name,
                    kinds: &s.kinds,
                })
                .collect(),
        }
    }
}

fn metric(strength: Strength) -> String {
    strength.show(Units::Metric)
}

fn agent(agent: &'static Agent) -> CleaningAgent {
    CleaningAgent {
        key: &agent.key,
        name: &agent.name,
        does: agent.does.word(),
        kinds: &agent.kinds,
        strength_of: agent.of.as_deref(),
        strength_low: agent.strength.map(|s| metric(s.0)),
        strength_high: agent.strength.map(|s| metric(s.1)),
        rinse_above: agent.rinse_above.map(metric),
        rinse: agent.needs_rinse(agent.rinse_above),
        contact_low_min: agent.contact.0.min(),
        contact_high_min: agent.contact.1.min(),
        coldest_c: agent.temperature.map(|t| t.0).map(Temperature::c),
        warmest_c: agent.temperature.map(|t| t.1).map(Temperature::c),
        usage: &agent.usage,
        leaves: agent.leaves.iter().map(leaves).collect(),
        cautions: agent.cautions.iter().copied().map(caution).collect(),
        source: &agent.source.text,
        mark: agent.source.mark.words(),
    }
}

fn leaves(leaves: &'static package::cleaning::Leaves) -> CleaningLeaves {
    CleaningLeaves {
        fault: &leaves.fault,
        what: &leaves.what,
        when: &leaves.when,
        source: &leaves.source.text,
        mark: leaves.source.mark.words(),
    }
}

fn mixture(mixture: &'static Mixture) -> CleaningMixture {
    CleaningMixture {
        a: &mixture.a,
        b: &mixture.b,
        gives: &mixture.gives,
        severity: mixture.severity.word(),
        source: &mixture.source.text,
        mark: mixture.source.mark.words(),
    }
}

impl From<&Mixed> for CleaningMix {
    fn from(mixed: &Mixed) -> Self {
        let (amount_ml, amount_g) = match mixed.working.amount {
            Amount::Volume(volume) => (Some(volume.l() * 1e3), None),
            Amount::Mass(mass) => (None, Some(mass.g())),
        };
        Self {
            schema: "gylewright/cleaning-mix/1",
            agent: &mixed.agent.key,
            stock: mixed.stock.clone(),
            strength: metric(mixed.working.strength),
            amount_ml,
            amount_g,
            volume_l: mixed.volume.l(),
            sentence: mixed.sentence(Units::Metric),
            notes: mixed.notes.iter().map(note).collect(),
            cautions: mixed.cautions.iter().copied().map(caution).collect(),
        }
    }
}

impl From<&Together> for CleaningTogether {
    fn from(together: &Together) -> Self {
        Self {
            schema: "gylewright/cleaning-together/1",
            one: together.one.key,
            other: together.other.key,
            mixtures: together.mixtures.iter().copied().map(mixture).collect(),
            sentence: together.sentence(),
            cautions: together.cautions.iter().copied().map(caution).collect(),
        }
    }
}

impl From<&Step> for CleaningStep {
    fn from(step: &Step) -> Self {
        Self {
            vessel: step.vessel.word(),
            agent: &step.agent.key,
            strength: step.strength.map(metric),
            left_at_most_mg_per_l: step
                .residue
                .at_most
                .map(quantity::MassConcentration::mg_per_l),
            can_leave: step.residue.leaves.iter().copied().map(leaves).collect(),
            notes: step.notes().iter().map(note).collect(),
        }
    }
}

/// The JSON Schema of [`CleaningAgents`].
#[must_use]
pub fn cleaning_agents_schema() -> Value {
    super::named::<CleaningAgents>("urn:gylewright:schema:cleaning-agents:1")
}

/// The JSON Schema of a [`CleaningMix`].
#[must_use]
pub fn cleaning_mix_schema() -> Value {
    super::named::<CleaningMix>("urn:gylewright:schema:cleaning-mix:1")
}

/// The JSON Schema of [`CleaningTogether`].
#[must_use]
pub fn cleaning_together_schema() -> Value {
    super::named::<CleaningTogether>("urn:gylewright:schema:cleaning-together:1")
}

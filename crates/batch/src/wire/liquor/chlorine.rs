//! The ways to take chlorine out, as JSON.

use quantity::CACO3_MG_PER_MEQ;
use schemars::JsonSchema;
use serde::Serialize;
use water::disinfectant::{Compared, Comparison};

/// Every way out of a water's chlorine, the better first.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaysOut {
    /// The version of this form: "gylewright/water-chlorine/1".
    pub schema: &'static str,
    /// The way to take; none where no way is safe and works in the time.
    pub take: Option<Taken>,
    /// The ways.
    pub ways: Vec<Way>,
    /// Remarks on all of it.
    pub notes: Vec<String>,
    /// What can hurt someone along the way to take.
    pub cautions: Vec<String>,
}

/// The way to take.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Taken {
    /// Which.
    pub way: String,
    /// Whether something has to be got first.
    pub to_get: bool,
    /// Why.
    pub reasons: Vec<String>,
}

/// A way.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Way {
    /// What is done.
    pub way: String,
    /// Whether all that it needs is at hand.
    pub at_hand: bool,
    /// Whether it is done in the time there is.
    pub in_time: bool,
    /// Total chlorine expected to stay, as Cl2.
    pub chlorine_mg_per_l: f64,
    /// The most that can stay, as Cl2.
    pub chlorine_at_most_mg_per_l: f64,
    /// The most sulfite that can stay, as SO2.
    pub sulfur_dioxide_at_most_mg_per_l: f64,
    /// Sulfate that it brings.
    pub sulfate_mg_per_l: f64,
    /// Sodium that it brings.
    pub sodium_mg_per_l: f64,
    /// Potassium that it brings.
    pub potassium_mg_per_l: f64,
    /// What it does to the alkalinity, as CaCO3.
    pub alkalinity_change_mg_per_l_as_caco3: f64,
    /// From beginning to end.
    pub time_h: f64,
    /// How much of that is work.
    pub work_h: f64,
    /// What is used up, in units of money.
    pub cost: f64,
    /// How sure it is: none, poor, fair, high.
    pub reliability: &'static str,
    /// What to do.
    pub steps: Vec<String>,
    /// Why it was not taken; none for the one that was.
    pub why_not: Option<String>,
}

impl From<&Comparison> for WaysOut {
    fn from(compared: &Comparison) -> Self {
        Self {
            schema: "gylewright/water-chlorine/1",
            take: compared.recommendation.as_ref().map(|taken| Taken {
                way: taken.way.to_string(),
                to_get: taken.to_get,
                reasons: taken.reasons.clone(),
            }),
            ways: compared.ways.iter().map(Way::from).collect(),
            notes: compared.notes.iter().map(|n| n.text.clone()).collect(),
            cautions: compared
                .cautions
                .iter()
                .map(|c| c.text().text.clone())
                .collect(),
        }
    }
}

impl From<&Compared> for Way {
    fn from(compared: &Compared) -> Self {
        let out = &compared.out;
        let leaves = &out.leaves;
        Self {
            way: out.way.to_string(),
            at_hand: out.at_hand,
            in_time: compared.in_time,
            chlorine_mg_per_l: out.residual.total().mg_per_l(),
            chlorine_at_most_mg_per_l: out.residual.at_most.mg_per_l(),
            sulfur_dioxide_at_most_mg_per_l: leaves.sulfur_dioxide_at_most.mg_per_l(),
            sulfate_mg_per_l: leaves.ions.sulfate.mg_per_l(),
            sodium_mg_per_l: leaves.ions.sodium.mg_per_l(),
            potassium_mg_per_l: leaves.ions.potassium.mg_per_l(),
            alkalinity_change_mg_per_l_as_caco3: leaves.alkalinity_change.meq_per_l()
                * CACO3_MG_PER_MEQ,
            time_h: out.time.h(),
            work_h: out.work.h(),
            cost: out.cost.units(),
            reliability: out.reliability.word(),
            steps: out.steps.clone(),
            why_not: compared.why_not.clone(),
        }
    }
}

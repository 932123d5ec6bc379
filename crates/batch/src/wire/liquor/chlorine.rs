//! The ways to take chlorine out, as JSON.

use quantity::{CACO3_MG_PER_MEQ, Chlorine, Measured};
use schemars::JsonSchema;
use serde::Serialize;
use water::disinfectant::{Compared, WayOut};

use crate::liquor::chlorine as reckoned;
use crate::stream::Reckoning;

/// Every way out of a water's chlorine, the better first.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaysOut {
    /// The version of this form: "gylewright/water-chlorine/1".
    pub schema: &'static str,
    /// What the supplies keep, one for each source that holds chlorine.
    pub supplies: Vec<ChlorineSupply>,
    /// The way to take; none where no way is safe and works in the time.
    pub take: Option<WayTaken>,
    /// The plan of the batch as it is.
    pub planned: WayFigures,
    /// The ways.
    pub ways: Vec<WayBeside>,
    /// Remarks on all of it.
    pub notes: Vec<String>,
    /// What can hurt someone along the way to take.
    pub cautions: Vec<String>,
}

/// The way to take.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WayTaken {
    /// Which.
    pub way: String,
    /// Whether something has to be got first.
    pub to_get: bool,
    /// Why.
    pub reasons: Vec<String>,
}

/// What a supply keeps.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ChlorineSupply {
    /// The source.
    pub source: String,
    /// What is kept, in a few words.
    pub keeps: &'static str,
    /// The probability that chloramine is kept, from 0 to 1 (judgement).
    pub chloramine: f64,
    /// Whether free chlorine was measured, so that its share is no judgement.
    pub measured: bool,
    /// Free chlorine, as Cl2.
    pub free_mg_per_l: ChlorineRange,
    /// Combined chlorine, as Cl2.
    pub combined_mg_per_l: ChlorineRange,
    /// Total chlorine, as Cl2.
    pub total_mg_per_l: ChlorineRange,
    /// What speaks for and against it.
    pub reasons: Vec<String>,
    /// What to ask the supplier.
    pub ask: Vec<String>,
    /// The tests that settle it.
    pub settle: Vec<String>,
}

/// A value and what it may be.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ChlorineRange {
    /// The least that is plausible.
    pub from: f64,
    /// What is expected.
    pub expected: f64,
    /// The most that is plausible.
    pub to: f64,
}

/// A way beside the others.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WayBeside {
    /// Its figures.
    #[serde(flatten)]
    pub figures: WayFigures,
    /// Whether all that it needs is at hand.
    pub at_hand: bool,
    /// Whether it is done in the time there is.
    pub in_time: bool,
    /// The keys of the document that would plan it; none for what a plan cannot hold.
    pub plan: Option<Vec<PlanKey>>,
    /// Why it was not taken; none for the one that was.
    pub why_not: Option<String>,
}

/// A key of the document.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlanKey {
    /// Its path.
    pub path: String,
    /// Its value; empty where the key goes.
    pub value: String,
}

/// A reagent, measured out.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReagentDose {
    /// For all of the liquor.
    pub total_g: f64,
    /// For the mash liquor.
    pub mash_g: f64,
    /// For the sparge liquor.
    pub sparge_g: f64,
    /// Tablets that are enough, in whole, half and quarter ones; empty for powder.
    pub tablets: Vec<f64>,
    /// A stock solution, where the scale is too coarse for the dose.
    pub stock: Option<StockSolution>,
}

/// A solution made up once.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StockSolution {
    /// The salt to weigh.
    pub salt_g: f64,
    /// The volume it is made up to.
    pub volume_ml: f64,
    /// What goes into the mash liquor.
    pub mash_ml: f64,
    /// What goes into the sparge liquor.
    pub sparge_ml: f64,
    /// How long it keeps, full, closed and cold.
    pub keeps_h: f64,
}

/// What a way does.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WayFigures {
    /// What is done.
    pub way: String,
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
    /// The reagent, where one is used.
    pub dose: Option<ReagentDose>,
    /// What to do.
    pub steps: Vec<String>,
}

/// What chlorine becomes in water that holds ammonia.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Breakpoint {
    /// The version of this form: "gylewright/water-breakpoint/1".
    pub schema: &'static str,
    /// Ammonium before the chlorine.
    pub ammonium_mg_per_l: f64,
    /// pH.
    pub ph: f64,
    /// Temperature.
    pub temperature_c: f64,
    /// Alkalinity, as CaCO3.
    pub alkalinity_mg_per_l_as_caco3: f64,
    /// The time of contact.
    pub contact_min: f64,
    /// The dose with the most chloramine, as Cl2.
    pub hump_mg_per_l: Option<f64>,
    /// The dose from which chlorine stays free, as Cl2.
    pub breakpoint_mg_per_l: Option<f64>,
    /// The breakpoint by stoichiometry, as Cl2.
    pub theoretical_mg_per_l: f64,
    /// The curve.
    pub points: Vec<BreakpointPoint>,
    /// Remarks.
    pub notes: Vec<String>,
}

/// What a dose leaves, all as Cl2.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BreakpointPoint {
    /// What was added.
    pub dose_mg_per_l: f64,
    /// Free chlorine.
    pub free_mg_per_l: f64,
    /// Monochloramine.
    pub monochloramine_mg_per_l: f64,
    /// Dichloramine.
    pub dichloramine_mg_per_l: f64,
    /// All of them and trichloramine.
    pub total_mg_per_l: f64,
}

impl WaysOut {
    /// The ways of a batch.
    #[must_use]
    pub fn of(r: &Reckoning, answer: &reckoned::Answer) -> Self {
        let compared = &answer.compared;
        Self {
            schema: "gylewright/water-chlorine/1",
            supplies: r.supplies().iter().map(ChlorineSupply::from).collect(),
            take: compared.recommendation.as_ref().map(|taken| WayTaken {
                way: taken.way.to_string(),
                to_get: taken.to_get,
                reasons: taken.reasons.clone(),
            }),
            planned: WayFigures::from(&answer.planned),
            ways: compared
                .ways
                .iter()
                .map(|way| WayBeside::of(answer, way))
                .collect(),
            notes: compared.notes.iter().map(|n| n.text.clone()).collect(),
            cautions: compared
                .cautions
                .iter()
                .map(|c| c.text().text.clone())
                .collect(),
        }
    }
}

impl From<&reckoned::Judged> for ChlorineSupply {
    fn from(judged: &reckoned::Judged) -> Self {
        let judgement = &judged.judgement;
        Self {
            source: judged.name.clone(),
            keeps: judged.words(),
            chloramine: judgement.chloramine.ratio(),
            measured: judged.measured(),
            free_mg_per_l: span(&judgement.free),
            combined_mg_per_l: span(&judgement.combined),
            total_mg_per_l: span(&judgement.total),
            reasons: judgement.reasons.iter().map(|r| r.says.clone()).collect(),
            ask: judgement.ask.clone(),
            settle: judgement.settle.clone(),
        }
    }
}

fn span(measured: &Measured<Chlorine>) -> ChlorineRange {
    ChlorineRange {
        from: measured.lower().mg_per_l(),
        expected: measured.value.mg_per_l(),
        to: measured.upper().mg_per_l(),
    }
}

impl WayBeside {
    fn of(answer: &reckoned::Answer, compared: &Compared) -> Self {
        let plan = reckoned::plan_of(&answer.task, &compared.out);
        Self {
            figures: WayFigures::from(&compared.out),
            at_hand: compared.out.at_hand,
            in_time: compared.in_time,
            plan: plan.map(|plan| {
                let keys = plan.values.into_iter();
                keys.map(|(path, value)| PlanKey { path, value }).collect()
            }),
            why_not: compared.why_not.clone(),
        }
    }
}

impl From<&WayOut> for WayFigures {
    fn from(out: &WayOut) -> Self {
        let leaves = &out.leaves;
        Self {
            way: out.way.to_string(),
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
            dose: out.dose.as_ref().map(dose),
            steps: out.steps.clone(),
        }
    }
}

fn dose(plan: &::water::disinfectant::DosePlan) -> ReagentDose {
    ReagentDose {
        total_g: plan.dose.total.g(),
        mash_g: plan.dose.mash.g(),
        sparge_g: plan.dose.sparge.g(),
        tablets: plan.tablets.iter().map(|t| t.count.number()).collect(),
        stock: plan.stock.map(|stock| StockSolution {
            salt_g: stock.salt.g(),
            volume_ml: 1000.0 * stock.volume.l(),
            mash_ml: 1000.0 * stock.mash.l(),
            sparge_ml: 1000.0 * stock.sparge.l(),
            keeps_h: stock.keeps.h(),
        }),
    }
}

impl From<&reckoned::Breakpoint> for Breakpoint {
    fn from(found: &reckoned::Breakpoint) -> Self {
        let curve = &found.curve;
        let points = curve.points.iter().map(|(dose, moment)| BreakpointPoint {
            dose_mg_per_l: dose.mg_per_l(),
            free_mg_per_l: moment.free.mg_per_l(),
            monochloramine_mg_per_l: moment.monochloramine.mg_per_l(),
            dichloramine_mg_per_l: moment.dichloramine.mg_per_l(),
            total_mg_per_l: moment.total().mg_per_l(),
        });
        Self {
            schema: "gylewright/water-breakpoint/1",
            ammonium_mg_per_l: found.ammonia.mg_per_l(),
            ph: found.around.ph.ph(),
            temperature_c: found.around.temperature.c(),
            alkalinity_mg_per_l_as_caco3: found.around.alkalinity.meq_per_l() * CACO3_MG_PER_MEQ,
            contact_min: found.contact.min(),
            hump_mg_per_l: curve.hump.map(Chlorine::mg_per_l),
            breakpoint_mg_per_l: curve.breakpoint.map(Chlorine::mg_per_l),
            theoretical_mg_per_l: curve.theoretical.mg_per_l(),
            points: points.collect(),
            notes: curve.notes.iter().map(|n| n.text.clone()).collect(),
        }
    }
}

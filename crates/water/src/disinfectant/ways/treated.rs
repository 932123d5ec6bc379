//! The ways that put something in or run the water through something.

use quantity::{
    Alkalinity, Caution, Chloride, Chlorine, Duration, FlowRate, Fraction, Mass, Money, Note,
    molar_mass as m,
};

use super::super::reagents::{
    DosePlan, TabletPlan, TabletStep, mass_for, suggest_stock, tablets, to_cover,
};
use super::super::table::table;
use super::{DisinfectantError, Effect, Form, Leaves, Task, Way, WayOut, of_table, steps};
use crate::analysis::free_and_combined;
use crate::check;
use crate::dechlorination::remarks::NOT_DETECTED_MG_PER_L;
use crate::dechlorination::{
    CarbonBed, Dechlorinated, Dechlorination, Dose, Reagent, dechlorinate, household_block,
};
use crate::state::ResidualChlorine;

/// Powder of common strength, where none is at hand (common practice).
const POWDER_PURITY: f64 = 0.95;

/// A reagent in the form at hand, matched to the water.
pub(super) fn reagent(task: &Task, reagent: Reagent) -> Result<WayOut, DisinfectantError> {
    let here = task.at_hand.reagents.iter().find(|r| r.reagent == reagent);
    let form = here.map_or(
        Form::Powder {
            purity: Fraction::from_ratio(POWDER_PURITY),
        },
        |here| here.form,
    );
    let cover = to_cover(&task.water.total_chlorine, task.excess);
    let (plan, tablets) = matched(task, reagent, form, cover)?;
    let mut out = dosed(task, reagent, plan, tablets)?;
    let steps = out.dose.as_ref().map(|plan| steps::of_reagent(plan, form));
    out.steps = steps.unwrap_or_default();
    Ok(out)
}

/// A reagent as a plan doses it.
pub(super) fn reagent_as_planned(
    task: &Task,
    reagent: Reagent,
    plan: Dechlorination,
) -> Result<WayOut, DisinfectantError> {
    let mut out = dosed(task, reagent, plan, vec![])?;
    out.steps = out.dose.as_ref().map(steps::of_powder).unwrap_or_default();
    Ok(out)
}

fn dosed(
    task: &Task,
    reagent: Reagent,
    plan: Dechlorination,
    tablets: Vec<TabletPlan>,
) -> Result<WayOut, DisinfectantError> {
    let done = dechlorinate(&task.water, task.volumes, &plan)?;
    let loose = !matches!(
        plan,
        Dechlorination::Reagent {
            dose: Dose::Tablets { .. },
            ..
        }
    );
    let dose = match (done.dose, task.at_hand.scale_step) {
        (None, _) => None,
        (Some(dose), step) => Some(DosePlan {
            stock: match step {
                Some(step) if loose => suggest_stock(&dose, step)?,
                _ => None,
            },
            tablets,
            dose,
        }),
    };
    let grams = dose.as_ref().map_or(0.0, |plan| plan.dose.total.g());
    let mut out = of_dechlorinated(Way::Reagent(reagent), done);
    out.at_hand = task.at_hand.reagents.iter().any(|r| r.reagent == reagent);
    out.plan = Some(plan);
    out.time = Duration::from_h(out.work.h() + table().settled.h());
    out.cost = Money::from_units(grams / 1000.0 * task.prices.per_kg(reagent).units());
    out.dose = dose;
    if reagent.is_sulfite() && grams > 0.0 {
        out.notes.push(Note::look(
            "Sulfite loses strength in store: a salt that is old, damp or lumpy may do half of what \
             is reckoned with its purity. A test after the dose tells.",
        ));
    }
    Ok(out)
}

/// The plan that covers so much chlorine, and the tablets where it is tablets: the
/// quarters, being the least of those that are enough.
fn matched(
    task: &Task,
    reagent: Reagent,
    form: Form,
    cover: Chlorine,
) -> Result<(Dechlorination, Vec<TabletPlan>), DisinfectantError> {
    let (purity, dose, plans) = match form {
        Form::Powder { purity } => {
            let mass = mass_for(reagent, cover, task.volumes, purity)?;
            (purity, Dose::Mass(mass), vec![])
        }
        Form::Tablets { active } => {
            let total = &task.water.total_chlorine;
            let plans = tablets(reagent, active, task.volumes, cover, total)?;
            let quarters = plans.iter().find(|plan| plan.step == TabletStep::Quarter);
            let dose = Dose::Tablets {
                count: quarters.map_or(0.0, |plan| plan.count.number()),
                tablet_mass: active,
            };
            (Fraction::from_ratio(1.0), dose, plans)
        }
    };
    let plan = Dechlorination::Reagent {
        reagent,
        purity,
        excess: Fraction::default(),
        dose,
    };
    Ok((plan, plans))
}

/// A way of the existing treatments, without what only this module knows.
pub(super) fn of_dechlorinated(way: Way, done: Dechlorinated) -> WayOut {
    let (work, reliability) = of_table(way);
    WayOut {
        way,
        at_hand: true,
        plan: None,
        effect: Effect::of(&done.residual),
        residual: done.residual,
        leaves: Leaves {
            ions: done.added,
            alkalinity_change: done.alkalinity_change,
            sulfur_dioxide_at_most: done.sulfur_dioxide_at_most,
        },
        time: work,
        work,
        cost: Money::default(),
        reliability,
        dose: None,
        steps: vec![],
        notes: done.notes,
        cautions: done.cautions,
    }
}

/// HOCl + H₂O₂ → O₂ + H⁺ + Cl⁻ + H₂O: 0.4797 mg for a mg of free chlorine
/// (stoichiometry). Chloramine is left as it is, and so is spare peroxide, which
/// oxidises malt.
pub(super) fn peroxide(task: &Task) -> Result<WayOut, DisinfectantError> {
    const STRENGTH: f64 = 0.03;
    let strength = task
        .at_hand
        .peroxide
        .unwrap_or(Fraction::from_ratio(STRENGTH));
    let strength = check::above_zero("strength of the peroxide", strength)?;
    let (free, combined) = free_and_combined(&task.water)?;
    let total = task.water.total_chlorine;
    let sure_free = task
        .water
        .free_chlorine
        .map_or(0.0, |free| free.lower().mg_per_l());
    let gone = free.mg_per_l() / m::CL2;
    let mut out = of_dechlorinated(
        Way::Peroxide,
        dechlorinate(&task.water, task.volumes, &Dechlorination::None)?,
    );
    out.residual = ResidualChlorine {
        free: Chlorine::default(),
        combined,
        at_most: Chlorine::from_mg_per_l((total.upper().mg_per_l() - sure_free).max(0.0)),
    };
    out.effect = Effect::of(&out.residual);
    out.leaves.ions.chloride = Chloride::from_mg_per_l(gone * Chloride::MOLAR_MASS);
    out.leaves.alkalinity_change = Alkalinity::from_meq_per_l(-gone);
    let pure_mg = task.volumes.total().l() * gone * (2.0 * m::H + 2.0 * m::O);
    let solution = Mass::from_g(pure_mg / 1000.0 / strength.ratio());
    let ml = solution.g() / table().peroxide_kg_per_l;
    out.at_hand = task.at_hand.peroxide.is_some();
    out.cost = Money::from_units(ml / 1000.0 * task.prices.peroxide_per_l.units());
    out.time = Duration::from_h(out.work.h() + table().settled.h());
    out.steps = vec![format!(
        "{ml:.1} mL of solution would take up the free chlorine and nothing else."
    )];
    out.notes = vec![Note::act(
        "Peroxide does nothing to chloramine, and what is too much of it oxidises malt and stales \
         the beer: not for brewing liquor.",
    )];
    out.cautions = vec![Caution::TreatedWater];
    Ok(out)
}

/// Tap and hose rarely give more than this \[L/min\] (judgement).
const TAP_L_PER_MIN: f64 = 8.0;

/// The carbon at hand, or a common block, at the flow that suits it.
pub(super) fn carbon(task: &Task) -> Result<WayOut, DisinfectantError> {
    let (_, combined) = free_and_combined(&task.water)?;
    let chloramine = combined.mg_per_l() > NOT_DETECTED_MG_PER_L;
    let bed = task.at_hand.carbon.unwrap_or_else(household_block);
    let suits = bed.suitable_flow(chloramine).l_per_min();
    let mut out = carbon_as_planned(
        task,
        bed,
        FlowRate::from_l_per_min(suits.min(TAP_L_PER_MIN)),
    )?;
    out.at_hand = task.at_hand.carbon.is_some();
    Ok(out)
}

pub(super) fn carbon_as_planned(
    task: &Task,
    bed: CarbonBed,
    flow: FlowRate,
) -> Result<WayOut, DisinfectantError> {
    let plan = Dechlorination::Carbon { bed, flow };
    let done = dechlorinate(&task.water, task.volumes, &plan)?;
    let litres = task.volumes.total().l();
    let mut out = of_dechlorinated(Way::Carbon, done);
    out.plan = Some(plan);
    out.time = Duration::from_min(out.work.min() + litres / flow.l_per_min());
    out.cost = Money::from_units(litres / 1000.0 * task.prices.carbon_per_1000_l.units());
    out.steps = steps::of_carbon(flow);
    Ok(out)
}

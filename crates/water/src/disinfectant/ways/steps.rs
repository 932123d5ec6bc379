//! What to do, in words.

use quantity::{Duration, FlowRate, Mass, Volume};

use super::super::reagents::{DosePlan, Stock, TabletPlan, TabletStep};
use super::super::table::table;
use super::Form;

/// A reagent in its form at hand.
pub(super) fn of_reagent(plan: &DosePlan, form: Form) -> Vec<String> {
    if matches!(form, Form::Powder { .. }) || plan.dose.total.g() <= 0.0 {
        return of_powder(plan);
    }
    let mut steps: Vec<String> = plan.tablets.iter().map(of_tablets).collect();
    steps.push(format!(
        "Take the quarters, as the least that is enough; crush them and give {:.0} % of the powder \
         to the mash liquor, the rest to the sparge liquor.",
        100.0 * plan.dose.mash.g() / plan.dose.total.g()
    ));
    steps.push(stir_in());
    steps
}

/// A reagent by weight, or from a stock solution.
pub(super) fn of_powder(plan: &DosePlan) -> Vec<String> {
    if plan.dose.total.g() <= 0.0 {
        return vec!["By the figures there is nothing to take out.".to_owned()];
    }
    let mut steps = match plan.stock {
        Some(stock) => of_stock(plan, &stock),
        None => vec![format!(
            "Weigh {} of {}: {} for the mash liquor and {} for the sparge liquor.",
            fine(plan.dose.total),
            plan.dose.reagent,
            fine(plan.dose.mash),
            fine(plan.dose.sparge)
        )],
    };
    steps.push(stir_in());
    steps
}

fn stir_in() -> String {
    format!(
        "Dissolve it in a cup of the water, stir it in for a minute, wait {:.0} min, then test for \
         total chlorine.",
        table().settled.min()
    )
}

fn of_tablets(plan: &TabletPlan) -> String {
    let (one, several) = match plan.step {
        TabletStep::Whole => ("whole tablet", "whole tablets"),
        TabletStep::Half => ("half", "halves"),
        TabletStep::Quarter => ("quarter", "quarters"),
    };
    let pieces = plan.count.number() * plan.step.pieces();
    let named = if pieces > 1.5 { several } else { one };
    format!(
        "{pieces:.0} {named} would be enough for {:.2} mg/L of chlorine, {:.2} mg/L more than wanted.",
        plan.covers.mg_per_l(),
        plan.beyond.mg_per_l()
    )
}

fn of_stock(plan: &DosePlan, stock: &Stock) -> Vec<String> {
    vec![
        format!(
            "The dose of {} is too little for the scale: dissolve {} of {} in water and make it up \
             to {}.",
            fine(plan.dose.total),
            fine(stock.salt),
            plan.dose.reagent,
            millilitres(stock.volume)
        ),
        format!(
            "Of this give {} to the mash liquor and {} to the sparge liquor. Closed, full and cold \
             it keeps for {}; write the date on it and never taste it.",
            millilitres(stock.mash),
            millilitres(stock.sparge),
            stock.keeps
        ),
    ]
}

pub(super) fn of_carbon(flow: FlowRate) -> Vec<String> {
    vec![
        "Flush a new filter as its maker says, and let the first litres go.".to_owned(),
        format!("Run the water through at no more than {flow}; time a jug to set the tap."),
        "Test total chlorine at the outlet at the beginning and at the end.".to_owned(),
    ]
}

pub(super) fn of_standing(time: Duration) -> Vec<String> {
    vec![format!(
        "Let it stand open and covered against dust for {time}, then test for total chlorine."
    )]
}

pub(super) fn of_aerating(time: Duration) -> Vec<String> {
    vec![format!(
        "Blow clean air through a stone at the bottom for {time}, then test for total chlorine."
    )]
}

pub(super) fn of_boiling(time: Duration) -> Vec<String> {
    vec![
        format!(
            "Bring all of the liquor to a rolling boil with the lid off and hold it for {time}."
        ),
        "Let it cool, rack it off any chalk, and test for total chlorine.".to_owned(),
    ]
}

/// A small mass to three digits.
fn fine(mass: Mass) -> String {
    let grams = mass.g();
    if grams < 1.0 {
        format!("{grams:.3} g")
    } else {
        format!("{grams:.2} g")
    }
}

fn millilitres(volume: Volume) -> String {
    let ml = volume.l() * 1000.0;
    if ml < 100.0 {
        format!("{ml:.1} mL")
    } else {
        format!("{ml:.0} mL")
    }
}

//! A mash procedure as rests and a sparge.

use quantity::{Duration, Temperature, Volume, VolumePerMass};

use super::at::At;
use super::draft::Draft;
use crate::units::{PER_MASS, TEMPERATURE, TIME, VOLUME, number};

/// The words by which the ways to sparge are told in the name of a step.
pub(crate) const NO_SPARGE: &str = "Drained without a sparge";
pub(crate) const BATCH: &str = "Batch sparge";
pub(crate) const CONTINUOUS: &str = "Continuous sparge";

/// The most run-offs of a batch sparge that a document takes.
const MOST_RUN_OFFS: usize = 6;

/// The mash of a recipe with this mass of grain \[kg\].
pub(super) fn mash(recipe: &At<'_>, grain_kg: f64, draft: &mut Draft) {
    let procedure = recipe.get("mash");
    draft.table("[mash]");
    if let Some(procedure) = &procedure {
        if let Some(name) = procedure.get("name") {
            name.see();
        }
        draft.put_if(
            "grain_temperature",
            procedure
                .quantity_of::<Temperature>("grain_temperature", TEMPERATURE)
                .as_ref(),
        );
    }
    let steps = procedure
        .as_ref()
        .map(|p| p.each("mash_steps"))
        .unwrap_or_default();
    let (rests, rest_of): (Vec<&At<'_>>, Vec<&At<'_>>) =
        steps.iter().partition(|step| is_rest(step));
    if let Some(first) = rests.first() {
        thickness(first, grain_kg, draft);
    }
    sparge(&rest_of, draft);
    let mut first = true;
    for step in &rests {
        if rest(step, first, draft) {
            first = false;
        }
    }
    if first {
        draft.table("[[mash.rest]]");
        draft.stand_in("temperature", "rest", recipe, "mash");
        draft.stand_in("time", "rest_time", recipe, "mash");
    }
}

fn kind<'v>(step: &At<'v>) -> &'v str {
    step.peek("type").unwrap_or_default()
}

fn is_rest(step: &At<'_>) -> bool {
    matches!(kind(step), "infusion" | "temperature" | "decoction")
}

fn thickness(step: &At<'_>, grain_kg: f64, draft: &mut Draft) {
    if let Some(ratio) = step.get("water_grain_ratio") {
        draft.put_if(
            "thickness",
            ratio.quantity::<VolumePerMass>(PER_MASS).as_ref(),
        );
        if let Some(amount) = step.get("amount") {
            amount.left("the liquor is reckoned from the grain and the thickness");
        }
        return;
    }
    let Some(amount) = step.get("amount") else {
        return;
    };
    let litres = amount.quantity::<Volume>(VOLUME).map(|v| v.canonical());
    match litres {
        Some(litres) if litres > 0.0 && grain_kg > 0.0 => {
            if let Some(told) = amount.told::<VolumePerMass>(number(litres / grain_kg), "L/kg") {
                amount.changed(
                    "liquor of the first rest to the grain",
                    &format!("thickness = {}", told.text),
                );
                draft.put("thickness", &told.text);
            }
        }
        _ => amount.left("without grain there is no thickness of the mash"),
    }
}

/// Writes a rest; false where it is none.
fn rest(step: &At<'_>, first: bool, draft: &mut Draft) -> bool {
    let Some(temperature) = step.quantity_of::<Temperature>("step_temperature", TEMPERATURE) else {
        return false;
    };
    let Some(time) = step.quantity_of::<Duration>("step_time", TIME) else {
        return false;
    };
    draft.table("[[mash.rest]]");
    draft.put("temperature", &temperature.text);
    draft.put("time", &time.text);
    if let Some(at) = step.get("type") {
        match (first, kind(step)) {
            (true, "decoction") => at.changed(
                "the strike water reaches the first rest",
                "no way to reach it",
            ),
            (true, _) => at.see(),
            (false, "temperature") => {
                at.see();
                draft.put("by", "heat");
            }
            (false, kind) => {
                at.see();
                draft.put("by", kind);
            }
        }
    }
    if let Some(name) = step.get("name") {
        name.see();
    }
    if let Some(end) = step.get("end_temperature")
        && end.raw() == step.get("step_temperature").and_then(|t| t.raw())
    {
        end.see();
    }
    true
}

/// Sparges and drains. What sours is no step of the model.
fn sparge(steps: &[&At<'_>], draft: &mut Draft) {
    let sparges: Vec<_> = steps.iter().filter(|s| kind(s) == "sparge").collect();
    for step in steps {
        match kind(step) {
            "sparge" => {}
            "drain mash tun" if sparges.is_empty() => {
                for key in ["name", "type", "step_time", "step_temperature"] {
                    if let Some(at) = step.get(key) {
                        at.see();
                    }
                }
                step.changed("drained, and no sparge after it", "sparge = none");
                draft.put("sparge", "none");
                return;
            }
            "drain mash tun" => step.left("the plan drains the tun before it is sparged"),
            _ => step.left("the model has no bacteria in mash or wort"),
        }
    }
    let Some(first) = sparges.first() else {
        return;
    };
    draft.put_if(
        "sparge_temperature",
        first
            .quantity_of::<Temperature>("step_temperature", TEMPERATURE)
            .as_ref(),
    );
    for step in &sparges {
        for key in ["type", "step_temperature"] {
            if let Some(at) = step.get(key) {
                at.see();
            }
        }
        if let Some(time) = step.get("step_time") {
            if time.raw().is_some_and(|(t, _)| t > 0.0) {
                time.left("how long a sparge takes is not reckoned");
            } else {
                time.see();
            }
        }
        if let Some(amount) = step.get("amount") {
            amount.left("the sparge liquor is reckoned from the volumes");
        }
    }
    way(&sparges, draft);
}

fn way(sparges: &[&&At<'_>], draft: &mut Draft) {
    let Some(name) = sparges.first().and_then(|s| s.get("name")) else {
        return;
    };
    for step in sparges {
        if let Some(name) = step.get("name") {
            name.see();
        }
    }
    let told = name.peek_text().unwrap_or_default().to_lowercase();
    if ["continuous", "fly"].iter().any(|word| told.contains(word)) {
        draft.put("sparge", "continuous");
        return;
    }
    if !told.contains("batch") {
        name.changed(
            "how the tun is sparged is judged from the name of the step",
            "sparge = batch",
        );
    }
    let run_offs = sparges.len().min(MOST_RUN_OFFS);
    draft.put("sparge", "batch");
    draft.put("sparge_steps", &run_offs.to_string());
}

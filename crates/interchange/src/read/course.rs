//! The fermentation procedure as a course, and the package.

use quantity::{Duration, Temperature, Volume};

use super::at::At;
use super::draft::Draft;
use super::recipe::carbonation;
use crate::units::{TEMPERATURE, TIME, VOLUME, number};
use crate::words::stand_in;

/// The course of a recipe; without one, that of an ale or a lager stands in.
pub(super) fn course(recipe: &At<'_>, lager: bool, draft: &mut Draft) {
    draft.table("[fermentation]");
    let procedure = recipe.get("fermentation");
    if let Some(name) = procedure.as_ref().and_then(|p| p.get("name")) {
        name.see();
    }
    let steps = procedure
        .as_ref()
        .map(|p| p.each("fermentation_steps"))
        .unwrap_or_default();
    let points = points(&steps);
    if points.len() >= 2 {
        for (hours, temperature) in points {
            point(&format!("{} h", number(hours)), &temperature, draft);
        }
        return;
    }
    let row = if lager { "course_lager" } else { "course" };
    let end = &stand_in("course_time").value;
    for at in ["0 d", end] {
        draft.table("[[fermentation.course]]");
        draft.put("at", at);
        draft.stand_in("temperature", row, recipe, "fermentation");
    }
}

fn point(at: &str, temperature: &str, draft: &mut Draft) {
    draft.table("[[fermentation.course]]");
    draft.put("at", at);
    draft.put("temperature", temperature);
}

/// Hours after pitching and temperatures; a step goes straight from its start to its end.
fn points(steps: &[At<'_>]) -> Vec<(f64, String)> {
    let mut points: Vec<(f64, String)> = Vec::new();
    let mut hours = 0.0;
    for step in steps {
        let start = step.quantity_of::<Temperature>("start_temperature", TEMPERATURE);
        let end = step.quantity_of::<Temperature>("end_temperature", TEMPERATURE);
        let time = step.quantity_of::<Duration>("step_time", TIME);
        let (Some(from), Some(time)) = (start.as_ref().or(end.as_ref()), time) else {
            step.left("a step of the course has a temperature and a time");
            continue;
        };
        let to = end.as_ref().unwrap_or(from);
        if points.last().is_none_or(|(_, last)| *last != from.text) {
            points.push((hours, from.text.clone()));
        }
        hours += time.canonical();
        points.push((hours, to.text.clone()));
        if let Some(name) = step.get("name") {
            name.see();
        }
    }
    points
}

/// The package.
pub(super) fn package(recipe: &At<'_>, draft: &mut Draft) {
    draft.table("[package]");
    let procedure = recipe.get("packaging");
    let vessels = procedure
        .as_ref()
        .map(|p| p.each("packaging_vessels"))
        .unwrap_or_default();
    if let Some(name) = procedure.as_ref().and_then(|p| p.get("name")) {
        name.see();
    }
    let first = vessels.first();
    vessel(first, recipe, draft);
    for other in vessels.iter().skip(1) {
        other.left("a batch is packed in one way");
    }
    let of_vessel = first.and_then(carbonation);
    let of_recipe = match (recipe.get("carbonation"), &of_vessel) {
        (Some(at), Some(_)) => {
            at.left("that of the vessel is taken");
            None
        }
        _ => carbonation(recipe),
    };
    match of_vessel.or(of_recipe) {
        Some(text) => draft.put("carbon_dioxide", &text),
        None => draft.stand_in("carbon_dioxide", "carbon_dioxide", recipe, "carbonation"),
    }
}

fn vessel(vessel: Option<&At<'_>>, recipe: &At<'_>, draft: &mut Draft) {
    let kind = vessel.and_then(|v| v.get("type"));
    match kind.as_ref().and_then(super::at::At::text) {
        Some("bottle") => {
            draft.put("vessel", "bottles");
            let holds = vessel.and_then(|v| v.quantity_of::<Volume>("vessel_volume", VOLUME));
            draft.put_if("bottle_volume", holds.as_ref());
        }
        Some("keg") => draft.put("vessel", "keg"),
        Some("cask" | "firkin") => {
            if let Some(kind) = kind {
                kind.changed(
                    "a cask is primed as a keg is",
                    "vessel = keg, gas = priming",
                );
            }
            draft.put("vessel", "keg");
            draft.put("gas", "priming");
        }
        _ => draft.stand_in("vessel", "vessel", recipe, "packaging"),
    }
    if let Some(name) = vessel.and_then(|v| v.get("name")) {
        name.see();
    }
}

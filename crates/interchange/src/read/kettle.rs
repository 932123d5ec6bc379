//! A boil procedure: how long, the stand behind it, and how cold it is chilled.

use quantity::{Duration, Temperature};

use super::at::At;
use super::draft::Draft;
use crate::units::{TEMPERATURE, TIME};

/// Above this \[°C\] a step after the boil is a covered kettle that stands; below it the
/// wort is held \[judgement\].
const HELD_BELOW_C: f64 = 97.0;

/// What a step of the boil is to the hops that go in during it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Step {
    /// While the kettle fills and heats.
    Before,
    /// The boil.
    Boil,
    /// The covered kettle stands.
    Whirlpool { time: Option<String> },
    /// Wort held at a temperature.
    Stand {
        temperature: String,
        time: Option<String>,
    },
    /// The chiller.
    Chill,
    /// None of these.
    Other,
}

/// The boil of a recipe; gives back its steps in order.
pub(super) fn boil(recipe: &At<'_>, draft: &mut Draft) -> Vec<Step> {
    let Some(boil) = recipe.get("boil") else {
        return Vec::new();
    };
    draft.table("[boil]");
    let time = boil.get("boil_time");
    let told = time.as_ref().and_then(|t| t.quantity::<Duration>(TIME));
    draft.put_if("time", told.as_ref());
    if let Some(name) = boil.get("name") {
        name.see();
    }
    if let Some(size) = boil.get("pre_boil_size") {
        size.left("what fills the kettle is reckoned back from the fermenter");
    }
    let mut boiled = false;
    let mut steps = Vec::new();
    for at in boil.each("boil_steps") {
        let step = step(&at, boiled);
        boiled |= step == Step::Boil;
        let again = |one: &Step| match step {
            Step::Whirlpool { .. } => matches!(one, Step::Whirlpool { .. }),
            Step::Chill => *one == Step::Chill,
            _ => false,
        };
        if steps.iter().any(again) {
            at.left("a boil here has one stand of the kettle and one chiller, the first of them");
        } else {
            take(&at, &step, time.as_ref(), draft);
        }
        steps.push(step);
    }
    steps
}

fn step(at: &At<'_>, boiled: bool) -> Step {
    let name = at.peek("name").unwrap_or_default().to_lowercase();
    let end = at
        .get("end_temperature")
        .and_then(|end| end.peek_quantity::<Temperature>(TEMPERATURE));
    let time = || Some(at.quantity_of::<Duration>("step_time", TIME)?.text);
    if ["preboil", "pre-boil", "first wort", "fill"]
        .iter()
        .any(|w| name.contains(w))
    {
        return Step::Before;
    }
    let stands = ["whirlpool", "stand", "steep"]
        .iter()
        .any(|w| name.contains(w));
    match end {
        Some(end) if stands && end.measured.value.c() < HELD_BELOW_C => Step::Stand {
            temperature: end.text.clone(),
            time: at
                .get("step_time")
                .and_then(|t| t.peek_quantity::<Duration>(TIME))
                .map(|t| t.text),
        },
        _ if stands => Step::Whirlpool { time: time() },
        Some(_) if name.contains("chill") || name.contains("cool") => Step::Chill,
        _ if name.contains("boil") && !boiled => Step::Boil,
        _ => Step::Other,
    }
}

/// Writes what a step says of the boil, and sees or tells what it says.
fn take(at: &At<'_>, step: &Step, boil_time: Option<&At<'_>>, draft: &mut Draft) {
    if let Some(name) = at.get("name") {
        name.see();
    }
    match step {
        Step::Before => at.left("the way to the boil is reckoned from the power of the kettle"),
        Step::Boil => {
            let own = at.get("step_time");
            if let (Some(own), Some(whole)) = (own, boil_time) {
                if own.raw() == whole.raw() {
                    own.see();
                } else {
                    own.left("boil_time says how long it boils");
                }
            }
        }
        Step::Whirlpool { time } => {
            if let Some(time) = time {
                draft.put("whirlpool", time);
            }
        }
        Step::Stand { .. } => {
            if let Some(time) = at.get("step_time") {
                time.changed(
                    "how long the wort is held",
                    "the time of those hops that have none of their own",
                );
            }
            if let Some(end) = at.get("end_temperature") {
                end.changed(
                    "wort held below the boil",
                    "a stand of the hops that go in during it",
                );
            }
            if let (Some(start), Some(end)) =
                (at.get("start_temperature"), at.get("end_temperature"))
                && start.raw() == end.raw()
            {
                start.see();
            }
        }
        Step::Chill => {
            let end = at.quantity_of::<Temperature>("end_temperature", TEMPERATURE);
            draft.put_if("chilled_to", end.as_ref());
        }
        Step::Other => at.left("a boil here is a boil, a stand and a chiller"),
    }
}

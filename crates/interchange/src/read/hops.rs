//! Hop additions.

use quantity::{Duration, Fraction, Mass};

use super::at::At;
use super::draft::Draft;
use super::grist::record;
use super::kettle::Step;
use crate::units::{MASS, PERCENT, TIME, number};

/// The hops of a recipe; `steps` are those of its boil.
pub(super) fn hops(ingredients: &At<'_>, file: &At<'_>, steps: &[Step], draft: &mut Draft) {
    for addition in ingredients.each("hop_additions") {
        hop(&addition, file, steps, draft);
    }
}

fn hop(addition: &At<'_>, file: &At<'_>, steps: &[Step], draft: &mut Draft) {
    let Some(form) = form(addition) else { return };
    let amount = addition
        .get("amount")
        .and_then(|a| a.quantity::<Mass>(MASS));
    let Some(amount) = amount else {
        addition.left("hops are taken by mass");
        return;
    };
    let Some(when) = when(addition, steps) else {
        addition.left("when it goes in is not said");
        return;
    };
    draft.table("[[hop]]");
    draft.put(
        "hop",
        addition.text_of("name").unwrap_or("a hop without a name"),
    );
    draft.put("amount", &amount.text);
    draft.put_if(
        "alpha",
        addition
            .quantity_of::<Fraction>("alpha_acid", PERCENT)
            .as_ref(),
    );
    for (key, value) in when {
        draft.put(key, &value);
    }
    if let Some(form) = form {
        draft.put("form", form);
    }
    if let Some(record) = record(addition, file, "hop_varieties") {
        of_record(&record, draft);
    }
}

/// Cones or pellets; `None` where it is neither and the hop is left out.
#[expect(
    clippy::option_option,
    reason = "no form said is not the same as a form that is none of ours"
)]
fn form(addition: &At<'_>) -> Option<Option<&'static str>> {
    let Some(at) = addition.get("form") else {
        return Some(None);
    };
    match at.peek_text() {
        Some("leaf") => {
            at.see();
            Some(Some("cones"))
        }
        Some("pellet") => {
            at.see();
            Some(Some("pellets"))
        }
        Some("plug") => {
            at.changed("pressed cones", "cones");
            Some(Some("cones"))
        }
        Some("powder") => {
            at.changed("ground as pellets are", "pellets");
            Some(Some("pellets"))
        }
        _ => {
            addition.left("extracts and fresh hops are none of the forms that the model knows");
            None
        }
    }
}

type Keys = Vec<(&'static str, String)>;

/// When it goes in, as the keys of a hop.
fn when(addition: &At<'_>, steps: &[Step]) -> Option<Keys> {
    let timing = addition.get("timing")?;
    let used = timing.get("use");
    match used.as_ref().and_then(super::at::At::text) {
        Some("add_to_mash") => Some(vec![("used", "mash".to_owned())]),
        Some("add_to_boil") => in_kettle(&timing, steps),
        Some("add_to_fermentation") => Some(vec![("used", "dry".to_owned())]),
        Some("add_to_package") => {
            if let Some(used) = used {
                used.changed("the model has no hop in the package", "used = dry");
            }
            Some(vec![("used", "dry".to_owned())])
        }
        _ => {
            let keys = in_kettle(&timing, steps)?;
            timing.changed(
                "where it goes is not said, only for how long",
                "used = boil",
            );
            Some(keys)
        }
    }
}

fn in_kettle(timing: &At<'_>, steps: &[Step]) -> Option<Keys> {
    let step = timing.get("step");
    let number = step.as_ref().and_then(super::at::At::number);
    // Counted from one; within the list, as no list has more than its bytes.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a float to usize saturates"
    )]
    let place = number.map(|n| n as usize);
    let found = place.and_then(|n| steps.get(n.checked_sub(1)?));
    match found {
        Some(Step::Before) => {
            for key in ["time", "duration"] {
                if let Some(at) = timing.get(key) {
                    at.left("a first wort hop is in the kettle until the boil ends");
                }
            }
            Some(vec![("used", "first wort".to_owned())])
        }
        Some(Step::Stand { temperature, time }) => Some(vec![
            ("used", "stand".to_owned()),
            ("time", own_time(timing).or_else(|| time.clone())?),
            ("temperature", temperature.clone()),
        ]),
        Some(Step::Whirlpool { time }) => Some(vec![
            ("used", "whirlpool".to_owned()),
            ("time", own_time(timing).or_else(|| time.clone())?),
        ]),
        _ => Some(vec![
            ("used", "boil".to_owned()),
            ("time", own_time(timing)?),
        ]),
    }
}

/// How long a hop is in hot wort: its duration, or, counted from the end, its time.
fn own_time(timing: &At<'_>) -> Option<String> {
    let (time, duration) = (timing.get("time"), timing.get("duration"));
    match (duration, time) {
        (Some(duration), Some(time)) => {
            if duration.raw() == time.raw() {
                time.see();
            } else {
                time.left("the duration says how long it is in");
            }
            Some(duration.quantity::<Duration>(TIME)?.text)
        }
        (Some(one), None) | (None, Some(one)) => Some(one.quantity::<Duration>(TIME)?.text),
        (None, None) => None,
    }
}

fn of_record(record: &At<'_>, draft: &mut Draft) {
    for key in ["name", "alpha_acid"] {
        if let Some(at) = record.get(key) {
            at.see();
        }
    }
    let Some(lost) = record.get("percent_lost") else {
        return;
    };
    let Some((percent, _)) = lost.raw() else {
        return;
    };
    if let Some(told) = lost.told::<Fraction>(number(100.0 - percent), "%") {
        lost.changed(
            "what six months take is the rest of what they leave; 20 °C is taken for the store",
            &format!("kept = {}", told.text),
        );
        draft.put("kept", &told.text);
    }
}

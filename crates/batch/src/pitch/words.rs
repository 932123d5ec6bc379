//! The pitch in words, for every face.

use ferment::{
    Effect, GrownStep, OxygenWay, Rehydration, WayKind, WayToPitch, WholeStarter, small_volume,
};
use quantity::{Duration, Quantity, Units, show, show_interval, show_measured};

/// A share in whole per cent, which may be above a hundred.
#[must_use]
pub fn percent_words(ratio: f64) -> String {
    format!("{:.0} %", ratio * 100.0)
}

/// How long ahead a way is begun.
#[must_use]
pub fn ahead_words(ahead: (Duration, Duration), units: Units) -> String {
    if ahead.1.h() <= 0.0 {
        return "on brew day".to_owned();
    }
    format!("begun {} ahead", show_interval(ahead.0, ahead.1, units))
}

/// What is done in a way.
#[must_use]
pub fn way_words(way: &WayToPitch, units: Units) -> String {
    if way.kind == WayKind::AsItIs && way.ahead.1.h() > 0.0 {
        return "Pitch the starter as planned".to_owned();
    }
    way.words(units)
}

/// What a way comes to.
#[must_use]
pub fn comes_to_words(way: &WayToPitch, units: Units) -> String {
    format!(
        "{}, {} of the need; {}; chance of four fifths or more {}",
        show_measured(&way.cells, units),
        percent_words(way.ratio),
        ahead_words(way.ahead, units),
        percent_words(way.surely.ratio())
    )
}

/// What a step of a starter is made of, and what grows in it.
#[must_use]
pub fn step_words(step: &GrownStep, units: Units) -> String {
    format!(
        "{} of {}, {}: weigh {} of dried malt extract and make it up with water; {} to begin with, {} at the end",
        small_volume(step.step.volume, units),
        step.step.gravity.both(units),
        step.step.stirring.word(),
        show(step.dried_extract, units),
        show(step.inoculum, units),
        show_measured(&step.cells, units)
    )
}

/// What a step uses, as a sentence without its stop.
#[must_use]
pub fn step_uses(step: &GrownStep, units: Units) -> String {
    let oxygen = step.oxygen.mg_per_l();
    let air = if oxygen <= 0.0 {
        "no oxygen beyond what the yeast brings; shake it well once all the same".to_owned()
    } else if oxygen <= ONE_FILLING {
        format!("{} of oxygen: shake it well once", show(step.oxygen, units))
    } else {
        format!(
            "{} of oxygen, more than one filling with air: stir under a loose cover, or shake it again and again",
            show(step.oxygen, units)
        )
    };
    format!(
        "It ferments {} of extract and asks for {air}",
        show(step.sugar_used, units)
    )
}

/// Oxygen that wort holds when it is saturated with air \[mg/L\] (common practice: 8 at
/// 20 °C).
const ONE_FILLING: f64 = 8.0;

/// An effect, and whether its direction is sure.
#[must_use]
pub fn effect_words(effect: &Effect) -> String {
    if (effect.factor - 1.0).abs() < 5e-3 {
        return "the same".to_owned();
    }
    let open = if effect.is_unsure() { ", not sure" } else { "" };
    format!("{}{open}", effect.words())
}

/// How dry yeast is wetted.
#[must_use]
pub fn rehydration_words(wet: &Rehydration, units: Units) -> String {
    format!(
        "{} of water at {}, {} to {}",
        small_volume(wet.water, units),
        show_interval(wet.temperature.0, wet.temperature.1, units),
        minutes_number(wet.time.0),
        exact_minutes(wet.time.1)
    )
}

/// What the liquid of a starter does to the batch.
#[must_use]
pub fn whole_words(whole: &WholeStarter, units: Units) -> String {
    format!(
        "pitched whole it is {:.1} % of the batch: {} of {}, {}",
        whole.share.ratio() * 100.0,
        show(whole.volume, units),
        whole.gravity.both(units),
        show(whole.bitterness, units)
    )
}

/// How long a way to get oxygen in takes.
#[must_use]
pub fn oxygen_words(way: &OxygenWay, units: Units) -> String {
    let (minutes, reached) = way.usual;
    let usual = format!("{} give {}", exact_minutes(minutes), show(reached, units));
    match way.time {
        Some([low, middle, high]) => format!(
            "{} ({} to {}); {usual}",
            exact_minutes(middle),
            minutes_number(low),
            minutes_number(high)
        ),
        None => format!(
            "never: it holds {} at most; {usual}",
            show(way.saturation, units)
        ),
    }
}

/// Minutes to a tenth below five: a stone works fast.
fn exact_minutes(time: Duration) -> String {
    format!("{} min", minutes_number(time))
}

fn minutes_number(time: Duration) -> String {
    let minutes = time.min();
    if minutes < 5.0 {
        format!("{minutes:.1}")
    } else {
        format!("{minutes:.0}")
    }
}

/// When something happens, or that it does not.
#[must_use]
pub fn when_words<Q: Quantity>(at: Option<Q>, units: Units) -> String {
    at.map_or("not in the time planned".to_owned(), |at| show(at, units))
}

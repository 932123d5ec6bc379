//! The mash in words: how each rest is reached, what the tun loses, what a missed
//! temperature asks for.

use quantity::{Units, show, show_measured};
use wort::{Change, Part, Pull, Remedy, RestStep};

use crate::Reckoning;

/// How a rest is reached, in words.
#[must_use]
pub fn reached(step: &RestStep, units: Units) -> String {
    match &step.change {
        Change::BoilingWater(water) => format!("with {} of boiling water", show(*water, units)),
        Change::Heat => "by heating".to_owned(),
        Change::Decoction(pull) => {
            let when = if pull.pulled_after.min() < 0.5 {
                "at once".to_owned()
            } else {
                format!("{} after mashing in", show(pull.pulled_after, units))
            };
            format!(
                "by boiling {} of {} ({}): take it {when}, boil it {}",
                show(pull.volume, units),
                part(pull.part),
                show(pull.mass, units),
                show(pull.boils, units),
            )
        }
    }
}

fn part(part: Part) -> &'static str {
    match part {
        Part::Whole => "the stirred mash",
        Part::Thick => "the thick mash from below",
        Part::Thin => "the thin mash from above",
    }
}

/// What a decoction takes with it, in words.
#[must_use]
pub fn decoction(pull: &Pull, units: Units) -> String {
    format!(
        "take 10 to 20 % more for what the pot loses; {} of the grain and {} of the liquor with its enzymes boil, {} leave as steam",
        show(pull.of_grain, units),
        show(pull.of_liquor, units),
        show(pull.steam, units),
    )
}

/// What the tun loses: names and figures, as planned and by what was read.
#[must_use]
pub fn tun_loss(r: &Reckoning, units: Units) -> Vec<(String, String)> {
    let Some(heat) = &r.mash.heat else {
        return Vec::new();
    };
    let mut rows = vec![
        (
            "at the end of the last rest".to_owned(),
            show(heat.ends, units),
        ),
        ("heat lost by the tun".to_owned(), show(heat.lost, units)),
    ];
    if heat.holding.kwh() > 0.0 {
        rows.push((
            "heat that holds the rests".to_owned(),
            show(heat.holding, units),
        ));
    }
    if let Some(loss) = &r.mash.tun_loss {
        rows.push((
            "lost in an hour, by the readings".to_owned(),
            show_measured(&loss.in_an_hour, units),
        ));
        rows.push((
            "time constant of the tun, by them".to_owned(),
            match &loss.time_constant {
                Some(found) => format!(
                    "{}; {} is planned",
                    show_measured(found, units),
                    show(r.wort_plan.kit.tun_time_constant, units)
                ),
                None => "no fall is seen beyond what a thermometer leaves open".to_owned(),
            },
        ));
    }
    rows
}

/// A way back, in words.
#[must_use]
pub fn way_back(what: Remedy, units: Units) -> String {
    match what {
        Remedy::BoilingWater(water) => {
            format!(
                "stir in {} of boiling water; it thins the mash",
                show(water, units)
            )
        }
        Remedy::ColdWater(water) => {
            format!(
                "stir in {} of cold water; it thins the mash",
                show(water, units)
            )
        }
        Remedy::Heat(heat, time) => {
            format!("heat it, {} in {}", show(heat, units), show(time, units))
        }
        Remedy::Longer(time) => format!("rest {} longer at the end", show(time, units)),
    }
}

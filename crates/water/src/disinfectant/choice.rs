//! All ways side by side, and the one to take.

use std::cmp::Ordering;

use quantity::{Caution, Money, Note};

use super::DisinfectantError;
use super::ways::{Effect, Reliability, Task, Way, WayOut, ways_out};
use crate::analysis::analyse;
use crate::dechlorination::remarks::{LABEL_MG_PER_L, NOT_DETECTED_MG_PER_L};

/// All ways out for a water, the better first.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The ways, the better first.
    pub ways: Vec<Compared>,
    /// The one to take; none where no way is safe and works in the time.
    pub recommendation: Option<Recommendation>,
    /// Remarks on all of it.
    pub notes: Vec<Note>,
    /// What can hurt someone along the way that is recommended.
    pub cautions: Vec<Caution>,
}

/// One way in the comparison.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// The way.
    pub out: WayOut,
    /// True where it is done in the time at hand.
    pub in_time: bool,
    /// What it costs together with the work.
    pub burden: Money,
    /// Why it was not taken; none for the one that was.
    pub why_not: Option<String>,
}

/// The way to take.
#[derive(Debug, Clone, PartialEq)]
pub struct Recommendation {
    /// The way.
    pub way: Way,
    /// True where something has to be got first.
    pub to_get: bool,
    /// Why, in plain sentences.
    pub reasons: Vec<String>,
}

/// Lays all ways side by side and recommends one.
///
/// A way is taken only if it is safe, is done in time, and is expected to leave no
/// more than 0.1 mg/L. Among those: the one at hand, then the surer effect, then
/// the more reliable, then the less cost with work counted in. Peroxide is never
/// taken, sulfite not where someone is sensitive to it or where it can reach the
/// label limit.
///
/// # Errors
/// Those of [`ways_out`].
pub fn compare(task: &Task) -> Result<Comparison, DisinfectantError> {
    let mut ways: Vec<Compared> = ways_out(task)?
        .into_iter()
        .map(|out| compared(task, out))
        .collect();
    ways.sort_by(|a, b| preference(task, a, b));
    let taken = ways
        .first()
        .filter(|first| fault(task, first).is_none())
        .cloned();
    for (place, way) in ways.iter_mut().enumerate() {
        way.why_not = match &taken {
            Some(_) if place == 0 => None,
            Some(taken) => Some(why_not(task, way, taken)),
            None => fault(task, way),
        };
    }
    // Water that is unfit stays so without its chlorine.
    let mut cautions = analyse(task.water.clone())?.cautions;
    cautions.extend(taken.iter().flat_map(|taken| taken.out.cautions.clone()));
    Ok(Comparison {
        notes: notes(task, taken.is_some()),
        recommendation: taken.map(|taken| recommendation(&taken, ways.get(1))),
        cautions,
        ways,
    })
}

fn compared(task: &Task, out: WayOut) -> Compared {
    let work = out.work.h() * task.prices.work_per_h.units();
    Compared {
        in_time: out.time <= task.time,
        burden: Money::from_units(out.cost.units() + work),
        why_not: None,
        out,
    }
}

/// What keeps a way from being taken at all.
fn fault(task: &Task, way: &Compared) -> Option<String> {
    let out = &way.out;
    let sulfur_dioxide = out.leaves.sulfur_dioxide_at_most.mg_per_l();
    if out.way == Way::Peroxide {
        return Some(
            "It does nothing to chloramine, and too much of it oxidises malt: not for brewing liquor."
                .to_owned(),
        );
    }
    if is_sulfite(out.way) && task.sulfite_sensitive {
        return Some("Someone who brews or drinks is sensitive to sulfite.".to_owned());
    }
    if sulfur_dioxide >= LABEL_MG_PER_L {
        return Some(format!(
            "It can leave {sulfur_dioxide:.1} mg/L of sulfite as SO2, the limit from which beer must \
             be labelled: measure the chlorine more closely first."
        ));
    }
    if out.effect == Effect::Leaves {
        return Some(format!(
            "It is expected to leave {:.2} mg/L of chlorine, up to {:.2} mg/L.",
            out.residual.total().mg_per_l(),
            out.residual.at_most.mg_per_l()
        ));
    }
    if !way.in_time {
        return Some(format!(
            "It takes {}, and there are {}.",
            out.time, task.time
        ));
    }
    None
}

fn is_sulfite(way: Way) -> bool {
    matches!(way, Way::Reagent(reagent) if reagent.is_sulfite())
}

/// The better first.
fn preference(task: &Task, a: &Compared, b: &Compared) -> Ordering {
    let faulty = |way: &Compared| fault(task, way).is_some();
    // Water without chlorine is left alone.
    let needless = |way: &Compared| way.out.way == Way::Nothing && way.out.effect == Effect::Clears;
    faulty(a)
        .cmp(&faulty(b))
        .then_with(|| needless(b).cmp(&needless(a)))
        .then_with(|| b.out.at_hand.cmp(&a.out.at_hand))
        .then_with(|| b.out.effect.cmp(&a.out.effect))
        .then_with(|| b.out.reliability.cmp(&a.out.reliability))
        .then_with(|| a.burden.units().total_cmp(&b.burden.units()))
}

fn recommendation(first: &Compared, second: Option<&Compared>) -> Recommendation {
    let out = &first.out;
    let mut reasons = vec![match (out.way, out.effect) {
        (Way::Nothing, _) => format!(
            "The water holds at most {:.2} mg/L of chlorine: there is nothing to take out.",
            out.residual.at_most.mg_per_l()
        ),
        (_, Effect::Clears) if out.residual.at_most.mg_per_l() < 0.005 => {
            "Even if the water holds the most that is plausible, no chlorine is left.".to_owned()
        }
        (_, Effect::Clears) => format!(
            "Even if the water holds the most that is plausible, no more than {:.2} mg/L of chlorine \
             is left.",
            out.residual.at_most.mg_per_l()
        ),
        _ => format!(
            "{:.2} mg/L of chlorine is expected to be left, up to {:.2} mg/L: a test has to decide.",
            out.residual.total().mg_per_l(),
            out.residual.at_most.mg_per_l()
        ),
    }];
    if out.way != Way::Nothing {
        let cost = match out.cost.units() {
            nothing if nothing < 0.005 => "its materials cost next to nothing".to_owned(),
            units => format!("costs {units:.2} units of money in materials"),
        };
        reasons.push(format!(
            "It takes {}, of which {} are work, and {cost}.",
            out.time, out.work
        ));
    }
    let sulfur_dioxide = out.leaves.sulfur_dioxide_at_most.mg_per_l();
    if sulfur_dioxide > 0.0 {
        reasons.push(format!(
            "At most {sulfur_dioxide:.2} mg/L of sulfite as SO2 stays, against the {LABEL_MG_PER_L:.0} \
             mg/L from which beer must be labelled."
        ));
    }
    if !out.at_hand {
        reasons.push("Nothing that is at hand does it in the time: this has to be got.".to_owned());
    }
    if let Some(second) = second.filter(|second| {
        second.out.at_hand == out.at_hand && second.out.reliability < Reliability::High
    }) {
        reasons.push(format!("The next best, {}, is less sure.", second.out.way));
    }
    Recommendation {
        way: out.way,
        to_get: !out.at_hand,
        reasons,
    }
}

/// Why a way was not taken beside the one that was.
fn why_not(task: &Task, way: &Compared, taken: &Compared) -> String {
    if let Some(fault) = fault(task, way) {
        return fault;
    }
    let (burden, taken) = (taken.burden, &taken.out);
    if !way.out.at_hand && taken.at_hand {
        return "It works, but it is not at hand.".to_owned();
    }
    if taken.way == Way::Nothing {
        return "There is nothing to take out.".to_owned();
    }
    if way.out.effect < taken.effect {
        return format!(
            "It may leave up to {:.2} mg/L of chlorine.",
            way.out.residual.at_most.mg_per_l()
        );
    }
    if way.out.reliability < taken.reliability {
        return format!("It is less sure ({}).", way.out.reliability.word());
    }
    let (ours, theirs) = (way.burden.units(), burden.units());
    if ours - theirs < (0.01 * theirs).max(0.005) {
        return format!(
            "It works as well and costs hardly more: take it if you like it better than {}.",
            taken.way
        );
    }
    format!(
        "It works as well, and costs {ours:.2} units of money with the work, against {theirs:.2}."
    )
}

fn notes(task: &Task, found: bool) -> Vec<Note> {
    let mut notes = vec![];
    let total = task.water.total_chlorine;
    if !found {
        notes.push(Note::act(
            "No way that is safe clears this water in the time: take more time, get a reagent or \
             other water, or measure the chlorine more closely.",
        ));
    }
    if total.upper().mg_per_l() > 2.0 * total.value.mg_per_l() + NOT_DETECTED_MG_PER_L {
        notes.push(Note::look(
            "The chlorine of this water is poorly known, and the dose covers the top of the range: \
             a test of total chlorine on the day saves most of it.",
        ));
    }
    if total.upper().mg_per_l() > NOT_DETECTED_MG_PER_L {
        notes.push(Note::fine(
            "Whatever way is taken, a test for total chlorine closes it: it should read below 0.1 \
             mg/L. Prices and hours are a place to start (judgement): enter your own.",
        ));
    }
    notes
}

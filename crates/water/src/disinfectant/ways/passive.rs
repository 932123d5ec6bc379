//! The ways that wait, heat, blow, dilute, or do nothing.

use quantity::{Chlorine, Duration, Fraction, Money, Note};

use super::super::table::table;
use super::treated::of_dechlorinated;
use super::{DisinfectantError, Effect, Task, Way, WayOut, steps};
use crate::analysis::free_and_combined;
use crate::dechlorination::remarks::NOT_DETECTED_MG_PER_L;
use crate::dechlorination::{Dechlorination, dechlorinate, stood};
use crate::state::ResidualChlorine;

pub(super) fn nothing(task: &Task) -> Result<WayOut, DisinfectantError> {
    let plan = Dechlorination::None;
    let done = dechlorinate(&task.water, task.volumes, &plan)?;
    let mut out = of_dechlorinated(Way::Nothing, done);
    out.plan = Some(plan);
    Ok(out)
}

pub(super) fn stand(task: &Task, time: Duration) -> Result<WayOut, DisinfectantError> {
    let plan = Dechlorination::Stand { time };
    let done = dechlorinate(&task.water, task.volumes, &plan)?;
    let mut out = of_dechlorinated(Way::Stand, done);
    let left = stood(&task.water, task.temperature, &[time])?;
    out.residual = left.residuals.first().copied().unwrap_or(out.residual);
    out.effect = Effect::of(&out.residual);
    out.plan = Some(plan);
    out.time = longer(time, out.work);
    out.steps = steps::of_standing(time);
    out.notes = vec![Note::look(
        "Standing is unreliable. At the pH of tap water there is no chlorine gas that could leave: \
         free chlorine goes by light, walls and what is in the water, in hours or hardly at all. \
         Chloramine decays slowly, and more slowly the more ammonia is with it: a covered bucket is \
         still chloraminated after a week.",
    )];
    out.notes.extend(left.notes);
    Ok(out)
}

fn longer(a: Duration, b: Duration) -> Duration {
    Duration::from_h(a.h().max(b.h()))
}

pub(super) fn aerate(task: &Task, time: Duration) -> Result<WayOut, DisinfectantError> {
    let plan = Dechlorination::Aerate { time };
    let done = dechlorinate(&task.water, task.volumes, &plan)?;
    let mut out = of_dechlorinated(Way::Aerate, done);
    out.at_hand = task.at_hand.air_pump;
    out.plan = Some(plan);
    out.time = longer(time, out.work);
    out.steps = steps::of_aerating(time);
    Ok(out)
}

/// Heat to bring a litre of water up by a kelvin \[kWh\]: 4.18 kJ/(kg K).
const KWH_PER_L_K: f64 = 4.18 / 3600.0;

pub(super) fn boil(task: &Task, time: Duration) -> Result<WayOut, DisinfectantError> {
    let plan = Dechlorination::BoilLiquor { time };
    let done = dechlorinate(&task.water, task.volumes, &plan)?;
    let power = task.at_hand.heater.unwrap_or(table().boil_power);
    let power_kw = crate::check::above_zero("power of the heater", power)?.kw();
    let rise_k = (100.0 - task.temperature.c()).max(0.0);
    let heat_kwh = task.volumes.total().l() * rise_k * KWH_PER_L_K;
    let energy_kwh = heat_kwh + power_kw * time.h();
    let mut out = of_dechlorinated(Way::Boil, done);
    out.plan = Some(plan);
    out.time = Duration::from_h(heat_kwh / power_kw + time.h());
    out.cost = Money::from_units(energy_kwh * task.prices.energy_per_kwh.units());
    out.steps = steps::of_boiling(time);
    out.notes.push(Note::look(
        "Nobody knows how fast a boil takes chloramine out: two measurements of its volatility \
         differ 50-fold, and half-lives are told from 5 to 27 min.",
    ));
    Ok(out)
}

/// How much of the liquor must be clean water for the blend to hold no more
/// chlorine than an aim: s = 1 − (aim − clean)/(tap − clean).
///
/// # Errors
/// [`DisinfectantError::CleanWaterNotClean`] where the clean water holds as much as
/// the aim.
pub fn share_of_clean_water(
    tap: Chlorine,
    clean: Chlorine,
    aim: Chlorine,
    name: &str,
) -> Result<Fraction, DisinfectantError> {
    let (tap, clean_mg, aim_mg) = (tap.mg_per_l(), clean.mg_per_l(), aim.mg_per_l());
    if tap <= aim_mg {
        return Ok(Fraction::default());
    }
    if clean_mg >= aim_mg {
        return Err(DisinfectantError::CleanWaterNotClean {
            name: name.to_owned(),
            clean,
            aim,
        });
    }
    Ok(Fraction::from_ratio(
        1.0 - (aim_mg - clean_mg) / (tap - clean_mg),
    ))
}

pub(super) fn dilute(task: &Task) -> Result<WayOut, DisinfectantError> {
    let (free, combined) = free_and_combined(&task.water)?;
    let top = task.water.total_chlorine.upper();
    let (name, clean) = match &task.at_hand.clean_water {
        Some(water) => (water.name.as_str(), water.chlorine.upper()),
        None => ("distilled water", Chlorine::default()),
    };
    let aim = Chlorine::from_mg_per_l(NOT_DETECTED_MG_PER_L);
    // Water that is not clean itself dilutes to its own chlorine, which is told.
    let found = share_of_clean_water(top, clean, aim, name);
    let unclean = found.as_ref().err().map(|e| Note::act(format!("{e}.")));
    let share = found.unwrap_or(Fraction::from_ratio(1.0));
    let tap = 1.0 - share.ratio();
    let rest = clean.mg_per_l() * share.ratio();
    let litres = task.volumes.total().l() * share.ratio();
    let done = dechlorinate(&task.water, task.volumes, &Dechlorination::None)?;
    let mut out = of_dechlorinated(Way::Dilute, done);
    out.residual = ResidualChlorine {
        free: Chlorine::from_mg_per_l(free.mg_per_l() * tap),
        combined: Chlorine::from_mg_per_l(combined.mg_per_l() * tap + rest),
        at_most: Chlorine::from_mg_per_l(top.mg_per_l() * tap + rest),
    };
    // The share was made for the aim: a rounding error is no chlorine.
    if (out.residual.at_most.mg_per_l() - aim.mg_per_l()).abs() < 1e-12 {
        out.residual.at_most = aim;
    }
    out.effect = Effect::of(&out.residual);
    out.at_hand = task.at_hand.clean_water.is_some();
    out.cost = Money::from_units(litres * task.prices.clean_water_per_l.units());
    out.steps = vec![format!(
        "Take {:.0} % {name}, {litres:.1} L, and the rest from the tap.",
        100.0 * share.ratio()
    )];
    out.notes = vec![Note::look(format!(
        "To get below 0.1 mg/L takes {:.0} % {name}: by itself diluting is nearly the same as \
         leaving the tap water out. It dilutes all other ions as well, which is not counted here.",
        100.0 * share.ratio()
    ))];
    if let Some(note) = unclean {
        out.notes = vec![note];
    }
    Ok(out)
}

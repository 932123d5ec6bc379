//! The rest of the plan from where the day stands.

use quantity::{
    Duration, EvaporationRate, Gravity, Mass, MassConcentration, SulfurDioxide, Volume,
    VolumePerMass,
};
use water::{BrewingWater, ResidualChlorine};

use super::day::{Change, Done, Point};
use super::model::{Course, Model, given};
use crate::boil::{Boiled, boil};
use crate::colour::concentrated;
use crate::error::WortError;
use crate::mash::map_ions;
use crate::mix::Mix;
use crate::plan::{HopTime, WortPlan};
use crate::state::{Carbohydrates, PitchingWort, SweetWort};
use crate::sugars::{Spectrum, limit_of};

/// The boil from a kettle as it stands, with what was done.
pub(super) fn follow(
    plan: &WortPlan,
    sweet: &SweetWort,
    liquor: &BrewingWater,
    model: &Model<'_>,
    x: &Course,
) -> Result<Boiled, WortError> {
    let plan = as_done(plan, model, x);
    let kettle = kettle(sweet, liquor, model, x);
    let mut boiled = boil(&plan, &kettle)?;
    boiled.wort = in_fermenter(boiled.wort, liquor, model)?;
    Ok(boiled)
}

/// The plan as the day has it: boil, steam, losses, hops.
pub(super) fn as_done(plan: &WortPlan, model: &Model<'_>, x: &Course) -> WortPlan {
    let planned_min = plan.boil.duration.min();
    let mut plan = plan.clone();
    plan.boil.duration = Duration::from_min(model.boil_min.max(0.0));
    let kit = &mut plan.kit;
    kit.evaporation = EvaporationRate::from_kg_per_h(kit.evaporation.kg_per_h() * x.evaporation);
    kit.kettle_loss = Volume::from_l(kit.kettle_loss.l() * x.losses);
    kit.transfer_loss = Volume::from_l(kit.transfer_loss.l() * x.losses);
    let hops = kit.hop_absorption.l_per_kg() * x.losses;
    kit.hop_absorption = VolumePerMass::from_l_per_kg(hops);
    hops_as_done(&mut plan, model.done, planned_min);
    plan
}

/// Hops that are in when the boil is made longer boil for longer; those to come keep
/// their time before the end. Hops to come may be given in another amount.
fn hops_as_done(plan: &mut WortPlan, done: &[Done], planned_min: f64) {
    for hop in plan.hops.iter_mut().filter(|h| h.when != HopTime::DryHop) {
        let mut boil_min = planned_min;
        for one in done {
            let there = is_in(hop.when, boil_min, one.at);
            match one.what {
                Change::Hops(times) if !there => hop.mass = Mass::from_g(hop.mass.g() * times),
                Change::BoilBy(min) => {
                    boil_min += min;
                    if let HopTime::Boil(d) = hop.when {
                        // No hop boils for longer than the wort.
                        let longer = if there { d.min() + min } else { d.min() };
                        let kept = longer.clamp(0.0, boil_min.max(0.0));
                        hop.when = HopTime::Boil(Duration::from_min(kept));
                    }
                }
                _ => {}
            }
        }
    }
}

/// Whether a hop is in the kettle at a point of the plan.
pub(super) fn is_in(when: HopTime, planned_min: f64, at: Point) -> bool {
    match (when, at) {
        // Hops of the mash went in before anything could be read.
        (HopTime::Mash, _) => true,
        (HopTime::DryHop, _) | (_, Point::FirstWort | Point::LastRunnings) => false,
        (HopTime::FirstWort, _) | (_, Point::Fermenter) => true,
        (HopTime::Boil(_), Point::EndOfBoil) => true,
        (HopTime::Boil(d), Point::Boil(t)) => planned_min - d.min() <= t.min() + 1e-6,
        (HopTime::Boil(_), Point::KettleFull) => false,
        (HopTime::Whirlpool(_) | HopTime::Stand { .. }, _) => false,
    }
}

/// The wort with which the boil begins: what came from the tun, and all that goes into
/// the kettle later, as if it were there from the start. No model of the boil asks
/// when sugar or water came.
fn kettle(sweet: &SweetWort, liquor: &BrewingWater, model: &Model<'_>, x: &Course) -> SweetWort {
    let ran_off = model.kettle_full(x);
    let litres = ran_off.volume_l();
    // What comes with the extract is as much more concentrated as the extract is.
    let grain = model.grain_factor(x) * sweet.volume.l() / litres;
    let mut wort = strengthened(sweet, grain);
    wort.volume = Volume::from_l(litres);
    wort.gravity = Gravity::from_plato(ran_off.plato());
    for done in model.done.iter().filter(|d| d.at != Point::Fermenter) {
        wort = with(&wort, &done.what, liquor);
    }
    wort
}

fn strengthened(sweet: &SweetWort, factor: f64) -> SweetWort {
    let mg = |c: MassConcentration| MassConcentration::from_mg_per_l(c.mg_per_l() * factor);
    let mut wort = sweet.clone();
    wort.colour = concentrated(sweet.colour, factor);
    wort.carbohydrates = map_carbohydrates(&sweet.carbohydrates, |c| mg(*c));
    let traces = &mut wort.traces;
    traces.smm = mg(traces.smm);
    traces.fan = mg(traces.fan);
    traces.ferulic_acid = mg(traces.ferulic_acid);
    wort
}

fn map_carbohydrates(
    c: &Carbohydrates,
    f: impl Fn(&MassConcentration) -> MassConcentration,
) -> Carbohydrates {
    Carbohydrates {
        simple: f(&c.simple),
        maltose: f(&c.maltose),
        maltotriose: f(&c.maltotriose),
        dextrin: f(&c.dextrin),
    }
}

/// Kettle wort with sugar or water stirred in.
fn with(wort: &SweetWort, change: &Change, liquor: &BrewingWater) -> SweetWort {
    let more = given(change);
    if more.mass_kg() <= 0.0 {
        return wort.clone();
    }
    let before = Mix::from_volume(wort.volume.l(), wort.gravity.plato());
    let after = before.plus(more);
    let (litres, thinner) = (after.volume_l(), before.volume_l() / after.volume_l());
    let mut out = strengthened(wort, thinner);
    out.volume = Volume::from_l(litres);
    out.gravity = Gravity::from_plato(after.plato());
    out.carbohydrates = plus(&out.carbohydrates, &spectrum(change).in_litres(litres));
    let share = match change {
        Change::Dilute(water) => water.l() / litres,
        _ => 0.0,
    };
    out.ions = map_ions(|get| get(&wort.ions) * thinner + get(&liquor.ions) * share);
    out.traces.halogen_met = chlorine(&wort.traces.halogen_met, thinner, liquor, share);
    out.traces.sulfur_dioxide_at_most = SulfurDioxide::from_mg_per_l(
        wort.traces.sulfur_dioxide_at_most.mg_per_l() * thinner
            + liquor.sulfur_dioxide_at_most.mg_per_l() * share,
    );
    out
}

fn chlorine(
    there: &ResidualChlorine,
    thinner: f64,
    liquor: &BrewingWater,
    share: f64,
) -> ResidualChlorine {
    let mixed = |get: fn(&ResidualChlorine) -> quantity::Chlorine| {
        quantity::Chlorine::from_mg_per_l(
            get(there).mg_per_l() * thinner + get(&liquor.chlorine).mg_per_l() * share,
        )
    };
    ResidualChlorine {
        free: mixed(|c| c.free),
        combined: mixed(|c| c.combined),
        at_most: mixed(|c| c.at_most),
    }
}

fn plus(a: &Carbohydrates, b: &Carbohydrates) -> Carbohydrates {
    let sum = |a: MassConcentration, b: MassConcentration| {
        MassConcentration::from_mg_per_l(a.mg_per_l() + b.mg_per_l())
    };
    Carbohydrates {
        simple: sum(a.simple, b.simple),
        maltose: sum(a.maltose, b.maltose),
        maltotriose: sum(a.maltotriose, b.maltotriose),
        dextrin: sum(a.dextrin, b.dextrin),
    }
}

/// How what is added ferments.
fn spectrum(change: &Change) -> Spectrum {
    let Change::Add { fermentable, .. } = change else {
        return Spectrum::default();
    };
    Spectrum::kettled(fermentable, given(change).extract_kg)
}

/// What is stirred into the fermenter.
fn in_fermenter(
    mut wort: PitchingWort,
    liquor: &BrewingWater,
    model: &Model<'_>,
) -> Result<PitchingWort, WortError> {
    for done in model.done.iter().filter(|d| d.at == Point::Fermenter) {
        let more = given(&done.what);
        if more.mass_kg() <= 0.0 {
            continue;
        }
        let before = Mix::from_volume(wort.volume.l(), wort.gravity.plato());
        let thinner = before.volume_l() / before.plus(more).volume_l();
        let as_kettle = SweetWort {
            volume: wort.volume,
            gravity: wort.gravity,
            temperature: wort.temperature,
            ph: wort.ph,
            colour: wort.colour,
            carbohydrates: wort.carbohydrates,
            ions: wort.ions,
            traces: wort.traces,
        };
        let mixed = with(&as_kettle, &done.what, liquor);
        wort.volume = mixed.volume;
        wort.gravity = mixed.gravity;
        wort.colour = mixed.colour;
        wort.carbohydrates = mixed.carbohydrates;
        wort.ions = mixed.ions;
        let mg = |c: MassConcentration| MassConcentration::from_mg_per_l(c.mg_per_l() * thinner);
        wort.traces = mixed.traces;
        wort.traces.dms = mg(wort.traces.dms);
        wort.traces.iso_alpha = mg(wort.traces.iso_alpha);
        wort.bitterness = quantity::Bitterness::from_ibu(wort.bitterness.ibu() * thinner);
        wort.attenuation_limit = limit_of(wort.gravity, &wort.carbohydrates)?;
    }
    Ok(wort)
}

//! What the brewer should know about a fermentation, in words.

use quantity::Note;

use crate::ferment::{Batch, ENDED};
use crate::kinetics::State;
use crate::state::GreenBeer;

/// Wort without yeast for longer than this is at risk \[h\] (common practice).
pub(crate) const LATE_PITCH_H: f64 = 12.0;
/// Diacetyl above which lager is off \[mg/L\] (MEBAK, read).
const DIACETYL_LIMIT: f64 = 0.10;
/// Free amino nitrogen below which yeast goes short \[mg/L\] (common practice).
const LEAST_FAN: f64 = 120.0;
const HOURS_PER_DAY: f64 = 24.0;

pub(crate) fn all(
    batch: &Batch<'_>,
    end: &State,
    beer: &GreenBeer,
    ended_h: Option<f64>,
) -> Vec<Note> {
    let mut notes = batch.aim.notes.clone();
    notes.extend(pitching(batch));
    notes.extend(warmth(batch));
    notes.extend(ending(batch, end, ended_h));
    notes.extend(chilling(batch));
    notes.extend(diacetyl(end));
    notes.extend(alcohol(batch));
    notes.extend(nature(batch, beer));
    notes
}

fn pitching(batch: &Batch<'_>) -> Vec<Note> {
    let mut notes = Vec::new();
    let hours = batch.plan.pitched_after.h();
    if hours > LATE_PITCH_H {
        notes.push(Note::act(format!(
            "the wort stands {hours:.0} h without yeast: bacteria get there first; pitch within {LATE_PITCH_H:.0} h, sooner if it is warm"
        )));
    }
    let pitch_c = batch.plan.pitch_temperature.c();
    let deadly_c = batch.plan.strain.kinetics.growth_at.max_c;
    if pitch_c >= deadly_c {
        notes.push(Note::act(format!(
            "pitching at {pitch_c:.0} °C kills this yeast, which dies from about {deadly_c:.0} °C"
        )));
    }
    let fan = batch.wort.traces.fan.mg_per_l();
    if fan < LEAST_FAN {
        notes.push(Note::look(format!(
            "{fan:.0} mg/L of free amino nitrogen is little (120 to 220 is usual): the yeast grows less, and may stop early and smell of sulfur"
        )));
    }
    let plato = batch.wort.gravity.plato();
    if !(7.0..=20.0).contains(&plato) {
        notes.push(Note::look(format!(
            "wort of {plato:.1} °P lies outside the 7 to 20 °P that the course model is meant for"
        )));
    }
    notes
}

/// Temperatures outside the strain's range while it works.
fn warmth(batch: &Batch<'_>) -> Vec<Note> {
    let length_h = batch.plan.length.h();
    let busy_h = batch.reached(0.90).unwrap_or(length_h);
    let (coldest, warmest) = (
        batch.temperatures.coldest_c(0.0, busy_h),
        batch.temperatures.warmest_c(0.0, busy_h),
    );
    let range = &batch.plan.strain.working;
    let (low, high) = (range.low.c(), range.high.c());
    let mut notes = Vec::new();
    if warmest > high + 0.05 {
        notes.push(Note::look(format!(
            "up to {warmest:.1} °C while it ferments, above the {high:.0} °C that this yeast works at: more esters and fusel alcohols"
        )));
    }
    if coldest < low - 0.05 {
        notes.push(Note::look(format!(
            "down to {coldest:.1} °C before 90 % is fermented, below the {low:.0} °C that this yeast works at: slow, and it may drop out and stop"
        )));
    }
    notes
}

/// Whether it ends in time.
fn ending(batch: &Batch<'_>, end: &State, ended_h: Option<f64>) -> Option<Note> {
    let length_d = batch.plan.length.h() / HOURS_PER_DAY;
    if let Some(h) = ended_h {
        let days = h / HOURS_PER_DAY;
        return (length_d - days < 2.0).then(|| {
            Note::fine(format!(
                "fermentation ends on day {days:.1}, less than two days before the beer is taken off: measure that the gravity stands still"
            ))
        });
    }
    let percent = end.progress * 100.0;
    if idle(batch, end) {
        return Some(Note::act(format!(
            "the fermentation comes to a stop with {percent:.0} % of what can ferment gone: warm it, rouse it or pitch again; do not bottle"
        )));
    }
    Some(Note::act(format!(
        "the course ends too early: after {length_d:.1} days {percent:.0} % of what can ferment is gone and it still works; give it more time, do not bottle"
    )))
}

/// True where the last day took off less than one in two hundred.
fn idle(batch: &Batch<'_>, end: &State) -> bool {
    let day_before = batch.plan.length.h() - HOURS_PER_DAY;
    let earlier = batch
        .times_h
        .iter()
        .zip(&batch.states)
        .rev()
        .find(|(t, _)| **t <= day_before);
    earlier.is_some_and(|(_, s)| end.progress < ENDED && end.progress - s.progress < 0.005)
}

/// A cold crash before the beer is done.
fn chilling(batch: &Batch<'_>) -> Option<Note> {
    let low_c = batch.plan.strain.working.low.c() - 3.0;
    let moments = || batch.times_h.iter().zip(&batch.states);
    let is_cold = |t_h: f64| batch.temperatures.temp_c(t_h) < low_c;
    let ((_, _), (t_h, state)) = moments()
        .zip(moments().skip(1))
        .find(|((before, _), (after, _))| !is_cold(**before) && is_cold(**after))?;
    let days = t_h / HOURS_PER_DAY;
    if state.progress < 0.97 {
        return Some(Note::act(format!(
            "chilled on day {days:.1} with {:.0} % of what can ferment gone: the yeast drops and the rest may ferment in the package",
            state.progress * 100.0
        )));
    }
    let vdk = state.diacetyl + state.acetolactate;
    (vdk > DIACETYL_LIMIT).then(|| {
        Note::look(format!(
            "chilled on day {days:.1} with {vdk:.2} mg/L of diacetyl there or to come: hold it warm until a heated sample no longer smells of butter"
        ))
    })
}

fn diacetyl(end: &State) -> Option<Note> {
    let (there, to_come) = (end.diacetyl, end.acetolactate);
    if there > DIACETYL_LIMIT {
        return Some(Note::look(format!(
            "{there:.2} mg/L of diacetyl at the end, above 0.10 mg/L: a longer warm rest on the yeast takes it away"
        )));
    }
    (there + to_come > DIACETYL_LIMIT).then(|| {
        Note::look(format!(
            "{to_come:.2} mg/L of diacetyl are still to come from acetolactate: rest warm for two or three days more, and test a heated sample"
        ))
    })
}

fn alcohol(batch: &Batch<'_>) -> Option<Note> {
    let expected = batch.aim.expected_alcohol() * 100.0;
    let tolerance = batch.plan.strain.tolerance.percent();
    if expected > tolerance + 1.5 {
        return Some(Note::act(format!(
            "all of the extract would make {expected:.1} % vol, far beyond the {tolerance:.1} % that this yeast bears: it will stop sweet"
        )));
    }
    (expected > tolerance).then(|| {
        Note::look(format!(
            "all of the extract would make {expected:.1} % vol, beyond the {tolerance:.1} % that this yeast bears: pitch more, and expect it to slow down"
        ))
    })
}

/// What the kind of yeast or wort asks of packaging.
fn nature(batch: &Batch<'_>, beer: &GreenBeer) -> Vec<Note> {
    let mut notes = Vec::new();
    if batch.plan.strain.diastatic {
        notes.push(Note::act(
            "diastatic yeast goes on splitting dextrins for weeks: package only when a forced-ferment sample and the beer agree, and keep its tools apart",
        ));
    }
    if batch
        .plan
        .course
        .iter()
        .any(|p| p.at.h() > batch.plan.length.h())
    {
        notes.push(Note::fine(format!(
            "the temperature course goes on to day {:.1}, after the beer is taken off; that part is left out",
            batch.temperatures.last_h() / HOURS_PER_DAY
        )));
    }
    if beer.sulfur_dioxide_at_most.mg_per_l() > 0.0 {
        notes.push(Note::fine(
            "yeast makes sulfite of its own, up to some mg/L, which is not in the figure carried on from the water",
        ));
    }
    notes
}

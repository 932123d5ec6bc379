//! What to say about a treatment.

use quantity::{Caution, Duration, Note, SulfurDioxide};

use super::carbon::Passed;
use super::{Dechlorinated, Dechlorination, Dose, ReagentDose};
use crate::state::{ResidualChlorine, SourceWater};

/// What a test for total chlorine should read after treatment \[mg/L as Cl₂\]
/// (common practice).
pub(crate) const NOT_DETECTED_MG_PER_L: f64 = 0.1;
/// What strips resolve \[mg/L as Cl₂\] (common practice).
const STRIP_STEP_MG_PER_L: f64 = 0.5;
/// From this on beer is labelled \[mg/L as SO₂\]: EU Regulation 1169/2011,
/// Annex II; 21 CFR 101.100(a)(4).
pub(crate) const LABEL_MG_PER_L: f64 = 10.0;
/// How much more than theory sulfites took in the field: AWWA guide,
/// Disinfection of Pipelines and Storage Facilities, Table 7-2.
const FIELD_EXCESS: f64 = 0.10;
/// Below this a figure is rounding.
const NOTHING_MG_PER_L: f64 = 1e-9;

const HALOPHENOLS: &str = "With the phenols of malt and yeast it makes chlorophenols, which smell \
    of plaster and disinfectant; a yield of 0.01 % of 1 mg/L already reaches the taste threshold in \
    water";

pub(super) fn of_reagent(
    water: &SourceWater,
    dose: &ReagentDose,
    how: &Dechlorination,
    done: &Dechlorinated,
) -> Vec<Note> {
    if dose.total.kg() <= 0.0 {
        let mut notes = vec![Note::fine(
            "No chlorine to remove by the figures, so no reagent.",
        )];
        notes.extend(shortfall(water, dose, how, done));
        return notes;
    }
    let mut notes = vec![Note::fine(
        "Dissolve the reagent in a little water, stir it in, wait 5 to 10 min, then test for total \
         chlorine: it should read below 0.1 mg/L. A strip in steps of 0.5 mg/L cannot show that; a \
         DPD test can. Chlorine bound to organic matter can take longer.",
    )];
    notes.extend(shortfall(water, dose, how, done));
    notes.extend(low_excess(dose, how));
    notes.push(if dose.reagent.is_sulfite() {
        sulfite(done.sulfur_dioxide_at_most)
    } else {
        Note::fine(
            "Ascorbate leaves no sulfite. What is left over is used up by the oxygen of the air \
             within hours, and is then no cover against more chlorine.",
        )
    });
    notes
}

pub(super) fn cautions_of_reagent(dose: &ReagentDose, done: &Dechlorinated) -> Vec<Caution> {
    let mut cautions = vec![];
    if dose.total.kg() <= 0.0 {
        return cautions;
    }
    if dose.reagent.is_sulfite() {
        cautions.push(Caution::Sulfite);
    }
    if done.sulfur_dioxide_at_most.mg_per_l() > NOTHING_MG_PER_L {
        cautions.push(Caution::SulfiteLabel);
    }
    cautions.push(Caution::TreatedWater);
    cautions
}

pub(super) fn of_none(residual: &ResidualChlorine) -> Vec<Note> {
    still_there(residual).into_iter().collect()
}

pub(super) fn of_standing(residual: &ResidualChlorine) -> Vec<Note> {
    let mut notes = vec![Note::look(
        "Standing is unreliable. At the pH of tap water there is no chlorine gas that could leave: \
         free chlorine goes by light, by walls and by what is in the water, in hours or hardly at \
         all, and chloramine loses only 4 to 8 % a day in a quiet vessel.",
    )];
    notes.extend(still_there(residual));
    notes
}

pub(super) fn of_boiling(water: &SourceWater, residual: &ResidualChlorine) -> Vec<Note> {
    let mut notes = vec![Note::look(
        "An open rolling boil of 15 to 20 min is fair against free chlorine and not advised \
         against chloramine, whose half-life is told as anything from 5 to 27 min. The lid stays \
         off; a test for total chlorine on the cooled water decides.",
    )];
    if water
        .ions
        .calcium
        .meq_per_l()
        .min(water.alkalinity.meq_per_l())
        > 1.0
    {
        notes.push(Note::look(
            "Boiling also drops chalk out of this water and lowers calcium and alkalinity; that \
             and the steam lost are not reckoned here. Measure the alkalinity of the clear water.",
        ));
    }
    notes.extend(still_there(residual));
    notes
}

pub(super) fn of_aerating(residual: &ResidualChlorine) -> Vec<Note> {
    let mut notes = vec![Note::look(
        "Air takes chloramine out slowly: a third in a day was measured with 10 mL of air per \
         second. Free chlorine is no gas at the pH of tap water and hardly leaves at all.",
    )];
    notes.extend(still_there(residual));
    notes
}

pub(super) fn of_carbon(passed: &Passed, residual: &ResidualChlorine) -> Vec<Note> {
    let mut notes = vec![Note::fine(format!(
        "The water stays {} in the carbon (volume of the bed over flow). Use it at once, and keep \
         the housing clean: behind carbon nothing keeps germs down.",
        seconds_or_minutes(passed.contact)
    ))];
    if passed.claim_is_silent {
        notes.push(Note::look(
            "A claim against free chlorine says nothing about chloramine: slow the flow, and let \
             a test for total chlorine decide.",
        ));
    }
    if let Some(left) = passed.capacity_left.filter(|left| *left < passed.needed) {
        notes.push(Note::act(format!(
            "By its rating the carbon is good for {left} more of this water, and {} are wanted: \
             put in a new one.",
            passed.needed
        )));
    }
    notes.extend(still_there(residual));
    notes
}

fn seconds_or_minutes(time: Duration) -> String {
    let seconds = time.h() * 3600.0;
    if seconds < 90.0 {
        format!("{seconds:.0} s")
    } else {
        format!("{:.1} min", time.min())
    }
}

/// A remark where the treatment may leave chlorine.
fn still_there(residual: &ResidualChlorine) -> Option<Note> {
    let (expected, at_most) = (residual.total().mg_per_l(), residual.at_most.mg_per_l());
    if at_most <= NOT_DETECTED_MG_PER_L {
        return None;
    }
    let strip = if at_most < STRIP_STEP_MG_PER_L {
        " A strip in steps of 0.5 mg/L cannot show it."
    } else {
        ""
    };
    let text = format!(
        "Chlorine is left when the water meets malt: {expected:.2} mg/L expected, up to \
         {at_most:.2} mg/L. {HALOPHENOLS}. Treat the water with sulfite or ascorbate.{strip}"
    );
    Some(if expected > NOT_DETECTED_MG_PER_L {
        Note::act(text)
    } else {
        Note::look(text)
    })
}

/// A remark where the dose does not cover what may be there.
fn shortfall(
    water: &SourceWater,
    dose: &ReagentDose,
    how: &Dechlorination,
    done: &Dechlorinated,
) -> Option<Note> {
    let at_most = done.residual.at_most.mg_per_l();
    let expected = done.residual.total().mg_per_l();
    if at_most <= NOTHING_MG_PER_L {
        return None;
    }
    let top = water.total_chlorine.upper().mg_per_l();
    let text = format!(
        "The dose covers {:.2} mg/L of chlorine and the water may hold {top:.2} mg/L, so that up to \
         {at_most:.2} mg/L would be left; {}. {HALOPHENOLS}.",
        dose.capacity.mg_per_l(),
        remedy(water, dose, how),
    );
    Some(if expected > NOT_DETECTED_MG_PER_L {
        Note::act(text)
    } else {
        Note::look(text)
    })
}

/// What would cover the highest plausible chlorine.
fn remedy(water: &SourceWater, dose: &ReagentDose, how: &Dechlorination) -> String {
    let total = water.total_chlorine.value.mg_per_l();
    let top = water.total_chlorine.upper().mg_per_l();
    let capacity = dose.capacity.mg_per_l();
    match how {
        Dechlorination::Reagent {
            dose: Dose::Matched,
            ..
        } if total > 0.0 => {
            // Rounded up, so that the excess named is enough.
            let percent = (100.0 * (top / total - 1.0)).ceil();
            if percent > 100.0 {
                format!(
                    "measure it more closely, or set the dose by hand, {:.2} times this one",
                    top / capacity
                )
            } else {
                format!("an excess of {percent:.0} % would cover it")
            }
        }
        _ if capacity > 0.0 => {
            let grams = dose.total.g() * top / capacity;
            format!("{grams:.3} g in all would cover it")
        }
        _ => "measure it more closely, or set a dose by hand".to_owned(),
    }
}

fn low_excess(dose: &ReagentDose, how: &Dechlorination) -> Option<Note> {
    let Dechlorination::Reagent {
        excess,
        dose: Dose::Matched,
        ..
    } = how
    else {
        return None;
    };
    let low = dose.reagent.is_sulfite() && excess.ratio() < FIELD_EXCESS;
    low.then(|| {
        Note::look(
            "In the field sulfites take about 10 % more than theory, and metabisulfite loses \
             strength in store: an excess of 10 to 50 % is common practice.",
        )
    })
}

fn sulfite(at_most: SulfurDioxide) -> Note {
    let mg_per_l = at_most.mg_per_l();
    let compared = if mg_per_l < LABEL_MG_PER_L {
        "below"
    } else {
        "at or above"
    };
    let text = format!(
        "Up to {mg_per_l:.2} mg/L of sulfite as SO2 can be left in the liquor, {compared} the \
         10 mg/L from which beer must be labelled. Mash and yeast lower it, yeast also makes a few \
         mg/L itself: only a measurement of the beer decides."
    );
    if mg_per_l < LABEL_MG_PER_L {
        Note::fine(text)
    } else {
        Note::act(text)
    }
}

//! A row of figures becomes one reading: the spread from several figures, the
//! basis settled, the sentence that says how.

mod combine;
mod words;

use std::ops::Range;

use quantity::{Note, Spread, rounded};

use super::flag::Flag;
use super::inline::{Row, Slot, alike};
use super::number::Figure;
use super::parameter::{Figures, Kind, Microbes, Parameter, Value};
use super::unit::{Amount, Open, Species, Unit, factor, species};
use super::{Choice, Reading, Trouble};
use combine::{ONE, Scale, Taken, combine, ends_of};
use words::{choices, no_scale, notes, question, sentence};

/// Why a row gives no reading yet.
pub(super) enum Halt {
    Trouble(Trouble),
    /// A question: its topic, its text, its choices.
    Ask(&'static str, String, Vec<Choice>),
}

/// How answers reach the settling: by topic.
pub(super) type Answer<'a> = &'a dyn Fn(&str) -> Option<String>;

/// Settles the figures of one analysis in a row.
pub(super) fn settle(
    row: &Row,
    slots: &[Slot],
    text: &str,
    answer: Answer<'_>,
) -> Result<Reading, Halt> {
    let mut row = row.clone();
    let parameter = parameter(&row, answer)?;
    row.name.parameter = parameter;
    let at = stretch(&row, slots);
    let trouble = |reason: String, would_work: &str| {
        Halt::Trouble(Trouble {
            at: at.clone(),
            reason,
            would_work: would_work.to_owned(),
        })
    };
    let (slots, second) = with_second_unit(slots);
    let taken = combine(parameter, &slots).map_err(|(reason, work)| trouble(reason, work))?;
    let unit = slots
        .iter()
        .find_map(|s| s.unit.clone())
        .or_else(|| row.unit.clone());
    let basis = basis(&row, unit.as_ref(), answer).map_err(|why| match why {
        Some(halt) => halt,
        None => trouble(
            "the name and the unit say different bases".to_owned(),
            "keep one basis, as in Nitrate 12 mg/L as NO3",
        ),
    })?;
    let scale = scale(parameter, unit.as_ref(), basis, taken.figure, answer)
        .map_err(|why| why.unwrap_or_else(|| no_scale(parameter, unit.as_ref(), &at)))?;
    let figures = taken.canonical(scale, row.detection);
    if parameter.kind() == Kind::Microbes {
        return Ok(microbes(&row, at, text, &taken, figures, unit.as_ref()));
    }
    let Some(value) = Value::new(parameter, figures) else {
        return Err(trouble(
            format!(
                "{} is outside what {} can be",
                figure_text(taken.figure),
                parameter.name()
            ),
            "look at the figure and its unit again",
        ));
    };
    if let Some(slot) = second {
        agrees(parameter, &row, slot, figures.value)
            .map_err(|reason| trouble(reason, "keep the right one of the two figures"))?;
    }
    let mut notes = notes(&row, unit.as_ref(), basis, &taken);
    notes.extend(
        row.detection
            .filter(|_| taken.figure == Figure::NotDetected)
            .map(|_| Note::fine("Not detected: anywhere from nought to the detection limit.")),
    );
    notes.extend(slots.iter().filter_map(|s| s.flag).map(Flag::note));
    let between = taken.between.map(|(l, h)| (scale.of(l), scale.of(h)));
    let written = unit.as_ref().map_or(String::new(), |u| u.written.clone());
    Ok(Reading {
        parameter,
        sentence: sentence(text, &at, parameter, &value, &taken, &row),
        at,
        figure: taken.figure,
        unit: written,
        basis: basis
            .map(|b| b.formula)
            .filter(|f| *f != parameter.formula()),
        value,
        between,
        rounding: scale.step(taken.step) / 12f64.sqrt(),
        at_celsius: row.celsius,
        notes,
    })
}

/// "Chlorine" is free or total, and only a person can say which.
fn parameter(row: &Row, answer: Answer<'_>) -> Result<Parameter, Halt> {
    if row.name.parameter != Parameter::ResidualChlorine {
        return Ok(row.name.parameter);
    }
    match answer("chlorine").as_deref() {
        Some("total") => Ok(Parameter::TotalChlorine),
        Some("free") => Ok(Parameter::FreeChlorine),
        _ => Err(Halt::Ask(
            "chlorine",
            "Is this chlorine free chlorine, or free and combined together (total)?".to_owned(),
            choices(&[
                ("total", "total chlorine, free and combined together"),
                ("free", "free chlorine alone"),
            ]),
        )),
    }
}

/// The basis that stands in the row; `Err(None)` where two are said.
fn basis(
    row: &Row,
    unit: Option<&Unit>,
    answer: Answer<'_>,
) -> Result<Option<Species>, Option<Halt>> {
    let parameter = row.name.parameter;
    let said = match (row.basis, unit.and_then(|u| u.basis)) {
        (Some(a), Some(b)) if !alike(a, b) => return Err(None),
        (a, b) => a.or(b),
    };
    if said.is_some() {
        return Ok(said);
    }
    let by_mass = unit.is_some_and(|u| matches!(u.amount, Amount::Mass(_)));
    if row.name.open && by_mass {
        return match answer("basis").as_deref().and_then(species) {
            Some(basis) => Ok(Some(basis)),
            None => Err(Some(Halt::Ask(
                "basis",
                "Does the figure for ammonia count nitrogen (N), ammonia (NH3) or ammonium (NH4)?"
                    .to_owned(),
                choices(&[("N", "as N"), ("NH3", "as NH3"), ("NH4", "as NH4")]),
            ))),
        };
    }
    // A limit of 10 for nitrate or 1 for nitrite is one of nitrogen.
    let nitrogen = match parameter {
        Parameter::Nitrate => row.limits.iter().any(|l| (9.9..=11.4).contains(l)),
        Parameter::Nitrite => row.limits.iter().any(|l| (0.9..=1.0).contains(l)),
        _ => false,
    };
    if nitrogen && by_mass {
        return match answer("basis").as_deref().and_then(species) {
            Some(basis) => Ok(Some(basis)),
            None => Err(Some(Halt::Ask(
                "basis",
                format!(
                    "The limit beside this {} is the one for nitrogen. Does the figure count nitrogen (N) or the ion ({})?",
                    parameter.name(),
                    parameter.formula()
                ),
                choices(&[("N", "as N"), (parameter.formula(), "as the ion")]),
            ))),
        };
    }
    Ok(None)
}

fn scale(
    parameter: Parameter,
    unit: Option<&Unit>,
    basis: Option<Species>,
    figure: Figure,
    answer: Answer<'_>,
) -> Result<Scale, Option<Halt>> {
    let wordless = matches!(
        figure,
        Figure::NotDetected | Figure::Traces | Figure::Absent | Figure::Present
    );
    let Some(unit) = unit else {
        return if wordless || parameter.kind() == Kind::Ph {
            Ok(ONE)
        } else {
            Err(None)
        };
    };
    if parameter.kind() == Kind::Temperature && unit.amount == Amount::DegreeF {
        return Ok(Scale {
            factor: 5.0 / 9.0,
            shift: 32.0,
        });
    }
    let open = match factor(parameter, unit, basis) {
        Ok(factor) => return Ok(Scale { factor, shift: 0.0 }),
        Err(open) => open,
    };
    let answered = answer(topic(open));
    let settled = match (open, answered.as_deref()) {
        (Open::Basis(_), Some(key)) => factor(parameter, unit, species(key)).ok(),
        (Open::Degrees, Some("dH")) => with_amount(parameter, Amount::German),
        (Open::Degrees, Some("fH")) => with_amount(parameter, Amount::French),
        (Open::Degrees, Some("e")) => with_amount(parameter, Amount::Clark),
        (Open::Degrees, Some("gpg")) => with_amount(parameter, Amount::GrainsUs),
        (Open::CarbonateMoles, Some("earths")) => with_amount(parameter, Amount::Charge(2.0)),
        (Open::CarbonateMoles, Some("acid")) => with_amount(parameter, Amount::Charge(1.0)),
        _ => None,
    };
    match settled {
        Some(factor) => Ok(Scale { factor, shift: 0.0 }),
        None => Err(question(parameter, unit, open)),
    }
}

fn with_amount(parameter: Parameter, amount: Amount) -> Option<f64> {
    let unit = Unit {
        amount,
        basis: None,
        written: String::new(),
    };
    factor(parameter, &unit, None).ok()
}

fn topic(open: Open) -> &'static str {
    match open {
        Open::Degrees => "degrees",
        Open::CarbonateMoles => "moles",
        Open::Basis(_) | Open::Wrong => "basis",
    }
}

/// "14.5 °dH (2.59 mmol/L)": the same figure in a second unit.
fn with_second_unit(slots: &[Slot]) -> (Vec<Slot>, Option<&Slot>) {
    if let [first, second] = slots
        && first.stat == second.stat
        && let (Some(a), Some(b)) = (&first.unit, &second.unit)
        && (a.amount != b.amount || a.basis != b.basis)
    {
        return (vec![first.clone()], Some(second));
    }
    (slots.to_vec(), None)
}

fn agrees(parameter: Parameter, row: &Row, second: &Slot, value: f64) -> Result<(), String> {
    let Some(unit) = &second.unit else {
        return Ok(());
    };
    let Figure::Exactly(x) = second.written.figure else {
        return Err("the second figure is not understood".to_owned());
    };
    let factors: Vec<f64> = match factor(parameter, unit, unit.basis.or(row.basis)) {
        Ok(f) => vec![f],
        // A second figure may leave its basis open: it only has to fit on one.
        Err(Open::Basis(of)) => of
            .iter()
            .filter_map(|b| factor(parameter, unit, species(b)).ok())
            .collect(),
        Err(_) => vec![],
    };
    let fits = factors.iter().any(|f| {
        let allowed = 0.02 * value.abs() + second.written.step * f;
        (x * f - value).abs() <= allowed
    });
    if fits {
        Ok(())
    } else {
        Err("the two figures in two units say different things".to_owned())
    }
}

fn microbes(
    row: &Row,
    at: Range<usize>,
    text: &str,
    taken: &Taken,
    figures: Figures,
    unit: Option<&Unit>,
) -> Reading {
    let found = match taken.figure {
        Figure::Absent | Figure::NotDetected => Microbes::Absent,
        Figure::Present | Figure::Traces => Microbes::Found { per_100_ml: None },
        Figure::Exactly(0.0) => Microbes::Absent,
        // Fewer than one in 100 mL is none found.
        Figure::Below(_) if matches!(figures.spread, Spread::Range { high, .. } if high <= 1.0) => {
            Microbes::Absent
        }
        _ => Microbes::Found {
            per_100_ml: Some(figures.value),
        },
    };
    let value = Value::Microbes(found);
    Reading {
        parameter: row.name.parameter,
        sentence: sentence(text, &at, row.name.parameter, &value, taken, row),
        at,
        figure: taken.figure,
        unit: unit.map_or(String::new(), |u| u.written.clone()),
        basis: None,
        value,
        between: None,
        rounding: 0.0,
        at_celsius: None,
        notes: vec![],
    }
}

fn stretch(row: &Row, slots: &[Slot]) -> Range<usize> {
    let mut at = row.at.clone();
    for slot in slots {
        at.start = at.start.min(slot.written.at.start);
        at.end = at.end.max(slot.written.at.end);
    }
    at
}

fn figure_text(figure: Figure) -> String {
    match &ends_of(figure)[..] {
        [x] => rounded(*x),
        [a, b] => format!("{} to {}", rounded(*a), rounded(*b)),
        _ => "the figure".to_owned(),
    }
}

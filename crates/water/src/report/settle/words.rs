//! What is told about a reading: questions, remarks, and the sentence that says
//! how it was read.

use std::ops::Range;

use quantity::{Note, rounded};

use super::super::inline::{Row, shortened};
use super::super::number::Figure;
use super::super::parameter::{Kind, Parameter, Value};
use super::super::unit::{Amount, Open, Species, Unit, bases, factor, species};
use super::super::{Choice, Trouble};
use super::{Halt, Taken, topic};

pub(super) fn question(parameter: Parameter, unit: &Unit, open: Open) -> Option<Halt> {
    let (text, choices) = match open {
        Open::Basis(of) => (
            format!("{} of {}: as what?", unit.written, parameter.name()),
            of.iter()
                .map(|f| Choice {
                    key: (*f).to_owned(),
                    label: format!("as {f}"),
                })
                .collect(),
        ),
        Open::Degrees => (
            format!(
                "\"{}\" of {}: which degrees?",
                unit.written,
                parameter.name()
            ),
            choices(&[
                ("dH", "German degrees, °dH"),
                ("fH", "French degrees, °fH"),
                ("e", "English (Clark) degrees, grains in an imperial gallon"),
                ("gpg", "grains in a US gallon"),
            ]),
        ),
        Open::CarbonateMoles => (
            format!("{} of carbonate hardness: of what?", unit.written),
            choices(&[
                ("acid", "mmol of acid taken up: one mEq each"),
                ("earths", "mmol of calcium and magnesium: two mEq each"),
            ]),
        ),
        Open::Wrong => return None,
    };
    Some(Halt::Ask(topic(open), text, choices))
}

pub(super) fn no_scale(parameter: Parameter, unit: Option<&Unit>, at: &Range<usize>) -> Halt {
    let example = example(parameter);
    Halt::Trouble(match unit {
        None => Trouble {
            at: at.clone(),
            reason: format!("{} has no unit", parameter.name()),
            would_work: format!(
                "write the unit beside the figure, or a heading such as \"all values in mg/L\"; for example {example}"
            ),
        },
        Some(unit) => Trouble {
            at: at.clone(),
            reason: format!("\"{}\" is no unit of {}", unit.written, parameter.name()),
            would_work: format!("write it as {example}"),
        },
    })
}

fn example(parameter: Parameter) -> String {
    let name = parameter.name();
    match parameter.kind() {
        Kind::Dissolved { .. } | Kind::Chlorine | Kind::Solids => format!("{name} 42 mg/L"),
        Kind::Alkalinity => format!("{name} 120 mg/L as CaCO3"),
        Kind::Hardness => format!("{name} 14 °dH"),
        Kind::Ph => "pH 7.6".to_owned(),
        Kind::Temperature => format!("{name} 11 °C"),
        Kind::Conductivity => format!("{name} 450 µS/cm"),
        Kind::Turbidity => format!("{name} 0.2 NTU"),
        Kind::Microbes => format!("{name} 0 /100 mL"),
    }
}

pub(super) fn notes(
    row: &Row,
    unit: Option<&Unit>,
    basis: Option<Species>,
    taken: &Taken,
) -> Vec<Note> {
    let parameter = row.name.parameter;
    let mut notes = vec![];
    let by_mass = unit.is_some_and(|u| matches!(u.amount, Amount::Mass(_)));
    let confirmed = match parameter {
        Parameter::Nitrate => row.limits.iter().any(|l| (44.0..=50.0).contains(l)),
        Parameter::Nitrite => row
            .limits
            .iter()
            .any(|l| [0.1, 0.5, 3.0].iter().any(|x| (x - l).abs() < 1e-9)),
        _ => false,
    };
    let nitrogen = matches!(
        parameter,
        Parameter::Nitrate | Parameter::Nitrite | Parameter::Ammonium
    );
    if nitrogen && by_mass && basis.is_none() && !confirmed {
        let n = bases(parameter).first().and_then(|b| species(b));
        let times = unit
            .and_then(|u| factor(parameter, u, n).ok())
            .zip(unit.and_then(|u| factor(parameter, u, None).ok()));
        let times = times.map_or(1.0, |(a, b)| a / b);
        notes.push(Note::look(format!(
            "Taken as {} itself, which is what a plain figure means in European and WHO reports; if the report counts nitrogen (as N), it is {} times as much.",
            parameter.formula(),
            rounded(times)
        )));
    }
    if parameter == Parameter::CombinedChlorine && by_mass && basis.is_none() {
        notes.push(Note::fine(
            "Taken as Cl2, the way in which combined chlorine is tested.",
        ));
    }
    match taken.figure {
        Figure::NotDetected if row.detection.is_none() => notes.push(Note::fine("Not detected, and no detection limit is given: taken as nought.")),
        Figure::Traces => notes.push(Note::fine("Traces, without a figure: taken as nought.")),
        Figure::PlusMinus(..) => notes.push(Note::fine("The ± is taken as one standard deviation; many laboratories print two (k = 2), and then it is half as wide.")),
        _ => {}
    }
    notes
}

pub(super) fn sentence(
    text: &str,
    at: &Range<usize>,
    parameter: Parameter,
    value: &Value,
    taken: &Taken,
    row: &Row,
) -> String {
    let written = text.get(at.clone()).unwrap_or_default();
    let written: Vec<&str> = written.split_whitespace().collect();
    let mut said = format!(
        "{}: read as {} {}",
        shortened(&written.join(" ")),
        parameter.name(),
        full(value)
    );
    if taken.mean && taken.between.is_some() {
        said.push_str(", mean and spread of several samples");
    }
    if !row.unit_from.is_empty() {
        said.push_str(", the unit from ");
        said.push_str(row.unit_from);
    }
    said
}

/// Alkalinity and hardness with their charge too, which is what the tool
/// reckons in.
fn full(value: &Value) -> String {
    match value {
        Value::Hardness(h) => format!("{} ({} mEq/L)", value.text(), rounded(h.value.meq_per_l())),
        Value::Alkalinity(a) => {
            format!("{} ({} mEq/L)", value.text(), rounded(a.value.meq_per_l()))
        }
        _ => value.text(),
    }
}

pub(super) fn choices(of: &[(&str, &str)]) -> Vec<Choice> {
    of.iter()
        .map(|(key, label)| Choice {
            key: (*key).to_owned(),
            label: (*label).to_owned(),
        })
        .collect()
}

//! A row of figures becomes one reading: the spread from several figures, the
//! basis settled, the sentence that says how.

use std::ops::Range;

use quantity::{Note, Spread, rounded};

use super::inline::{Row, Slot, alike};
use super::number::Figure;
use super::parameter::{Figures, Kind, Microbes, Parameter, Value};
use super::unit::{Amount, Open, Species, Unit, bases, factor, species};
use super::words::Stat;
use super::{Choice, Reading, Trouble};

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

/// From the written figure to the canonical unit.
#[derive(Clone, Copy)]
struct Scale {
    factor: f64,
    shift: f64,
}

impl Scale {
    fn of(self, x: f64) -> f64 {
        (x - self.shift) * self.factor
    }

    fn step(self, x: f64) -> f64 {
        x * self.factor
    }
}

const ONE: Scale = Scale {
    factor: 1.0,
    shift: 0.0,
};

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

fn question(parameter: Parameter, unit: &Unit, open: Open) -> Option<Halt> {
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

fn no_scale(parameter: Parameter, unit: Option<&Unit>, at: &Range<usize>) -> Halt {
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

/// What the figures of one analysis come to, in the unit written.
struct Taken {
    figure: Figure,
    between: Option<(f64, f64)>,
    step: f64,
    mean: bool,
}

impl Taken {
    fn canonical(&self, scale: Scale, detection: Option<f64>) -> Figures {
        let range = |low: f64, high: f64| Figures {
            value: f64::midpoint(scale.of(low), scale.of(high)),
            spread: Spread::Range {
                low: scale.of(low),
                high: scale.of(high),
            },
        };
        let exact = |x: f64| Figures {
            value: scale.of(x),
            spread: Spread::Unstated,
        };
        match (self.figure, self.between) {
            (Figure::Exactly(x), Some((low, high))) if high > low => Figures {
                value: scale.of(x),
                // As wide as samples anywhere between the two ends would be.
                spread: Spread::Sd(scale.step(high - low) / 12f64.sqrt()),
            },
            (Figure::Exactly(x) | Figure::Above(x), _) => exact(x),
            (Figure::Below(x), _) => range(0.0, x),
            (Figure::Between(low, high), _) => range(low, high),
            (Figure::PlusMinus(x, half), _) => Figures {
                value: scale.of(x),
                spread: Spread::Sd(scale.step(half)),
            },
            (Figure::NotDetected, Some((low, high))) => range(low, high),
            (Figure::NotDetected, _) if detection.is_some() => range(0.0, detection.unwrap_or(0.0)),
            (Figure::NotDetected | Figure::Traces | Figure::Absent, _) => Figures {
                value: 0.0,
                spread: Spread::Unstated,
            },
            (Figure::Present, _) => exact(f64::NAN),
        }
    }
}

type Refused = (String, &'static str);

fn combine(parameter: Parameter, slots: &[Slot]) -> Result<Taken, Refused> {
    let of = |want: &[Option<Stat>]| -> Vec<&Slot> {
        slots.iter().filter(|s| want.contains(&s.stat)).collect()
    };
    let central = match &of(&[Some(Stat::Mean)])[..] {
        [] => of(&[None, Some(Stat::Median)]),
        means => means.to_vec(),
    };
    let ends = (
        one(&of(&[Some(Stat::Minimum)])),
        one(&of(&[Some(Stat::Maximum)])),
    );
    let range = one(&of(&[Some(Stat::Range)]));
    let step = slots.iter().map(|s| s.written.step).fold(0.0, f64::max);
    let heading =
        "write a heading over the columns, such as Parameter; Unit; Min; Mean; Max; Limit";
    let spread = match (ends, range) {
        ((Some(low), Some(high)), _) => match (low_end(low), high_end(high)) {
            (Some(low), Some(high)) => Some((low, high)),
            _ => {
                return Err((
                    "its least and greatest are not understood".to_owned(),
                    "write them as numbers",
                ));
            }
        },
        (_, Some(Figure::Between(low, high))) => Some((low, high)),
        (_, Some(Figure::Below(x))) => Some((0.0, x)),
        _ => None,
    };
    let mean = central.iter().any(|s| s.stat == Some(Stat::Mean));
    let taken = |figure, between| Taken {
        figure,
        between,
        step,
        mean,
    };
    let found = match (&central[..], spread) {
        ([one], spread) => taken(one.written.figure, spread),
        ([first, second], None) if second.bracketed => {
            match (first.written.figure, second.written.figure) {
                (Figure::Exactly(x), Figure::Between(low, high)) => {
                    taken(Figure::Exactly(x), Some((low, high)))
                }
                _ => return Err(("two figures stand here".to_owned(), heading)),
            }
        }
        ([], Some((low, high))) => taken(Figure::Between(low, high), None),
        ([], None) if slots.is_empty() => {
            return Err((
                format!("{} has no figure", parameter.name()),
                "write the figure and its unit",
            ));
        }
        ([], None) => {
            return Err((
                "only one end of its range is given".to_owned(),
                "give the mean, or the least and the greatest",
            ));
        }
        (many, _) => {
            return Err((
                format!(
                    "{} figures stand here and nothing says which is which",
                    many.len()
                ),
                heading,
            ));
        }
    };
    sane(parameter, &found)?;
    Ok(found)
}

/// Figures that nobody would take as they stand.
fn sane(parameter: Parameter, taken: &Taken) -> Result<(), Refused> {
    let again = "look at the figure again";
    match (taken.figure, taken.between) {
        (Figure::Above(_), _) if parameter.kind() != Kind::Microbes => Err((
            "only a lower end is given".to_owned(),
            "ask for a figure, or write a range such as 12-18 mg/L",
        )),
        (Figure::Between(low, high), _) if low > high => Err((
            "the range runs downwards".to_owned(),
            "write the lower end first, as in 12-18 mg/L",
        )),
        (Figure::Exactly(x), Some((low, high))) if x < low || x > high => Err((
            format!(
                "the mean {} lies outside its range {} to {}",
                rounded(x),
                rounded(low),
                rounded(high)
            ),
            again,
        )),
        (Figure::PlusMinus(_, half), _) if half < 0.0 => {
            Err(("its spread is negative".to_owned(), again))
        }
        (Figure::Absent | Figure::Present, _) if parameter.kind() != Kind::Microbes => Err((
            format!("{} needs a figure", parameter.name()),
            "write the figure and its unit",
        )),
        (f, _) if ends_of(f).iter().any(|x| *x < 0.0) && parameter.kind() != Kind::Temperature => {
            Err((format!("{} cannot be negative", parameter.name()), again))
        }
        _ => Ok(()),
    }
}

fn ends_of(figure: Figure) -> Vec<f64> {
    match figure {
        Figure::Exactly(x) | Figure::Below(x) | Figure::Above(x) | Figure::PlusMinus(x, _) => {
            vec![x]
        }
        Figure::Between(a, b) => vec![a, b],
        _ => vec![],
    }
}

fn one(slots: &[&Slot]) -> Option<Figure> {
    match slots {
        [slot] => Some(slot.written.figure),
        _ => None,
    }
}

fn low_end(figure: Figure) -> Option<f64> {
    match figure {
        Figure::Exactly(x) => Some(x),
        Figure::Below(_) | Figure::NotDetected | Figure::Traces => Some(0.0),
        _ => None,
    }
}

fn high_end(figure: Figure) -> Option<f64> {
    match figure {
        Figure::Exactly(x) | Figure::Below(x) => Some(x),
        Figure::NotDetected => Some(0.0),
        _ => None,
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
    let other = match (
        second.written.figure,
        factor(parameter, unit, unit.basis.or(row.basis)),
    ) {
        (Figure::Exactly(x), Ok(f)) => (x * f, second.written.step * f),
        _ => return Err("the second figure is not understood".to_owned()),
    };
    let allowed = 0.02 * value.abs() + other.1;
    if (other.0 - value).abs() <= allowed {
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

fn notes(row: &Row, unit: Option<&Unit>, basis: Option<Species>, taken: &Taken) -> Vec<Note> {
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

fn sentence(
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
        super::inline::shortened(&written.join(" ")),
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

fn choices(of: &[(&str, &str)]) -> Vec<Choice> {
    of.iter()
        .map(|(key, label)| Choice {
            key: (*key).to_owned(),
            label: (*label).to_owned(),
        })
        .collect()
}

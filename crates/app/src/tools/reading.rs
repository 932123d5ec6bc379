//! Reading the fields of a tool: everything that is wrong is found in one pass.

use batch::Fault;
use quantity::{
    Gravity, Measured, Problem, Quantity, QuantityError, Spread, Units, parse_measured, parse_value,
};
use quantity::{show, show_interval, show_measured};

use super::{Empty, Field, Line, Typed};

/// The fields of a tool as they were typed, and what is wrong with them.
pub(super) struct Readings<'t> {
    fields: &'static [Field],
    typed: &'t Typed,
    faults: Vec<Fault>,
    pub(super) units: Units,
}

impl<'t> Readings<'t> {
    pub(super) fn new(fields: &'static [Field], typed: &'t Typed, units: Units) -> Self {
        let mut faults = Vec::new();
        for name in typed.keys() {
            if !fields.iter().any(|f| f.name == name) {
                let known: Vec<&str> = fields.iter().map(|f| f.name).collect();
                faults.push(Fault {
                    span: 0..0,
                    path: name.clone(),
                    message: format!("there is no reading {name:?} here"),
                    help: format!("known: {}", known.join(", ")),
                });
            }
        }
        Self {
            fields,
            typed,
            faults,
            units,
        }
    }

    pub(super) fn faults(self) -> Vec<Fault> {
        self.faults
    }

    /// A reading that may carry a spread.
    pub(super) fn measured<Q: Quantity>(&mut self, name: &'static str) -> Option<Measured<Q>> {
        self.read(name, parse_measured)
    }

    /// A value that carries none.
    pub(super) fn value<Q: Quantity>(&mut self, name: &'static str) -> Option<Q> {
        self.read(name, parse_value)
    }

    /// A reading that is one of two things, told apart by its unit.
    pub(super) fn either<A: Quantity, B: Quantity>(
        &mut self,
        name: &'static str,
    ) -> Option<Result<Measured<A>, Measured<B>>> {
        self.read(name, |text| match parse_measured::<A>(text) {
            Ok(a) => Ok(Ok(a)),
            Err(of_a) => match parse_measured::<B>(text) {
                Ok(b) => Ok(Err(b)),
                // Whichever knows the unit knows what is wrong.
                Err(of_b) if knows_unit(&of_b) && !knows_unit(&of_a) => Err(of_b),
                Err(_) => Err(of_a),
            },
        })
    }

    /// One of the words of the field.
    pub(super) fn word(&mut self, name: &'static str) -> Option<&'static str> {
        let field = self.fields.iter().find(|f| f.name == name)?;
        let words: Vec<&'static str> = field.choices?().iter().map(|c| c.word).collect();
        let typed = self.typed.get(name).map_or("", |text| text.trim());
        let wanted = match field.empty {
            Empty::Usual(usual) if typed.is_empty() => usual,
            _ => typed,
        };
        let found = words.iter().copied().find(|word| *word == wanted);
        if found.is_none() {
            self.faults.push(Fault {
                span: 0..self.typed.get(name).map_or(0, String::len),
                path: name.to_owned(),
                message: format!("{wanted:?} is none of the choices"),
                help: format!("known: {}", words.join(", ")),
            });
        }
        found
    }

    /// What one of the words of the field stands for.
    pub(super) fn pick<T: Copy>(
        &mut self,
        name: &'static str,
        words: &[(&'static str, T)],
    ) -> Option<T> {
        let word = self.word(name)?;
        let found = words.iter().find(|(known, _)| *known == word);
        found.map(|(_, what)| *what)
    }

    /// True where the field was left empty.
    pub(super) fn is_empty(&self, name: &str) -> bool {
        self.typed
            .get(name)
            .is_none_or(|text| text.trim().is_empty())
    }

    /// What a model refuses, at the field that it concerns.
    pub(super) fn refuse(&mut self, error: &impl std::fmt::Display, name: &'static str) {
        let text = error.to_string();
        let (message, help) = text.split_once("; ").unwrap_or((&text, ""));
        self.faults.push(Fault {
            span: 0..self.typed.get(name).map_or(0, String::len),
            path: name.to_owned(),
            message: message.to_owned(),
            help: help.to_owned(),
        });
    }

    /// An answer, or what the model refuses at the field that it concerns.
    pub(super) fn told<T, E: std::fmt::Display>(
        &mut self,
        answer: Result<T, E>,
        place: impl FnOnce(&E) -> &'static str,
    ) -> Option<T> {
        answer.map_err(|e| self.refuse(&e, place(&e))).ok()
    }

    fn read<T>(
        &mut self,
        name: &'static str,
        parse: impl Fn(&str) -> Result<T, QuantityError>,
    ) -> Option<T> {
        let typed = self.typed.get(name).map_or("", |text| text.trim());
        let field = self.fields.iter().find(|f| f.name == name);
        let text = match (typed.is_empty(), field.map(|f| f.empty)) {
            (true, Some(Empty::Usual(usual))) => usual,
            _ => typed,
        };
        match parse(text) {
            Ok(value) => Some(value),
            Err(error) => {
                let lead = self
                    .typed
                    .get(name)
                    .map_or(0, |t| t.len() - t.trim_start().len());
                self.faults.push(Fault {
                    span: error.at.start + lead..error.at.end + lead,
                    path: name.to_owned(),
                    message: error.fault(),
                    help: match (&error.problem, field) {
                        (Problem::Empty | Problem::MissingUnit, Some(f)) => {
                            format!("write it as in {}", f.example)
                        }
                        _ => error.help(),
                    },
                });
                None
            }
        }
    }
}

fn knows_unit(error: &QuantityError) -> bool {
    !matches!(
        error.problem,
        Problem::UnknownUnit { .. } | Problem::MissingUnit | Problem::Ambiguous { .. }
    )
}

/// A figure with its spread.
pub(super) fn line<Q: Quantity>(
    key: &'static str,
    label: &'static str,
    value: &Measured<Q>,
    units: Units,
) -> Line {
    let unit = &Q::UNITS[0];
    // Less than a millionth is the rounding of the sums, not a spread.
    let sd = value.sd();
    let spread = sd > 1e-6 * value.canonical().abs();
    // The canonical number of a share is a part of one, its first unit per cent.
    let in_unit = unit.from_canonical;
    Line {
        key,
        label,
        text: if spread {
            show_measured(value, units)
        } else {
            show(value.value, units)
        },
        value: in_unit(value.canonical()),
        sd: spread.then(|| in_unit(value.canonical() + sd) - in_unit(value.canonical())),
        unit: unit.symbol,
        main: false,
        remark: None,
        colour: None,
    }
}

/// A figure without a spread.
pub(super) fn exact<Q: Quantity>(
    key: &'static str,
    label: &'static str,
    value: Q,
    units: Units,
) -> Line {
    line(key, label, &Measured::exactly(value), units)
}

/// A figure that is a range.
pub(super) fn between<Q: Quantity>(
    key: &'static str,
    label: &'static str,
    value: &Measured<Q>,
    units: Units,
) -> Line {
    let mut line = line(key, label, value, units);
    if let Spread::Range { low, high } = value.spread {
        line.text = show_interval(Q::from_canonical(low), Q::from_canonical(high), units);
    }
    line
}

/// A gravity on both scales, the number in °P.
pub(super) fn gravity_line(
    key: &'static str,
    label: &'static str,
    value: &Measured<Gravity>,
    units: Units,
) -> Line {
    let mut line = line(key, label, value, units);
    line.text = format!("{} ({:.1} °P)", line.text, value.value.plato());
    line
}

impl Line {
    /// The same as what was asked for.
    pub(super) fn main(mut self) -> Self {
        self.main = true;
        self
    }

    /// The same with how it came about.
    pub(super) fn remark(mut self, remark: &'static str) -> Self {
        self.remark = Some(remark);
        self
    }
}

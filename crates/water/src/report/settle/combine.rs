//! Several figures of one parameter become one: mean and spread, a range, a limit
//! of detection.

use quantity::{Spread, rounded};

use super::super::inline::Slot;
use super::super::number::Figure;
use super::super::parameter::{Figures, Kind, Parameter};
use super::super::words::Stat;

/// From the written figure to the canonical unit.
#[derive(Clone, Copy)]
pub(super) struct Scale {
    pub factor: f64,
    pub shift: f64,
}

impl Scale {
    pub(super) fn of(self, x: f64) -> f64 {
        (x - self.shift) * self.factor
    }

    pub(super) fn step(self, x: f64) -> f64 {
        x * self.factor
    }
}

pub(super) const ONE: Scale = Scale {
    factor: 1.0,
    shift: 0.0,
};

/// What the figures of one analysis come to, in the unit written.
pub(super) struct Taken {
    pub figure: Figure,
    pub between: Option<(f64, f64)>,
    pub step: f64,
    pub mean: bool,
}

impl Taken {
    pub(super) fn canonical(&self, scale: Scale, detection: Option<f64>) -> Figures {
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

pub(super) fn combine(parameter: Parameter, slots: &[Slot]) -> Result<Taken, Refused> {
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

pub(super) fn ends_of(figure: Figure) -> Vec<f64> {
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

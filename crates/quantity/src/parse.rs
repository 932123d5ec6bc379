//! Reading what brewers write: "20 L", "1.8 ± 0.3 mg/L", "12-18 mg/L",
//! "4 lb 6 oz", "<0.05 mg/L", "1.052".

use std::ops::Range;

use crate::error::{Problem, QuantityError};
use crate::measured::{Measured, Spread};
use crate::show::in_unit;
use crate::unit::{Quantity, Unit, find_ambiguous, find_unit, nearest_unit};

/// Reads a quantity with its spread.
///
/// # Errors
/// [`QuantityError`], which names the place and what would be accepted.
pub fn parse_measured<Q: Quantity>(input: &str) -> Result<Measured<Q>, QuantityError> {
    Reader::<Q>::new(input).measured()
}

/// Reads a quantity that carries no spread.
///
/// # Errors
/// As [`parse_measured`]; a spread or a range is an error here.
pub fn parse_value<Q: Quantity>(input: &str) -> Result<Q, QuantityError> {
    let mut reader = Reader::<Q>::new(input);
    let measured = reader.measured()?;
    match measured.spread {
        Spread::Unstated => Ok(measured.value),
        _ => Err(reader.fail(0..input.len(), Problem::Trailing)),
    }
}

struct Reader<'a, Q> {
    input: &'a str,
    pos: usize,
    kind: std::marker::PhantomData<Q>,
}

/// A number and the unit written behind it, if any.
struct Term {
    number: f64,
    number_at: Range<usize>,
    unit: Option<&'static Unit>,
    unit_at: Range<usize>,
    percent: bool,
}

impl Term {
    fn whole(&self) -> Range<usize> {
        self.number_at.start..self.number_at.end.max(self.unit_at.end)
    }
}

impl<'a, Q: Quantity> Reader<'a, Q> {
    fn new(input: &'a str) -> Self {
        Self {
            input,
            pos: 0,
            kind: std::marker::PhantomData,
        }
    }

    fn measured(&mut self) -> Result<Measured<Q>, QuantityError> {
        self.skip_space();
        if self.rest().is_empty() {
            return Err(self.fail(0..self.input.len(), Problem::Empty));
        }
        if self.eat(&["<=", "≤", "<"]) {
            return self.censored();
        }
        self.eat(&["~", "≈", "pH "]);
        let first = self.term()?;
        self.skip_space();
        if self.eat(&["±", "+-", "+/-", "-+"]) {
            return self.with_sd(&first);
        }
        if self.eat(&["..", "–", "—", "-", "to "]) {
            return self.range(&first);
        }
        if Q::ADDITIVE && !self.rest().is_empty() && first.unit.is_some() {
            return self.compound(&first);
        }
        self.end()?;
        let value = self.canonical(&first, first.unit)?;
        Ok(Measured::exactly(value))
    }

    /// "<0.05 mg/L": anywhere from the least possible to the limit.
    fn censored(&mut self) -> Result<Measured<Q>, QuantityError> {
        let limit = self.term()?;
        self.end()?;
        let high = self.canonical(&limit, limit.unit)?.canonical();
        let low = Q::MIN.max(0.0).min(high);
        Ok(Measured {
            value: Q::from_canonical(f64::midpoint(low, high)),
            spread: Spread::Range { low, high },
        })
    }

    fn with_sd(&mut self, first: &Term) -> Result<Measured<Q>, QuantityError> {
        let second = self.term()?;
        self.end()?;
        let shared = first.unit.or(second.unit);
        let value = self.canonical(first, shared)?;
        if second.number < 0.0 {
            return Err(self.fail(second.number_at, Problem::BadSpread));
        }
        let own_percent = first.unit.is_some_and(|u| u.symbol == "%");
        let sd = if second.percent && first.unit.is_some() && !own_percent {
            value.canonical().abs() * second.number / 100.0
        } else {
            let unit = self.unit_of(&second, second.unit.or(shared))?;
            let half = second.number;
            ((unit.to_canonical)(first.number + half) - (unit.to_canonical)(first.number - half))
                .abs()
                / 2.0
        };
        if !sd.is_finite() {
            return Err(self.fail(second.number_at, Problem::BadSpread));
        }
        Ok(Measured::with_sd(value, sd))
    }

    fn range(&mut self, first: &Term) -> Result<Measured<Q>, QuantityError> {
        let second = self.term()?;
        self.end()?;
        let unit = second.unit.or(first.unit);
        let low = self.canonical(first, first.unit.or(unit))?.canonical();
        let high = self.canonical(&second, unit)?.canonical();
        if low > high {
            let at = first.number_at.start..second.whole().end;
            return Err(self.fail(at, Problem::RangeReversed));
        }
        Ok(Measured {
            value: Q::from_canonical(f64::midpoint(low, high)),
            spread: Spread::Range { low, high },
        })
    }

    /// "4 lb 6 oz", "1 h 30 min": amounts in falling units.
    fn compound(&mut self, first: &Term) -> Result<Measured<Q>, QuantityError> {
        let mut total = self.canonical(first, first.unit)?.canonical();
        let mut last = self.unit_of(first, first.unit)?;
        while !self.rest().trim_start().is_empty() {
            let next = self.term()?;
            let unit = self.unit_of(&next, next.unit)?;
            if next.number < 0.0 || (unit.to_canonical)(1.0) >= (last.to_canonical)(1.0) {
                return Err(self.fail(next.whole(), Problem::Trailing));
            }
            total += (unit.to_canonical)(next.number);
            last = unit;
            self.skip_space();
        }
        let value = Q::from_canonical(total);
        if value.within_bounds() {
            Ok(Measured::exactly(value))
        } else {
            Err(self.out_of_bounds(0..self.input.len(), last))
        }
    }

    fn term(&mut self) -> Result<Term, QuantityError> {
        let (number, number_at) = self.number()?;
        self.skip_space();
        let start = self.pos;
        let text = unit_text(self.rest());
        self.pos += text.len();
        let trimmed = text.trim_end();
        let unit_at = start..start + trimmed.len();
        let unit = if trimmed.is_empty() {
            None
        } else {
            find_unit::<Q>(trimmed)
        };
        let percent = trimmed == "%";
        if unit.is_none() && !trimmed.is_empty() && !percent {
            return Err(self.unknown_unit(trimmed, unit_at));
        }
        Ok(Term {
            number,
            number_at,
            unit,
            unit_at,
            percent,
        })
    }

    fn number(&mut self) -> Result<(f64, Range<usize>), QuantityError> {
        self.skip_space();
        let start = self.pos;
        let len = number_len(self.rest());
        let at = start..start + len;
        if len == 0 {
            let word = self.rest().split_whitespace().next().map_or(0, str::len);
            return Err(self.fail(start..start + word, Problem::NotANumber));
        }
        let text = &self.input[at.clone()];
        self.pos += len;
        if let Some(after) = self.rest().strip_prefix(',')
            && after.starts_with(|c: char| c.is_ascii_digit())
        {
            let digits = after.chars().take_while(char::is_ascii_digit).count();
            let hint = format!("{text}.{}", &after[..digits]);
            return Err(self.fail(start..self.pos + 1 + digits, Problem::DecimalComma { hint }));
        }
        let plain = text.replace('\u{2212}', "-");
        match plain.parse::<f64>() {
            Ok(x) if x.is_finite() => Ok((x, at)),
            _ => Err(self.fail(at, Problem::NotANumber)),
        }
    }

    fn unit_of(
        &self,
        term: &Term,
        unit: Option<&'static Unit>,
    ) -> Result<&'static Unit, QuantityError> {
        if let Some(unit) = unit {
            return Ok(unit);
        }
        if term.percent {
            return Err(self.unknown_unit("%", term.unit_at.clone()));
        }
        find_unit::<Q>("").ok_or_else(|| {
            let end = term.number_at.end;
            self.fail(end..end, Problem::MissingUnit)
        })
    }

    fn canonical(&self, term: &Term, unit: Option<&'static Unit>) -> Result<Q, QuantityError> {
        let unit = self.unit_of(term, unit)?;
        let value = Q::from_canonical((unit.to_canonical)(term.number));
        if value.within_bounds() {
            Ok(value)
        } else {
            Err(self.out_of_bounds(term.whole(), unit))
        }
    }

    fn out_of_bounds(&self, at: Range<usize>, unit: &Unit) -> QuantityError {
        self.fail(
            at,
            Problem::OutOfBounds {
                min: in_unit(Q::MIN, unit),
                max: in_unit(Q::MAX, unit),
            },
        )
    }

    fn unknown_unit(&self, text: &str, at: Range<usize>) -> QuantityError {
        let problem = match find_ambiguous::<Q>(text) {
            Some(hint) => Problem::Ambiguous { hint },
            None => Problem::UnknownUnit {
                nearest: nearest_unit::<Q>(text),
            },
        };
        self.fail(at, problem)
    }

    fn end(&mut self) -> Result<(), QuantityError> {
        self.skip_space();
        if self.rest().is_empty() {
            Ok(())
        } else {
            Err(self.fail(self.pos..self.input.len(), Problem::Trailing))
        }
    }

    fn fail(&self, at: Range<usize>, problem: Problem) -> QuantityError {
        QuantityError {
            quantity: Q::NAME,
            input: self.input.to_owned(),
            at,
            problem,
            accepted: Q::UNITS.iter().map(|u| u.symbol).collect(),
        }
    }

    fn rest(&self) -> &'a str {
        &self.input[self.pos..]
    }

    fn skip_space(&mut self) {
        let rest = self.rest();
        self.pos += rest.len() - rest.trim_start().len();
    }

    fn eat(&mut self, any: &[&str]) -> bool {
        for token in any {
            if self.rest().starts_with(token) {
                self.pos += token.len();
                return true;
            }
        }
        false
    }
}

/// Length in bytes of the number at the start of `text`, zero if there is none.
fn number_len(text: &str) -> usize {
    let mut len = 0;
    let mut chars = text.char_indices().peekable();
    if let Some(&(_, c)) = chars.peek()
        && matches!(c, '+' | '-' | '\u{2212}')
    {
        chars.next();
        len = c.len_utf8();
    }
    let mut digits = 0;
    let mut point = false;
    while let Some(&(i, c)) = chars.peek() {
        let decimal_point = c == '.' && !point && !text[i..].starts_with("..");
        if c.is_ascii_digit() {
            digits += 1;
        } else if decimal_point {
            point = true;
        } else {
            break;
        }
        len = i + 1;
        chars.next();
    }
    if digits == 0 {
        return 0;
    }
    len + exponent_len(&text[len..])
}

/// "e9", "E-3": only where digits follow, so that "14 °e" keeps its unit.
fn exponent_len(text: &str) -> usize {
    let mut chars = text.chars();
    if !matches!(chars.next(), Some('e' | 'E')) {
        return 0;
    }
    let rest = &text[1..];
    let sign = usize::from(rest.starts_with(['+', '-']));
    let digits = rest[sign..]
        .chars()
        .take_while(char::is_ascii_digit)
        .count();
    if digits == 0 { 0 } else { 1 + sign + digits }
}

/// The stretch that can be a unit: up to a spread sign, a range sign that a
/// number follows, or the next number of a compound.
fn unit_text(text: &str) -> &str {
    let mut prev: Option<char> = None;
    for (i, c) in text.char_indices() {
        let rest = &text[i..];
        let after = rest[c.len_utf8()..].trim_start();
        let number_next = after.starts_with(|d: char| d.is_ascii_digit() || d == '.');
        let spread = c == '±' || rest.starts_with("+-") || rest.starts_with("+/-");
        let dash = matches!(c, '-' | '–' | '—') && number_next;
        let dots = rest.starts_with("..");
        let new_number = c.is_ascii_digit() && prev.is_none_or(char::is_whitespace);
        let to = rest.starts_with("to ") && prev.is_none_or(char::is_whitespace);
        if spread || dash || dots || to || new_number {
            return &text[..i];
        }
        prev = Some(c);
    }
    text
}

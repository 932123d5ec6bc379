//! Molar masses from chemical formulas, so that a table need not repeat them.

use std::iter::Peekable;
use std::str::Chars;

use quantity::molar_mass as m;

use crate::lookup::known;

/// Molar mass \[g/mol\] of a formula such as "Ca(OH)2" or "CaSO4·2H2O"; none
/// where it is not understood.
pub(crate) fn molar_mass(formula: &str) -> Option<f64> {
    formula.split('·').map(part).sum()
}

/// Molar mass \[g/mol\] of the formula in a row of a built-in file.
pub(crate) fn of_row(file: &str, row: &str, formula: &str) -> f64 {
    known(file, row, "formula", molar_mass(formula))
}

/// "2H2O": a number of units, then the unit.
fn part(text: &str) -> Option<f64> {
    let mut chars = text.chars().peekable();
    let units = count(&mut chars);
    let mass = groups(&mut chars)?;
    chars.next().is_none().then_some(units * mass)
}

/// Elements and bracketed groups up to a closing bracket or the end.
fn groups(chars: &mut Peekable<Chars<'_>>) -> Option<f64> {
    let mut sum = 0.0;
    while let Some(&c) = chars.peek() {
        let mass = match c {
            ')' => break,
            '(' => bracket(chars)?,
            _ => element(chars)?,
        };
        sum += mass * count(chars);
    }
    (sum > 0.0).then_some(sum)
}

fn bracket(chars: &mut Peekable<Chars<'_>>) -> Option<f64> {
    chars.next();
    let mass = groups(chars)?;
    (chars.next() == Some(')')).then_some(mass)
}

fn element(chars: &mut Peekable<Chars<'_>>) -> Option<f64> {
    let mut symbol = String::from(chars.next()?);
    while let Some(c) = chars.next_if(char::is_ascii_lowercase) {
        symbol.push(c);
    }
    Some(match symbol.as_str() {
        "H" => m::H,
        "C" => m::C,
        "N" => m::N,
        "O" => m::O,
        "Na" => m::NA,
        "Mg" => m::MG,
        "P" => m::P,
        "S" => m::S,
        "Cl" => m::CL,
        "K" => m::K,
        "Ca" => m::CA,
        _ => return None,
    })
}

/// A number, or one where none is written.
fn count(chars: &mut Peekable<Chars<'_>>) -> f64 {
    let mut digits = String::new();
    while let Some(c) = chars.next_if(char::is_ascii_digit) {
        digits.push(c);
    }
    digits.parse().unwrap_or(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Molar masses computed with periodictable 2.1.0.
    #[test]
    fn molar_masses_agree_with_periodictable() {
        for (formula, printed) in [
            ("CaSO4·2H2O", 172.16),
            ("CaCl2·2H2O", 147.01),
            ("CaCl2·6H2O", 219.07),
            ("MgSO4·7H2O", 246.47),
            ("MgCl2·6H2O", 203.30),
            ("Na2CO3", 105.99),
            ("Ca(OH)2", 74.09),
            ("C6H8O7", 192.12),
            ("C6H8O7·H2O", 210.14),
            ("H3PO4", 97.994),
        ] {
            let ours = molar_mass(formula).unwrap();
            assert!((ours - printed).abs() < 0.0051, "{formula}: {ours}");
        }
    }

    #[test]
    fn what_is_no_formula_has_no_mass() {
        for text in ["", "Xx", "ca", "Ca(OH", "Ca)", "()2", "H2O·", "Ca OH"] {
            assert_eq!(molar_mass(text), None, "{text}");
        }
    }
}

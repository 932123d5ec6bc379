//! What a quantity is to the parser and the printer: its name, its bounds, and
//! the units that people write it in.

use std::fmt::Debug;

/// A unit that a quantity may be written in.
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    /// The spelling used when printing.
    pub symbol: &'static str,
    /// Other spellings that are accepted.
    pub aliases: &'static [&'static str],
    /// From this unit to the canonical one.
    pub to_canonical: fn(f64) -> f64,
    /// From the canonical unit to this one.
    pub from_canonical: fn(f64) -> f64,
}

/// A spelling that is refused because it leaves the basis open.
#[derive(Debug, Clone, Copy)]
pub struct Ambiguous {
    /// The spellings that leave it open.
    pub spellings: &'static [&'static str],
    /// What to write instead.
    pub hint: &'static str,
}

/// How a value is printed from some size upwards.
#[derive(Debug, Clone, Copy)]
pub struct Shown {
    /// The canonical magnitude from which this line applies.
    pub from: f64,
    /// A symbol of [`Quantity::UNITS`].
    pub symbol: &'static str,
    /// Decimals when the value carries no spread.
    pub decimals: usize,
}

/// A typed quantity with one canonical unit.
///
/// The type names the *basis*: an [`Alkalinity`](crate::Alkalinity) is a charge
/// concentration however it was written, and "mg/L" alone is refused for it.
pub trait Quantity: Copy + PartialEq + PartialOrd + Debug + Send + Sync + 'static {
    /// The name used in messages, such as "volume".
    const NAME: &'static str;
    /// The units accepted, the canonical one first.
    const UNITS: &'static [Unit];
    /// Spellings that are refused with a hint.
    const AMBIGUOUS: &'static [Ambiguous];
    /// Least value in canonical units.
    const MIN: f64;
    /// Greatest value in canonical units.
    const MAX: f64;
    /// True where amounts add, so that "4 lb 6 oz" means something.
    const ADDITIVE: bool;
    /// Printing in metric units, largest first.
    const METRIC: &'static [Shown];
    /// Printing in US customary units, largest first.
    const US: &'static [Shown];

    /// From a number in the canonical unit. The caller vouches for the bounds.
    fn from_canonical(value: f64) -> Self;

    /// The number in the canonical unit.
    fn canonical(self) -> f64;

    /// True where the value is finite and within the bounds.
    fn within_bounds(self) -> bool {
        let x = self.canonical();
        x.is_finite() && (Self::MIN..=Self::MAX).contains(&x)
    }
}

/// Finds a unit by what was written: exactly first, then without regard to case
/// where that is unambiguous.
pub(crate) fn find_unit<Q: Quantity>(written: &str) -> Option<&'static Unit> {
    let wanted = tidy(written);
    let exact = Q::UNITS
        .iter()
        .find(|u| spellings(u).any(|s| tidy(s) == wanted));
    if exact.is_some() {
        return exact;
    }
    let lower = wanted.to_lowercase();
    let mut loose = Q::UNITS
        .iter()
        .filter(|u| spellings(u).any(|s| tidy(s).to_lowercase() == lower));
    match (loose.next(), loose.next()) {
        (Some(only), None) => Some(only),
        _ => None,
    }
}

/// Finds the hint for a spelling that leaves the basis open.
pub(crate) fn find_ambiguous<Q: Quantity>(written: &str) -> Option<&'static str> {
    let wanted = tidy(written).to_lowercase();
    Q::AMBIGUOUS
        .iter()
        .find(|a| a.spellings.iter().any(|s| tidy(s).to_lowercase() == wanted))
        .map(|a| a.hint)
}

/// The known spelling nearest to what was written, if any is near.
pub(crate) fn nearest_unit<Q: Quantity>(written: &str) -> Option<&'static str> {
    let wanted = tidy(written).to_lowercase();
    nearest(
        &wanted,
        Q::UNITS
            .iter()
            .flat_map(spellings)
            .filter(|s| !s.is_empty()),
    )
}

/// The candidate nearest to `wanted` by edit distance, if it is near enough to
/// be a slip of the finger: at most a third of its length, and at least one.
pub fn nearest<'a>(wanted: &str, candidates: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    candidates
        .map(|c| (edit_distance(wanted, &c.to_lowercase()), c))
        .filter(|(d, c)| *d <= (c.chars().count() / 3).max(1) && *d < wanted.chars().count())
        .min_by_key(|(d, _)| *d)
        .map(|(_, c)| c)
}

/// Edit distance with neighbouring letters swapped counted as one slip.
fn edit_distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().take(64).collect();
    let b: Vec<char> = b.chars().take(64).collect();
    let mut rows = vec![vec![0usize; b.len() + 1]; a.len() + 1];
    for (i, row) in rows.iter_mut().enumerate() {
        row[0] = i;
    }
    for (j, cell) in rows[0].iter_mut().enumerate() {
        *cell = j;
    }
    for i in 1..=a.len() {
        for j in 1..=b.len() {
            let differs = usize::from(a[i - 1] != b[j - 1]);
            let mut best = (rows[i - 1][j] + 1)
                .min(rows[i][j - 1] + 1)
                .min(rows[i - 1][j - 1] + differs);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = best;
        }
    }
    rows[a.len()][b.len()]
}

fn spellings(unit: &'static Unit) -> impl Iterator<Item = &'static str> {
    std::iter::once(unit.symbol).chain(unit.aliases.iter().copied())
}

/// One spelling for what keyboards and reports write in several ways.
fn tidy(unit: &str) -> String {
    let mut out = String::with_capacity(unit.len());
    let mut space = false;
    for c in unit.trim().chars() {
        let c = match c {
            'µ' | 'μ' => 'u',
            'º' | '˚' => '°',
            '₃' => '3',
            '₄' => '4',
            '₂' => '2',
            '⁻' | '⁺' | '\u{2212}' => continue,
            '²' => '2',
            '·' | '⋅' => ' ',
            c if c.is_whitespace() => {
                space = true;
                continue;
            }
            c => c,
        };
        if space && !out.is_empty() {
            out.push(' ');
        }
        space = false;
        out.push(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_slips_are_found_and_far_words_are_not() {
        let known = ["calcium", "magnesium", "volume"];
        assert_eq!(nearest("clacium", known.into_iter()), Some("calcium"));
        assert_eq!(nearest("volum", known.into_iter()), Some("volume"));
        assert_eq!(nearest("yeast", known.into_iter()), None);
    }
}

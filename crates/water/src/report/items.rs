//! What stands in a stretch of text, item by item.

use std::ops::Range;

use super::date::{self, DayOrder, Found};
use super::number::{self, Convention, Figure, Written};
use super::unit::{self, Species, Unit};
use super::words::{self, Name, Stat, Token, Word};

/// One thing understood, or a word that was not.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum What {
    Name(Name),
    Other,
    Figure(Written),
    Unit(Unit),
    Basis(Species),
    Stat(Stat),
    Limit,
    Detection,
    Filler,
    NotMeasured,
    Date(Found),
    To,
    /// Behind the number of a method no more figures are looked for.
    Method,
    Column(Word),
    Unknown,
}

/// An item with its place in the text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Item {
    pub what: What,
    pub at: Range<usize>,
}

/// How to scan.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scan {
    pub convention: Convention,
    pub order: DayOrder,
    /// The text is a cell of its own.
    pub cell: bool,
    /// Words are headings of columns rather than figures.
    pub header: bool,
}

/// The items of `text`; places count from `offset`.
pub(super) fn items(text: &str, offset: usize, scan: Scan) -> Vec<Item> {
    let tokens = words::tokens(text);
    let mut found = vec![];
    let mut at = 0;
    while let Some(c) = text[at..].chars().next() {
        let (what, len) = match next(text, at, &tokens, scan) {
            Some(step) => step,
            None if is_separator(c) => {
                at += c.len_utf8();
                continue;
            }
            None => {
                let len = tokens
                    .iter()
                    .find(|t| t.start <= at && at < t.end)
                    .map_or(c.len_utf8(), |t| t.end - at);
                (What::Unknown, len)
            }
        };
        // A step always moves on.
        let len = len.max(c.len_utf8());
        found.push(Item {
            what,
            at: offset + at..offset + at + len,
        });
        at += len;
    }
    found
}

fn is_separator(c: char) -> bool {
    c.is_whitespace()
        || matches!(
            c,
            ':' | '='
                | ','
                | ';'
                | '|'
                | '('
                | ')'
                | '['
                | ']'
                | '/'
                | '-'
                | '–'
                | '—'
                | '•'
                | '*'
                | '.'
                | '"'
                | '\''
                | '_'
                | '+'
                | '⁺'
                | '⁻'
                | '·'
                | '−'
                | '…'
        )
}

fn next(text: &str, at: usize, tokens: &[Token], scan: Scan) -> Option<(What, usize)> {
    let rest = &text[at..];
    let before = text[..at].chars().next_back();
    let fresh = before.is_none_or(|c| !c.is_alphanumeric());
    if fresh && let Some((found, len)) = date::at_start(rest, scan.order, scan.header) {
        return Some((What::Date(found), len));
    }
    let unit = unit_at(rest, before);
    let first = rest.chars().next()?;
    let negative = matches!(first, '-' | '−')
        && rest[first.len_utf8()..].starts_with(|c: char| c.is_ascii_digit())
        && before
            .is_none_or(|c| c.is_whitespace() || matches!(c, ';' | ',' | '\t' | '|' | ':' | '='));
    let figure = (first.is_ascii_digit() && fresh)
        || negative
        || matches!(first, '<' | '>' | '≤' | '≥' | '~' | '≈' | '&');
    if figure && let Some((written, len)) = number::figure(rest, scan.convention, scan.cell) {
        return Some((What::Figure(written), len));
    }
    let start = tokens.iter().position(|t| t.start == at);
    let word = start.and_then(|i| word(text, tokens, i, scan));
    match (unit, word) {
        // "pH" is a name before it is a unit.
        (Some((u, n)), Some((_, m))) if n > m => Some((What::Unit(u), n)),
        (_, Some(word)) => Some(word),
        (Some((u, n)), None) => Some((What::Unit(u), n)),
        (None, None) => None,
    }
}

/// The longest unit at the start of `rest`.
fn unit_at(rest: &str, before: Option<char>) -> Option<(Unit, usize)> {
    let first = rest.chars().next()?;
    let starts = first.is_alphabetic() || matches!(first, '°' | 'º' | '˚' | '/' | '%');
    let inside = before.is_some_and(char::is_alphabetic);
    if !starts || inside {
        return None;
    }
    let mut best = None;
    let mut chunks = 0;
    for (i, c) in rest.char_indices().skip(1) {
        if i > 48 || chunks > 5 {
            return best;
        }
        if c.is_whitespace() || matches!(c, ')' | ']' | ',' | ';' | ':' | '|' | '(') {
            chunks += usize::from(c.is_whitespace());
            best = unit::unit(&rest[..i]).map(|u| (u, i)).or(best);
            if c == ')' {
                let end = i + 1;
                best = rest[..i]
                    .contains('(')
                    .then(|| unit::unit(&rest[..end]))
                    .flatten()
                    .map(|u| (u, end))
                    .or(best);
            }
        }
    }
    (rest.len() <= 48 && chunks <= 5)
        .then(|| unit::unit(rest).map(|u| (u, rest.len())))
        .flatten()
        .or(best)
}

fn word(text: &str, tokens: &[Token], i: usize, scan: Scan) -> Option<(What, usize)> {
    let start = tokens[i].start;
    let len = |n: usize| tokens[i + n - 1].end - start;
    // "as CaCO3"
    if let Some((_, n)) = words::phrase(tokens, i, |w| w == Word::As)
        && let Some((basis, k)) = basis_at(text, tokens, i + n)
    {
        return Some((What::Basis(basis), len(n + k)));
    }
    // "less than 0.05"
    if let Some((_, n)) = words::phrase(tokens, i, |w| w == Word::Below)
        && let Some(token) = tokens.get(i + n)
        && let Some((mut written, k)) =
            number::figure(&text[token.start..], scan.convention, scan.cell)
        && let Figure::Exactly(x) = written.figure
    {
        written.figure = Figure::Below(x);
        return Some((What::Figure(written), token.start - start + k));
    }
    let order: &[fn(Word) -> bool] = if scan.header {
        &[
            |w| matches!(w, Word::Name(_)),
            |w| {
                matches!(
                    w,
                    Word::Limit
                        | Word::Detection
                        | Word::Stat(_)
                        | Word::Value
                        | Word::NameColumn
                        | Word::UnitColumn
                        | Word::Beside
                        | Word::Heading(_)
                )
            },
            |w| {
                matches!(
                    w,
                    Word::Filler | Word::Other | Word::NotMeasured | Word::At | Word::As
                )
            },
        ]
    } else {
        &[
            |w| matches!(w, Word::Name(_)),
            |w| matches!(w, Word::Other | Word::Limit | Word::Stat(_)),
            |w| {
                matches!(
                    w,
                    Word::NotDetected
                        | Word::Absent
                        | Word::Present
                        | Word::Traces
                        | Word::NotMeasured
                )
            },
            |w| matches!(w, Word::Detection | Word::Method),
            |w| {
                matches!(
                    w,
                    Word::To | Word::Filler | Word::At | Word::As | Word::Value
                )
            },
        ]
    };
    let hits = order
        .iter()
        .filter_map(|want| words::phrase(tokens, i, want));
    let best = hits.fold(None, |best: Option<(Word, usize)>, hit| match best {
        Some(b) if b.1 >= hit.1 => Some(b),
        _ => Some(hit),
    });
    let Some((word, n)) = best else {
        return basis_at(text, tokens, i).map(|(b, k)| (What::Basis(b), len(k)));
    };
    let mut size = len(n);
    let figure = |figure| {
        What::Figure(Written {
            figure,
            step: 0.0,
            open: false,
            at: 0..0,
        })
    };
    let what = match word {
        Word::Name(name) => {
            if name.symbol {
                size += charge(&text[start + size..]);
            }
            What::Name(name)
        }
        Word::Other => What::Other,
        Word::Limit => What::Limit,
        Word::Detection => What::Detection,
        Word::Stat(stat) => What::Stat(stat),
        Word::NotDetected => figure(Figure::NotDetected),
        Word::Traces => figure(Figure::Traces),
        Word::Absent => figure(Figure::Absent),
        Word::Present => figure(Figure::Present),
        Word::NotMeasured => What::NotMeasured,
        Word::Method => What::Method,
        Word::To => What::To,
        _ if scan.header && !matches!(word, Word::Filler | Word::At | Word::As) => {
            What::Column(word)
        }
        _ => What::Filler,
    };
    Some((what, size))
}

fn basis_at(text: &str, tokens: &[Token], i: usize) -> Option<(Species, usize)> {
    let first = tokens.get(i)?;
    (1..=2).rev().find_map(|n| {
        let last = tokens.get(i + n - 1)?;
        unit::species(&text[first.start..last.end]).map(|s| (s, n))
    })
}

/// The charge behind a formula: "+", "2+", " 2-".
fn charge(rest: &str) -> usize {
    let spaced = rest.starts_with(' ');
    let mut len = usize::from(spaced);
    let mut signs = 0;
    for c in rest[len..].chars() {
        match words::plain(c) {
            '2' | '3' if signs == 0 && len <= 1 => {}
            '+' | '-' => signs += 1,
            _ => break,
        }
        len += c.len_utf8();
    }
    // A lone dash between spaces is a dash, and "2-5" a range.
    let ends = rest[len..]
        .chars()
        .next()
        .is_none_or(|c| c.is_whitespace() || matches!(c, ')' | ':' | ';' | ',' | ']' | '|'));
    if signs > 0 && ends { len } else { 0 }
}

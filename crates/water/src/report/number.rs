//! Figures as reports write them: "42", "14,5", "1 200", "<0.05", "12–18",
//! "96 ± 4", "1.2e-3".

use std::ops::Range;

/// What a figure says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Figure {
    /// One number.
    Exactly(f64),
    /// "<0.05": somewhere from nought to it.
    Below(f64),
    /// ">2400": no upper end, so no value follows.
    Above(f64),
    /// "12–18".
    Between(f64, f64),
    /// "96 ± 4".
    PlusMinus(f64, f64),
    /// "not detected", without a detection limit.
    NotDetected,
    /// "traces".
    Traces,
    /// Of germs: none.
    Absent,
    /// Of germs: some.
    Present,
}

/// A figure with what its digits tell.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Written {
    pub figure: Figure,
    /// One unit of the last digit written.
    pub step: f64,
    /// A mark that could be a decimal mark or a thousands mark stands in it,
    /// and the text does not settle which.
    pub open: bool,
    pub at: Range<usize>,
}

/// How "1.200" or "1,200" is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Three {
    #[default]
    Ask,
    Thousands,
    Decimal,
}

/// Which decimal marks a text uses for certain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Convention {
    pub point: bool,
    pub comma: bool,
    pub three: Three,
}

impl Convention {
    /// Gathers from a whole text.
    pub(super) fn of(text: &str) -> Self {
        let mut found = Self::default();
        let bytes = text.as_bytes();
        let mut i = 0;
        while i < bytes.len() {
            if !bytes[i].is_ascii_digit() {
                i += 1;
                continue;
            }
            let start = i;
            let end = run(bytes, start);
            found.learn(&text[start..end], bytes.get(start.wrapping_sub(1)));
            i = end;
        }
        found
    }

    fn learn(&mut self, run: &str, before: Option<&u8>) {
        // "KS4,3" is a name, and "v1.2" no figure.
        if before.is_some_and(u8::is_ascii_alphabetic) {
            return;
        }
        let marks: Vec<char> = run.chars().filter(|c| !c.is_ascii_digit()).collect();
        let [mark] = marks[..] else { return };
        let Some((whole, part)) = run.split_once(mark) else {
            return;
        };
        if part.len() != 3 || whole.len() > 3 || whole == "0" {
            match mark {
                '.' => self.point = true,
                _ => self.comma = true,
            }
        }
    }

    fn decimal(self, mark: char) -> Option<bool> {
        match self.three {
            Three::Thousands => return Some(false),
            Three::Decimal => return Some(true),
            Three::Ask => {}
        }
        let (this, other) = if mark == '.' {
            (self.point, self.comma)
        } else {
            (self.comma, self.point)
        };
        match (this, other) {
            (true, false) => Some(true),
            (false, true) => Some(false),
            _ => None,
        }
    }
}

/// End of the digits with points and commas between them.
fn run(bytes: &[u8], start: usize) -> usize {
    let mut end = start;
    while end < bytes.len() {
        let inner =
            matches!(bytes[end], b'.' | b',') && bytes.get(end + 1).is_some_and(u8::is_ascii_digit);
        if bytes[end].is_ascii_digit() || inner {
            end += 1;
        } else {
            break;
        }
    }
    end
}

#[derive(Debug, Clone, Copy)]
struct Number {
    value: f64,
    step: f64,
    open: bool,
    len: usize,
}

/// The figure at the start of `text`. In a cell of its own (`cell`) a space may
/// part thousands; in running text it parts figures.
pub(super) fn figure(text: &str, convention: Convention, cell: bool) -> Option<(Written, usize)> {
    let (sense, mut len) = comparison(text);
    len += blank(&text[len..]);
    let first = number(&text[len..], convention, cell)?;
    len += first.len;
    let mut written = Written {
        figure: Figure::Exactly(first.value),
        step: first.step,
        open: first.open,
        at: 0..0,
    };
    if let Some(make) = sense {
        written.figure = make(first.value);
    } else if let Some((second, percent, more)) = spread(&text[len..], convention, cell) {
        len += more;
        let half = if percent {
            first.value.abs() * second.value / 100.0
        } else {
            second.value
        };
        written.figure = Figure::PlusMinus(first.value, half);
        written.open |= second.open;
    } else if let Some((second, more)) = range(&text[len..], convention, cell) {
        len += more;
        written.figure = Figure::Between(first.value, second.value);
        written.step = first.step.max(second.step);
        written.open |= second.open;
    }
    written.at = 0..len;
    Some((written, len))
}

type Make = fn(f64) -> Figure;

fn comparison(text: &str) -> (Option<Make>, usize) {
    for (mark, make) in [
        ("<=", Some(Figure::Below as Make)),
        ("&lt;", Some(Figure::Below as Make)),
        ("<", Some(Figure::Below as Make)),
        ("≤", Some(Figure::Below as Make)),
        (">=", Some(Figure::Above as Make)),
        ("&gt;", Some(Figure::Above as Make)),
        (">", Some(Figure::Above as Make)),
        ("≥", Some(Figure::Above as Make)),
        ("~", None),
        ("≈", None),
    ] {
        if text.starts_with(mark) {
            return (make, mark.len());
        }
    }
    (None, 0)
}

fn spread(text: &str, convention: Convention, cell: bool) -> Option<(Number, bool, usize)> {
    let mut len = blank(text);
    let mark = ["±", "+/-", "+-"]
        .into_iter()
        .find(|m| text[len..].starts_with(m))?;
    len += mark.len();
    len += blank(&text[len..]);
    let second = number(&text[len..], convention, cell)?;
    len += second.len;
    let space = blank(&text[len..]);
    let percent = text[len + space..].starts_with('%');
    Some((second, percent, if percent { len + space + 1 } else { len }))
}

fn range(text: &str, convention: Convention, cell: bool) -> Option<(Number, usize)> {
    let mut len = blank(text);
    let marks = [
        "-", "–", "—", "−", "...", "…", "..", "to ", "bis ", "à ", "tot ", "hasta ", "und ",
        "and ", "et ", "y ", "en ", "a ",
    ];
    let mark = marks.into_iter().find(|m| text[len..].starts_with(m))?;
    // A word needs a space before it.
    if mark.starts_with(char::is_alphabetic) && len == 0 {
        return None;
    }
    len += mark.len();
    len += blank(&text[len..]);
    if text[len..].starts_with(['-', '+', '−']) {
        return None;
    }
    let second = number(&text[len..], convention, cell)?;
    Some((second, len + second.len))
}

fn blank(text: &str) -> usize {
    text.chars()
        .take_while(|c| matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}'))
        .map(char::len_utf8)
        .sum()
}

fn number(text: &str, convention: Convention, cell: bool) -> Option<Number> {
    let sign = text.chars().next().filter(|c| matches!(c, '-' | '−' | '+'));
    let start = sign.map_or(0, char::len_utf8);
    let body = &text[start..];
    let (groups, marks, len) = groups(body, cell)?;
    let (plain, decimals, open) = assemble(&groups, &marks, convention)?;
    let (exponent, extra) = exponent(&body[len..]);
    let scale = 10f64.powi(exponent);
    let magnitude: f64 = plain.parse().ok()?;
    let value = if matches!(sign, Some('-' | '−')) {
        -magnitude
    } else {
        magnitude
    } * scale;
    value.is_finite().then_some(Number {
        value,
        step: 10f64.powi(-i32::try_from(decimals).ok()?) * scale,
        open,
        len: start + len + extra,
    })
}

/// Digits parted by marks: the groups, the marks, and the length of all.
fn groups(text: &str, cell: bool) -> Option<(Vec<&str>, Vec<char>, usize)> {
    let mut parts = vec![];
    let mut marks = vec![];
    let mut at = 0;
    loop {
        let n = text[at..].bytes().take_while(u8::is_ascii_digit).count();
        if n == 0 || n > 15 {
            return None;
        }
        parts.push(&text[at..at + n]);
        at += n;
        let Some(mark) = text[at..].chars().next() else {
            break;
        };
        let after = &text[at + mark.len_utf8()..];
        let following = after.bytes().take_while(u8::is_ascii_digit).count();
        let thousand = match mark {
            '\'' | '’' | '\u{a0}' | '\u{202f}' | '\u{2009}' => following == 3 && n <= 3,
            ' ' => cell && following == 3 && n <= 3,
            '.' | ',' => following > 0,
            _ => false,
        };
        if !thousand {
            break;
        }
        marks.push(mark);
        at += mark.len_utf8();
    }
    Some((parts, marks, at))
}

/// The number with a decimal point, its decimals, and whether it is open.
fn assemble(
    groups: &[&str],
    marks: &[char],
    convention: Convention,
) -> Option<(String, usize, bool)> {
    let whole = |parts: &[&str]| -> Option<String> {
        let well =
            parts.iter().skip(1).all(|p| p.len() == 3) && (parts.len() == 1 || parts[0].len() <= 3);
        well.then(|| parts.concat())
    };
    let fraction = |parts: &[&str]| -> Option<(String, usize, bool)> {
        let (last, front) = parts.split_last()?;
        Some((format!("{}.{last}", whole(front)?), last.len(), false))
    };
    let is_mark = |c: &char| matches!(c, '.' | ',');
    match marks {
        [] => Some((groups.concat(), 0, false)),
        [mark] if is_mark(mark) => {
            let (a, b) = (groups.first()?, groups.get(1)?);
            let sure = b.len() != 3 || a.len() > 3 || a.starts_with('0');
            match (sure, convention.decimal(*mark)) {
                (true, _) | (false, Some(true)) => fraction(groups),
                (false, Some(false)) => Some((whole(groups)?, 0, false)),
                (false, None) => fraction(groups).map(|(t, d, _)| (t, d, true)),
            }
        }
        [first @ .., last] if is_mark(last) && !first.contains(last) && alike(first) => {
            fraction(groups)
        }
        _ if alike(marks) => Some((whole(groups)?, 0, false)),
        _ => None,
    }
}

fn alike(marks: &[char]) -> bool {
    marks.windows(2).all(|w| w[0] == w[1])
}

/// "e-3", "×10^-3", "x 10⁻³": the exponent and the bytes it takes.
fn exponent(text: &str) -> (i32, usize) {
    let heads = [
        "e", "E", "×10^", "x10^", "·10^", "*10^", "× 10^", "x 10^", "×10", "x10", "× 10", "x 10",
    ];
    for head in heads {
        let Some(rest) = text.strip_prefix(head) else {
            continue;
        };
        let mut digits = String::new();
        let mut len = 0;
        for c in rest.chars() {
            let plain = match c {
                '-' | '⁻' | '−' if digits.is_empty() => '-',
                '+' | '⁺' if digits.is_empty() => '+',
                '⁰' => '0',
                '¹' => '1',
                '²' => '2',
                '³' => '3',
                '⁴' => '4',
                '⁵' => '5',
                '⁶' => '6',
                '⁷' => '7',
                '⁸' => '8',
                '⁹' => '9',
                c if c.is_ascii_digit() => c,
                _ => break,
            };
            digits.push(plain);
            len += c.len_utf8();
        }
        if let Ok(n) = digits.parse::<i32>()
            && (-30..=30).contains(&n)
        {
            return (n, head.len() + len);
        }
    }
    (0, 0)
}

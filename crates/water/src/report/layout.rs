//! Lines and cells of a text, with their places.

use std::ops::Range;

/// What parts the cells of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    Tab,
    Semicolon,
    Bar,
    Comma,
    /// Two or more spaces.
    Spaces,
    /// Nothing: one cell.
    None,
}

/// A cell: its text without quotes, and its place in the whole text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cell {
    pub text: String,
    pub at: Range<usize>,
}

/// The lines of a text as byte ranges without their ends.
pub(super) fn lines(text: &str) -> Vec<Range<usize>> {
    let mut found = vec![];
    let mut start = 0;
    for piece in text.split_inclusive('\n') {
        let body = piece.trim_end_matches(['\n', '\r']);
        found.push(start..start + body.len());
        start += piece.len();
    }
    found
}

/// What parts the cells of each line. A comma does only where a line nearby has
/// as many, and a cell without digits stands among them.
pub(super) fn marks(text: &str, lines: &[Range<usize>]) -> Vec<Mark> {
    let commas: Vec<Option<usize>> = lines.iter().map(|l| commas(&text[l.clone()])).collect();
    let like = |i: usize, j: Option<usize>| {
        let other = j.and_then(|j| commas.get(j)).copied().flatten();
        commas[i].is_some() && commas[i] == other
    };
    lines
        .iter()
        .enumerate()
        .map(|(i, at)| {
            let line = &text[at.clone()];
            if line.contains('\t') {
                Mark::Tab
            } else if line.contains(';') && !line.contains("&lt;") && !line.contains("&gt;") {
                Mark::Semicolon
            } else if line.contains('|') {
                Mark::Bar
            } else if [i.checked_sub(2), i.checked_sub(1), Some(i + 1), Some(i + 2)]
                .into_iter()
                .any(|j| like(i, j))
            {
                Mark::Comma
            } else if line.trim().contains("  ") {
                Mark::Spaces
            } else {
                Mark::None
            }
        })
        .collect()
}

/// The number of commas outside quotes, if all of them part cells.
fn commas(line: &str) -> Option<usize> {
    let bytes = line.as_bytes();
    let mut quoted = false;
    let mut count = 0;
    for (i, b) in bytes.iter().enumerate() {
        match b {
            b'"' => quoted = !quoted,
            b',' if !quoted => {
                // "42, 5" and "tasty, clear" are no cells.
                if bytes.get(i + 1) == Some(&b' ') {
                    return None;
                }
                count += 1;
            }
            _ => {}
        }
    }
    let texts = line
        .split(',')
        .any(|c| !c.is_empty() && !c.bytes().any(|b| b.is_ascii_digit()));
    let dated = line
        .split(',')
        .next()
        .is_some_and(|c| c.len() == 10 && c.bytes().filter(u8::is_ascii_digit).count() == 8);
    (count > 0 && (texts || dated) && !quoted).then_some(count)
}

/// The cells of a line.
///
/// # Errors
/// A quote that is not closed.
pub(super) fn cells(text: &str, line: Range<usize>, mark: Mark) -> Result<Vec<Cell>, &'static str> {
    let body = &text[line.clone()];
    match mark {
        Mark::None => Ok(vec![whole(body, line.start)]),
        Mark::Spaces => Ok(spaced(body, line.start)),
        Mark::Bar => Ok(barred(body, line.start)),
        Mark::Tab => separated(body, line.start, b'\t'),
        Mark::Semicolon => separated(body, line.start, b';'),
        Mark::Comma => separated(body, line.start, b','),
    }
}

fn whole(body: &str, offset: usize) -> Cell {
    let front = body.len() - body.trim_start().len();
    let text = body.trim();
    Cell {
        text: text.to_owned(),
        at: offset + front..offset + front + text.len(),
    }
}

fn spaced(body: &str, offset: usize) -> Vec<Cell> {
    let mut found = vec![];
    let mut at = 0;
    for piece in body.split("  ") {
        if !piece.trim().is_empty() {
            found.push(whole(piece, offset + at));
        }
        at += piece.len() + 2;
    }
    found
}

fn barred(body: &str, offset: usize) -> Vec<Cell> {
    let front = body.len() - body.trim_start().len();
    let inner = body.trim();
    let lead = usize::from(inner.starts_with('|'));
    let tail = usize::from(inner.len() > 1 && inner.ends_with('|'));
    let mut at = offset + front + lead;
    let mut found = vec![];
    for piece in inner[lead..inner.len() - tail].split('|') {
        found.push(whole(piece, at));
        at += piece.len() + 1;
    }
    found
}

fn separated(body: &str, offset: usize, mark: u8) -> Result<Vec<Cell>, &'static str> {
    let balanced = body
        .bytes()
        .filter(|b| *b == b'"')
        .count()
        .is_multiple_of(2);
    if !balanced {
        return Err("a quotation mark is opened and not closed");
    }
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(mark)
        .from_reader(body.as_bytes());
    let Some(Ok(record)) = reader.records().next() else {
        return Ok(vec![whole(body, offset)]);
    };
    let mut from = 0;
    let mut found = vec![];
    for field in &record {
        let text = field.trim();
        // The field without its quotes stands in the line, unless it holds
        // doubled quotes; then the whole line is its place.
        let at = body[from..].find(text).map(|i| from + i);
        let at = at.map_or(0..body.len(), |i| i..i + text.len());
        if at.end > from && at.start >= from {
            from = at.end;
        }
        found.push(Cell {
            text: text.to_owned(),
            at: offset + at.start..offset + at.end,
        });
    }
    Ok(found)
}

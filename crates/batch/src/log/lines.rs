//! Lines of a table, as they come: bounded, numbered, split into cells.
//!
//! A line ends where the file ends it, also within a quotation: a logger writes no line
//! breaks into cells, and a quotation mark that is never closed must not swallow the
//! rest of the log.

use std::io::{BufRead, BufReader, Read};

/// The longest line that is read \[bytes\].
const LONGEST_LINE: usize = 64 << 10;

/// A line with something in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Line {
    /// Its number, from 1.
    pub(super) number: usize,
    /// Its cells.
    pub(super) cells: Vec<String>,
    /// As it came.
    pub(super) raw: String,
    /// Why its cells are not to be trusted.
    pub(super) trouble: Option<String>,
}

/// Reads one line after the other, so that memory stays flat; lines without anything in
/// their cells are passed over.
pub(super) struct Lines<R> {
    from: BufReader<R>,
    delimiter: u8,
    number: usize,
    over: bool,
}

impl<R: Read> Lines<R> {
    pub(super) fn new(from: R, delimiter: u8) -> Self {
        Self {
            from: BufReader::with_capacity(256 << 10, from),
            delimiter,
            number: 0,
            over: false,
        }
    }

    /// The next line without its end, and whether it was longer than is read; none at
    /// the end of the file.
    fn line(&mut self) -> std::io::Result<Option<(Vec<u8>, bool)>> {
        let mut line = Vec::new();
        let (mut long, mut any) = (false, false);
        loop {
            let buffer = self.from.fill_buf()?;
            if buffer.is_empty() {
                return Ok(any.then_some((line, long)));
            }
            any = true;
            let end = buffer.iter().position(|b| matches!(b, b'\n' | b'\r'));
            let part = buffer.get(..end.unwrap_or(buffer.len())).unwrap_or(buffer);
            let room = LONGEST_LINE.saturating_sub(line.len());
            long |= part.len() > room;
            line.extend(part.iter().take(room));
            let returned = end.is_some_and(|at| buffer.get(at) == Some(&b'\r'));
            let used = part.len() + usize::from(end.is_some());
            self.from.consume(used);
            if end.is_some() {
                if returned && self.from.fill_buf()?.first() == Some(&b'\n') {
                    self.from.consume(1);
                }
                return Ok(Some((line, long)));
            }
        }
    }
}

impl<R: Read> Iterator for Lines<R> {
    type Item = Line;

    fn next(&mut self) -> Option<Line> {
        while !self.over {
            self.number += 1;
            match self.line() {
                Ok(None) => self.over = true,
                Ok(Some((bytes, long))) => {
                    let line = told(self.number, &bytes, long, self.delimiter);
                    if line.cells.iter().any(|cell| !cell.trim().is_empty()) {
                        return Some(line);
                    }
                }
                Err(error) => {
                    self.over = true;
                    return Some(Line {
                        number: self.number,
                        cells: Vec::new(),
                        raw: String::new(),
                        trouble: Some(format!("the log cannot be read further: {error}")),
                    });
                }
            }
        }
        None
    }
}

fn told(number: usize, bytes: &[u8], long: bool, delimiter: u8) -> Line {
    let text = decoded(bytes);
    let text = text.trim_start_matches('\u{feff}');
    let quotes = text.bytes().filter(|b| *b == b'"').count();
    let trouble = if long {
        Some(format!("it is longer than {LONGEST_LINE} bytes"))
    } else if quotes % 2 == 1 {
        Some("its quotation mark is not closed".to_owned())
    } else {
        None
    };
    let cells = if quotes == 0 || trouble.is_some() {
        text.split(char::from(delimiter))
            .map(str::to_owned)
            .collect()
    } else {
        quoted(text, delimiter)
    };
    Line {
        number,
        cells,
        raw: text.to_owned(),
        trouble,
    }
}

/// UTF-8, or else the western one-byte code that loggers still write.
pub(super) fn decoded(bytes: &[u8]) -> String {
    std::str::from_utf8(bytes).map_or_else(
        |_| bytes.iter().map(|&byte| char::from(byte)).collect(),
        str::to_owned,
    )
}

/// Cells of a line with quotation marks (RFC 4180).
fn quoted(line: &str, delimiter: u8) -> Vec<String> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(line.as_bytes());
    let mut record = csv::StringRecord::new();
    match reader.read_record(&mut record) {
        Ok(true) => record.iter().map(str::to_owned).collect(),
        _ => line
            .split(char::from(delimiter))
            .map(str::to_owned)
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lines(bytes: &[u8]) -> Vec<Line> {
        Lines::new(bytes, b',').collect()
    }

    fn numbers(bytes: &[u8]) -> Vec<usize> {
        lines(bytes).iter().map(|line| line.number).collect()
    }

    #[test]
    fn lines_end_in_three_ways_and_keep_their_numbers() {
        assert_eq!(numbers(b"a\nb\n\nc"), [1, 2, 4]);
        assert_eq!(numbers(b"a\r\nb\r\n\r\nc\r\n"), [1, 2, 4]);
        assert_eq!(numbers(b"a\rb\r\rc"), [1, 2, 4]);
        assert_eq!(numbers(b" , ,\n\n"), [0usize; 0]);
    }

    #[test]
    fn a_quotation_mark_that_stays_open_ends_with_its_line() {
        let all = lines(b"t,\"1.048\nu,\"1,047\"\n");
        assert!(all[0].trouble.as_ref().unwrap().contains("not closed"));
        assert_eq!(all[0].raw, "t,\"1.048");
        assert_eq!(
            (all[1].cells[1].as_str(), &all[1].trouble),
            ("1,047", &None)
        );
    }

    #[test]
    fn a_line_without_end_is_cut_and_told_and_the_next_one_is_whole() {
        let mut bytes = vec![b'9'; 3 * LONGEST_LINE];
        bytes.extend(b"\nt,1.048\n");
        let all = lines(&bytes);
        assert_eq!((all.len(), all[0].raw.len()), (2, LONGEST_LINE));
        assert!(all[0].trouble.as_ref().unwrap().contains("longer than"));
        assert_eq!(all[1].cells, ["t", "1.048"]);
    }

    #[test]
    fn one_byte_codes_are_read() {
        assert_eq!(lines(b"\xef\xbb\xbftemp \xb0C\n")[0].cells[0], "ï»¿temp °C");
        assert_eq!(lines("\u{feff}temp °C\n".as_bytes())[0].cells, ["temp °C"]);
    }

    proptest! {
        #[test]
        fn no_bytes_break_it(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
            let all = lines(&bytes);
            let letters = all.iter().map(|line| line.raw.chars().count()).sum::<usize>();
            prop_assert!(letters <= bytes.len());
        }
    }
}

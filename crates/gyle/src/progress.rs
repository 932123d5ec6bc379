//! How far a long reading is, on standard error where a person looks on.

use std::io::{IsTerminal, Read, Write};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// Between two drawings of the bar.
const PULSE: Duration = Duration::from_millis(100);
const WIDTH: usize = 30;

/// Bytes that pass, with a bar of how many have.
pub struct Watched<R> {
    from: R,
    whole: Option<u64>,
    passed: u64,
    drawn: Option<Instant>,
    seen: bool,
}

impl<R: Read> Watched<R> {
    /// Watches `from`, which holds `whole` bytes where that is known.
    pub fn new(from: R, whole: Option<u64>) -> Self {
        Self {
            from,
            whole,
            passed: 0,
            drawn: None,
            seen: std::io::stderr().is_terminal(),
        }
    }

    fn draw(&mut self, end: bool) {
        let early = self.drawn.is_some_and(|at| at.elapsed() < PULSE);
        if !self.seen || (early && !end) {
            return;
        }
        self.drawn = Some(Instant::now());
        let mut out = std::io::stderr();
        let line = if end {
            String::new()
        } else {
            bar(self.passed, self.whole)
        };
        // A terminal that is gone is no reason to stop.
        let _ = write!(out, "\r\x1b[K{line}");
        let _ = out.flush();
    }
}

impl<R: Read> Read for Watched<R> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let read = self.from.read(into)?;
        self.passed += read as u64;
        self.draw(read == 0);
        Ok(read)
    }
}

fn bar(passed: u64, whole: Option<u64>) -> String {
    let mb = |bytes: u64| bytes as f64 / 1e6;
    match whole.filter(|whole| *whole > 0) {
        None => format!("{:.1} MB read", mb(passed)),
        Some(whole) => {
            let part = (passed as f64 / whole as f64).min(1.0);
            let full = (part * WIDTH as f64) as usize;
            format!(
                "[{}{}] {:3.0} % of {:.1} MB",
                "#".repeat(full),
                "-".repeat(WIDTH.saturating_sub(full)),
                100.0 * part,
                mb(whole)
            )
        }
    }
}

/// Pieces of work that are counted, from several threads.
pub struct Counted {
    did: &'static str,
    seen: bool,
    per_cent: AtomicUsize,
}

impl Counted {
    /// Counts what is done, with a word for it.
    pub fn new(did: &'static str) -> Self {
        Self {
            did,
            seen: std::io::stderr().is_terminal(),
            per_cent: AtomicUsize::new(0),
        }
    }

    /// So many of so many are done; says to go on.
    pub fn at(&self, done: usize, all: usize) -> bool {
        let now = 100 * done / all.max(1);
        if self.seen && self.per_cent.fetch_max(now, Ordering::Relaxed) < now {
            let _ = write!(std::io::stderr(), "\r\x1b[K{} {now} %", self.did);
        }
        true
    }

    /// Takes the line away again.
    pub fn clear(&self) {
        if self.seen {
            let _ = write!(std::io::stderr(), "\r\x1b[K");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_fills_and_every_byte_passes() {
        assert!(bar(0, Some(10)).starts_with("[---"));
        assert!(bar(10, Some(10)).contains("100 %"));
        assert_eq!(bar(12, Some(0)), "0.0 MB read");
        let mut out = Vec::new();
        let mut watched = Watched::new(&b"abc"[..], None);
        watched.read_to_end(&mut out).unwrap();
        assert_eq!((out.as_slice(), watched.passed), (&b"abc"[..], 3));
    }
}

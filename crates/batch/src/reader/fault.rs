//! What a reading reports: faults, and gaps that were filled.

use std::fmt;
use std::ops::Range;

use quantity::Mark;

/// Something wrong in a document, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The bytes of the document that it concerns.
    pub span: Range<usize>,
    /// The dotted path of the key.
    pub path: String,
    /// What is wrong.
    pub message: String,
    /// What would be accepted.
    pub help: String,
}

impl Fault {
    pub(crate) fn from_toml(error: &toml::de::Error, text: &str) -> Self {
        let span = error.span().unwrap_or(0..0);
        Self {
            span: clip(span, text.len()),
            path: String::new(),
            message: format!(
                "not a TOML document: {}",
                error.message().replace('\n', ", ")
            ),
            help: "one `key = \"value\"` a line; text and quantities stand in double quotes"
                .to_owned(),
        }
    }

    /// Line and column (in characters) of the fault, counted from one.
    #[must_use]
    pub fn line_and_column(&self, text: &str) -> (usize, usize) {
        let mut start = self.span.start.min(text.len());
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let before = &text[..start];
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
        (line, column)
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.path.is_empty() {
            write!(f, "{}; {}", self.message, self.help)
        } else {
            write!(f, "{}: {}; {}", self.path, self.message, self.help)
        }
    }
}

fn clip(span: Range<usize>, len: usize) -> Range<usize> {
    let end = span.end.min(len);
    span.start.min(end)..end
}

/// A gap in a document that a default filled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assumption {
    /// The dotted path of the key that was not given.
    pub path: String,
    /// What was taken instead.
    pub value: String,
    /// Where that comes from.
    pub source: String,
    /// How far it can be trusted.
    pub mark: Mark,
}

/// Gaps that are filled on the way, for those who want to be told.
#[derive(Debug, Default)]
pub(crate) struct Filled(Option<Vec<Assumption>>);

impl Filled {
    /// To be told, after those that are known.
    pub(crate) fn told(before: Vec<Assumption>) -> Self {
        Self(Some(before))
    }

    /// Of no account.
    pub(crate) fn untold() -> Self {
        Self(None)
    }

    /// Whether somebody wants to be told.
    pub(crate) fn is_told(&self) -> bool {
        self.0.is_some()
    }

    /// Tells of gaps, which are put into words only where somebody listens.
    pub(crate) fn tell<I: IntoIterator<Item = Assumption>>(&mut self, gaps: impl FnOnce() -> I) {
        if let Some(all) = &mut self.0 {
            all.extend(gaps());
        }
    }

    /// The gap of a key that was told.
    pub(crate) fn of(&mut self, path: &str) -> Option<&mut Assumption> {
        self.0.iter_mut().flatten().find(|gap| gap.path == path)
    }

    /// All that were told.
    pub(crate) fn all(self) -> Vec<Assumption> {
        self.0.unwrap_or_default()
    }
}

//! Where a number comes from, and the words for a value that is only good
//! within limits.

use std::fmt;

/// How far a number can be trusted by where it was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mark {
    /// Read in the named source, or in a text that quotes it.
    Read,
    /// Computed with a named general-purpose library or from first principles.
    Computed,
    /// Recalled; the source was not opened.
    FromMemory,
    /// A rule of the trade with no single source.
    CommonPractice,
    /// Somebody's judgement, not measured.
    Judgement,
}

impl Mark {
    /// The words that stand in data rows and on screens.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Computed => "computed",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice",
            Self::Judgement => "judgement",
        }
    }

    /// From the words of a data row.
    #[must_use]
    pub fn from_words(words: &str) -> Option<Self> {
        [
            Self::Read,
            Self::Computed,
            Self::FromMemory,
            Self::CommonPractice,
            Self::Judgement,
        ]
        .into_iter()
        .find(|m| m.words() == words)
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// A number's origin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Author, year and place, or what was done.
    pub text: String,
    /// How it was obtained.
    pub mark: Mark,
}

/// A remark that a result carries: a model outside its range, a bound that
/// replaced a number, a figure that does not fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// How much it matters.
    pub weight: Weight,
    /// The remark, one sentence.
    pub text: String,
}

/// How much a remark matters to the brewer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// Good to know.
    Fine,
    /// Worth a look before brew day.
    Look,
    /// Do something, or the beer or the brewer may come to harm.
    Act,
}

impl Weight {
    /// The word on the page: fine, look, act.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::Look => "look",
            Self::Act => "act",
        }
    }
}

impl Note {
    /// A remark that is good to know.
    #[must_use]
    pub fn fine(text: impl Into<String>) -> Self {
        Self {
            weight: Weight::Fine,
            text: text.into(),
        }
    }

    /// A remark worth a look.
    #[must_use]
    pub fn look(text: impl Into<String>) -> Self {
        Self {
            weight: Weight::Look,
            text: text.into(),
        }
    }

    /// A remark that asks for action.
    #[must_use]
    pub fn act(text: impl Into<String>) -> Self {
        Self {
            weight: Weight::Act,
            text: text.into(),
        }
    }
}

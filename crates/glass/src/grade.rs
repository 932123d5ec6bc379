//! Four grades of a risk.

/// How likely it is that a taster notices something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grade {
    /// Not to be expected.
    None,
    /// Hardly.
    Low,
    /// Some tasters will.
    Moderate,
    /// Most tasters will.
    High,
}

impl Grade {
    /// The word on the page.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Low => "low",
            Self::Moderate => "moderate",
            Self::High => "high",
        }
    }
}

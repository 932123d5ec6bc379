//! What a chart is called and what it says.

/// Name, title and message of a chart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heading {
    /// Name within the page; unique there, as the accessible names refer to it.
    pub id: String,
    /// The title above the chart, units included where one unit serves all.
    pub title: String,
    /// What a reader would see in it, in one sentence, for those who cannot.
    pub summary: String,
}

impl Heading {
    /// Puts the three together. Characters that a name in a page cannot hold become hyphens.
    #[must_use]
    pub fn new(id: &str, title: impl Into<String>, summary: impl Into<String>) -> Self {
        Self {
            id: plain_name(id),
            title: title.into(),
            summary: summary.into(),
        }
    }
}

pub(crate) fn plain_name(id: &str) -> String {
    let kept = |c: char| {
        if c.is_ascii_alphanumeric() || c == '_' {
            c
        } else {
            '-'
        }
    };
    let name: String = id.chars().map(kept).collect();
    if name.starts_with(|c: char| c.is_ascii_alphabetic()) {
        name
    } else {
        format!("chart-{name}")
    }
}

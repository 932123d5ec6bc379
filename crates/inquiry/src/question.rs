//! What was found, and what was tested.

/// Whether a finding is there. One that is not listed was not looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// It is there.
    Present,
    /// It was looked for and is not there.
    Absent,
}

/// How strong a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Hardly there.
    Slight,
    /// Plainly there.
    Clear,
    /// It is all that one notices.
    Strong,
}

impl Severity {
    /// Chance of this strength where a cause made it, and where none did: judgement.
    pub(crate) const fn chances(self) -> (f64, f64) {
        match self {
            Self::Slight => (0.3, 0.6),
            Self::Clear => (0.45, 0.3),
            Self::Strong => (0.25, 0.1),
        }
    }
}

/// One finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Which.
    pub key: String,
    /// Whether it is there.
    pub state: State,
    /// How strong; left out: nothing is said.
    pub severity: Option<Severity>,
    /// How surely the taster would notice it, 0 to 1: 1 for one who found it when it was
    /// spiked, 0 for one who is blind to it.
    pub keen: f64,
    /// Who found it; none where nobody is named. It moves nothing by itself.
    pub by: Option<String>,
    /// Circumstances that hold (true) or do not (false), by key.
    pub shows: Vec<(String, bool)>,
}

impl Finding {
    /// A finding that is there.
    #[must_use]
    pub fn present(key: &str) -> Self {
        Self {
            key: key.to_owned(),
            state: State::Present,
            severity: None,
            keen: 1.0,
            by: None,
            shows: Vec::new(),
        }
    }

    /// A finding that was looked for and is not there.
    #[must_use]
    pub fn absent(key: &str) -> Self {
        Self {
            state: State::Absent,
            ..Self::present(key)
        }
    }

    /// The same, with a circumstance that holds or does not.
    #[must_use]
    pub fn shown(mut self, circumstance: &str, holds: bool) -> Self {
        self.shows.push((circumstance.to_owned(), holds));
        self
    }
}

/// The result of a test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TestResult {
    /// Which test.
    pub test: String,
    /// Whether it was positive.
    pub positive: bool,
}

/// Everything that was found and tested.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Question {
    /// Findings.
    pub findings: Vec<Finding>,
    /// Results of tests.
    pub results: Vec<TestResult>,
    /// Findings that the aim wants: they are no fault.
    pub wanted: Vec<String>,
}

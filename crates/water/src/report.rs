//! Reading what a utility or a laboratory wrote about a water.
//!
//! [`read`] takes the text as it was pasted or loaded (lines, aligned columns,
//! CSV, TSV, semicolons with decimal commas) and says line by line what it was
//! taken as. Nothing is guessed silently: what is open becomes a [`Question`],
//! and [`read_with`] reads again with its answers. What is not understood says
//! why, and what would work.
//!
//! ```
//! use water::report::{Answers, Parameter, read, read_with};
//!
//! let text = "Calcium (Ca): 96 mg/L\nGesamthärte 14,5 °dH\nAlkalinity 230 mg/L\n";
//! let report = read(text);
//! let calcium = report.analyses[0].reading(Parameter::Calcium).unwrap();
//! assert_eq!(calcium.sentence, "Calcium (Ca): 96 mg/L: read as calcium 96 mg/L");
//! // mg/L of alkalinity: of what?
//! let open = &report.questions[0];
//! let answers = Answers::default().with(&open.id, "CaCO3");
//! let report = read_with(text, &answers);
//! assert!(report.questions.is_empty());
//! ```

mod closing;
mod conductance;
mod constants;
mod date;
mod drafts;
mod flag;
mod header;
mod inline;
mod items;
mod layout;
mod number;
mod parameter;
mod reader;
mod seasons;
mod settle;
mod text;
mod unit;
mod water;
mod words;

use std::collections::BTreeMap;
use std::ops::Range;

use quantity::Note;

pub use closing::{Closure, Suspect, closure};
pub use conductance::{computed_conductivity, computed_solids};
pub use date::Date;
pub use number::Figure;
pub use parameter::{Microbes, Parameter, Value};
pub use seasons::{MovingFigure, Sample, Seasons, Wave, seasons};
pub use water::{MeasuredIons, ReportedWater};

/// What a text was read as.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// Every line, in order.
    pub lines: Vec<Line>,
    /// The waters or dates for which figures were read.
    pub analyses: Vec<Analysis>,
    /// What is open.
    pub questions: Vec<Question>,
    /// Answers to what was not asked.
    pub unused_answers: Vec<String>,
}

/// One line of the text.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Counted from one.
    pub number: usize,
    /// Its bytes in the text, without the line end.
    pub span: Range<usize>,
    /// What stands there.
    pub text: String,
    /// What it was taken as; a line can hold several figures.
    pub takes: Vec<Take>,
}

/// What a line, or a part of it, was taken as.
#[derive(Debug, Clone, PartialEq)]
pub enum Take {
    /// A figure.
    Reading(Box<Reading>),
    /// A heading: what it sets, in a sentence.
    Heading(String),
    /// Something that has to be settled before the figure counts.
    Asked(Question),
    /// Understood, and left out for the reason given.
    LeftOut(String),
    /// Not understood.
    NotUnderstood(Trouble),
    /// Words without a figure or a parameter.
    Prose,
    /// Nothing, or a ruled line.
    Blank,
}

/// Why something was not understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// Its bytes in the text.
    pub at: Range<usize>,
    /// What is wrong.
    pub reason: String,
    /// What would work.
    pub would_work: String,
}

/// One figure of a report.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What it is a figure of.
    pub parameter: Parameter,
    /// Its bytes in the text: the cell or stretch that was read.
    pub at: Range<usize>,
    /// The figure as it was written.
    pub figure: Figure,
    /// Its unit as it was written; empty where none is needed.
    pub unit: String,
    /// The formula that the figure counts, where it is not the parameter itself.
    pub basis: Option<&'static str>,
    /// The figure in the terms of the tool.
    pub value: Value,
    /// Least and greatest of several samples, in the canonical unit.
    pub between: Option<(f64, f64)>,
    /// Standard deviation that rounding to the digits written gives, in the
    /// canonical unit.
    pub rounding: f64,
    /// The temperature that a conductivity holds for \[°C\], where it is given.
    pub at_celsius: Option<f64>,
    /// How it was read, in one sentence.
    pub sentence: String,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// Figures of one water on one day or over one period.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Analysis {
    /// What the water is called.
    pub name: Option<String>,
    /// Where it was drawn.
    pub place: Option<String>,
    /// Who supplies it or analysed it.
    pub supplier: Option<String>,
    /// When it was drawn.
    pub date: Option<Date>,
    /// The period that the figures stand for, as written.
    pub period: Option<String>,
    /// The figures, in the order of the text.
    pub readings: Vec<Reading>,
}

impl Analysis {
    /// The figure of a parameter, the first where there are several.
    #[must_use]
    pub fn reading(&self, parameter: Parameter) -> Option<&Reading> {
        self.readings.iter().find(|r| r.parameter == parameter)
    }
}

/// Something that the text leaves open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The key for [`Answers`], the same whenever the same text is read.
    pub id: String,
    /// The line that asks, counted from one.
    pub line: usize,
    /// The question.
    pub text: String,
    /// What it can be answered with.
    pub choices: Vec<Choice>,
}

/// One answer that a question can have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// The key for [`Answers`].
    pub key: String,
    /// What it means.
    pub label: String,
}

/// Answers to questions, by their id.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Answers(BTreeMap<String, String>);

impl Answers {
    /// With one more answer: the id of the question and the key of the choice.
    #[must_use]
    pub fn with(mut self, id: &str, choice: &str) -> Self {
        self.0.insert(id.to_owned(), choice.to_owned());
        self
    }

    pub(crate) fn get(&self, id: &str) -> Option<&str> {
        self.0.get(id).map(String::as_str)
    }

    pub(crate) fn ids(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str)
    }
}

impl Line {
    /// True where nothing on the line was left not understood.
    #[must_use]
    pub fn understood(&self) -> bool {
        !self
            .takes
            .iter()
            .any(|t| matches!(t, Take::NotUnderstood(_)))
    }
}

/// Reads a report. Nothing in it can fail: what is not understood says so.
#[must_use]
pub fn read(text: &str) -> Report {
    read_with(text, &Answers::default())
}

/// Reads a report with answers to what it left open before.
#[must_use]
pub fn read_with(text: &str, answers: &Answers) -> Report {
    reader::Reader::new(text, answers).read()
}

//! The small tools beside the kettle: readings as people write them in, figures as
//! people read them out. Pure functions; nothing is kept.

mod glass;
mod instruments;
mod packaging;
mod reading;
mod sums;
mod yeast;

use std::collections::BTreeMap;

use batch::Fault;
use quantity::{Caution, Note, Units};

use reading::Readings;

/// What was typed into the fields of a tool, by their names.
pub type Typed = BTreeMap<String, String>;

/// One of the tools.
#[derive(Debug)]
pub struct Tool {
    /// Its word in addresses and commands.
    pub key: &'static str,
    /// Its title.
    pub title: &'static str,
    /// What it is for, in a sentence.
    pub about: &'static str,
    /// What it is asked with.
    pub fields: &'static [Field],
    sum: fn(&mut Readings<'_>) -> Option<Measurement>,
}

/// A reading that a tool asks for.
#[derive(Debug)]
pub struct Field {
    /// Its name in forms, addresses and faults.
    pub name: &'static str,
    /// Its words.
    pub label: &'static str,
    /// How it may be written.
    pub example: &'static str,
    /// What is taken where it stays empty.
    pub empty: Empty,
    /// The words to choose from, each with its meaning; none for a field that is
    /// written freely.
    pub choices: Option<fn() -> Vec<Choice>>,
}

/// One of the words that a field can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// The word.
    pub word: &'static str,
    /// What it means.
    pub label: &'static str,
}

/// What an empty field means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Empty {
    /// The tool needs it.
    Refused,
    /// This is taken.
    Usual(&'static str),
    /// The tool does without, and these words say what it then takes.
    Without(&'static str),
}

/// What a tool found.
#[derive(Debug, Clone, Default)]
pub struct Measurement {
    /// The figures, the one that was asked for first.
    pub lines: Vec<Line>,
    /// What to know about them.
    pub notes: Vec<Note>,
    /// What can hurt or break the law.
    pub cautions: Vec<Caution>,
}

/// A figure.
#[derive(Debug, Clone)]
pub struct Line {
    /// Its name in data.
    pub key: &'static str,
    /// Its words.
    pub label: &'static str,
    /// Ready to read, with its ± and its unit.
    pub text: String,
    /// The number, in `unit`.
    pub value: f64,
    /// Its standard deviation, in `unit`.
    pub sd: Option<f64>,
    /// The unit of both.
    pub unit: &'static str,
    /// Whether it is what was asked for.
    pub main: bool,
    /// How it came about, where that is not plain.
    pub remark: Option<&'static str>,
    /// A colour to show beside it, as #rrggbb.
    pub colour: Option<String>,
}

impl Measurement {
    /// Its JSON form.
    #[must_use]
    pub fn wire(&self, tool: &Tool) -> batch::wire::Measurement {
        let figures = self.lines.iter().map(|l| batch::wire::MeasuredFigure {
            key: l.key,
            label: l.label,
            value: l.value,
            sd: l.sd,
            unit: l.unit,
            text: l.text.clone(),
            remark: l.remark,
            colour: l.colour.clone(),
        });
        batch::wire::Measurement::new(tool.key, figures.collect(), &self.notes, &self.cautions)
    }
}

/// All tools.
#[must_use]
pub fn tools() -> &'static [Tool] {
    &sums::TOOLS
}

impl Tool {
    /// The tool of a word.
    #[must_use]
    pub fn find(key: &str) -> Option<&'static Self> {
        tools().iter().find(|tool| tool.key == key)
    }

    /// True where a reading that it needs is missing.
    #[must_use]
    pub fn lacks(&self, typed: &Typed) -> bool {
        let empty = |f: &&Field| typed.get(f.name).is_none_or(|text| text.trim().is_empty());
        let mut needed = self.fields.iter().filter(|f| f.empty == Empty::Refused);
        needed.any(|f| empty(&f))
    }

    /// Reads what was typed and does the sum.
    ///
    /// # Errors
    /// Everything that is wrong with it, each at the field that it concerns; a
    /// [`Fault`] whose path is empty concerns them together. Spans are bytes of the
    /// field.
    ///
    /// ```
    /// use app::{Tool, Typed};
    /// use quantity::Units;
    /// let tool = Tool::find("hydrometer").unwrap();
    /// let typed = Typed::from([
    ///     ("reading".to_owned(), "1.048".to_owned()),
    ///     ("at".to_owned(), "28 °C".to_owned()),
    /// ]);
    /// let found = tool.measure(&typed, Units::Metric).unwrap();
    /// assert_eq!(found.lines[0].text, "1.0502 ± 0.0010 (12.4 °P)");
    /// ```
    pub fn measure(&self, typed: &Typed, units: Units) -> Result<Measurement, Vec<Fault>> {
        let mut readings = Readings::new(self.fields, typed, units);
        let found = (self.sum)(&mut readings);
        let faults = readings.faults();
        match found {
            Some(found) if faults.is_empty() => Ok(found),
            _ => Err(faults),
        }
    }
}

//! Reading a report, as JSON.

use quantity::Note;
use schemars::JsonSchema;
use serde::Serialize;
use water::analysis::Verdict;
use water::report::{self, Take};

use crate::liquor::report::{ReadReport, ReadWater};

/// What a report of a water was read as.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterReport {
    /// The version of this form: "gylewright/water-report/1".
    pub schema: &'static str,
    /// Every line, in order.
    pub lines: Vec<ReportLine>,
    /// What the report leaves open.
    pub questions: Vec<OpenQuestion>,
    /// Answers to what was not asked.
    pub unused_answers: Vec<String>,
    /// Each water or day in it.
    pub waters: Vec<WaterOfReport>,
}

/// One line.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReportLine {
    /// Counted from one.
    pub number: usize,
    /// What stands there.
    pub text: String,
    /// What it was taken as.
    pub taken_as: Vec<Taken>,
}

/// What a line, or a part of it, was taken as.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[serde(tag = "as", rename_all = "snake_case")]
pub enum Taken {
    /// A figure.
    Figure {
        /// Of what.
        parameter: &'static str,
        /// The value with its unit and spread.
        value: String,
        /// The formula that it counts, where it is not the parameter itself.
        basis: Option<&'static str>,
        /// How it was read.
        sentence: String,
        /// Remarks.
        notes: Vec<Remark>,
    },
    /// A heading.
    Heading {
        /// What it sets.
        sentence: String,
    },
    /// Open until a question is answered.
    Asked {
        /// The id of the question.
        question: String,
    },
    /// Understood, and left out.
    LeftOut {
        /// Why.
        reason: String,
    },
    /// Not understood.
    NotUnderstood {
        /// What is wrong.
        reason: String,
        /// What would work.
        would_work: String,
    },
    /// Words without a figure.
    Prose,
    /// Nothing.
    Blank,
}

/// Something that the report leaves open.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OpenQuestion {
    /// The key for answers.
    pub id: String,
    /// The line that asks.
    pub line: usize,
    /// The question.
    pub text: String,
    /// What it can be answered with.
    pub choices: Vec<PossibleAnswer>,
}

/// One possible answer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PossibleAnswer {
    /// The key for answers.
    pub key: String,
    /// What it means.
    pub label: String,
}

/// A remark and how much it matters: fine, look or act.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Remark {
    /// fine, look or act.
    pub weight: &'static str,
    /// The remark.
    pub text: String,
}

/// One water, or one day of it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WaterOfReport {
    /// What it is called.
    pub name: Option<String>,
    /// Where it is drawn.
    pub place: Option<String>,
    /// When it was drawn, as far as the report says.
    pub date: Option<String>,
    /// The keys and values of a source in a batch document.
    pub source: Vec<KeyAndValue>,
    /// Keys that a source needs and the report does not give.
    pub missing: Vec<String>,
    /// Whether the ions add up.
    pub balance: Balance,
    /// fit, look or do not use.
    pub verdict: &'static str,
    /// Why.
    pub reasons: Vec<String>,
    /// Remarks, the heaviest first.
    pub notes: Vec<Remark>,
    /// What can hurt someone.
    pub cautions: Vec<String>,
}

/// A key of a document and its value as text.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct KeyAndValue {
    /// The key.
    pub key: &'static str,
    /// The value, with its unit.
    pub value: String,
}

/// Cations against anions.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Balance {
    /// Charge of the cations.
    pub cations_meq_per_l: f64,
    /// Charge of the anions.
    pub anions_meq_per_l: f64,
    /// Standard deviation of their difference.
    pub difference_sd_meq_per_l: f64,
    /// Whether they add up within that.
    pub closes: bool,
    /// In a sentence.
    pub sentence: String,
    /// What would close it, the likeliest first.
    pub suspects: Vec<String>,
}

impl From<&ReadReport> for WaterReport {
    fn from(read: &ReadReport) -> Self {
        Self {
            schema: "gylewright/water-report/1",
            lines: read.report.lines.iter().map(ReportLine::from).collect(),
            questions: read
                .report
                .questions
                .iter()
                .map(OpenQuestion::from)
                .collect(),
            unused_answers: read.report.unused_answers.clone(),
            waters: read.waters.iter().map(WaterOfReport::from).collect(),
        }
    }
}

impl From<&report::Line> for ReportLine {
    fn from(line: &report::Line) -> Self {
        Self {
            number: line.number,
            text: line.text.clone(),
            taken_as: line.takes.iter().map(Taken::from).collect(),
        }
    }
}

impl From<&Take> for Taken {
    fn from(take: &Take) -> Self {
        match take {
            Take::Reading(reading) => Self::Figure {
                parameter: reading.parameter.name(),
                value: reading.value.text(),
                basis: reading.basis,
                sentence: reading.sentence.clone(),
                notes: reading.notes.iter().map(Remark::from).collect(),
            },
            Take::Heading(sentence) => Self::Heading {
                sentence: sentence.clone(),
            },
            Take::Asked(question) => Self::Asked {
                question: question.id.clone(),
            },
            Take::LeftOut(reason) => Self::LeftOut {
                reason: reason.clone(),
            },
            Take::NotUnderstood(trouble) => Self::NotUnderstood {
                reason: trouble.reason.clone(),
                would_work: trouble.would_work.clone(),
            },
            Take::Prose => Self::Prose,
            Take::Blank => Self::Blank,
        }
    }
}

impl From<&report::Question> for OpenQuestion {
    fn from(question: &report::Question) -> Self {
        let choice = |c: &report::Choice| PossibleAnswer {
            key: c.key.clone(),
            label: c.label.clone(),
        };
        Self {
            id: question.id.clone(),
            line: question.line,
            text: question.text.clone(),
            choices: question.choices.iter().map(choice).collect(),
        }
    }
}

impl From<&Note> for Remark {
    fn from(note: &Note) -> Self {
        Self {
            weight: note.weight.word(),
            text: note.text.clone(),
        }
    }
}

impl From<&ReadWater> for WaterOfReport {
    fn from(water: &ReadWater) -> Self {
        let (verdict, reasons) = match water.verdict() {
            Verdict::Fit => ("fit", Vec::new()),
            Verdict::Look { reasons } => ("look", reasons),
            Verdict::DoNotUse { reasons } => ("do not use", reasons),
        };
        let closure = &water.closure;
        Self {
            name: water.analysis.name.clone(),
            place: water.analysis.place.clone(),
            date: water.analysis.date.map(|d| d.to_string()),
            source: water
                .values()
                .into_iter()
                .map(|(key, value)| KeyAndValue { key, value })
                .collect(),
            missing: water.gaps().into_iter().map(|g| g.key).collect(),
            balance: Balance {
                cations_meq_per_l: closure.cations.meq_per_l(),
                anions_meq_per_l: closure.anions.meq_per_l(),
                difference_sd_meq_per_l: closure.sd.meq_per_l(),
                closes: closure.closes,
                sentence: closure.sentence(),
                suspects: closure.suspects.iter().map(|s| s.text.clone()).collect(),
            },
            verdict,
            reasons,
            notes: water.notes().iter().map(Remark::from).collect(),
            cautions: water
                .reported
                .cautions
                .iter()
                .map(|c| c.text().text.to_owned())
                .collect(),
        }
    }
}

//! A report of a water as it was read, with what each of its waters says.

use quantity::Note;
use water::WaterError;
use water::analysis::{Analysis, Verdict, analyse};
use water::report::{self, Answers, Closure, Report, ReportedWater};

use crate::edit::{EditError, add_entry};
use crate::library::Part;
use crate::reader::Need;

/// A report, read.
#[derive(Debug, Clone)]
pub struct ReadReport {
    /// Line by line, with what is open.
    pub report: Report,
    /// Each water or day in it.
    pub waters: Vec<ReadWater>,
}

/// One water, or one day of it, in a report.
#[derive(Debug, Clone)]
pub struct ReadWater {
    /// The figures as they were read.
    pub analysis: report::Analysis,
    /// The source that they make.
    pub reported: ReportedWater,
    /// Whether the ions add up, and what would close the gap.
    pub closure: Closure,
    /// What the figures say; an error where they contradict each other.
    pub says: Result<Analysis, WaterError>,
}

/// Reads a report with the answers given so far.
#[must_use]
pub fn read(text: &str, answers: &Answers) -> ReadReport {
    let report = report::read_with(text, answers);
    let waters = report.analyses.iter().map(ReadWater::of).collect();
    ReadReport { report, waters }
}

impl ReadReport {
    /// The id of the question that a line of the report leaves open, counted from
    /// one; an id stands for itself.
    #[must_use]
    pub fn question(&self, wanted: &str) -> Option<&report::Question> {
        let line = wanted.parse::<usize>().ok();
        self.report
            .questions
            .iter()
            .find(|q| q.id == wanted || line == Some(q.line))
    }
}

impl ReadWater {
    fn of(analysis: &report::Analysis) -> Self {
        let reported = analysis.to_source_water(None);
        Self {
            closure: report::closure(&reported),
            says: analyse(reported.water.clone()),
            analysis: analysis.clone(),
            reported,
        }
    }

    /// The keys and values of a source in a batch document, without its name.
    #[must_use]
    pub fn values(&self) -> Vec<(&'static str, String)> {
        let mut values = self.reported.to_document_source();
        values.retain(|(key, _)| *key != "name");
        values
    }

    /// What a source must have and the report neither gives nor implies.
    #[must_use]
    pub fn gaps(&self) -> Vec<Gap> {
        let given = self.values();
        Part::Analysis
            .fields()
            .into_iter()
            .filter(|f| f.need == Need::Required && !given.iter().any(|(key, _)| *key == f.path))
            .map(|f| Gap {
                label: f.path.replace('_', " "),
                key: f.path,
            })
            .collect()
    }

    /// Whether it can be brewed with. A report that has gaps, or whose ions do not
    /// add up, asks for a look whatever its figures say.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        let mut reasons = match self.says.as_ref().map(|says| &says.verdict) {
            Ok(refused @ Verdict::DoNotUse { .. }) => return refused.clone(),
            Ok(Verdict::Look { reasons }) => reasons.clone(),
            Ok(Verdict::Fit) => Vec::new(),
            Err(why) => vec![format!("The figures contradict each other: {why}.")],
        };
        let gaps: Vec<String> = self.gaps().into_iter().map(|gap| gap.label).collect();
        if !gaps.is_empty() {
            reasons.push(format!(
                "Not in the report, and needed: {}.",
                gaps.join(", ")
            ));
        }
        if !self.closure.closes {
            reasons.push(self.closure.sentence());
        }
        if reasons.is_empty() {
            Verdict::Fit
        } else {
            Verdict::Look { reasons }
        }
    }

    /// Remarks on the figures, the heaviest first: what was derived, what
    /// contradicts itself, what exceeds a limit.
    #[must_use]
    pub fn notes(&self) -> Vec<Note> {
        let mut notes = self.reported.notes.clone();
        if let Ok(says) = &self.says {
            let new = says
                .notes
                .iter()
                .filter(|n| !self.reported.notes.contains(n));
            notes.extend(new.cloned());
        }
        notes.sort_by_key(|note| std::cmp::Reverse(note.weight));
        notes
    }

    /// The source as a block of a batch document; figures that are missing stand
    /// in it as remarks.
    ///
    /// # Errors
    /// [`EditError`] if a value cannot be written.
    pub fn source_block(&self) -> Result<String, EditError> {
        let mut values = vec![("name", self.reported.water.name.clone())];
        values.extend(self.values());
        let pairs: Vec<(&str, &str)> = values.iter().map(|(k, v)| (*k, v.as_str())).collect();
        let written = add_entry("", "water.source", &pairs)?;
        // A batch document has its `[water]` already.
        let start = written.find("[[").unwrap_or(0);
        let mut block = written.get(start..).unwrap_or_default().to_owned();
        for gap in self.gaps() {
            block.push_str(&format!("# {}: not in the report, and needed\n", gap.key));
        }
        Ok(block)
    }
}

/// A figure that is needed and missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gap {
    /// Its key in a source.
    pub key: String,
    /// Its name.
    pub label: String,
}
